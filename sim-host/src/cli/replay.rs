//! `replay`: jobs through the controller on a board, every scan compared with the host.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError, mpsc};
use std::time::Instant;

use serde::Serialize;
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::kept::Start;
use valvewright_core::sense::SenseConfig;
use valvewright_core::units::Millis;

use super::output::{Exit, Refusal, print, print_json};
use super::run::{Watch, stop_on_interrupt};
use super::{Global, ReplayArgs, input, someone_watches};
use crate::board::replay::{Recording, Replayed, replay as replay_one, replay_on_port};
use crate::board::{BoardError, BoardSpec, Joined, Line as BoardLine, SerialBoard, noise};
use crate::run::{Control, RunOptions, run_scenario, start, station_config};
use crate::scenario::random::PREFIX;
use crate::scenario::{parse, shipped};
use crate::station;

/// Random jobs and noise streams where nothing else is asked for.
const RANDOM: u32 = 100;
const NOISE: u32 = 4;
/// Scans of a noise stream.
const NOISE_SCANS: u32 = 30_000;
/// Scan times that noise streams take in turn, ms.
const NOISE_SCAN_MS: [u32; 4] = [50, 10, 100, 20];

/// One job, and what came of it on the board.
#[derive(Debug, Serialize)]
struct Line {
    name: String,
    /// The station that it was recorded on.
    station: String,
    scans: u64,
    identical: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    difference: Option<Told>,
    #[serde(flatten)]
    costs: Costs,
    wall_seconds: f64,
}

/// What the scans cost the board; instructions only where they were counted.
#[derive(Debug, Default, Serialize)]
struct Costs {
    #[serde(skip_serializing_if = "Option::is_none")]
    instructions_mean: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    instructions_longest: Option<u64>,
    /// Which scan was the longest; of one job only.
    #[serde(skip_serializing_if = "Option::is_none")]
    longest_scan: Option<u64>,
    /// The longest scan with the board's inputs and outputs.
    #[serde(skip_serializing_if = "Option::is_none")]
    instructions_whole: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stack_bytes: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    station_bytes: Option<u32>,
}

impl Costs {
    fn of(done: &Replayed, counted: bool) -> Self {
        Self {
            instructions_mean: counted.then(|| done.mean()),
            instructions_longest: counted.then_some(done.longest.0),
            longest_scan: counted.then_some(done.longest.1),
            instructions_whole: counted.then_some(done.whole),
            stack_bytes: done.stack,
            station_bytes: done.station,
        }
    }

    /// The mean over all scans, and the worst of the rest.
    fn sum(jobs: &[Line]) -> Self {
        let worst = |of: fn(&Self) -> Option<u64>| jobs.iter().filter_map(|job| of(&job.costs)).max();
        let scans: u64 = jobs.iter().map(|job| job.scans).sum();
        let all = jobs.iter().map(|job| job.costs.instructions_mean.map(|mean| mean * job.scans));
        Self {
            instructions_mean: all.sum::<Option<u64>>().map(|all| all / scans.max(1)),
            instructions_longest: worst(|costs| costs.instructions_longest),
            longest_scan: None,
            instructions_whole: worst(|costs| costs.instructions_whole),
            stack_bytes: jobs.iter().filter_map(|job| job.costs.stack_bytes).max(),
            station_bytes: jobs.iter().filter_map(|job| job.costs.station_bytes).max(),
        }
    }
}

#[derive(Debug, Serialize)]
struct Told {
    scan: u64,
    t_s: f64,
    field: String,
    host: String,
    board: String,
}

#[derive(Debug, Serialize)]
struct Whole {
    /// How the board was joined.
    board: &'static str,
    jobs: Vec<Line>,
    scans: u64,
    identical: bool,
    /// Not all were run.
    partial: bool,
    #[serde(flatten)]
    costs: Costs,
    wall_seconds: f64,
}

fn names(args: &ReplayArgs) -> Vec<String> {
    let all = args.names.is_empty() && args.random.is_none() && args.noise.is_none();
    let mut names = args.names.clone();
    if all {
        names.extend(shipped::SHIPPED.iter().map(|one| one.name.to_owned()));
    }
    let count = |given: Option<u32>, whole: u32| given.unwrap_or(if all { whole } else { 0 });
    names.extend((0..count(args.random, RANDOM)).map(|n| format!("{PREFIX}{n}")));
    names.extend((0..count(args.noise, NOISE)).map(|n| format!("noise:{n}")));
    names
}

/// The frames of a job, by running it on the host, or of a stream of noise, and the station they were recorded on.
fn record(name: &str) -> Result<(String, Recording), Refusal> {
    if let Some(seed) = name.strip_prefix("noise:") {
        let seed = seed.parse::<u64>();
        let seed = seed.map_err(|_| Refusal::misuse(format!("`{name}` is no stream of noise: write noise:NUMBER")))?;
        let scan = Millis(NOISE_SCAN_MS[(seed % 4) as usize]);
        let refrigerant = if seed % 2 == 0 { Refrigerant::R1234yf } else { Refrigerant::R134a };
        let sense = SenseConfig::for_scan(scan);
        let config = StationConfig { scan, sense, ..StationConfig::reference(refrigerant) };
        let frames = noise::frames(seed, NOISE_SCANS, scan.0);
        let station = station::SHIPPED[0].name.to_owned();
        return Ok((station, Recording { config, start: Start::first(Millis(0)), frames }));
    }
    let scenario = parse::read(&input::scenario(name)?).map_err(Refusal::file)?;
    let options = RunOptions { keep_frames: true, ..RunOptions::default() };
    let outcome = run_scenario(&scenario, &options, &mut |_| Control::Continue);
    let outcome = outcome.map_err(|wrong| Refusal::ours(format!("{name}: {wrong}")))?;
    let config = station_config(&scenario).map_err(|wrong| Refusal::ours(format!("{name}: {wrong}")))?;
    let recording = Recording { config, start: start(&scenario), frames: outcome.frames };
    Ok((outcome.result.station.name, recording))
}

fn line((name, station): (&str, String), done: Replayed, counted: bool, wall: f64) -> Line {
    let difference = done.difference.as_ref().map(|d| Told {
        scan: d.scan,
        t_s: f64::from(d.at_ms) * 1e-3,
        field: d.field.clone(),
        host: d.host.clone(),
        board: d.board.clone(),
    });
    Line {
        name: name.to_owned(),
        station,
        scans: done.scans,
        identical: done.difference.is_none(),
        difference,
        costs: Costs::of(&done, counted),
        wall_seconds: wall,
    }
}

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
            Self::Port(board) => replay_on_port(frames, &mut board.lock().unwrap_or_else(PoisonError::into_inner)),
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
    let names = names(args);
    if names.is_empty() {
        let help = "name scenarios, or give --random or --noise a number above 0";
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
                    let done = record(name)
                        .and_then(|(station, frames)| {
                            let done = place.replay(&frames).map_err(|wrong| refusal(name, &wrong))?;
                            Ok((station, done))
                        })
                        .map(|(station, done)| line((name, station), done, args.count, begun.elapsed().as_secs_f64()));
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
    let whole = sum(place.joined(), jobs, partial, started.elapsed().as_secs_f64());
    if global.json {
        print_json(&whole)?;
    } else {
        print(&words(&whole))?;
    }
    Ok(match (whole.identical, whole.partial) {
        (false, _) => Exit::Failed,
        (true, true) => Exit::Unfinished,
        (true, false) => Exit::Held,
    })
}

fn sum(board: &'static str, jobs: Vec<Line>, partial: bool, wall_seconds: f64) -> Whole {
    let scans = jobs.iter().map(|job| job.scans).sum();
    let (identical, costs) = (jobs.iter().all(|job| job.identical), Costs::sum(&jobs));
    Whole { board, jobs, scans, identical, partial, costs, wall_seconds }
}

fn words(whole: &Whole) -> String {
    let mut text = String::new();
    let width = whole.jobs.iter().map(|job| job.name.len()).max().unwrap_or(0);
    for job in &whole.jobs {
        let verdict = match &job.difference {
            None => "identical".to_owned(),
            Some(d) => format!(
                "DIFFERS in scan {} (t = {:.3} s): {} is {} on the host and {} on the board\n{:width$}  replay: valvewright replay {}",
                d.scan, d.t_s, d.field, d.host, d.board, "", job.name
            ),
        };
        let place = format!("{} scans on {}", job.scans, job.station);
        text += &format!("{:width$}  {place:>26}  {verdict}", job.name);
        if let (Some(mean), Some(longest), Some(scan)) =
            (job.costs.instructions_mean, job.costs.instructions_longest, job.costs.longest_scan)
        {
            text += &format!("; instructions mean {mean}, longest {longest} in scan {scan}");
        }
        text.push('\n');
    }
    let differ = whole.jobs.iter().filter(|job| !job.identical).count();
    text += &format!(
        "{} jobs, {} scans, {} in {:.1} s",
        whole.jobs.len(),
        whole.scans,
        if differ == 0 {
            format!("all identical on host and board by {}", whole.board)
        } else {
            format!("{differ} DIFFER")
        },
        whole.wall_seconds
    );
    if let (Some(mean), Some(longest), Some(board)) =
        (whole.costs.instructions_mean, whole.costs.instructions_longest, whole.costs.instructions_whole)
    {
        text += &format!("; instructions of a scan: mean {mean}, longest {longest}, with the board's adapters {board}");
    }
    if let Some(stack) = whole.costs.stack_bytes {
        text += &format!("; deepest stack {stack} bytes");
    }
    text += if whole.partial { "; interrupted, not all were run\n" } else { "\n" };
    text
}
