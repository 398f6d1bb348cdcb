//! Recorded frames through a board: every scan compared with the host, the first difference named.

use std::io::Write;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::digest::Digest;
use valvewright_core::port::link::{Down, PACKET, Up, encode};
use valvewright_core::station::Station;
use valvewright_core::talk::{NOTICE_DEPTH, Notice};
use valvewright_core::units::Instant;

use super::compare::{Difference, HostScan, first_field, first_line};
use super::fault::Fault;
use super::{Board, BoardError, BoardSpec, Remote, Reply, SerialBoard, unexpected};

/// Nanoseconds of the board's time for each instruction when they are counted, and the ticks of its 25 MHz timer in that.
const NS_PER_INSTRUCTION: u64 = 1_024;
const NS_PER_TICK: u64 = 40;

/// A recording: what the station was, and every frame with its tick in ms.
#[derive(Debug, Clone)]
pub struct Recording {
    /// The station.
    pub config: StationConfig,
    /// How it started.
    pub start: Start,
    /// Frames.
    pub frames: Vec<(u32, RawFrame)>,
}

/// What a replay showed.
#[derive(Debug, Clone, Default)]
pub struct Replayed {
    /// Scans compared.
    pub scans: u64,
    /// The first difference.
    pub difference: Option<Difference>,
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

/// The host's station, scan by scan.
struct Twin {
    station: Station,
    notices: Vec<Notice>,
}

impl Twin {
    fn new(recording: &Recording) -> Self {
        Self { station: Station::wake(recording.config.clone(), &recording.start), notices: Vec::new() }
    }

    fn scan(&mut self, ms: u32, frame: &RawFrame) -> (Outputs, u64) {
        let outputs = self.station.tick(Instant(ms), frame);
        self.notices.clear();
        // As many as one answer of the board has room for.
        self.notices.extend(std::iter::from_fn(|| self.station.take_notice()).take(NOTICE_DEPTH));
        (outputs, Digest::of(&self.station))
    }

    fn host<'a>(&'a self, outputs: &'a Outputs, state: u64) -> HostScan<'a> {
        HostScan { outputs, notices: &self.notices, state }
    }
}

/// Feeds the recording to a board on a serial port, one frame at a time: its receiver may be short.
pub fn replay_on_port(recording: &Recording, board: &mut SerialBoard) -> Result<Replayed, BoardError> {
    board.begin(&recording.config, &recording.start)?;
    let (mut done, mut twin) = (Replayed::default(), Twin::new(recording));
    for (ms, frame) in &recording.frames {
        let answer = match board.scan(Instant(*ms), frame)? {
            Reply::Answer(answer) => answer,
            Reply::Held(_) => return Err(BoardError::Garbled("no answer".to_owned())),
            Reply::Safe(why, _) => return Err(BoardError::Line(Fault::Distrusts(why))),
        };
        let (outputs, state) = twin.scan(*ms, frame);
        if let Some((field, host, board)) = first_field(&twin.host(&outputs, state), &answer) {
            done.difference = Some(Difference { scan: done.scans, at_ms: *ms, field, host, board });
            break;
        }
        done.scans += 1;
    }
    Ok(done)
}

/// Feeds the recording to a fresh board. `explain` is an image that can tell its state; where there is one, a difference of
/// state is followed down to the field.
pub fn replay(recording: &Recording, spec: &BoardSpec, explain: Option<&BoardSpec>) -> Result<Replayed, BoardError> {
    let mut board = Board::start(spec, None)?;
    board.set_up(&recording.config, &recording.start)?;
    let mut done = Replayed::default();
    let Some(mut to) = board.emulator.sender() else { return Err(BoardError::Mute) };
    let first = board.sequence;
    // One thread sends ahead while this one compares; a pipe's length holds the sender back.
    let to = std::thread::scope(|scope| {
        let sender = scope.spawn(move || {
            let mut buffer = [0; PACKET];
            for (at, (ms, frame)) in recording.frames.iter().enumerate() {
                let message = Down::Scan { now: Instant(*ms), frame: frame.clone() };
                let Some(packet) = encode(first.wrapping_add(at as u32), &message, &mut buffer) else { break };
                if to.write_all(packet).is_err() {
                    break;
                }
            }
            to
        });
        let compared = compare_all(recording, &mut board, &mut done);
        if compared.is_err() || done.difference.is_some() {
            // The sender may be stuck in a full pipe that nobody empties any more.
            board.emulator.stop();
        }
        let to = sender.join();
        compared.map(|()| to.ok())
    })?;
    let Some(difference) = done.difference.take() else {
        board.sequence = first.wrapping_add(recording.frames.len() as u32);
        if let Some(to) = to {
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

fn compare_all(recording: &Recording, board: &mut Board, done: &mut Replayed) -> Result<(), BoardError> {
    let mut twin = Twin::new(recording);
    for (ms, frame) in &recording.frames {
        let (outputs, state) = twin.scan(*ms, frame);
        let answer = match board.emulator.receive()?.1 {
            Up::Scan(answer) => answer,
            other => return Err(unexpected(&other)),
        };
        if let Some((field, host, board)) = first_field(&twin.host(&outputs, state), &answer) {
            done.difference = Some(Difference { scan: done.scans, at_ms: *ms, field, host, board });
            return Ok(());
        }
        let instructions = u64::from(answer.took.tick) * NS_PER_TICK / NS_PER_INSTRUCTION;
        done.whole = done.whole.max(u64::from(answer.took.whole) * NS_PER_TICK / NS_PER_INSTRUCTION);
        done.instructions += instructions;
        if instructions > done.longest.0 {
            done.longest = (instructions, done.scans);
        }
        done.scans += 1;
    }
    Ok(())
}

/// Runs up to the scan that differs once more, on an image that can tell its state, and looks for the first field.
fn explained(recording: &Recording, spec: &BoardSpec, found: Difference) -> Result<Difference, BoardError> {
    let mut board = Board::start(spec, None)?;
    board.set_up(&recording.config, &recording.start)?;
    let mut twin = Twin::new(recording);
    for (ms, frame) in recording.frames.iter().take(found.scan as usize + 1) {
        twin.scan(*ms, frame);
        board.scan(Instant(*ms), frame)?;
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
