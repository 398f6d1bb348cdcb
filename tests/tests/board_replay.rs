//! A recording of a run is replayed with all that happened to its machine, and what it lacks, or a board does otherwise, is told.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, Feeds, Outputs, RawFrame, SCALE_COUNT, ScaleSample};
use valvewright_core::kept::{Memory, Start};
use valvewright_core::port::board::{Flow, Stage};
use valvewright_core::port::link::{Down, FORMAT, LinkFault, PACKET, Receiver, Setup, Took, Up, encode};
use valvewright_core::port::remote::{Session, Step, Wires};
use valvewright_core::station::Station;
use valvewright_core::units::{Instant, Millis};
use valvewright_sim::board::bridges::Counter;
use valvewright_sim::board::fault::Fault;
use valvewright_sim::board::replay::{Recording, Replayed, replay_on};
use valvewright_sim::board::{BoardError, Compared, Remote, Reply};
use valvewright_sim::run::{RunOptions, Simulation, start, station_config};
use valvewright_sim::scenario::{Scenario, parse_fault};
use valvewright_tests::job_runs::scenario;

/// The mains are off for 5 s.
const CUT: &str = "F077 at=300s severity=5s";

/// The demo job with these faults.
fn faulted(faults: &[&str]) -> Scenario {
    let mut job = scenario("mild_hatchback", &[], "");
    for one in faults {
        let (planned, _) = parse_fault::read_words(one).unwrap_or_else(|wrong| panic!("{one}: {}", wrong[0]));
        job.faults.push(planned);
    }
    job
}

/// The same, recorded to this time, s.
fn recorded(faults: &[&str], until: f64) -> Recording {
    let job = faulted(faults);
    let options = RunOptions { keep_frames: true, no_samples: true, no_hazards: true, ..RunOptions::default() };
    let mut run = Simulation::new(&job, &options).expect("the demo job begins");
    run.run_until(until).expect("the built-in core is never lost");
    let config = station_config(&job).expect("the demo's station reads");
    Recording { config, start: start(&job), tape: run.finish().tape }
}

/// A board whose converters count by themselves, and which watches the way of its program.
#[derive(Default)]
struct Counting {
    loaded: RawFrame,
    fresh: [bool; SCALE_COUNT],
    scales: [ScaleSample; SCALE_COUNT],
    on: Actuators,
    flow: Flow,
    /// It does not.
    blind: bool,
}

impl Wires for Counting {
    fn begin(&mut self) {
        let loaded = std::mem::take(&mut self.loaded);
        *self = Self { loaded, fresh: [true; SCALE_COUNT], on: Actuators::SAFE, blind: self.blind, ..Self::default() };
    }
    fn load(&mut self, frame: &RawFrame) {
        for ((fresh, before), now) in self.fresh.iter_mut().zip(&self.loaded.scales).zip(&frame.scales) {
            *fresh |= before.sequence != now.sequence;
        }
        self.loaded = frame.clone();
    }
    fn scan(&mut self, station: &mut Station, now: Instant) -> (Outputs, Took) {
        for ((fresh, counted), sample) in self.fresh.iter_mut().zip(&mut self.scales).zip(&self.loaded.scales) {
            if std::mem::take(fresh) {
                *counted = ScaleSample { code: sample.code, sequence: counted.sequence.wrapping_add(1) };
            }
        }
        self.flow.pass(Stage::Read);
        let outputs = station.tick(now, &RawFrame { scales: self.scales, ..self.loaded.clone() });
        self.flow.pass(Stage::Judged(now));
        self.flow.pass(Stage::Applied);
        self.on = if self.flow.complete() || self.blind { outputs.on } else { Actuators::SAFE };
        (outputs, Took::default())
    }
    fn pins(&self) -> Actuators {
        self.on
    }
    fn make_safe(&mut self) {
        self.on = Actuators::SAFE;
    }
}

/// That board at the end of a line in this process.
#[derive(Default)]
struct Held {
    session: Session,
    wires: Counting,
    sequence: u32,
    patience: Millis,
    /// Starts after the first are not carried out, or with this in place of what was found.
    deaf: bool,
    finds: Option<Memory>,
    /// It bears no more than it did.
    hasty: bool,
    starts: usize,
}

impl Held {
    fn say(&mut self, message: &Down) -> Up {
        let mut buffer = [0; PACKET];
        let packet = encode(self.sequence, message, &mut buffer).expect("a message fits");
        self.sequence += 1;
        let mut receiver = Receiver::new();
        let mut heard = None;
        for byte in packet {
            if let Step::Send(answer) = self.session.take(*byte, Instant(0), &mut self.wires) {
                heard = answer.iter().find_map(|byte| receiver.feed::<Up>(*byte));
            }
        }
        heard.expect("each message is answered").expect("an answer is whole").1
    }
}

impl Remote for Held {
    fn name(&self) -> &'static str {
        "held"
    }
    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), BoardError> {
        self.starts += 1;
        if self.starts > 1 && self.deaf {
            return Ok(());
        }
        let memory = self.finds.clone().filter(|_| self.starts > 1).unwrap_or_else(|| start.memory.clone());
        let start = Start { memory, ..start.clone() };
        let patience = Millis(self.patience.0.max(500));
        self.say(&Down::Setup(Setup { format: FORMAT, config: config.clone(), start, patience }));
        Ok(())
    }
    fn bear(&mut self, apart: Millis) {
        self.patience = if self.hasty { self.patience } else { apart };
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame) -> Result<Reply, BoardError> {
        match self.say(&Down::Scan { now, frame: frame.clone() }) {
            Up::Scan(answer) => Ok(Reply::Answer(Box::new(answer))),
            Up::Safe { why, on } => Ok(Reply::Safe(why, on)),
            other => panic!("{other:?}"),
        }
    }
}

fn replayed(recording: &Recording, mut board: Held) -> Replayed {
    replay_on(recording, &mut board).unwrap_or_else(|why| panic!("the board goes away: {why}"))
}

#[test]
fn whatever_happens_to_the_machine_is_in_its_recording_and_does_the_same_on_a_board() {
    for (faults, starts, own) in [
        (&[][..], 0, None),
        (&[CUT], 1, None),
        (&["F078 mode=mid at=20s"], 1, None),
        (&["F083 mode=both_copies at=290s", CUT], 1, None),
        (&["F080 at=310s for=5s"], 5, None),
        (&["F095 at=300s severity=-50%"], 0, None),
        (&["F097 at=300s severity=400ms"], 0, None),
        (&["F097 at=300s severity=5s"], 1, None),
        (&["F102 mode=skip at=300s"], 0, None),
        (&["F102 mode=repeat at=300s"], 0, Some(6_001)),
        (&["F102 mode=repeat at=300s for=1s", "F103 at=310s"], 1, Some(6_001)),
        (&["F104 tag=WT-1A at=300s"], 0, None),
        (&["F106 at=300s severity=2s"], 0, None),
        (&["F138 mode=lost severity=30% at=300s"], 0, None),
    ] {
        let recording = recorded(faults, 330.0);
        let again = format!("replay: valvewright run mild_hatchback --fault \"{}\"", faults.join("\" --fault \""));
        assert_eq!(recording.tape.starts.len(), starts, "{again}");
        let done = replayed(&recording, Held::default());
        assert_eq!(done.difference, None, "{again}");
        assert_eq!(recording.unlike(), None, "{again}");
        assert_eq!(done.on_its_own, own, "{again}");
        assert_eq!(done.scans, recording.tape.frames.len() as u64, "{again}");
        let scans = recording.tape.frames.len() as u64 + recording.tape.left_out;
        assert!(scans >= 6_600, "{scans} of the run's 6600 scans are told of, {again}");
    }
}

#[test]
fn a_recording_that_lacks_something_is_told_by_what_its_run_answered() {
    let whole = recorded(&[CUT], 330.0);
    assert_eq!(whole.unlike(), None);
    let scans = whole.tape.frames.len() as u64;
    let unlike = |spoil: fn(&mut Recording)| {
        let mut lacks = whole.clone();
        spoil(&mut lacks);
        lacks
            .unlike()
            .unwrap_or_else(|| panic!("nothing is missed; replay: valvewright run mild_hatchback --fault \"{CUT}\""))
    };
    assert!(unlike(|one| one.tape.starts.clear()) >= 6_000, "without the start");
    assert_eq!(unlike(|one| one.tape.starts[0].1.memory = Memory::Lost), 6_000, "with an empty store");
    assert!(unlike(|one| one.tape.starts[0].0 -= 3) < 6_000, "with the start too early");
    assert!(unlike(|one| one.tape.frames.iter_mut().for_each(|(_, frame)| frame.command = None)) < 200, "unordered");
    assert_eq!(unlike(|one| one.tape.frames[6_100].0 += 1), scans, "with another tick");
}

#[test]
fn a_board_that_starts_otherwise_differs() {
    let recording = recorded(&[CUT], 330.0);
    let first_after = recording.tape.starts[0].0 as u64;
    let deaf = replayed(&recording, Held { deaf: true, ..Held::default() });
    assert_eq!(deaf.difference.map(|one| one.scan), Some(first_after), "it was not started anew");
    let other = replayed(&recording, Held { finds: Some(Memory::Lost), ..Held::default() });
    assert_eq!(other.difference.map(|one| one.scan), Some(first_after), "its store was empty");
}

#[test]
fn a_board_that_trusts_two_scans_at_one_tick_differs() {
    let recording = recorded(&["F102 mode=repeat at=300s"], 330.0);
    let blind = Held { wires: Counting { blind: true, ..Counting::default() }, ..Held::default() };
    let differs = replayed(&recording, blind).difference.expect("what is on differs");
    assert_eq!((differs.field.as_str(), differs.scan), ("outputs.on", 6_001));
}

#[test]
fn a_board_that_drives_the_plant_starts_anew_with_its_run_and_may_keep_safe_by_itself() {
    let options = RunOptions::default();
    let driven = |faults: &[&str]| {
        let board = Compared::new(Held::default());
        let mut run = Simulation::with(&faulted(faults), &options, board).expect("the board is there");
        run.run_until(330.0).unwrap_or_else(|why| panic!("{faults:?}: {why}"));
        run
    };
    let mut host = Simulation::new(&faulted(&[CUT]), &options).expect("the demo job begins");
    host.run_until(330.0).expect("the built-in core is never lost");
    assert_eq!(driven(&[CUT]).hash(), host.hash());
    let safe = driven(&["F102 mode=repeat at=300s"]);
    assert_eq!((safe.outputs().on, safe.outputs().dropped), (Actuators::SAFE, Feeds::ALL));
}

#[test]
fn a_machine_that_stood_still_is_no_line_that_was_late() {
    let recording = recorded(&["F098", "F097 at=300s severity=20s"], 330.0);
    assert_eq!(recording.longest_step(), Millis(20_050));
    assert_eq!(replayed(&recording, Held::default()).difference, None);
    let hasty = replay_on(&recording, &mut Held { hasty: true, ..Held::default() });
    let late = matches!(hasty, Err(BoardError::Line(Fault::Distrusts(LinkFault::Late(Millis(20_050))))));
    assert!(late, "a line of half a second must not bear it: {hasty:?}");
}

#[test]
fn bridges_are_numbered_as_a_board_counts_them() {
    let mut counter = Counter::new();
    let mut number = |sequence| {
        let frame = RawFrame { scales: [ScaleSample { code: 7, sequence }; SCALE_COUNT], ..RawFrame::default() };
        let numbered = counter.number(frame).scales;
        assert!(numbered.iter().all(|one| *one == numbered[0] && one.code == 7));
        numbered[0].sequence
    };
    assert_eq!([57, 57, 58, 61, 61, 0, 255, 0].map(&mut number), [1, 1, 2, 3, 3, 4, 5, 6]);
}
