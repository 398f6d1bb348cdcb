//! Whole simulated jobs for tests: shipped scenarios as they are or with keys changed, jobs drawn from a seed, and replays of them.
//!
//! Every failure can be repeated: [`Run::replay`] says which scenario, what was changed in it, and the seed.

use std::fmt::Write;
use std::sync::OnceLock;

use valvewright_core::frame::{Actuator, Actuators, Outputs, RawFrame};
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::Instant;
use valvewright_sim::report::data::RunResult;
use valvewright_sim::run::{Control, RunOptions, RunOutcome, run_scenario, start, station_config};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::shipped::{self, SHIPPED};
use valvewright_sim::scenario::{Scenario, parse, random};

/// A simulated job and how to have it again.
pub struct Run {
    /// The scenario.
    pub scenario: Scenario,
    /// What came of it, every frame kept.
    pub outcome: RunOutcome,
    origin: String,
}

/// One text in a scenario file and what stands there instead.
pub type Edit<'a> = (&'a str, &'a str);

/// The shipped scenario `name` with each edit made at the one place where its text stands, and `extra` put behind it.
pub fn scenario(name: &str, edits: &[Edit<'_>], extra: &str) -> Scenario {
    let shipped = shipped::source(name);
    let mut text = shipped.unwrap_or_else(|| panic!("no shipped scenario `{name}`")).text;
    for (old, new) in edits {
        assert_eq!(text.matches(old).count(), 1, "`{old}` must stand once in {name}.toml");
        text = text.replace(old, new);
    }
    text.push_str(extra);
    read(&Source::new(format!("{name}.toml"), text))
}

/// The scenario drawn from `seed`.
pub fn drawn(seed: u64) -> Scenario {
    read(&Source::new(format!("{}{seed}", random::PREFIX), random::text(seed)))
}

fn read(source: &Source) -> Scenario {
    let problems = match parse::read(source) {
        Ok(scenario) => return scenario,
        Err(problems) => problems,
    };
    let told: Vec<_> = problems.iter().map(ToString::to_string).collect();
    panic!("{} does not read:\n{}\n{}", source.name, told.join("\n"), source.text);
}

impl Run {
    /// Runs the shipped scenario with edits and additions, with its own seed or another.
    pub fn new(name: &str, edits: &[Edit<'_>], extra: &str, seed: Option<u64>) -> Self {
        let scenario = scenario(name, edits, extra);
        let mut origin = format!("valvewright run {name} --seed {}", seed.unwrap_or(scenario.seed));
        for (old, new) in edits {
            let _infallible = write!(origin, "\n  with `{old}` replaced by `{new}`");
        }
        if !extra.is_empty() {
            let _infallible = write!(origin, "\n  and at its end:\n{extra}");
        }
        Self::of(scenario, &RunOptions { seed, keep_frames: true, ..RunOptions::default() }, origin)
    }

    /// The job drawn from `seed`; its frames are kept where they are wanted, some tens of megabytes.
    pub fn drawn(seed: u64, keep_frames: bool) -> Self {
        let origin = format!("valvewright run {}{seed}", random::PREFIX);
        Self::of(drawn(seed), &RunOptions { keep_frames, ..RunOptions::default() }, origin)
    }

    fn of(scenario: Scenario, options: &RunOptions, origin: String) -> Self {
        let outcome = run_scenario(&scenario, options, &mut |_| Control::Continue);
        let outcome = outcome.unwrap_or_else(|why| panic!("{why}\nreplay: {origin}"));
        Self { scenario, outcome, origin }
    }

    /// The shipped scenario as it is, run once for the whole test binary.
    pub fn shipped(name: &str) -> &'static Self {
        static RUNS: [OnceLock<Run>; SHIPPED.len()] = [const { OnceLock::new() }; SHIPPED.len()];
        let at = SHIPPED.iter().position(|one| one.name == name);
        let at = at.unwrap_or_else(|| panic!("no shipped scenario `{name}`"));
        RUNS[at].get_or_init(|| Self::new(name, &[], "", None))
    }

    /// Every shipped scenario.
    pub fn all_shipped() -> impl Iterator<Item = &'static Self> {
        SHIPPED.iter().map(|one| Self::shipped(one.name))
    }

    /// Judged numbers.
    pub fn result(&self) -> &RunResult {
        &self.outcome.result
    }

    /// How to have this run again, what it told the operator, and how its phases ended.
    pub fn replay(&self) -> String {
        let mut told = format!("replay: {}\n", self.origin);
        for notice in &self.result().notices {
            let _infallible = writeln!(told, "{:9.2} {:16} {}", notice.t_s, notice.id, notice.text);
        }
        for phase in &self.result().phases {
            let _infallible = writeln!(told, "{:12} {} {}", phase.name, phase.outcome.word(), phase.detail);
        }
        told
    }

    /// How often a notice of this id was given.
    pub fn told(&self, id: &str) -> usize {
        self.result().notices.iter().filter(|n| n.id == id).count()
    }

    /// A station as the run began with.
    pub fn fresh_station(&self) -> Station {
        let config = station_config(&self.scenario).expect("it was run with one");
        Station::wake(config, &start(&self.scenario))
    }

    /// Feeds the kept frames to a fresh station; `each` sees every scan behind it.
    pub fn refeed(&self, mut each: impl FnMut(u32, &RawFrame, &Outputs, &Station)) -> (Station, Vec<(u32, Notice)>) {
        let (mut station, mut notices) = (self.fresh_station(), Vec::new());
        for (ms, frame) in &self.outcome.tape.frames {
            let outputs = station.tick(Instant(*ms), frame);
            while let Some(notice) = station.take_notice() {
                notices.push((*ms, notice));
            }
            each(*ms, frame, &outputs, &station);
        }
        (station, notices)
    }

    /// Value of a channel in the last sample at or before `t`, s.
    pub fn channel_at(&self, name: &str, t: f64) -> f64 {
        let trace = &self.outcome.trace;
        let channel = trace.channel(name).unwrap_or_else(|| panic!("the trace has no channel `{name}`"));
        let at = trace.time_s.partition_point(|s| *s <= t);
        f64::from(channel.values[at.saturating_sub(1)])
    }

    /// Refrigerant in the vehicle at `t`, g: its three volumes and what their oil holds.
    pub fn vehicle_at(&self, t: f64) -> f64 {
        ["vehicle_high_m", "vehicle_low_m", "accumulator_m", "dissolved_m"].iter().map(|c| self.channel_at(c, t)).sum()
    }

    /// Begin and end of the first phase of that name, s.
    pub fn span(&self, phase: &str) -> (f64, f64) {
        let found = self.outcome.trace.phases.iter().find(|p| p.name == phase);
        let span = found.unwrap_or_else(|| panic!("phase `{phase}` did not run\n{}", self.replay())).span;
        (span.start_s, span.end_s)
    }

    /// What was on at `t` by the trace; a span that ends with the run still stands in its last scan.
    pub fn traced_on(&self, t: f64) -> Actuators {
        let end = self.result().sim_seconds;
        let tracks = Actuator::ALL.into_iter().zip(&self.outcome.trace.actuators);
        let on = tracks.filter(|(_, track)| track.on.iter().any(|i| i.start_s <= t && (t < i.end_s || i.end_s >= end)));
        on.fold(Actuators::NONE, |on, (a, _)| on.with(a))
    }
}
