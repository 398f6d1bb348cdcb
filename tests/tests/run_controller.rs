//! Any controller: a type of the user's own drives the plant, is judged by the truth, and borrows no word of the core.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuator, Actuators, Outputs, RawFrame};
use valvewright_core::job::PhaseKind;
use valvewright_core::kept::{Boot, Start};
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{Instant, Milligram, Millis};
use valvewright_sim::board::BoardError;
use valvewright_sim::controller::{Controller, Loss, Scan, Trouble, Who};
use valvewright_sim::report::data::Verdict;
use valvewright_sim::run::{
    Control, Observe, Platform, RunOptions, RunOutcome, Scene, Seams, Seen, Simulation, Stand, complete,
    run_controller, run_scenario,
};
use valvewright_tests::job_runs::scenario;

/// How long [`Boaster`] has its valves open.
const OPEN: Millis = Millis(120_000);

/// Vents the vessel for two minutes and says that it has charged the vehicle.
#[derive(Clone, Default)]
struct Boaster {
    started: Option<Instant>,
    told: bool,
}

impl Controller for Boaster {
    fn who(&self) -> Who {
        Who::program("boaster")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        *self = Self::default();
        Ok(())
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if let Some(Command::Start { id, .. }) = frame.command {
            self.started = Some(now);
            notices.extend([Notice::OrderStarted(id), Notice::PhaseStarted(PhaseKind::Charge)]);
        }
        let Some(started) = self.started else { return Ok(Scan::Done(Outputs::default())) };
        let open = now.since(started) < OPEN;
        if !open && !self.told {
            self.told = true;
            let done = valvewright_core::job::Outcome::Done;
            notices.push(Notice::Charged(Milligram::from_grams(480)));
            notices.extend([Notice::PhaseEnded(PhaseKind::Charge, done), Notice::OrderEnded(true)]);
        }
        let on = if open { Actuators::of(&[Actuator::Xv7, Actuator::K1]) } else { Actuators::SAFE };
        Ok(Scan::Done(Outputs { on, ..Outputs::default() }))
    }
}

fn boast() -> RunOutcome {
    let extra = "escaped_most = \"100 g\"\n";
    let job = scenario("mild_hatchback", &[], extra);
    run_controller(&job, &RunOptions::default(), Boaster::default(), &mut |_| Control::Continue).expect("it runs")
}

#[test]
fn a_controller_that_says_all_is_well_is_shown_to_have_vented_and_charged_nothing() {
    let run = boast();
    let r = &run.result;
    assert_eq!((r.verdict, r.charged_g.shown), (Verdict::Pass, Some(480.0)), "its own word");
    assert!(r.charged_g.truth < 1.0, "what the vehicle lost went into the hoses: {:?}", r.charged_g);
    assert!(r.reached.escaped_g > 200.0, "{:?}", r.reached);
    let harm = r.expectations.iter().find(|one| one.name.starts_with("escaped_most")).expect("it was judged");
    assert!(!harm.held && r.exit_code() == 1, "{harm:?}");
    // What went out of the vessel is what came into the air.
    assert!((r.ledger.start_g - r.ledger.escaped_g - r.ledger.end_g + r.ledger.from_vehicles_g).abs() < 1e-6);
}

/// Shows LS6.
#[test]
fn a_result_of_another_controller_carries_nothing_of_the_core() {
    let r = boast().result;
    assert_eq!(
        (r.controller.name.as_str(), r.controller.joined.as_str(), r.controller.core),
        ("boaster", "program", false)
    );
    assert_eq!((r.recovered_g.shown, r.oil_drained_ml, r.leak.verdict.as_str()), (None, None, "not_checked"));
    assert!(r.board.is_none() && r.interlocks.is_empty());
}

/// What is expected of the core's rows is nothing to another controller: it is neither held nor failed, and the report says so.
#[test]
fn rows_are_not_judged_where_no_core_is() {
    let job = scenario("mild_hatchback", &[], "");
    assert!(job.expect.trips.is_some(), "the scenario expects that no row trips");
    let run = run_controller(&job, &RunOptions::default(), Boaster::default(), &mut |_| Control::Continue);
    let result = run.expect("it runs").result;
    assert!(result.expectations.iter().all(|one| !one.name.starts_with("trips")), "{:?}", result.expectations);
    let text = valvewright_sim::report::text::summary("a job", &result, &valvewright_sim::display::STANDARD);
    assert!(text.contains("PASS, by its own word") && text.contains("none is expected"), "{text}");
}

/// The gauges are read from the frames: what the transmitters say, though nobody judged it.
#[test]
fn its_trace_shows_what_the_transmitters_say() {
    let run = boast();
    let last = |name: &str| *run.trace.channel(name).expect(name).values.last().expect("samples");
    assert!((last("pt1") - last("pt1_true")).abs() < 0.1, "{} bar for {}", last("pt1"), last("pt1_true"));
    assert!((last("tt4") - 22.0).abs() < 1.0, "{} degC", last("tt4"));
    let lost = run.trace.channel("wt1").expect("wt1").values[0] - last("wt1");
    assert!((f64::from(lost) - run.result.reached.escaped_g).abs() < 30.0, "{lost} g by the scale");
    assert!(run.trace.channel("wt1_rate").is_none(), "only the core reckons a rate");
}

#[test]
fn a_fork_of_another_controller_goes_on_to_the_same_hash() {
    let job = scenario("mild_hatchback", &[], "");
    let mut run = Simulation::with(&job, &RunOptions::BARE, Boaster::default()).expect("it begins");
    assert_eq!(run.run_until(60.0).expect("scans"), Stand::Running);
    let mut fork = run.fork();
    for one in [&mut run, &mut fork] {
        assert_eq!(one.run_until(f64::INFINITY).expect("scans"), Stand::Over);
    }
    assert_eq!(run.hash(), fork.hash());
}

/// Answers until a moment, then is gone.
struct Mortal(Instant);

impl Controller for Mortal {
    fn who(&self) -> Who {
        Who::program("mortal")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        Ok(())
    }
    fn scan(&mut self, now: Instant, _: &RawFrame, _: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if now.0 >= self.0.0 {
            return Ok(Scan::Lost(Loss { why: "it is gone".to_owned(), on: Actuators::SAFE }));
        }
        let on = Actuators::of(&[Actuator::P1, Actuator::Xv6, Actuator::K1]);
        Ok(Scan::Done(Outputs { on, ..Outputs::default() }))
    }
}

#[test]
fn a_controller_that_is_lost_leaves_safe_outputs_its_reason_and_the_trace_so_far() {
    let job = scenario("mild_hatchback", &[], "");
    let lost = Mortal(Instant(30_000));
    let run = run_controller(&job, &RunOptions::default(), lost, &mut |_| Control::Continue).expect("it runs");
    let fault = run.result.controller.fault.as_ref().expect("it was lost");
    assert_eq!((fault.t_s, fault.why.as_str(), &fault.on), (30.0, "it is gone", &vec!["K-1".to_owned()]));
    assert_eq!((run.result.exit_code(), run.result.verdict), (2, Verdict::Unfinished));
    assert!((run.result.sim_seconds - 35.0).abs() < 0.1, "five seconds more are seen");
    let pump = run.trace.actuators.iter().find(|one| one.tag == "P-1").expect("P-1").on[0];
    assert!(pump.start_s < 0.1 && (pump.end_s - 30.0).abs() < 0.1, "{pump:?}");
}

/// Opens the purge valve once and then has no answer any more, but never says that it is lost.
struct Dawdler(bool);

impl Controller for Dawdler {
    fn who(&self) -> Who {
        Who::program("dawdler")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        Ok(())
    }
    fn scan(&mut self, _: Instant, _: &RawFrame, _: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        let on = Actuators::of(&[Actuator::Xv7, Actuator::K1]);
        let first = !std::mem::replace(&mut self.0, true);
        Ok(if first { Scan::Done(Outputs { on, ..Outputs::default() }) } else { Scan::Held(on) })
    }
}

#[test]
fn outputs_that_are_never_renewed_are_dropped_by_the_hardware_whoever_holds_them() {
    let job = scenario("mild_hatchback", &[], "");
    let mut run = Simulation::with(&job, &RunOptions::default(), Dawdler(false)).expect("it begins");
    run.run_until(0.5).expect("scans");
    assert!(run.outputs().on.has(Actuator::Xv7), "it may hold for half a second");
    run.run_until(60.0).expect("scans");
    assert_eq!(run.outputs().on, Actuators::SAFE);
    assert!(run.finish().result.reached.escaped_g < 20.0, "no more than what half a second lets out");
}

/// Counts scans, and what it saw.
#[derive(Default)]
struct Onlooker {
    scans: u64,
    notices: usize,
    highest: f64,
}

impl Observe for Onlooker {
    fn scan(&mut self, seen: &Seen<'_>) {
        self.scans += 1;
        self.notices += seen.notices.len();
        self.highest = self.highest.max(seen.truth.p_vessel);
    }
}

#[test]
fn an_observer_sees_every_scan_and_changes_nothing() {
    let job = scenario("mild_hatchback", &[], "");
    let plain = run_scenario(&job, &RunOptions::BARE, &mut |_| Control::Continue).expect("a run").result;
    let mut onlooker = Onlooker::default();
    let mut seams = Seams { faults: None, observer: Some(&mut onlooker) };
    let run = Simulation::new(&job, &RunOptions::BARE).expect("it begins");
    let seen = complete(run, &mut seams, &mut |_| Control::Continue).expect("a run").result;
    assert_eq!((seen.trace_hash, seen.notices.len()), (plain.trace_hash, onlooker.notices));
    assert_eq!(onlooker.scans, plain.ticks);
    assert!((onlooker.highest * 1e-5 - plain.reached.vessel_bar).abs() < 0.05, "{} Pa", onlooker.highest);
}

/// What is done to the machine under the controller acts as it would on a bench.
fn with_machine(mut act: impl FnMut(f64) -> Platform) -> RunOutcome {
    let job = scenario("mild_hatchback", &[], "");
    let mut faults = |scene: &mut Scene<'_>| *scene.platform = act(scene.t_s);
    let mut seams = Seams { faults: Some(&mut faults), observer: None };
    let run = Simulation::new(&job, &RunOptions::default()).expect("it begins");
    complete(run, &mut seams, &mut |_| Control::Continue).expect("a run")
}

/// Shows F097, H20.
#[test]
fn a_stalled_controller_holds_its_outputs_for_half_a_second_and_then_the_hardware_drops_them() {
    let stalled = |t: f64| Platform { stalled: (400.0..403.0).contains(&t), ..Platform::default() };
    let run = with_machine(stalled);
    let on = |tag: &str| run.trace.actuators.iter().find(|one| one.tag == tag).expect(tag).on.clone();
    let drop = on("C-1").iter().map(|span| span.end_s).find(|end| *end >= 400.0).expect("C-1 was on and went off");
    assert!((drop - 400.5).abs() < 0.11, "C-1 went off at {drop} s");
    let late = |watch: &Option<String>| watch.as_deref() == Some("late_scan");
    assert!(run.result.interlocks.iter().any(|one| late(&one.watch)), "{:?}", run.result.interlocks);
}

/// Shows H24.
#[test]
fn a_controller_that_starts_anew_has_forgotten_the_order() {
    let run = with_machine(|t| Platform {
        restart: ((t - 400.0).abs() < 0.01).then_some(Boot::PowerOn),
        ..Platform::default()
    });
    assert_eq!(run.result.verdict, Verdict::Unfinished, "{:?}", run.result.notices);
    let last = run.trace.actuators.iter().filter(|one| one.tag != "K-1").flat_map(|one| &one.on);
    assert!(last.clone().all(|span| span.end_s <= 400.1), "nothing but the fan is on after it");
}

/// Cannot be had a second time.
struct Once(bool);

impl Controller for Once {
    fn who(&self) -> Who {
        Who::program("once")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        let before = std::mem::replace(&mut self.0, true);
        if before { Err(Trouble::Board(BoardError::Mute)) } else { Ok(()) }
    }
    fn scan(&mut self, _: Instant, _: &RawFrame, _: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        let on = Actuators::of(&[Actuator::P1, Actuator::K1]);
        Ok(Scan::Done(Outputs { on, ..Outputs::default() }))
    }
}

#[test]
fn a_controller_that_does_not_come_back_is_lost_and_its_run_is_kept() {
    let mut cut =
        |scene: &mut Scene<'_>| scene.platform.restart = ((scene.t_s - 20.0).abs() < 0.01).then_some(Boot::PowerOn);
    let mut seams = Seams { faults: Some(&mut cut), observer: None };
    let run =
        Simulation::with(&scenario("mild_hatchback", &[], ""), &RunOptions::BARE, Once(false)).expect("it begins");
    let r = complete(run, &mut seams, &mut |_| Control::Continue).expect("what there is").result;
    let fault = r.controller.fault.as_ref().expect("it was lost");
    assert_eq!((fault.t_s, &fault.on, r.exit_code()), (20.0, &vec!["K-1".to_owned()], 2), "{fault:?}");
}
