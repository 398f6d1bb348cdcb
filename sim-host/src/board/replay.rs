//! Recorded frames through a board: every scan compared with the host, the first difference named.

use std::io::Write;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::digest::Digest;
use valvewright_core::port::link::{Answer, Down, PACKET, Up, encode};
use valvewright_core::station::Station;
use valvewright_core::talk::{NOTICE_DEPTH, Notice};
use valvewright_core::units::{Instant, Millis};

use super::bridges::Counter;
use super::compare::{Difference, HostScan, first_field, first_line};
use super::fault::Fault;
use super::own::OwnWatch;
use super::{Board, BoardError, BoardSpec, Remote, Reply, setup, unexpected};
use crate::controller::Tape;

/// Nanoseconds of the board's time for each instruction when they are counted, and the ticks of its 25 MHz timer in that.
const NS_PER_INSTRUCTION: u64 = 1_024;
const NS_PER_TICK: u64 = 40;

/// A recording: what the station was, how it started, and what its controller was given from then on.
#[derive(Debug, Clone)]
pub struct Recording {
    /// The station.
    pub config: StationConfig,
    /// How it started.
    pub start: Start,
    /// Frames, starts in mid-run, and what was answered; frames that were never answered have no outputs there.
    pub tape: Tape,
}

/// What happens to a machine.
enum Event {
    /// It starts anew.
    Start(Start),
    /// A scan at this tick in ms.
    Scan(u32, RawFrame),
}

impl Recording {
    /// What happened after the first start, in its order, as a board has it.
    fn events(&self) -> impl Iterator<Item = Event> {
        let mut starts = self.tape.starts.iter().peekable();
        let mut frames = self.tape.frames.iter().enumerate().peekable();
        let mut bridges = Counter::new();
        std::iter::from_fn(move || {
            let at = frames.peek().map_or(self.tape.frames.len(), |(at, _)| *at);
            if let Some((_, start)) = starts.next_if(|(before, _)| *before <= at) {
                bridges = Counter::new();
                return Some(Event::Start(start.clone()));
            }
            let (_, (ms, frame)) = frames.next()?;
            Some(Event::Scan(*ms, bridges.number(frame.clone())))
        })
    }

    /// The first scan in which a station that gets all of this answers otherwise than in the run that was recorded, or the number of
    /// scans where it ends in another state: something that happened in the run is then not in the recording. None where all is in it,
    /// and where nothing was answered.
    pub fn unlike(&self) -> Option<u64> {
        let mut station = Station::wake(self.config.clone(), &self.start);
        let mut starts = self.tape.starts.iter().peekable();
        let answered = self.tape.frames.iter().zip(&self.tape.outputs).enumerate();
        for (at, ((ms, frame), outputs)) in answered {
            while let Some((_, start)) = starts.next_if(|(before, _)| *before <= at) {
                station = Station::wake(self.config.clone(), start);
            }
            if station.tick(Instant(*ms), frame) != *outputs {
                return Some(at as u64);
            }
            while station.take_notice().is_some() {}
        }
        if let Some((_, start)) = starts.last() {
            station = Station::wake(self.config.clone(), start);
        }
        let other = self.tape.end.is_some_and(|end| end != Digest::of(&station));
        other.then_some(self.tape.frames.len() as u64)
    }

    /// The longest time between two scans by the tick, whatever made it so: what stood still there is the machine, not the line.
    pub fn longest_step(&self) -> Millis {
        let ticks = self.tape.frames.windows(2).map(|two| Instant(two[1].0).since(Instant(two[0].0)));
        ticks.max().unwrap_or(Millis(0))
    }
}

/// What a replay showed.
#[derive(Debug, Clone, Default)]
pub struct Replayed {
    /// Scans compared.
    pub scans: u64,
    /// The first difference.
    pub difference: Option<Difference>,
    /// The scan from which on the board keeps the safe state of its own accord, because it was given two scans at one tick.
    pub on_its_own: Option<u64>,
    /// Instructions of the core's longest tick and the scan it was in; 0 where they were not counted.
    pub longest: (u64, u64),
    /// Instructions of the longest scan with the board's inputs and outputs.
    pub whole: u64,
    /// Instructions of the core in all scans.
    pub instructions: u64,
    /// Deepest stack the board saw, bytes.
    pub stack: Option<u32>,
    /// Size of the station on the board, bytes.
    pub station: Option<u32>,
}

impl Replayed {
    /// Mean instructions of a scan.
    pub fn mean(&self) -> u64 {
        self.instructions / self.scans.max(1)
    }
}

/// The host's station, scan by scan, and what a board does beside it.
struct Twin<'a> {
    recording: &'a Recording,
    station: Station,
    notices: Vec<Notice>,
    scans: u64,
    own: OwnWatch,
    on_its_own: Option<u64>,
}

impl<'a> Twin<'a> {
    fn new(recording: &'a Recording) -> Self {
        let station = Station::wake(recording.config.clone(), &recording.start);
        Self { recording, station, notices: Vec::new(), scans: 0, own: OwnWatch::new(), on_its_own: None }
    }

    fn start(&mut self, start: &Start) {
        self.station = Station::wake(self.recording.config.clone(), start);
        self.own = OwnWatch::new();
    }

    fn scan(&mut self, ms: u32, frame: &RawFrame) -> (Outputs, u64) {
        let mut outputs = self.station.tick(Instant(ms), frame);
        let scan = self.scans;
        self.scans += 1;
        if self.own.scan(ms, &mut outputs) {
            self.on_its_own.get_or_insert(scan);
        }
        self.notices.clear();
        // As many as one answer of the board has room for.
        self.notices.extend(std::iter::from_fn(|| self.station.take_notice()).take(NOTICE_DEPTH));
        (outputs, Digest::of(&self.station))
    }

    fn host<'b>(&'b self, outputs: &'b Outputs, state: u64) -> HostScan<'b> {
        HostScan { outputs, notices: &self.notices, state }
    }

    /// The same scan on either side; whether they differ, which goes to `done`.
    fn compare(&mut self, (ms, frame): (u32, &RawFrame), answer: &Answer, done: &mut Replayed) -> bool {
        let (outputs, state) = self.scan(ms, frame);
        done.on_its_own = self.on_its_own;
        if let Some((field, host, board)) = first_field(&self.host(&outputs, state), answer) {
            done.difference = Some(Difference { scan: done.scans, at_ms: ms, field, host, board });
            return true;
        }
        done.scans += 1;
        false
    }
}

/// Feeds the recording to a board, one frame at a time: its receiver may be short.
///
/// # Errors
/// The board cannot be had, or goes away.
pub fn replay_on(recording: &Recording, board: &mut impl Remote) -> Result<Replayed, BoardError> {
    board.bear(recording.longest_step());
    board.begin(&recording.config, &recording.start)?;
    let (mut done, mut twin) = (Replayed::default(), Twin::new(recording));
    for event in recording.events() {
        match event {
            Event::Start(start) => {
                board.begin(&recording.config, &start)?;
                twin.start(&start);
            }
            Event::Scan(ms, frame) => {
                let answer = match board.scan(Instant(ms), &frame)? {
                    Reply::Answer(answer) => answer,
                    Reply::Held(_) => return Err(BoardError::Garbled("no answer".to_owned())),
                    Reply::Safe(why, _) => return Err(BoardError::Line(Fault::Distrusts(why))),
                };
                if twin.compare((ms, &frame), &answer, &mut done) {
                    break;
                }
            }
        }
    }
    Ok(done)
}

/// Feeds the recording to a fresh board. `explain` is an image that can tell its state; where there is one, a difference of
/// state is followed down to the field.
///
/// # Errors
/// As [`replay_on`].
pub fn replay(recording: &Recording, spec: &BoardSpec, explain: Option<&BoardSpec>) -> Result<Replayed, BoardError> {
    let mut board = Board::start(spec, None)?;
    board.bear(recording.longest_step());
    board.set_up(&recording.config, &recording.start)?;
    let mut done = Replayed::default();
    let Some(to) = board.emulator.sender() else { return Err(BoardError::Mute) };
    let down = Sender { first: board.sequence, patience: board.spec.patience, to };
    // One thread sends ahead while this one compares; a pipe's length holds the sender back.
    let sent = std::thread::scope(|scope| {
        let sender = scope.spawn(move || down.send(recording));
        let compared = compare_all(recording, &mut board, &mut done);
        if compared.is_err() || done.difference.is_some() {
            // The sender may be stuck in a full pipe that nobody empties any more.
            board.emulator.stop();
        }
        let sent = sender.join();
        compared.map(|()| sent.ok())
    })?;
    let Some(difference) = done.difference.take() else {
        if let Some((next, to)) = sent {
            board.sequence = next;
            board.emulator.give_back(to);
        }
        let parting = board.part();
        (done.stack, done.station) = (parting.number("stack"), parting.number("station"));
        return Ok(done);
    };
    done.difference = Some(match explain {
        Some(spec) if difference.field == "state" => explained(recording, spec, difference)?,
        _ => difference,
    });
    Ok(done)
}

/// Sends a recording without waiting for answers.
struct Sender<W> {
    first: u32,
    patience: Millis,
    to: W,
}

impl<W: Write> Sender<W> {
    /// The number of what would come next, and the line.
    fn send(mut self, recording: &Recording) -> (u32, W) {
        let mut buffer = [0; PACKET];
        for event in recording.events() {
            let message = match event {
                Event::Start(start) => setup(&recording.config, &start, self.patience),
                Event::Scan(ms, frame) => Down::Scan { now: Instant(ms), frame },
            };
            let Some(packet) = encode(self.first, &message, &mut buffer) else { break };
            if self.to.write_all(packet).is_err() {
                break;
            }
            self.first = self.first.wrapping_add(1);
        }
        (self.first, self.to)
    }
}

fn compare_all(recording: &Recording, board: &mut Board, done: &mut Replayed) -> Result<(), BoardError> {
    let mut twin = Twin::new(recording);
    for event in recording.events() {
        let (ms, frame) = match event {
            Event::Start(start) => {
                board.is_ready()?;
                twin.start(&start);
                continue;
            }
            Event::Scan(ms, frame) => (ms, frame),
        };
        let answer = match board.emulator.receive()?.1 {
            Up::Scan(answer) => answer,
            other => return Err(unexpected(&other)),
        };
        let scan = done.scans;
        if twin.compare((ms, &frame), &answer, done) {
            return Ok(());
        }
        let instructions = u64::from(answer.took.tick) * NS_PER_TICK / NS_PER_INSTRUCTION;
        done.whole = done.whole.max(u64::from(answer.took.whole) * NS_PER_TICK / NS_PER_INSTRUCTION);
        done.instructions += instructions;
        if instructions > done.longest.0 {
            done.longest = (instructions, scan);
        }
    }
    Ok(())
}

/// Runs up to the scan that differs once more, on an image that can tell its state, and looks for the first field.
fn explained(recording: &Recording, spec: &BoardSpec, found: Difference) -> Result<Difference, BoardError> {
    let mut board = Board::start(spec, None)?;
    board.bear(recording.longest_step());
    board.set_up(&recording.config, &recording.start)?;
    let mut twin = Twin::new(recording);
    for event in recording.events() {
        match event {
            Event::Start(start) => {
                board.set_up(&recording.config, &start)?;
                twin.start(&start);
            }
            Event::Scan(ms, frame) => {
                twin.scan(ms, &frame);
                board.scan(Instant(ms), &frame)?;
            }
        }
        if twin.scans > found.scan {
            break;
        }
    }
    let theirs = board.explain()?;
    board.part();
    Ok(match first_line(&format!("{:#?}", twin.station), &theirs) {
        Some((field, host, board)) if !theirs.is_empty() => {
            Difference { field: format!("state.{field}"), host, board, ..found }
        }
        _ => found,
    })
}
