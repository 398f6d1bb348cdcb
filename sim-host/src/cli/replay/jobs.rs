//! The jobs of a replay: shipped and drawn ones, streams of noise, and faulted ones for the faults of the catalogue.

use serde::Serialize;
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::kept::Start;
use valvewright_core::sense::SenseConfig;
use valvewright_core::units::Millis;

use super::super::output::Refusal;
use super::super::{fault as words, input};
use super::args::{ALL_FAULTS, ReplayArgs};
use crate::board::noise;
use crate::board::replay::Recording;
use crate::controller::Tape;
use crate::fault::{FaultId, Injection, find, injections};
use crate::report::data::FaultRecord;
use crate::run::{RunError, RunOptions, RunOutcome, Simulation, Stand, start, station_config};
use crate::scenario::random::PREFIX;
use crate::scenario::{Scenario, parse, shipped};
use crate::station;

/// Random jobs and noise streams where nothing else is asked for.
const RANDOM: u32 = 100;
const NOISE: u32 = 4;
/// Scans of a noise stream.
const NOISE_SCANS: u32 = 30_000;
/// Scan times that noise streams take in turn, ms.
const NOISE_SCAN_MS: [u32; 4] = [50, 10, 100, 20];
/// A faulted job is replayed up to so long after its last fault has come, s: most budgets of the catalogue are shorter (own choice).
const AFTER: f64 = 600.0;
/// What stands before a faulted job, and before a stream of noise.
const FAULT: &str = "fault:";
const STREAM: &str = "noise:";

/// A job as it was on the host.
pub struct Job {
    /// Its station.
    pub station: String,
    /// What its controller was given and answered.
    pub recording: Recording,
    /// What broke in it.
    pub faults: Vec<FaultRecord>,
    /// The scan in which the recording is not the run that it is of.
    pub unlike: Option<u64>,
}

/// A fault that no job can have.
#[derive(Debug, Serialize)]
pub struct Refused {
    /// Its id.
    pub id: String,
    /// Why.
    pub why: &'static str,
}

/// The names of all jobs that are asked for, and the faults among them that cannot be had.
pub fn names(args: &ReplayArgs) -> Result<(Vec<String>, Vec<Refused>), Refusal> {
    let all = args.names.is_empty() && args.random.is_none() && args.noise.is_none() && args.faults.is_none();
    let mut names = args.names.clone();
    if all {
        names.extend(shipped::SHIPPED.iter().map(|one| one.name.to_owned()));
    }
    let count = |given: Option<u32>, whole: u32| given.unwrap_or(if all { whole } else { 0 });
    names.extend((0..count(args.random, RANDOM)).map(|n| format!("{PREFIX}{n}")));
    names.extend((0..count(args.noise, NOISE)).map(|n| format!("{STREAM}{n}")));
    let mut refused = Vec::new();
    for one in args.faults.as_deref().map_or(Ok(Vec::new()), asked_for)? {
        match one.refused {
            Some(why) => refused.push(Refused { id: one.id.to_string(), why }),
            None => names.extend(ways(one)),
        }
    }
    Ok((names, refused))
}

/// The faults that are asked for by ids, in the order in which they are.
fn asked_for(text: &str) -> Result<Vec<&'static Injection>, Refusal> {
    if text == ALL_FAULTS {
        return Ok(injections().collect());
    }
    let mut list = Vec::new();
    for piece in text.split(',') {
        let (from, to) = piece.split_once('-').unwrap_or((piece, piece));
        let (from, to) = (words::find(from)?.id, words::find(to)?.id);
        if from > to {
            return Err(Refusal::misuse(format!("--faults {piece}: {to} comes before {from}")));
        }
        list.extend((from.0..=to.0).filter_map(|number| find(FaultId(number))));
    }
    Ok(list)
}

/// A name for each way of a fault.
fn ways(one: &Injection) -> impl Iterator<Item = String> {
    one.modes.iter().enumerate().map(move |(at, mode)| match at {
        0 => format!("{FAULT}{}", one.id),
        _ => format!("{FAULT}{} mode={}", one.id, mode.name),
    })
}

/// The scenario of a faulted job: the shipped one of that fault, in this way of it, or the demo with the fault in it as the words say.
fn faulted(text: &str) -> Result<Scenario, Refusal> {
    let (id, more) = text.split_once(' ').unwrap_or((text, ""));
    let one = words::find(id)?;
    let way = one.modes.iter().find(|mode| more.strip_prefix("mode=") == Some(mode.name));
    let own = shipped::source(&id.to_ascii_lowercase()).filter(|_| more.is_empty() || way.is_some());
    let own = own.map(|source| parse::read(&source).map_err(Refusal::file)).transpose()?;
    // Some scenarios are themselves the fault's first way: a vehicle with a foreign gas, an operator who gives a wrong charge.
    let own = own.filter(|job| more.is_empty() || job.faults.iter().any(|planned| planned.id == one.id));
    let Some(mut scenario) = own else {
        let mut scenario = parse::read(&input::scenario(shipped::DEMO)?).map_err(Refusal::file)?;
        words::add(&[text.to_owned()], &mut scenario)?;
        return Ok(scenario);
    };
    for planned in scenario.faults.iter_mut().filter(|planned| planned.id == one.id) {
        if let Some(way) = way.filter(|way| way.name != planned.mode) {
            planned.mode = way.name;
            planned.severity = way.severity.map(|severity| severity.usual_si());
        }
    }
    Ok(scenario)
}

/// A stream of noise.
fn stream(seed: &str) -> Result<Job, Refusal> {
    let seed = seed.parse::<u64>();
    let seed = seed.map_err(|_| Refusal::misuse(format!("`{STREAM}` needs a number: write {STREAM}NUMBER")))?;
    let scan = Millis(NOISE_SCAN_MS[(seed % 4) as usize]);
    let refrigerant = if seed % 2 == 0 { Refrigerant::R1234yf } else { Refrigerant::R134a };
    let sense = SenseConfig::for_scan(scan);
    let config = StationConfig { scan, sense, ..StationConfig::reference(refrigerant) };
    let tape = Tape { frames: noise::frames(seed, NOISE_SCANS, scan.0), ..Tape::default() };
    let recording = Recording { config, start: Start::first(Millis(0)), tape };
    Ok(Job { station: station::SHIPPED[0].name.to_owned(), recording, faults: Vec::new(), unlike: None })
}

/// Runs a scenario; where it is cut, to [`AFTER`] its last fault has come: a station that has tripped waits for hours.
fn run(scenario: &Scenario, cut: bool) -> Result<RunOutcome, RunError> {
    // Nobody looks at the trace, and the frames are the same whether hazards are judged or not.
    let options = RunOptions { keep_frames: true, no_samples: true, no_hazards: true, ..RunOptions::default() };
    let mut run = Simulation::new(scenario, &options)?;
    let mut came = vec![!cut || !scenario.then.is_empty(); scenario.faults.len()];
    let mut until = f64::INFINITY;
    while run.time() < until && run.step()? == Stand::Running {
        if came.iter().all(|one| *one) {
            continue;
        }
        for (came, acts) in came.iter_mut().zip(run.faults_acting()) {
            *came |= acts;
        }
        if came.iter().all(|one| *one) {
            until = run.time() + AFTER;
        }
    }
    Ok(run.finish())
}

/// A job, by running it on the host, or a stream of noise.
pub fn record(name: &str) -> Result<Job, Refusal> {
    if let Some(seed) = name.strip_prefix(STREAM) {
        return stream(seed);
    }
    let scenario = match name.strip_prefix(FAULT) {
        Some(text) => faulted(text)?,
        None => parse::read(&input::scenario(name)?).map_err(Refusal::file)?,
    };
    let cut = name.starts_with(FAULT);
    let outcome = run(&scenario, cut).map_err(|wrong| Refusal::ours(format!("{name}: {wrong}")))?;
    let config = station_config(&scenario).map_err(|wrong| Refusal::ours(format!("{name}: {wrong}")))?;
    let recording = Recording { config, start: start(&scenario), tape: outcome.tape };
    let unlike = recording.unlike();
    Ok(Job { station: outcome.result.station.name, recording, faults: outcome.result.faults, unlike })
}
