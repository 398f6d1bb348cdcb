//! Between two jobs of a row, and at their ends: what is lost, late or stalled there is told of the right job, or of none.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, Outputs, RawFrame};
use valvewright_core::job::{Outcome, PhaseKind};
use valvewright_core::kept::{Boot, Start};
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{Instant, Milligram};
use valvewright_sim::controller::{Controller, Loss, Scan, Trouble, Who};
use valvewright_sim::display::STANDARD;
use valvewright_sim::report::data::{RunResult, Verdict};
use valvewright_sim::report::text;
use valvewright_sim::run::{
    Control, Platform, RunOptions, Scene, Seams, Simulation, Stand, complete, run_controller, run_scenario,
};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse};

/// Two vehicles on one station; the jobs are the caller's.
fn row(limit: &str, jobs: &str) -> Scenario {
    let vehicle = |name: &str| {
        format!(
            r#"
[[vehicle]]
name = "{name}"
label = "{name}"
refrigerant = "R-1234yf"
charge_label = "400 g"
content = "380 g"
oil_amount = "100 mL"
volumes = {{ high_side = "1.3 L", low_side = "1.2 L", accumulator = "0.6 L" }}
"#
        )
    };
    let text = format!(
        r#"
name = "row"
title = "A row"
seed = 5
time_limit = "{limit}"
[site]
ambient = "21 degC"
[station]
refrigerant = "R-1234yf"
vessel_content = "4 kg"
{}{}{jobs}"#,
        vehicle("first"),
        vehicle("second")
    );
    parse::read(&Source::new("row.toml", &*text)).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"))
}

fn job(vehicle: &str, phases: &str, extra: &str) -> String {
    format!("[[job]]\nvehicle = \"{vehicle}\"\nphases = {phases}\n{extra}\n")
}

const SHORT: &str = r#"["identify", "recover"]"#;

fn two(extra: [&str; 2]) -> String {
    job("first", SHORT, extra[0]) + &job("second", SHORT, extra[1])
}

fn run(scenario: &Scenario) -> RunResult {
    run_scenario(scenario, &RunOptions::BARE, &mut |_| Control::Continue).expect("it runs").result
}

fn words(r: &RunResult) -> String {
    r.notices.iter().map(|one| format!("{:.2} {}\n", one.t_s, one.text)).collect()
}

/// The machine stands still in the very scan in which the second order is given, so that the core never hears it and still stands
/// where the first ended.
#[test]
fn an_order_that_was_never_heard_is_not_passed_by_the_one_before() {
    let scenario = row("1 h", &two(["", ""]));
    let start = run(&scenario).jobs[1].start_s;
    let mut deaf = |scene: &mut Scene<'_>| {
        *scene.platform = Platform { stalled: (scene.t_s - start).abs() < 0.02, ..Platform::default() };
    };
    let mut seams = Seams { faults: Some(&mut deaf), observer: None };
    let run = Simulation::new(&scenario, &RunOptions::BARE).expect("it begins");
    let r = complete(run, &mut seams, &mut |_| Control::Continue).expect("it runs").result;
    assert_eq!(r.jobs[0].verdict, Verdict::Pass, "{}", words(&r));
    let second = &r.jobs[1];
    assert_eq!((second.verdict, r.exit_code()), (Verdict::Unfinished, 2), "{}", words(&r));
    assert!(second.recovered_g.shown.is_none_or(|shown| shown.abs() < 1e-9), "{:?}", second.recovered_g);
}

/// The machine starts anew two seconds after the first order's end: what was shown then stands.
#[test]
fn a_machine_that_starts_anew_after_the_end_takes_nothing_back() {
    let scenario = row("1 h", &two(["", ""]));
    let plain = run(&scenario);
    let end = plain.jobs[0].end_s - 3.0;
    let mut anew = |scene: &mut Scene<'_>| {
        *scene.platform =
            Platform { restart: ((scene.t_s - end).abs() < 0.02).then_some(Boot::PowerOn), ..Platform::default() };
    };
    let mut seams = Seams { faults: Some(&mut anew), observer: None };
    let run = Simulation::new(&scenario, &RunOptions::BARE).expect("it begins");
    let r = complete(run, &mut seams, &mut |_| Control::Continue).expect("it runs").result;
    assert_eq!((r.jobs[0].verdict, r.jobs[1].verdict), (Verdict::Pass, Verdict::Pass), "{}", words(&r));
    let off = r.jobs[0].recovered_g.shown.zip(plain.jobs[0].recovered_g.shown).map(|(a, b)| (a - b).abs());
    assert!(off.is_some_and(|off| off < 5.0), "{:?}", r.jobs[0].recovered_g);
}

/// The order ends two seconds before the limit, and the run would have gone on for five.
#[test]
fn a_job_that_ends_just_before_its_limit_does_not_end_the_row() {
    let scenario = row("1 h", &two(["", ""]));
    let first = &run(&scenario).jobs[0];
    let mut tight = scenario;
    tight.time_limit = first.end_s - first.start_s - 3.0;
    let r = run(&tight);
    assert_eq!((r.jobs.len(), r.jobs[0].verdict), (2, Verdict::Pass), "{}", words(&r));
}

/// The first job ends as it should, refused, and the second at its limit.
#[test]
fn a_row_that_was_cut_off_did_not_finish_whatever_came_before() {
    let foreign = "[job.operator]\nanswers = \"none\"\n[[job.operator.act]]\ndo = \"abort\"\nat = \"1 min\"\n[job.expect]\nverdict = \"aborted\"\n";
    let never = "[job.operator]\nanswers = \"none\"\n[[job.operator.act]]\ndo = \"pause\"\nat = \"10 s\"\n[job.expect]\nverdict = \"unfinished\"\n";
    let r = run(&row("20 min", &(two([foreign, never]) + &job("first", SHORT, ""))));
    assert_eq!((r.jobs.len(), r.jobs[1].verdict), (2, Verdict::Unfinished), "{}", words(&r));
    assert_eq!((r.verdict, r.exit_code()), (Verdict::Aborted, 2), "the third was never begun");
}

/// Ends every order at once and well, and goes in between.
#[derive(Clone, Default)]
struct Teller {
    /// Told at these times.
    says: Vec<(u32, Vec<Notice>)>,
    /// Told in answer to an order, in its scan.
    to_order: Vec<Notice>,
    gone_at: Option<u32>,
}

impl Controller for Teller {
    fn who(&self) -> Who {
        Who::program("teller")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        Ok(())
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if self.gone_at.is_some_and(|at| now.0 >= at) {
            return Ok(Scan::Lost(Loss { why: "it is gone".to_owned(), on: Actuators::SAFE }));
        }
        if let Some(Command::Start { id, .. }) = frame.command {
            notices.push(Notice::OrderStarted(id));
            notices.extend(self.to_order.iter().cloned());
        }
        for (_, what) in self.says.iter().filter(|(at, _)| *at == now.0) {
            notices.extend(what.iter().cloned());
        }
        Ok(Scan::Done(Outputs::default()))
    }
}

fn told(scenario: &Scenario, teller: Teller) -> RunResult {
    run_controller(scenario, &RunOptions::BARE, teller, &mut |_| Control::Continue).expect("it runs").result
}

/// At each stand of the change: couplers off, vehicle away, the next one there, coupled.
#[test]
fn a_controller_that_is_lost_between_two_jobs_leaves_one_result_of_the_first() {
    let scenario = row("1 h", &two(["", ""]));
    for gone_at in [3_000, 60_000, 400_000, 600_000] {
        let to_order = vec![Notice::Recovered(Milligram::from_grams(380)), Notice::OrderEnded(true)];
        let r = told(&scenario, Teller { to_order, gone_at: Some(gone_at), ..Teller::default() });
        let of: Vec<_> = r.jobs.iter().map(|job| (job.vehicle.as_str(), job.verdict)).collect();
        assert_eq!((of, r.exit_code()), (vec![("first", Verdict::Pass)], 2), "gone at {gone_at} ms");
        assert_eq!((r.recovered_g.shown, r.verdict), (Some(380.0), Verdict::Unfinished), "gone at {gone_at} ms");
        let text = text::summary("A row", &r, &STANDARD);
        assert!(text.contains("1 of 2 jobs passed") && text.contains("job 2 was never begun"), "{text}");
    }
}

/// A phase of the first job is told to have ended while the vehicles change.
#[test]
fn a_phase_that_is_told_late_is_none_of_the_next_job() {
    let expect = "[job.expect]\nverdict = \"pass\"\n[job.expect.phases]\nrecover = \"pass\"\n";
    let scenario = row("1 h", &two(["", expect]));
    let late = vec![Notice::PhaseEnded(PhaseKind::Recover, Outcome::Done)];
    let to_order = vec![Notice::PhaseStarted(PhaseKind::Recover), Notice::OrderEnded(true)];
    let r = told(&scenario, Teller { says: vec![(60_000, late)], to_order, gone_at: None });
    assert!(r.jobs[1].phases.iter().all(|phase| phase.name != "recover"), "{:?}", r.jobs[1].phases);
    let judged = r.jobs[1].expectations.iter().find(|one| one.name.contains("phase recover")).expect("it was judged");
    assert!(!judged.held, "{judged:?}");
}

/// The first operator is slow: what was asked of one vehicle is answered when the next one stands there.
#[test]
fn a_late_answer_does_nothing_to_the_next_vehicle() {
    let slow = "[job.operator]\nanswers = \"confirm\"\ndelay = \"8 min\"\n";
    let test = r#"["pressure_test"]"#;
    let scenario = row("1 h", &(job("first", test, slow) + &job("second", test, "")));
    let asked = valvewright_core::talk::Asked { number: 1, question: valvewright_core::talk::Question::FillNitrogen };
    let to_order = vec![Notice::Asked(asked), Notice::OrderEnded(false)];
    let mut run =
        Simulation::with(&scenario, &RunOptions::BARE, Teller { to_order, ..Teller::default() }).expect("it begins");
    let (mut air, mut coupled) = (None::<f64>, 0);
    while run.step().expect("a scan") == Stand::Running && run.time() < 595.0 {
        if run.time() > 310.0 {
            let now =
                run.signal("vehicle_low.m_air").expect("a volume") + run.signal("vehicle_high.m_air").expect("one");
            let before = *air.get_or_insert(now);
            assert!(now - before < 1e-6, "{} kg of nitrogen in the next vehicle at {} s", now - before, run.time());
            coupled += u32::from(run.truth().coupled);
        }
    }
    assert_eq!(coupled, 0);
}

/// So are couplers: nobody couples a vehicle that drove away.
#[test]
fn an_act_at_the_couplers_goes_with_its_vehicle_and_one_at_the_panel_stays() {
    let acts = "[job.operator]\n[[job.operator.act]]\ndo = \"couple\"\nat = \"5 min\"\n[[job.operator.act]]\ndo = \"open_door\"\nat = \"5 min\"\n";
    let scenario = row("1 h", &two([acts, ""]));
    let to_order = vec![Notice::OrderEnded(true)];
    let mut run =
        Simulation::with(&scenario, &RunOptions::BARE, Teller { to_order, ..Teller::default() }).expect("it begins");
    run.run_until(590.0).expect("scans");
    assert!(!run.truth().coupled && !run.truth().door_shut, "{:?}", run.truth());
}

/// A row of weeks lasts longer than the tick of 32 bits; that it begins again is the controller's affair alone.
#[test]
fn the_time_of_a_run_goes_on_where_the_tick_of_the_controller_begins_again() {
    let mut scenario = row("1 h", &two(["", ""]));
    // Scans of a minute, so that it stays short.
    scenario.station.scan = 60.0;
    scenario.then[0].after = 50.0 * 86_400.0;
    let to_order = vec![Notice::OrderEnded(true)];
    let mut run =
        Simulation::with(&scenario, &RunOptions::BARE, Teller { to_order, ..Teller::default() }).expect("it begins");
    assert_eq!(run.run_until(51.0 * 86_400.0).expect("scans"), Stand::Over, "{} s", run.time());
    assert_eq!(run.finish().result.jobs.len(), 2);
}
