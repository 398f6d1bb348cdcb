//! A fault that has ended leaves everything as it was: devices, holds, numbers, ways, air, supply, door, couplers.
//!
//! An idle controller sits at the station, so that nothing but the fault acts. What came in does not go out again, and a device keeps what it
//! saw: those are named.

use std::collections::BTreeMap;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, Outputs, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::talk::Notice;
use valvewright_core::units::Instant;
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
use valvewright_sim::fault::{Begins, End, Planned, When, injections};
use valvewright_sim::run::{Holds, RunOptions, Simulation};
use valvewright_tests::job_runs::scenario;

/// Keeps the fan on and everything else off.
#[derive(Clone)]
struct Idle;

impl Controller for Idle {
    fn who(&self) -> Who {
        Who::program("idle")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        Ok(())
    }
    fn scan(&mut self, now: Instant, _: &RawFrame, _: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        // Off for a moment, so that switching it on is seen by the plant.
        let on = if now.0 < 1_000 { Actuators::NONE } else { Actuators::SAFE };
        Ok(Scan::Done(Outputs { on, ..Outputs::default() }))
    }
}

/// When the fault comes and goes, and when all is looked at again, s.
const COMES: f64 = 10.0;
const LASTS: f64 = 4.0;
/// Longer than any delay line or lag of an ill, and than the run-down of the fan.
const LOOKED_AT: f64 = 40.0;
/// A frozen converter has missed conversions, so that its sequence stays behind; what AT-1 says depends on when it started.
const REMEMBERS: &[&str] = &["F029", "F106", "F138"];

type Run = Simulation<Idle>;

fn run(planned: Option<&Planned>) -> Run {
    let made = scenario("mild_hatchback", &[], "");
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let mut run = Simulation::with(&made, &options, Idle).expect("it begins");
    if let Some(one) = planned {
        run.inject(one).unwrap_or_else(|why| panic!("{}: {why}", one.id));
    }
    run
}

/// Every number of the plant that can be changed, to the last bit, and every element.
fn numbers(run: &Run) -> BTreeMap<String, u64> {
    const KEYS: [&str; 26] = [
        "diameter",
        "discharge",
        "k",
        "cracking",
        "nonequilibrium",
        "length",
        "count",
        "roughness",
        "fittings",
        "displacement",
        "speed",
        "volumetric",
        "clearance",
        "isentropic",
        "condenser",
        "idle_current",
        "current_per_watt",
        "ultimate",
        "stall",
        "ballast",
        "set",
        "reseat",
        "flow",
        "power",
        "coefficient",
        "stroke",
    ];
    let plant = run.plant();
    let elements: Vec<String> = plant.element_names().map(str::to_owned).collect();
    let mut all = BTreeMap::new();
    for name in &elements {
        let element = plant.element(name).expect("it was listed");
        all.insert(format!("{name} command"), plant.command(element).to_bits());
        for key in KEYS.iter().chain(&["leak_by", "to_wall", "conductance"]) {
            let name = format!("{name}.{key}");
            all.extend(plant.param(&name).map(|value| (name, value.to_bits())));
        }
    }
    for name in ["ambient.temperature", "ambient.pressure", "ambient.humidity"] {
        all.extend(plant.param(name).map(|value| (name.to_owned(), value.to_bits())));
    }
    for volume in ["hose_low", "hose_high", "manifold", "vessel"] {
        let (_, around) = plant.surroundings(volume).expect("it has a wall");
        all.insert(format!("{volume} around"), around.to_bits());
    }
    all
}

fn planned(id: &valvewright_sim::fault::Injection, mode: &valvewright_sim::fault::Mode, tag: &'static str) -> Planned {
    let mut one = Planned::usual(id.id).expect("it can be injected");
    (one.mode, one.tag) = (mode.name, tag);
    one.severity = mode.severity.map(|severity| severity.usual_si());
    one.begin.when = When::Job;
    one.begin.after = if id.begins == Begins::WithTheJob { 0.0 } else { COMES };
    one.end = End::After(LASTS);
    one
}

/// What differs from the run that had no fault.
fn scars(one: &Planned, faulty: &Run, healthy: &Run) -> Vec<String> {
    let mut scars = Vec::new();
    let (now, was) = (numbers(faulty), numbers(healthy));
    for name in now.keys().chain(was.keys()).filter(|name| now.get(*name) != was.get(*name)) {
        scars.push(format!("{name}: {:?}, was {:?}", now.get(name), was.get(name)));
    }
    if *faulty.holds() != Holds::default() {
        scars.push(format!("held: {:?}", faulty.holds()));
    }
    let (now, was) = (faulty.truth(), healthy.truth());
    let around = |t: &valvewright_sim::instrument::Truth| {
        [t.t_ambient, t.barometer, t.supply_v, t.rail_v, t.fan_rpm].map(f64::to_bits)
    };
    let states = |t: &valvewright_sim::instrument::Truth| {
        (t.fan_on, t.door_shut, t.coupled, t.estop_pressed, t.motors_running, t.gas.oil_film)
    };
    if around(now) != around(was) || states(now) != states(was) {
        scars.push(format!("{:?} {:?}, was {:?} {:?}", around(now), states(now), around(was), states(was)));
    }
    let device_only = one.way().is_some_and(|way| {
        let effects = (way.does)(&one.given());
        effects.iter().all(|effect| matches!(effect, valvewright_sim::fault::Effect::Device(_)))
    });
    if device_only && !REMEMBERS.contains(&one.id.to_string().as_str()) {
        // Nothing but devices was touched: every frame is again what it is without the fault, to the last bit.
        if faulty.frame() != healthy.frame() {
            scars.push(format!("frame {:?}, was {:?}", faulty.frame(), healthy.frame()));
        }
        if format!("{:?}", faulty.instruments()) != format!("{:?}", healthy.instruments()) {
            scars.push("the instruments remember".to_owned());
        }
    }
    scars
}

/// Shows LS5.
#[test]
fn what_has_ended_leaves_nothing_behind() {
    let mut healthy = run(None);
    healthy.run_until(LOOKED_AT).expect("it runs");
    let (mut scarred, mut count) = (Vec::new(), 0);
    for one in injections().filter(|one| one.refused.is_none()) {
        for mode in one.modes {
            for tag in one.tags {
                let plan = planned(one, mode, tag);
                let mut faulty = run(None);
                if faulty.inject(&plan).is_err() {
                    // The order of this job has nothing that it could be at, and its operator types no code; its station has all.
                    assert!(one.begins == Begins::WithTheJob || [107, 108].contains(&one.id.0), "{}", one.id);
                    continue;
                }
                faulty.run_until(LOOKED_AT).expect("it runs");
                count += 1;
                let scars = scars(&plan, &faulty, &healthy);
                if !scars.is_empty() {
                    scarred.push(format!("{} {} {tag}: {}", one.id, mode.name, scars.join("; ")));
                }
                let record = faulty.finish().result.faults.remove(0);
                assert!(record.began_s.is_some() && record.ended_s.is_some(), "{record:?}");
            }
        }
    }
    assert!(count > 180, "{count} were tried");
    assert!(scarred.is_empty(), "{} of {count}:\n{}", scarred.len(), scarred.join("\n"));
}

#[test]
fn a_scar_is_seen() {
    let mut healthy = run(None);
    healthy.run_until(20.0).expect("it runs");
    let id = valvewright_sim::fault::FaultId(68);
    let injection = valvewright_sim::fault::find(id).expect("F068");
    let mut plan = planned(injection, &injection.modes[0], "P-1");
    plan.end = End::Never;
    let mut faulty = run(Some(&plan));
    faulty.run_until(20.0).expect("it runs");
    assert!(scars(&plan, &faulty, &healthy).iter().any(|one| one.starts_with("P-1.ultimate")), "it acts still");
}
