//! Planning of faults: what a file and the command line may say, when a fault comes and goes, and that a run with faults is as repeatable as
//! one without.

use valvewright_core::frame::{Actuator, Analog};
use valvewright_core::job::PhaseKind;
use valvewright_sim::fault::FaultId;
use valvewright_sim::report::data::{FaultRecord, RunResult};
use valvewright_sim::run::{Control, Hold, RunOptions, Scene, Simulation, Stand, run_scenario, run_with_faults};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse, parse_fault};
use valvewright_tests::fault_scenes::{SHOWN, with_faults};
use valvewright_tests::job_runs::{Run, scenario};

fn job(name: &str, faults: &[&str]) -> Scenario {
    with_faults(scenario(name, &[], ""), &faults.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>())
}

fn begun(scenario: &Scenario) -> Simulation {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    Simulation::new(scenario, &options).unwrap_or_else(|why| panic!("{why}"))
}

fn at(faults: &[&str], t: f64) -> Simulation {
    let mut run = begun(&job("mild_hatchback", faults));
    run.run_until(t).expect("it runs");
    run
}

fn judged(scenario: &Scenario) -> RunResult {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    run_scenario(scenario, &options, &mut |_| Control::Continue).unwrap_or_else(|why| panic!("{why}")).result
}

/// What is said of a fault in the words of the command line.
fn refused(words: &str) -> String {
    let list = parse_fault::read_words(words).expect_err(words);
    list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

#[test]
fn mistakes_in_a_fault_are_told_with_what_would_be_right() {
    for (words, told) in [
        ("f023", "F001 to F138"),
        ("F024 severity=0g", "would be no fault"),
        ("F024 severity=1kg", "outside the accepted range"),
        ("F024 severity=-1e300kg", "outside the accepted range"),
        ("F024 severity=50", "has no unit"),
        ("F024 severity=50bar", "a mass is needed"),
        ("F024 severity=lots", "does not begin with a number"),
        ("F071 severity=-10%", "outside the accepted range"),
        ("F001 severity=1bar", "no more and no less"),
        ("F003 mode=helt", "nearest: `held`"),
        ("F001 mode=held", "it has one way only"),
        ("F021 tag=WT-2", "accepted: WT-1A, WT-1B"),
        ("F001 at=5s phase=charge", "both say when it begins"),
        ("F001 for=5s until_row=I03", "both say when it ends"),
        ("F001 phase=chagre", "nearest valid value: `charge`"),
        ("F001 phase=charge step=fil", "nearest: `fill`"),
        ("F001 phase=verify step=fill", "it has no steps of its own"),
        ("F001 step=fill", "`phase` is missing"),
        ("F001 notice=tript", "nearest: `tripped`"),
        ("F001 row=I9", "no interlock row"),
        ("F001 when=vessel.p", "F001"),
        ("F001 when='vessel.p > 10'", "no unit"),
        ("F001 when='eventually vessel.p > 10 bar'", "has no times"),
        ("F001 when='presure > 10 bar'", "nothing is called `presure`"),
        ("F001 at=-5s", "outside the accepted range"),
        ("F001 at=10s until_at=5s", "ends before it begins"),
        ("F001 for=0s", "outside the accepted range"),
        ("F110 at=5min", "of the order itself"),
        ("F096 phase=charge", "prepared from the run's beginning"),
        ("F123 for=5s", "stays"),
        ("F001 wehn=5s", "nearest valid key: `when`"),
        ("F001 5s", "no KEY=VALUE"),
        ("", "it is empty"),
        ("F001 when='", "a quote is open"),
        ("F001 job=0", "no number of a job"),
        ("F001 at=1s at=2s", "given twice"),
    ] {
        let said = refused(words);
        assert!(said.contains(told), "`{words}`: {said}");
    }
    let beyond = format!("F{}", valvewright_sim::fault::catalogue::entries().len() + 1);
    assert!(refused(&beyond).contains("the catalogue has no fault"), "{beyond}");
}

#[test]
fn a_file_plans_faults_as_the_command_line_does() {
    let text =
        "\n[[fault]]\nid = \"F023\"\nseverity = \"0.3 g/s\"\nphase = \"charge\"\nafter = \"40 s\"\nfor = \"30 s\"\n";
    let file = scenario("mild_hatchback", &[], text);
    let words = job("mild_hatchback", &["F023 severity=0.3g/s phase=charge after=40s for=30s"]);
    assert_eq!(file.faults, words.faults);
    assert_eq!(file.faults[0].mode, "rate", "the unit says which way is meant");
    let row = "\n[[job.fault]]\nid = \"F001\"\n";
    let source = Source::new(
        "row.toml",
        valvewright_sim::scenario::shipped::source("monday_morning").expect("shipped").text + row,
    );
    let read = parse::read(&source).unwrap_or_else(|wrong| panic!("{wrong:?}"));
    assert_eq!(read.jobs().last().expect("a job").faults.len(), 1, "it is the last job's");
}

#[test]
fn a_fault_comes_and_goes_when_its_plan_says() {
    for (words, came, went) in [
        ("F024 at=200s for=10s", 200.0, Some(210.0)),
        ("F024 at=200s until_at=230s", 200.0, Some(230.0)),
        ("F031 severity=60s at=100s", 100.0, Some(160.0)),
        ("F024 at=100s after=20s", 120.0, None),
    ] {
        let record = at(&[words], 250.0).finish().result.faults.remove(0);
        let near = |a: Option<f64>, b: Option<f64>| {
            a.is_some() == b.is_some() && a.zip(b).is_none_or(|(a, b)| (a - b).abs() < 0.051)
        };
        assert!(near(record.began_s, Some(came)) && near(record.ended_s, went), "{words}: {record:?}");
    }
}

fn told_at(result: &RunResult, id: &str, text: &str) -> f64 {
    let found = result.notices.iter().find(|one| one.id == id && one.text.to_string().contains(text));
    found.unwrap_or_else(|| panic!("no `{id}` with `{text}`")).t_s
}

#[test]
fn a_fault_waits_for_phase_step_notice_row_and_signal() {
    // None of these faults changes what the controller does.
    let healthy = Run::shipped("mild_hatchback").result().clone();
    let charge = told_at(&healthy, "phase_started", "charg");
    let result = judged(&job(
        "mild_hatchback",
        &[
            "F098 phase=charge after=5s until_phase_ends=charge",
            "F098 phase=charge step=fill",
            "F098 notice=recovered for=1s",
            "F098 when='vessel.m > 6.2 kg and C-1 is on' until='vessel.m < 6.1 kg'",
            "F098 row=I03",
        ],
    ));
    assert_eq!(result.trace_hash, healthy.trace_hash, "a watchdog that is not needed is not missed");
    let [phase, step, notice, signal, row]: &[FaultRecord; 5] = result.faults.as_slice().try_into().expect("five");
    let close = |t: Option<f64>, to: f64| t.is_some_and(|t| (t - to).abs() < 0.11);
    assert!(close(phase.began_s, charge + 5.0), "{phase:?}, charge at {charge}");
    assert!(phase.ended_s.is_some_and(|t| t > charge + 30.0), "{phase:?}");
    assert!(step.began_s.is_some_and(|t| t > charge && t < charge + 30.0), "{step:?}");
    assert!(close(notice.began_s, told_at(&healthy, "recovered", "")), "{notice:?}");
    assert!(signal.began_s.is_some() && signal.ended_s > signal.began_s, "{signal:?}");
    assert_eq!(row.began_s, None, "nothing tripped");
    let missed: Vec<_> = result.expectations.iter().filter(|one| one.name.contains("F098")).collect();
    assert!(missed.len() == 1 && !missed[0].held && missed[0].name == "F098 comes when I03 trips", "{missed:?}");
    assert_eq!(result.exit_code(), 1, "a run that should have shown a fault and did not has failed");
}

#[test]
fn a_fault_after_the_end_of_its_job_never_comes_and_the_run_says_so() {
    let result = judged(&job("mild_hatchback", &["F001 at=20h"]));
    assert_eq!(result.trace_hash, Run::shipped("mild_hatchback").result().trace_hash);
    assert_eq!((result.faults[0].began_s, result.exit_code()), (None, 1));
}

#[test]
fn the_same_fault_twice_acts_until_both_are_over() {
    let opening = |faults: &[&str], t: f64| at(faults, t).signal("XV-7.opening").expect("XV-7 is there");
    let twice = ["F058 at=100s for=10s", "F058 at=105s for=10s"];
    assert_eq!([99.0, 108.0, 113.0, 118.0].map(|t| opening(&twice, t)), [0.0, 1.0, 1.0, 0.0]);
    let counts = |faults: &[&str], t: f64| f64::from(at(faults, t).frame().analog[Analog::Pt1 as usize]);
    let steps = ["F004 severity=0.5bar at=100s for=10s", "F004 severity=0.5bar at=105s for=10s"];
    let bar = 16.0 / 24.0 * 65_535.0 / 35.0;
    for (t, more) in [(102.0, 0.5), (108.0, 1.0), (113.0, 0.5), (118.0, 0.0)] {
        let off = (counts(&steps, t) - counts(&[], t)) / bar;
        assert!((off - more).abs() < 0.02, "at {t} s: {off} bar for {more}");
    }
}

#[test]
fn of_two_that_hold_one_valve_the_later_counts_and_the_earlier_acts_again() {
    let faults = ["F061 tag=XV-4 at=10s", "F056 at=20s for=10s"];
    let opening = |t: f64| at(&faults, t).signal("XV-4.opening").expect("XV-4 is there");
    assert_eq!([15.0, 25.0, 35.0].map(opening), [1.0, 0.0, 1.0]);
    // Along the way of a reading what is nearer to the converter hides what is before it, whichever came first.
    let counts = |faults: &[&str]| at(faults, 120.0).frame().analog[Analog::Pt1 as usize];
    assert_eq!(counts(&["F001 at=100s", "F004 at=110s"]), 0);
    assert_eq!(counts(&["F004 at=100s", "F001 at=110s"]), 0);
}

#[test]
fn a_station_without_the_part_is_told_so_and_one_coupler_is_enough() {
    let mut yard = job("mild_hatchback", &["F069 at=5s"]);
    yard.station.network = Some("fleet_yard".to_owned());
    let why = Simulation::new(&yard, &RunOptions::default()).err().expect("it has no heater").to_string();
    assert!(why.contains("F069") && why.contains("no H-1"), "{why}");
    for fault in ["F019", "F135"] {
        yard.faults[0] =
            valvewright_sim::fault::Planned::usual(FaultId::read(fault).expect("an id")).expect("injectable");
        assert!(Simulation::new(&yard, &RunOptions::default()).is_err(), "{fault}");
    }
    for fault in ["F051 at=60s", "F052 at=60s", "F113 at=200s", "F066 at=60s", "F125 at=60s", "F074 at=100s"] {
        let mut run = begun(&job("single_port", &[fault]));
        run.run_until(400.0).expect("it runs");
        let result = run.finish().result;
        assert!(
            result.plant_fault.is_none() && result.ledger.error_g.abs() < 1e-6,
            "{fault}: {:?}",
            result.plant_fault
        );
    }
}

#[test]
fn a_copy_in_the_middle_of_any_fault_goes_on_to_the_same_hash() {
    let mut parted = Vec::new();
    for scene in SHOWN.iter().filter(|one| one.span.1 - one.span.0 < 200.0) {
        let mut run = begun(&scene.scenario(true));
        let middle = 0.5 * (scene.span.0 + scene.span.1);
        run.run_until(middle).expect("it runs");
        let mut copy = run.fork();
        run.run_until(scene.span.1 + 5.0).expect("it runs");
        let straight = run.hash();
        copy.run_until(scene.span.1 + 5.0).expect("it runs");
        let again = {
            let mut again = begun(&scene.scenario(true));
            again.run_until(scene.span.1 + 5.0).expect("it runs");
            again.hash()
        };
        if copy.hash() != straight || again != straight {
            parted.push(scene.replay());
        }
    }
    assert!(parted.is_empty(), "{}", parted.join("\n"));
}

#[test]
fn a_fault_can_be_put_into_a_copy_at_any_moment() {
    let mut run = at(&[], 300.0);
    let mut copy = run.fork();
    let (mut planned, _) = parse_fault::read_words("F126 severity=1mm").expect("it reads");
    planned.begin.after = 300.0;
    copy.inject(&planned).expect("it can come");
    copy.run_until(360.0).expect("it runs");
    run.run_until(360.0).expect("it runs");
    assert!(copy.signal("F126#1.flow").is_some_and(|flow| flow.abs() > 1e-5), "{:?}", copy.signal("F126#1.flow"));
    assert_eq!(run.hash(), at(&[], 360.0).hash(), "the other goes on as if nothing were");
    assert_eq!(copy.stand(), Stand::Running);
}

#[test]
fn what_is_random_in_a_fault_is_the_seeds_and_nobody_elses() {
    let run = |faults: &[&str], seed: u64| {
        let options = RunOptions { no_samples: true, seed: Some(seed), ..RunOptions::default() };
        let mut run = Simulation::new(&job("mild_hatchback", faults), &options).expect("it begins");
        // Its first scans, before anybody can have acted on what is seen.
        run.run_until(60.1).expect("it runs");
        run
    };
    let noisy = ["F006 at=60s"];
    assert_eq!(run(&noisy, 7).hash(), run(&noisy, 7).hash());
    assert_ne!(run(&noisy, 7).hash(), run(&noisy, 8).hash());
    // Noise on PT-1 changes no deviate of any other loop.
    let (with, without) = (run(&noisy, 7), run(&[], 7));
    for input in Analog::ALL.into_iter().filter(|one| *one != Analog::Pt1) {
        assert_eq!(with.frame().analog[input as usize], without.frame().analog[input as usize], "{input:?}");
    }
    // The second of two equal faults draws its own.
    let noise = |faults: &[&str]| run(faults, 7).frame().analog[Analog::Pt1 as usize];
    assert_ne!(noise(&["F006 at=60s"]), noise(&["F098 at=60s", "F006 at=60s"]));
}

#[test]
fn a_fault_of_the_station_outlives_the_vehicle_and_one_of_the_vehicle_does_not() {
    let faults = ["F068 phase=recover", "F125 phase=recover", "F001 row=I03"];
    let mut run = begun(&job("monday_morning", &faults));
    let name = |run: &Simulation| run.plant().element_names().any(|one| one.starts_with("F125"));
    let (mut left, mut last) = (false, true);
    while run.stand() == Stand::Running && !(left && run.truth().coupled) {
        run.step().expect("it runs");
        left |= last && !run.truth().coupled;
        last = run.truth().coupled;
    }
    run.run_until(run.time() + 20.0).expect("it runs");
    assert!(!name(&run), "the leak went with its vehicle");
    assert_eq!(run.plant().param("P-1.ultimate"), Some(3000.0), "the pump's oil is as bad as it was");
    let result = run.finish().result;
    assert!(result.faults[1].ended_s.is_some() && result.faults[0].ended_s.is_none(), "{:?}", result.faults);
    assert_eq!(result.faults[2].began_s, None);
    assert!(result.ledger.error_g.abs() < 1e-6 && result.mass_balance_rel < 1e-9, "{:?}", result.ledger);
}

#[test]
fn a_property_speaks_of_a_fault_and_of_a_plant_that_a_fault_made_anew() {
    let text = r#"
[[fault]]
id = "F126"
severity = "0.5 mm"
at = "5 min"
[[fault]]
id = "F070"
at = "6 min"
for = "10 s"
[[fault]]
id = "F070"
at = "8 min"
when = "C-1 is off"
[[property]]
name = "no air, no compressor"
formula = "whenever fault F070 acts then within 5 s C-1 is off"
[[property]]
name = "the second one"
formula = "never fault F070/2 acts"
[[property]]
name = "the vessel is where it was"
formula = "always (vessel.p < 9 bar and vessel.m > 5 kg)"
"#;
    let text = text.replace("at = \"8 min\"\nwhen", "after = \"1 min\"\nwhen");
    let result = judged(&scenario("mild_hatchback", &[("seed = 1\n", "seed = 1\ntime_limit = \"15 min\"\n")], &text));
    let held: Vec<(String, bool)> = result.expectations.iter().map(|one| (one.name.clone(), one.held)).collect();
    let of =
        |part: &str| held.iter().find(|(name, _)| name.contains(part)).unwrap_or_else(|| panic!("{part}: {held:?}")).1;
    assert!(of("no air") && !of("the second one") && of("the vessel"), "{held:?} {:?}", result.faults);
    assert!(result.faults.iter().all(|one| one.began_s.is_some()), "{:?}", result.faults);
}

#[test]
fn a_fault_of_the_catalogue_is_what_a_hand_at_the_seam_does() {
    let scenario = job("mild_hatchback", &["F057 phase=charge"]);
    let listed = judged(&scenario);
    let mut held = false;
    let mut hand = |scene: &mut Scene<'_>| {
        held |= scene.phase == Some(PhaseKind::Charge);
        scene.holds.set(Actuator::Xv6, if held { Hold::On } else { Hold::Free });
    };
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let by_hand = run_with_faults(&job("mild_hatchback", &[]), &options, &mut hand, &mut |_| Control::Continue);
    assert_eq!(listed.trace_hash, by_hand.expect("it runs").result.trace_hash);
}
