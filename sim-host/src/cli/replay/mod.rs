//! `replay`: jobs through the controller on a board, every scan compared with the host.

mod args;
mod jobs;
mod told;

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError, mpsc};
use std::time::Instant;

use super::output::{Exit, Refusal, print, print_json};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, someone_watches};
use crate::board::replay::{Recording, Replayed, replay as replay_one, replay_on};
use crate::board::{BoardError, BoardSpec, Joined, Line as BoardLine, SerialBoard};
pub use args::ReplayArgs;
use told::{Line, Whole};

fn refusal(name: &str, wrong: &BoardError) -> Refusal {
    let told = format!("{name}: {wrong}");
    match wrong {
        _ if wrong.never_was() => Refusal::misuse(wrong.to_string()),
        BoardError::Garbled(_) => Refusal::ours(told),
        _ => Refusal::unfinished(told),
    }
}

/// Where the jobs are replayed.
enum Place {
    /// On emulated boards, each made anew; with the image that can tell its state.
    Emulated(BoardSpec, Option<BoardSpec>),
    /// On the one board at a port.
    Port(Box<Mutex<SerialBoard>>),
}

impl Place {
    /// How the board is joined, as results name it.
    fn joined(&self) -> &'static str {
        match self {
            Self::Emulated(spec, _) => spec.line.name(),
            Self::Port(_) => "serial",
        }
    }

    fn replay(&self, frames: &Recording) -> Result<Replayed, BoardError> {
        match self {
            Self::Emulated(spec, explain) => replay_one(frames, spec, explain.as_ref()),
            Self::Port(board) => replay_on(frames, &mut *board.lock().unwrap_or_else(PoisonError::into_inner)),
        }
    }
}

fn place(args: &ReplayArgs) -> Result<Place, Refusal> {
    let line = match &args.board {
        Joined::Emulated(line) => *line,
        Joined::Serial(_) if args.count || args.firmware.is_some() || args.explain.is_some() => {
            return Err(Refusal::misuse("--count, --firmware and --explain are for boards in the emulator")
                .with_help("leave them out, or use --board semihosting or --board uart"));
        }
        Joined::Serial(port) => {
            let board = SerialBoard::open(port, SerialBoard::PATIENCE);
            return board
                .map(|board| Place::Port(Box::new(Mutex::new(board))))
                .map_err(|wrong| refusal("replay", &wrong));
        }
    };
    let mut spec = BoardSpec { count: args.count, ..BoardSpec::shipped(line) };
    if let Some(firmware) = &args.firmware {
        spec.firmware.clone_from(firmware);
    }
    let explain = args.explain.clone().unwrap_or_else(|| "target/firmware/explain".into());
    let explain = (args.explain.is_some() || explain.is_file())
        .then(|| BoardSpec { firmware: explain, ..BoardSpec::shipped(BoardLine::Semihosting) });
    Ok(Place::Emulated(spec, explain))
}

/// Replays every job that was asked for; the order of the answer is that of the names, whichever was done first.
pub fn replay(args: &ReplayArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    stop_on_interrupt(&STOP);
    let (names, refused) = jobs::names(args)?;
    if names.is_empty() {
        if let Some(one) = refused.first() {
            return Err(Refusal::misuse(format!("{} cannot be injected: {}", one.id, one.why)));
        }
        let help = "name scenarios, give --faults, or give --random or --noise a number above 0";
        return Err(Refusal::misuse("nothing to replay").with_help(help));
    }
    let place = place(args)?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let boards = if matches!(place, Place::Port(_)) { 1 } else { args.jobs.map_or(cores, |n| n as usize) };
    let boards = boards.min(names.len()).max(1);
    let started = Instant::now();
    let mut watch = Watch::new(someone_watches(global));
    let (next, (tell, hear)) = (AtomicUsize::new(0), mpsc::channel());
    let mut lines: Vec<Option<Result<Line, Refusal>>> = names.iter().map(|_| None).collect();
    std::thread::scope(|scope| {
        for _ in 0..boards {
            let (tell, next, names, place) = (tell.clone(), &next, &names, &place);
            scope.spawn(move || {
                while !STOP.load(Ordering::Relaxed) {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(name) = names.get(at) else { return };
                    let begun = Instant::now();
                    let done = jobs::record(name).and_then(|job| {
                        let done = place.replay(&job.recording).map_err(|wrong| refusal(name, &wrong))?;
                        Ok(Line::new(name, job, done, args.count, begun.elapsed().as_secs_f64()))
                    });
                    if done.is_err() {
                        STOP.store(true, Ordering::Relaxed);
                    }
                    // Whoever listened has gone only when the process ends.
                    let _ = tell.send((at, done));
                }
            });
        }
        drop(tell);
        let mut done = 0;
        while let Ok((at, line)) = hear.recv() {
            done += 1;
            watch.share(done as f64 / names.len() as f64, &names[at]);
            lines[at] = Some(line);
        }
    });
    drop(watch);
    let partial = lines.iter().any(Option::is_none);
    let jobs = lines.into_iter().flatten().collect::<Result<Vec<_>, _>>()?;
    let whole = Whole::new(place.joined(), jobs, refused, partial, started.elapsed().as_secs_f64());
    if global.json {
        print_json(&whole)?;
    } else {
        print(&whole.words())?;
    }
    Ok(match (whole.holds(), whole.partial) {
        (false, _) => Exit::Failed,
        (true, true) => Exit::Unfinished,
        (true, false) => Exit::Held,
    })
}
