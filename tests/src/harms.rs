//! Silent harms: one device broken by hand in a whole job, and what was true beside what the station said.
//!
//! Each harm is data: the job, what breaks, when it breaks and whether it heals. [`Harm::run`] repeats it to the last bit.

use valvewright_core::frame::{Actuator, Actuators, Analog, Scale, Switches};
use valvewright_core::job::PhaseKind;
use valvewright_sim::fault::{self, Begin, Effect, End};
use valvewright_sim::instrument::{ContactHealth, Ill as Device, LoopHealth, ScaleHealth};
use valvewright_sim::report::data::{Outcome, RunResult};
use valvewright_sim::run::{Control, Disturb, Hold, RunOptions, Scene, Seams, Simulation, complete};

use crate::job_runs::{Edit, scenario};

/// An operator who presses reset and goes on two minutes after the first trip, and once more after ten.
const RESETS: &str = r#"
[[operator.act]]
do = "reset"
notice = "tripped"
after = "2 min"
[[operator.act]]
do = "resume"
notice = "tripped"
after = "3 min"
[[operator.act]]
do = "reset"
notice = "tripped"
after = "10 min"
[[operator.act]]
do = "resume"
notice = "tripped"
after = "11 min"
"#;
/// A job that stands in a trip goes nowhere: no run is watched longer, s.
const WATCHED: f64 = 2.0 * 3600.0;
/// Pressure at the inlet of P-1 from which it blows, Pa.
const BLOWS: f64 = 1.05e5;
/// A fan below this share of its speed moves no air: where FSL-1 opens.
const STILL_RPM: f64 = 1400.0;

/// One broken device, as the faults of the catalogue break it.
#[derive(Clone, Copy, Debug)]
pub enum Ill {
    /// The vessel scale's first bridge.
    Wt1(ScaleHealth),
    /// A bridge.
    Bridge(Scale, ScaleHealth),
    /// A loop.
    Loop(Analog, LoopHealth),
    /// Contacts, as bits of [`Switches`].
    Contact(u16, ContactHealth),
    /// An actuator.
    Held(Actuator, Hold),
}

impl Ill {
    fn effect(self) -> Effect {
        match self {
            Self::Wt1(health) => Effect::Device(Device::Scale(Scale::Wt1A, health)),
            Self::Bridge(one, health) => Effect::Device(Device::Scale(one, health)),
            Self::Loop(input, health) => Effect::Device(Device::Loop(input, health)),
            Self::Contact(mask, health) => Effect::Device(Device::Contact(mask, health)),
            Self::Held(one, hold) => Effect::Hold(one, hold),
        }
    }
}

/// When a device is broken.
#[derive(Clone, Copy, Debug)]
pub enum When {
    /// From so many seconds on.
    From(f64),
    /// From so many seconds after this phase first began, to the end of the job.
    Since(PhaseKind, f64),
    /// From so many seconds after this phase began until it ends.
    During(PhaseKind, f64),
}

/// A silent harm.
#[derive(Debug)]
pub struct Harm {
    /// Short name.
    pub name: &'static str,
    /// Shipped scenario.
    pub job: &'static str,
    /// What is changed in it.
    pub edits: &'static [Edit<'static>],
    /// What breaks, all at once.
    pub ills: &'static [Ill],
    /// When.
    pub when: When,
}

/// What was true in a run, whatever the station said.
#[derive(Clone, Copy, Debug, Default)]
pub struct Seen {
    /// When the device broke, s; never where nothing did.
    pub broke: Option<f64>,
    /// Most that was in the vessel, g.
    pub vessel_most: f64,
    /// Vented from the vessel through XV-7 and PSV-1, g.
    pub vented: f64,
    /// The same up to the end of the first pull after the device broke, g.
    pub vented_pulling: f64,
    /// Highest pressure of the vessel, Pa.
    pub vessel_p: f64,
    /// Time that the inlet of P-1 stood above 1.05 bar, s.
    pub blown: f64,
    /// The same while anything beside the fan was on, so that more could come, s.
    pub fed: f64,
    /// Most refrigerant at the inlet of P-1, g.
    pub inlet_most: f64,
    /// Highest pressure there, Pa.
    pub inlet_p: f64,
    /// New oil that left its bottle, g.
    pub new_oil: f64,
    /// Oil that came into the used-oil bottle, g.
    pub used_oil: f64,
    /// Time that an output beside the fan was on without moving air, s.
    pub airless: f64,
    /// Pressure of the low-side hose when the last leak check began and when it ended, Pa.
    pub held: [f64; 2],
    /// Most refrigerant that was in the vehicle since the charge began, g.
    pub vehicle_most: f64,
}

/// A harm that was run.
#[derive(Debug)]
pub struct Told {
    /// What the station said and what the scenario's own account is.
    pub result: RunResult,
    /// What was true.
    pub seen: Seen,
    origin: String,
}

struct Onlooker {
    seen: Seen,
    last_s: f64,
    phase: Option<PhaseKind>,
    begun: f64,
    charging: bool,
    pulled: bool,
    ended: bool,
    oils: Option<[f64; 2]>,
}

/// Volumes of the vehicle, as in the shipped network.
const VEHICLE: [&str; 6] = [
    "vehicle_high.m",
    "vehicle_high.m_dissolved",
    "vehicle_low.m",
    "vehicle_low.m_dissolved",
    "accumulator.m",
    "accumulator.m_dissolved",
];

fn read(scene: &Scene<'_>, name: &str) -> f64 {
    let signal = scene.plant.signal(name).unwrap_or_else(|| panic!("the plant has no signal {name}"));
    scene.plant.read(signal)
}

impl When {
    /// The same as a plan.
    fn plan(self) -> (Begin, End) {
        let begin = |when, after| Begin { when, after };
        match self {
            Self::From(t) => (begin(fault::When::Job, t), End::Never),
            Self::Since(kind, after) => (begin(fault::When::Phase(kind), after), End::Never),
            Self::During(kind, after) => (begin(fault::When::Phase(kind), after), End::PhaseEnds(kind)),
        }
    }
}

impl Onlooker {
    fn watch(&mut self, scene: &Scene<'_>) {
        let dt = scene.t_s - self.last_s;
        self.last_s = scene.t_s;
        let seen = &mut self.seen;
        seen.vessel_most = seen.vessel_most.max(scene.truth.m_vessel_kg * 1e3);
        seen.vessel_p = seen.vessel_p.max(scene.truth.p_vessel);
        seen.vented += (read(scene, "XV-7.flow") + read(scene, "PSV-1.flow")) * 1e3 * dt;
        self.pulled |= scene.on.has(Actuator::C1);
        self.ended |= self.pulled && !scene.on.has(Actuator::C1);
        if !self.ended {
            seen.vented_pulling = seen.vented;
        }
        let (inlet, stopped) = (read(scene, "pump_inlet.p"), scene.on.without(Actuators::SAFE).is_empty());
        seen.inlet_p = seen.inlet_p.max(inlet);
        seen.inlet_most = seen.inlet_most.max(read(scene, "pump_inlet.m") * 1e3);
        if inlet > BLOWS {
            seen.blown += dt;
            seen.fed += if stopped { 0.0 } else { dt };
        }
        let oils = [scene.truth.m_new_oil_kg, scene.truth.m_used_oil_kg];
        let [new, used] = *self.oils.get_or_insert(oils);
        (seen.new_oil, seen.used_oil) = ((new - oils[0]) * 1e3, (oils[1] - used) * 1e3);
        if !stopped && scene.instruments.fan_rpm() < STILL_RPM {
            seen.airless += dt;
        }
        if scene.phase == Some(PhaseKind::LeakCheck) {
            let [first, _] = seen.held;
            seen.held = [if scene.t_s == self.begun { scene.truth.p_low } else { first }, scene.truth.p_low];
        }
        self.charging |= scene.phase == Some(PhaseKind::Charge);
        if self.charging {
            let held: f64 = VEHICLE.iter().map(|name| read(scene, name)).sum();
            seen.vehicle_most = seen.vehicle_most.max(held * 1e3);
        }
    }
}

impl Disturb for Onlooker {
    fn scan(&mut self, scene: &mut Scene<'_>) {
        if scene.phase != self.phase {
            (self.phase, self.begun) = (scene.phase, scene.t_s);
        }
        self.watch(scene);
    }
}

impl Harm {
    /// Runs it, with the scenario's seed or another.
    pub fn run(&self, seed: Option<u64>) -> Told {
        let scenario = scenario(self.job, self.edits, RESETS);
        let seed_used = seed.unwrap_or(scenario.seed);
        let mut onlooker = Onlooker {
            seen: Seen::default(),
            last_s: 0.0,
            phase: None,
            begun: 0.0,
            charging: false,
            pulled: false,
            ended: false,
            oils: None,
        };
        let origin = format!("cargo run --release -p valvewright-tests --example harms -- {} {seed_used}", self.name);
        let options = RunOptions { seed, no_samples: true, ..RunOptions::default() };
        let run = Simulation::new(&scenario, &options);
        let mut run = run.unwrap_or_else(|why| panic!("{why}\nreplay: {origin}"));
        let (begin, end) = self.when.plan();
        let broken = run.break_down(self.ills.iter().map(|ill| ill.effect()).collect(), begin, end);
        let mut seams = Seams { faults: Some(&mut onlooker), observer: None };
        let run = complete(run, &mut seams, &mut |at| {
            if at.t_s < WATCHED { Control::Continue } else { Control::Stop }
        });
        let outcome = run.unwrap_or_else(|why| panic!("{why}\nreplay: {origin}"));
        onlooker.seen.broke = outcome.broke[broken].filter(|_| !self.ills.is_empty());
        Told { result: outcome.result, seen: onlooker.seen, origin }
    }
}

impl Told {
    /// Rows that tripped after the device broke, with the time since then, s.
    pub fn rows(&self) -> Vec<(&str, f64)> {
        let broke = self.seen.broke.unwrap_or(f64::INFINITY);
        let after = self.result.interlocks.iter().filter(|row| row.t_s >= broke);
        after.map(|row| (row.id.as_str(), row.t_s - broke)).collect()
    }

    /// The first phase that did not meet its plan: its name and its reason.
    pub fn given_up(&self) -> Option<(&str, String)> {
        let phase = self.result.phases.iter().find(|phase| !matches!(phase.outcome, Outcome::Pass | Outcome::Skipped));
        phase.map(|phase| (phase.name.as_str(), phase.detail.to_string()))
    }

    /// How to have it again, and all that was said and true.
    pub fn replay(&self) -> String {
        let mut told = format!("replay: {}\n{:?}\n", self.origin, self.seen);
        for notice in &self.result.notices {
            told.push_str(&format!("{:9.2} {:16} {}\n", notice.t_s, notice.id, notice.text));
        }
        for phase in &self.result.phases {
            told.push_str(&format!("{:12} {} {}\n", phase.name, phase.outcome.word(), phase.detail));
        }
        told
    }
}

const HATCHBACK: &str = "mild_hatchback";
const LEAK_FROM_DEPTH: LoopHealth = LoopHealth::Stuck { at: 40.0, noise: 1.0 };
/// Room for the label's charge and no more, and a car that somebody filled far over its label.
const NEARLY_FULL: &[Edit<'static>] =
    &[("vessel_content = \"6 kg\"", "vessel_content = \"9.45 kg\""), ("content = \"445 g\" ", "content = \"1200 g\" ")];

const XV6_OPEN: &[Ill] = &[Ill::Held(Actuator::Xv6, Hold::On)];

const fn harm(name: &'static str, ills: &'static [Ill], when: When) -> Harm {
    Harm { name, job: HATCHBACK, edits: &[], ills, when }
}

/// All of them. The names stay: tests and reports cite them.
pub const HARMS: &[Harm] = &[
    harm("healthy", &[], When::From(0.0)),
    Harm { edits: NEARLY_FULL, ..harm("healthy_nearly_full", &[], When::From(0.0)) },
    Harm {
        edits: NEARLY_FULL,
        ..harm("wt1_stuck_recovering", &[Ill::Wt1(ScaleHealth::Stuck)], When::During(PhaseKind::Recover, 60.0))
    },
    harm("wt1_half_gain", &[Ill::Wt1(ScaleHealth::Gain(0.5))], When::From(0.0)),
    harm("wt1_half_gain_charging", &[Ill::Wt1(ScaleHealth::Gain(0.5))], When::During(PhaseKind::Charge, 0.0)),
    harm("wt1_drift_charging", &[Ill::Wt1(ScaleHealth::Drift(0.3))], When::During(PhaseKind::Charge, 0.0)),
    harm("wt1_drift_down_charging", &[Ill::Wt1(ScaleHealth::Drift(-0.3))], When::During(PhaseKind::Charge, 0.0)),
    harm("wt1_small_drift_charging", &[Ill::Wt1(ScaleHealth::Drift(0.08))], When::During(PhaseKind::Charge, 0.0)),
    harm("wt1_step_charging", &[Ill::Wt1(ScaleHealth::Step(50.0))], When::Since(PhaseKind::Charge, 40.0)),
    harm("wt1_step_down_charging", &[Ill::Wt1(ScaleHealth::Step(-50.0))], When::Since(PhaseKind::Charge, 40.0)),
    harm("wt1_stuck_charging", &[Ill::Wt1(ScaleHealth::Stuck)], When::Since(PhaseKind::Charge, 40.0)),
    harm("wt1_span", &[Ill::Wt1(ScaleHealth::Span(-0.05))], When::From(0.0)),
    Harm {
        job: "small_leak",
        ..harm("pt4_stuck_leaking", &[Ill::Loop(Analog::Pt4, LEAK_FROM_DEPTH)], When::From(0.0))
    },
    Harm {
        job: "small_leak",
        ..harm(
            "pt4_sticks_leaking",
            &[Ill::Loop(Analog::Pt4, LEAK_FROM_DEPTH)],
            When::Since(PhaseKind::Evacuate, 900.0),
        )
    },
    Harm { job: "wet_circuit", ..harm("pt4_stuck_wet", &[Ill::Loop(Analog::Pt4, LEAK_FROM_DEPTH)], When::From(0.0)) },
    Harm {
        job: "wet_circuit",
        ..harm("pt4_sticks_wet", &[Ill::Loop(Analog::Pt4, LEAK_FROM_DEPTH)], When::Since(PhaseKind::Evacuate, 420.0))
    },
    harm(
        "k1_stopped_fsl1_closed",
        &[Ill::Held(Actuator::K1, Hold::Off), Ill::Contact(Switches::FSL1_FLOW, ContactHealth::StuckClosed)],
        When::From(0.0),
    ),
    harm(
        "k1_stops_fsl1_sticks",
        &[Ill::Held(Actuator::K1, Hold::Off), Ill::Contact(Switches::FSL1_FLOW, ContactHealth::StuckClosed)],
        When::From(120.0),
    ),
    harm("xv6_open", XV6_OPEN, When::From(0.0)),
    harm("xv6_open_recovering", XV6_OPEN, When::Since(PhaseKind::Recover, 60.0)),
    harm("xv6_open_after_evacuating", XV6_OPEN, When::Since(PhaseKind::LeakCheck, 0.0)),
    harm("xv6_open_charging", XV6_OPEN, When::Since(PhaseKind::Charge, 0.0)),
    harm("xv9_open", &[Ill::Held(Actuator::Xv9, Hold::On)], When::From(0.0)),
    harm("xv9_open_charging", &[Ill::Held(Actuator::Xv9, Hold::On)], When::Since(PhaseKind::Charge, 0.0)),
    harm("xv9_open_injecting", &[Ill::Held(Actuator::Xv9, Hold::On)], When::Since(PhaseKind::InjectOil, 8.0)),
    harm("xv8_open_recovering", &[Ill::Held(Actuator::Xv8, Hold::On)], When::During(PhaseKind::Recover, 0.0)),
    Harm {
        edits: &[("seed = 1\n", "seed = 1\ntime_limit = \"1 h\"\n")],
        ..harm("xv7_open_recovering", &[Ill::Held(Actuator::Xv7, Hold::On)], When::Since(PhaseKind::Recover, 0.0))
    },
    Harm { job: "hot_yard", ..harm("h1_on_hot_yard", &[Ill::Held(Actuator::H1, Hold::On)], When::From(0.0)) },
    harm("h1_on", &[Ill::Held(Actuator::H1, Hold::On)], When::From(0.0)),
    harm(
        "hose_gauges_low",
        &[Ill::Loop(Analog::Pt2, LoopHealth::Offset(-1e5)), Ill::Loop(Analog::Pt3, LoopHealth::Offset(-1e5))],
        When::From(0.0),
    ),
    harm(
        "hose_gauges_high",
        &[Ill::Loop(Analog::Pt2, LoopHealth::Offset(1e5)), Ill::Loop(Analog::Pt3, LoopHealth::Offset(1e5))],
        When::From(0.0),
    ),
];

/// The harm of this name.
pub fn find(name: &str) -> &'static Harm {
    HARMS.iter().find(|one| one.name == name).unwrap_or_else(|| panic!("no harm `{name}`"))
}
