//! Jobs in a row on one station: vessel, hoses, oil, scales and latches carry over, vehicles come and go, and the books close.

use valvewright_core::frame::Actuators;
use valvewright_sim::report::data::{Outcome, Verdict};
use valvewright_sim::run::{Control, PlantAlone, RunOptions, RunOutcome, Simulation, Stand, run_scenario};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse, shipped};

fn read(text: &str) -> Scenario {
    parse::read(&Source::new("row.toml", text)).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"))
}

fn monday() -> Scenario {
    parse::read(&shipped::source("monday_morning").expect("shipped")).expect("reads")
}

fn run(scenario: &Scenario) -> RunOutcome {
    run_scenario(scenario, &RunOptions::BARE, &mut |_| Control::Continue).expect("it runs")
}

const HEAD: &str = r#"
name = "row"
title = "A row"
seed = 5
time_limit = "3 h"
[site]
ambient = "21 degC"
[station]
refrigerant = "R-1234yf"
vessel_content = "4 kg"
"#;

/// A small vehicle of that name.
fn vehicle(name: &str, content: &str, extra: &str) -> String {
    format!(
        r#"
[[vehicle]]
name = "{name}"
label = "{name}"
refrigerant = "R-1234yf"
charge_label = "400 g"
content = "{content}"
oil = "PAG 46"
oil_amount = "100 mL"
{extra}
volumes = {{ high_side = "1.3 L", low_side = "1.2 L", accumulator = "0.6 L" }}
"#
    )
}

fn job(vehicle: &str, phases: &str, extra: &str) -> String {
    format!("[[job]]\nvehicle = \"{vehicle}\"\nphases = {phases}\n{extra}\n")
}

/// Two vehicles that are identified and recovered one after the other, with more keys of each and of the second job.
fn two((first, second): (&str, &str), job_of_second: &str) -> String {
    let vehicles = [vehicle("first", "380 g", first), vehicle("second", "300 g", second)].concat();
    format!("{HEAD}{vehicles}{}{}", job("first", SHORT, ""), job("second", SHORT, job_of_second))
}

const SHORT: &str = r#"["identify", "recover"]"#;

#[test]
fn five_vehicles_run_from_one_file_as_expected_and_the_books_of_the_station_close() {
    let r = run(&monday()).result;
    assert_eq!(r.jobs.len(), 5);
    for one in &r.expectations {
        assert!(one.held, "{}: {}\nreplay: valvewright run monday_morning", one.name, one.detail);
    }
    assert_eq!((r.exit_code(), r.partial, r.plant_fault.as_deref()), (0, false, None));
    let verdicts: Vec<_> = r.jobs.iter().map(|job| job.verdict).collect();
    assert!(verdicts.contains(&Verdict::Pass) && verdicts.contains(&Verdict::Refused), "{verdicts:?}");
    // In truth: what was there, what vehicles brought and took, what went into the air.
    let of = &r.ledger;
    assert!(of.error_g.abs() < 1e-6, "{of:?}");
    assert!((of.start_g + of.from_vehicles_g - of.escaped_g - of.end_g).abs() < 1e-6, "{of:?}");
    assert!(of.escaped_g > 1.0 && of.start_g > 4_900.0, "{of:?}");
    for account in &r.balances {
        assert!(account.error.abs() <= 1e-6 * account.scale.max(1.0), "{account:?}");
    }
    // By the instruments: every charge and recovery of the row within its own limits.
    for job in &r.jobs {
        assert!(job.recovered_g.off().abs() <= 30.0 && job.charged_g.off().abs() <= 15.0, "{job:?}");
    }
    let sum = r.jobs.iter().map(|job| job.recovered_g.truth).sum::<f64>();
    assert!((sum - r.recovered_g.truth).abs() < 1e-9);
}

/// What a job leaves in the vessel is what the next one finds.
#[test]
fn the_vessel_carries_over() {
    let text = two(("", ""), "after = \"20 min\"");
    let scenario = read(&text);
    let mut simulation = Simulation::new(&scenario, &RunOptions::BARE).expect("it begins");
    let (mut vessel, mut vehicles) = (Vec::new(), Vec::new());
    let mut before = 0.0;
    while simulation.step().expect("a scan") == Stand::Running {
        let content = simulation.signal("accumulator.m").expect("a volume of the vehicle");
        if (content - before).abs() > 0.02 {
            vehicles.push(simulation.time());
            vessel.push(simulation.signal("vessel.m").expect("the vessel"));
        }
        before = content;
    }
    let r = simulation.finish().result;
    assert_eq!(vehicles.len(), 2, "the first stood there, the second came: {vehicles:?}");
    assert!(vessel[1] > 4.3, "what the first gave is in the vessel: {vessel:?}");
    let (first, second) = (&r.jobs[0], &r.jobs[1]);
    assert!((second.start_s - first.end_s - 1200.0).abs() < 0.2, "{} after {}", second.start_s, first.end_s);
    assert!(first.recovered_g.truth > 350.0 && second.recovered_g.truth > 270.0, "{r:?}");
    assert!(
        (r.ledger.end_g - 4_000.0 - first.recovered_g.truth - second.recovered_g.truth).abs() < 5.0,
        "{:?}",
        r.ledger
    );
}

/// The first operator stops the station in mid-job and walks off; the button is released, the latch is not reset.
#[test]
fn a_latch_carries_over_and_refuses_the_next_order_until_it_is_reset() {
    let stop = r#"
[job.operator]
answers = "confirm"
[[job.operator.act]]
do = "emergency_stop"
at = "5 min"
[[job.operator.act]]
do = "release_stop"
at = "5 min"
after = "20 s"
[[job.operator.act]]
do = "abort"
at = "6 min"
"#;
    let vehicles = [vehicle("first", "380 g", ""), vehicle("second", "300 g", "")].concat();
    let text = format!("{HEAD}{vehicles}{}{}", job("first", SHORT, stop), job("second", SHORT, ""));
    let r = run(&read(&text)).result;
    let words = || r.notices.iter().map(|one| format!("{:.1} {}\n", one.t_s, one.text)).collect::<String>();
    assert_eq!(r.jobs[0].verdict, Verdict::Aborted, "{}", words());
    assert!(r.jobs[0].trips.contains(&"HS-1".to_owned()), "{:?}", r.jobs[0].trips);
    assert_eq!((r.jobs[1].verdict, r.jobs[1].phases.len()), (Verdict::Refused, 0), "{}", words());
    let refused = r.notices.iter().find(|one| one.id == "refused" && one.t_s >= r.jobs[1].start_s);
    assert!(refused.expect("it is said").text.contains("HS-1"), "{}", words());
    assert!(r.jobs[1].recovered_g.truth.abs() < 1e-9, "nothing was taken from the second");

    let reset = "[[job.operator.act]]\ndo = \"reset\"\nat = \"6 min\"\nafter = \"20 s\"\n";
    let text =
        format!("{HEAD}{vehicles}{}{}", job("first", SHORT, &format!("{stop}{reset}")), job("second", SHORT, ""));
    let r = run(&read(&text)).result;
    assert_eq!(r.jobs[1].verdict, Verdict::Pass, "{:?}", r.notices);
}

/// A foreign vehicle between two sound ones: nothing known of one passes to the next.
#[test]
fn a_foreign_gas_that_one_vehicle_left_in_the_hoses_keeps_the_next_one_off() {
    let foreign = "gas = { \"R-1234yf\" = \"70 %\", \"R-134a\" = \"30 %\" }";
    let vehicles =
        [vehicle("first", "380 g", ""), vehicle("other", "350 g", foreign), vehicle("third", "300 g", "")].concat();
    let jobs = [job("first", SHORT, ""), job("other", SHORT, ""), job("third", SHORT, "")].concat();
    let r = run(&read(&format!("{HEAD}{vehicles}{jobs}"))).result;
    let verdicts: Vec<_> = r.jobs.iter().map(|job| job.verdict).collect();
    assert_eq!(verdicts, [Verdict::Pass, Verdict::Refused, Verdict::Refused], "{:#?}", r.notices);
    assert_eq!(r.jobs[1].phases.last().map(|phase| phase.outcome), Some(Outcome::Refused), "{:?}", r.jobs[1].phases);
    assert!(r.jobs[1].recovered_g.truth < 10.0 && r.jobs[2].recovered_g.truth.abs() < 10.0, "{:?}", r.jobs);
    let last = r.notices.iter().rfind(|one| one.id == "refused").expect("the third is refused");
    assert!(last.text.contains("stands in the hoses"), "{:?}", last.text);
    assert!(r.ledger.error_g.abs() < 1e-6, "{:?}", r.ledger);
}

/// A vehicle comes when its turn comes: what it loses while it waits would be on nobody's account.
#[test]
fn a_leaking_vehicle_does_not_stand_by_while_another_is_served_or_time_passes() {
    let text = format!(
        "{HEAD}{}{}{}{}",
        vehicle("first", "380 g", ""),
        vehicle("leaker", "300 g", "leak = \"0.3 mm\""),
        job("first", SHORT, ""),
        job("leaker", SHORT, "after = \"4 h\"")
    );
    let r = run(&read(&text)).result;
    let of_jobs = r.jobs.iter().map(|job| job.reached.escaped_g).sum::<f64>();
    assert!(
        (r.reached.escaped_g - of_jobs).abs() < 8.0,
        "half a minute at 0.17 g/s and no more: {} g in the run, {of_jobs} g in its jobs",
        r.reached.escaped_g
    );
    assert!(r.jobs[1].recovered_g.truth > 200.0, "{:?}", r.jobs[1].recovered_g);
}

#[test]
fn a_row_of_one_job_is_that_job() {
    let text = format!("{HEAD}{}{}", vehicle("first", "380 g", ""), job("first", SHORT, ""));
    let single =
        text.replace("[[vehicle]]\nname = \"first\"", "[vehicle]").replace("[[job]]\nvehicle = \"first\"", "[order]");
    let (row, single) = (run(&read(&text)).result, run(&read(&single)).result);
    assert_eq!((row.trace_hash, row.ticks, row.jobs.len()), (single.trace_hash, single.ticks, 1));
}

/// Between the orders, in the second job, and while the couplers are off.
#[test]
fn a_fork_anywhere_in_a_row_goes_on_to_the_same_hash() {
    let text = two(("water = \"2 g\"", "leak = \"0.1 mm\""), "");
    let scenario = read(&text);
    let whole = run(&scenario).result;
    let mut simulation = Simulation::new(&scenario, &RunOptions::BARE).expect("it begins");
    let mut forks = Vec::new();
    while simulation.step().expect("a scan") == Stand::Running {
        if simulation.scans().is_multiple_of(4_000) {
            forks.push(simulation.fork());
        }
    }
    assert!(forks.len() >= 8, "{} forks of {} scans", forks.len(), whole.ticks);
    for mut fork in forks {
        let at = fork.time();
        while fork.step().expect("a scan") == Stand::Running {}
        assert_eq!(fork.hash(), whole.trace_hash, "forked at {at} s");
        assert_eq!(fork.finish().result.jobs.len(), 2);
    }
}

#[test]
fn the_plant_of_a_row_can_be_moved_alone() {
    let text = two(("", ""), "");
    let scenario = read(&text);
    let options = RunOptions { keep_frames: true, no_samples: true, ..RunOptions::default() };
    let known = run_scenario(&scenario, &options, &mut |_| Control::Continue).expect("it runs");
    let mut alone = PlantAlone::new(&scenario).expect("the plant can be built");
    alone.repeat(&known.moves, known.result.ticks);
    assert_eq!(alone.plant().balance().mass_error_kg * 1e3, known.result.mass_balance_error_g);
    assert_eq!(alone.plant().exchanged().times, 1);
}

/// The limit is that of a job: the row may take longer, a job may not.
#[test]
fn the_time_limit_counts_for_each_job() {
    let limited = HEAD.replace("3 h", "30 min");
    let vehicles = [vehicle("first", "380 g", ""), vehicle("second", "300 g", "")].concat();
    let row = format!("{limited}{vehicles}{}{}", job("first", SHORT, ""), job("second", SHORT, ""));
    let r = run(&read(&row)).result;
    assert!(r.sim_seconds > 1_800.0 && r.verdict == Verdict::Pass, "{} s, {:?}", r.sim_seconds, r.verdict);
    let long = job("second", "\"whole\"", "");
    let r = run(&read(&format!("{limited}{vehicles}{}{long}", job("first", SHORT, "")))).result;
    let last = &r.jobs[1];
    assert_eq!((r.jobs[0].verdict, last.verdict, r.exit_code()), (Verdict::Pass, Verdict::Unfinished, 2));
    assert!((last.seconds() - 1_800.0).abs() < 0.1, "{} s", last.seconds());
}

/// With nothing on while vehicles change.
#[test]
fn nothing_moves_while_no_vehicle_is_coupled() {
    let text = two(("", ""), "");
    let mut simulation = Simulation::new(&read(&text), &RunOptions::BARE).expect("it begins");
    let mut uncoupled = 0;
    while simulation.step().expect("a scan") == Stand::Running {
        if !simulation.truth().coupled {
            uncoupled += 1;
            let on = simulation.outputs().on;
            assert!(on.without(Actuators::SAFE).is_empty(), "{on:?} at {} s", simulation.time());
        }
    }
    assert!((11_000..12_000).contains(&uncoupled), "ten minutes less ten seconds: {uncoupled} scans");
}
