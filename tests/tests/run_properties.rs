//! Properties of a job while it runs: judged as expectations by what the scans show, with the figure and where it was made, in any job of
//! a row, and in a fork as in the run itself.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::talk::Notice;
use valvewright_core::units::Instant;
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
use valvewright_sim::display::STANDARD;
use valvewright_sim::report::data::{PropertyResult, PropertyVerdict, RunResult, Trace};
use valvewright_sim::report::{page, text};
use valvewright_sim::run::{
    Control, RunOptions, Scene, Seams, Seen, Simulation, Stand, complete, missing_signals, run_controller,
};
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::{Scenario, parse, shipped};
use valvewright_tests::job_runs::scenario;

fn table(name: &str, formula: &str) -> String {
    format!("[[property]]\nname = \"{name}\"\nformula = \"{formula}\"\n")
}

fn demo(formulas: &[&str]) -> Scenario {
    let extra: Vec<String> = formulas.iter().enumerate().map(|(at, one)| table(&format!("p{at}"), one)).collect();
    scenario("mild_hatchback", &[], &("\n".to_owned() + &extra.concat()))
}

fn begun(scenario: &Scenario) -> Simulation {
    Simulation::new(scenario, &RunOptions::BARE).expect("it begins")
}

fn run(scenario: &Scenario) -> RunResult {
    let seams = &mut Seams::default();
    complete(begun(scenario), seams, &mut |_| Control::Continue).expect("it runs").result
}

/// A run of so many seconds.
fn part(formulas: &[&str], seconds: f64) -> Vec<PropertyResult> {
    let mut run = begun(&demo(formulas));
    run.run_until(seconds).expect("it runs");
    run.finish().result.jobs.remove(0).properties
}

/// The same figures by an onlooker, in every scan of a run.
#[test]
fn a_property_sees_in_every_scan_what_an_onlooker_sees() {
    let job = demo(&[
        "always vessel.p < 16 bar",
        "never C-1 is on",
        "eventually vessel.t > 400 K",
        "whenever C-1 is on then K-1 is on",
        "eventually phase is charge",
        "eventually told order_ended",
        "always hose_low.p - hose_high.p < 1 bar",
    ]);
    let (mut pressure, mut ever, mut hottest, mut apart) = (f64::MIN, None, f64::MIN, f64::MIN);
    let mut look = |seen: &Seen<'_>| {
        let read = |name: &str| seen.plant.read(seen.plant.signal(name).expect("there"));
        pressure = pressure.max(read("vessel.p"));
        hottest = hottest.max(read("vessel.t"));
        apart = apart.max(read("hose_low.p") - read("hose_high.p"));
        if seen.outputs.on.has(valvewright_core::frame::Actuator::C1) {
            ever.get_or_insert(seen.t_s);
        }
    };
    let mut seams = Seams { faults: None, observer: Some(&mut look) };
    let result = complete(begun(&job), &mut seams, &mut |_| Control::Continue).expect("it runs").result;
    let found = &result.jobs[0].properties;
    let close = |at: usize, wanted: f64| {
        let figure = found[at].robustness.expect("a figure");
        assert!((figure - wanted).abs() < 1e-6, "{at}: {figure} against {wanted}");
    };
    close(0, (16e5 - pressure) / 1e5);
    close(2, (hottest - 400.0) / 10.0);
    close(6, (1e5 - apart) / 1e5);
    assert_eq!(found[1].certain_s, ever, "{:?}", found[1]);
    let verdicts: Vec<bool> = found.iter().map(|one| one.verdict == PropertyVerdict::Held).collect();
    assert_eq!(verdicts, [true, false, false, true, true, true, found[6].robustness.expect("a figure") >= 0.0]);
    assert_eq!(found[3].met, Some(true));
    assert_eq!(found[3].robustness, None, "yes and no has no figure");
}

#[test]
fn a_property_that_fails_fails_the_run_and_says_where() {
    let result = run(&demo(&["always vessel.p < 16 bar", "always vessel.t < 22.5 degC"]));
    assert_eq!(result.exit_code(), 1);
    let failed: Vec<_> = result.expectations.iter().filter(|one| !one.held).collect();
    assert_eq!(failed.len(), 1, "{failed:?}");
    assert_eq!(failed[0].name, "p1");
    assert!(failed[0].detail.contains(" K too much on `vessel.t < 22.5 degC`; certain at "), "{}", failed[0].detail);
    let held = result.expectations.iter().find(|one| one.name == "p0").expect("judged");
    assert!(held.held && held.detail.contains("kPa to spare on `vessel.p < 16 bar`"), "{}", held.detail);
    let text = text::summary("title", &result, &STANDARD);
    assert!(text.contains("p1") && text.contains("too much on `vessel.t < 22.5 degC`"), "{text}");
    let page = page::page(&demo(&[]), &result, &Trace::default(), &STANDARD);
    assert!(page.contains("<code>always vessel.t &lt; 22.5 degC</code>"), "the page has the formula");
    let clean = run(&demo(&["always vessel.p < 16 bar"]));
    assert_eq!(clean.exit_code(), 0);
}

/// Properties cost nothing of the run: its hash is the one without them.
#[test]
fn a_run_with_properties_is_the_same_run() {
    assert_eq!(run(&demo(&["always PT-1 < 16 bar"])).trace_hash, run(&demo(&[])).trace_hash);
}

#[test]
fn a_fork_finds_what_the_run_finds() {
    let formulas = [
        "always vessel.p < 16 bar",
        "whenever XV-5 is on then within 10 min XV-5 is off",
        "(PT-2 > 0 bar) until within 50 min (phase is charge)",
        "whenever told vacuum then historically for 1 s PT-4 < 5 mbar",
        "always eventually vessel.p > 1 bar",
    ];
    let job = demo(&formulas);
    let mut whole = begun(&job);
    let mut forks = Vec::new();
    while whole.step().expect("a scan") == Stand::Running {
        if whole.scans().is_multiple_of(9_001) {
            forks.push(whole.fork());
        }
    }
    let wanted = whole.finish().result.jobs.remove(0).properties;
    assert!(forks.len() > 4);
    for mut fork in forks {
        let at = fork.time();
        fork.run_until(f64::INFINITY).expect("it runs");
        assert_eq!(fork.finish().result.jobs.remove(0).properties, wanted, "forked at {at} s");
    }
}

#[test]
fn a_run_that_ends_early_says_what_it_could_not_know() {
    let formulas = [
        "eventually within 2 min vessel.p > 30 bar",
        "always for 2 min vessel.p < 16 bar",
        "eventually within 10 s K-1 is on",
        "always from 5 min to 6 min vessel.p < 1 bar",
        "whenever phase is charge then K-1 is on",
    ];
    let found = part(&formulas, 60.0);
    let of = |at: usize| (found[at].verdict, found[at].whole);
    assert_eq!(of(0), (PropertyVerdict::Failed, false), "{:?}", found[0]);
    assert_eq!(of(1), (PropertyVerdict::Held, false), "{:?}", found[1]);
    assert_eq!(of(2), (PropertyVerdict::Held, true), "{:?}", found[2]);
    assert_eq!(of(3), (PropertyVerdict::Held, false), "an empty window");
    assert_eq!((of(4), found[4].met), ((PropertyVerdict::Held, true), Some(false)));
    assert!(found[1].detail.contains("ended before a time of it was over"), "{}", found[1].detail);
    assert!(found[4].detail.contains("nothing was shown"), "{}", found[4].detail);
    // Longer, and all is known.
    let found = part(&formulas, 400.0);
    assert!(found.iter().all(|one| one.whole), "{found:?}");
    assert_eq!(found[3].verdict, PropertyVerdict::Failed);
}

/// Opens the emergency stop by its truth: contacts and facts follow.
#[test]
fn contacts_rows_and_truth_are_those_of_the_scan() {
    let job = demo(&[
        "whenever stop is pressed then within 200 ms (HS-1A is open and HS-1B is open)",
        "whenever stop is pressed then within 500 ms row HS-1 stands",
        "whenever row HS-1 stands then (XV-5 is off and C-1 is off and K-1 is on)",
        "eventually told tripped",
        "never stop is pressed",
        "always for 5 s HS-1A is closed",
    ]);
    let mut press = |scene: &mut Scene<'_>| {
        if (300.0..300.01).contains(&scene.t_s) {
            scene.operator.hands.push(valvewright_sim::run::Hand::Stop(true));
        }
    };
    let mut seams = Seams { faults: Some(&mut press), observer: None };
    let mut run = begun(&job);
    while run.time() < 320.0 {
        run.scan(&mut seams).expect("a scan");
    }
    let found = run.finish().result.jobs.remove(0).properties;
    for (at, held) in [true, true, true, true, false, true].into_iter().enumerate() {
        assert_eq!(found[at].verdict == PropertyVerdict::Held, held, "{:?}", found[at]);
    }
    assert!(found[..3].iter().all(|one| one.met == Some(true)), "{found:?}");
    assert_eq!(found[4].certain_s, Some(300.0), "{:?}", found[4]);
}

/// Keeps everything shut and tells nothing.
#[derive(Clone)]
struct Idle;

impl Controller for Idle {
    fn who(&self) -> Who {
        Who::program("idle")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        Ok(())
    }
    fn scan(&mut self, _: Instant, _: &RawFrame, _: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        Ok(Scan::Done(Outputs::default()))
    }
}

#[test]
fn rows_of_another_controller_are_not_judged_and_that_is_said() {
    let mut job = demo(&["never row I03", "never C-1 is on", "always K-1 is on"]);
    job.time_limit = 60.0;
    let result = run_controller(&job, &RunOptions::BARE, Idle, &mut |_| Control::Continue).expect("it runs").result;
    let found = &result.jobs[0].properties;
    let verdicts: Vec<_> = found.iter().map(|one| one.verdict).collect();
    assert_eq!(verdicts, [PropertyVerdict::NotJudged, PropertyVerdict::Held, PropertyVerdict::Failed]);
    assert!(result.expectations.iter().all(|one| one.name != "p0"));
    assert!(text::summary("title", &result, &STANDARD).contains("not judged: the controller tells no rows"));
}

#[test]
fn in_a_row_each_job_has_its_own_properties() {
    let text = shipped::source("monday_morning").expect("shipped").text;
    let jobs = text.matches("[[job]]").count();
    let mut parts = text.split("[[job]]");
    let mut row = parts.next().expect("a head").to_owned();
    for (at, part) in parts.enumerate() {
        let own = table(&format!("of job {at}"), "whenever phase is charge then K-1 is on")
            .replace("[[property]]", "[[job.property]]");
        let extra = if at == 1 { own } else { String::new() };
        row += &format!("[[job]]{part}\n{extra}");
    }
    let scenario = parse::read(&Source::new("row.toml", row)).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    let result = run(&scenario);
    let counts: Vec<usize> = result.jobs.iter().map(|job| job.properties.len()).collect();
    assert_eq!(counts.len(), jobs);
    assert_eq!(counts.iter().sum::<usize>(), 1, "{counts:?}");
    let own = &result.jobs[1].properties[0];
    assert_eq!((own.verdict, own.met), (PropertyVerdict::Held, Some(true)), "{own:?}");
    assert!(result.expectations.iter().any(|one| one.name == "job 2: of job 1" && one.held));
}

fn refused(extra: &str) -> Vec<Diagnostic> {
    let text = shipped::source(shipped::DEMO).expect("shipped").text + "\n" + extra;
    parse::read(&Source::new("job.toml", text)).expect_err("is refused")
}

#[test]
fn mistakes_in_properties_are_told_at_their_place_in_the_file() {
    let lines = shipped::source(shipped::DEMO).expect("shipped").text.lines().count();
    let place = |found: &Diagnostic| (found.line - lines, found.column);
    for (extra, at, message, help) in [
        (table("a", "always vesel.p < 16 bar"), (4, 19), "property[1].formula: the station has no", "`vessel.p`"),
        (table("a", "always vessel.p < 16 barg"), (4, 30), "unknown unit", "absolute"),
        (
            table("a", "eventually within 20 ms XV-5 is on").replace("within", "from 10 ms to"),
            (4, 11),
            "no scan lies",
            "50 ms",
        ),
        (table("a", "fault F023 acts"), (4, 18), "no fault `F023`", "has no fault that could act"),
        (table("", "XV-5 is on"), (3, 8), "one short line", "1 to 100"),
        ("[[property]]\nname = \"a\"\n".to_owned(), (2, 1), "`formula` is missing", "text in quotes"),
        (table("a", "XV-5 is on") + "wy = \"x\"\n", (5, 1), "unknown key `wy`", "`why`"),
        (table("a", "XV-5 is on") + &table("a", "XV-6 is on"), (6, 8), "is the name of property[1]", "its own"),
    ] {
        let found = refused(&extra);
        assert_eq!(found.len(), 1, "{extra}: {found:#?}");
        assert_eq!(place(&found[0]), at, "{extra}: {found:#?}");
        assert!(found[0].message.contains(message), "{extra}: {found:#?}");
        assert!(found[0].help.as_deref().is_some_and(|one| one.contains(help)), "{extra}: {found:#?}");
    }
    // Within text over several lines too.
    let long = "[[property]]\nname = \"a\"\nformula = '''\nalways (XV-5 is on\n  or vesel.p < 16 bar)'''\n";
    assert_eq!(place(&refused(long)[0]), (6, 6));
}

/// A signal that the vehicle's plant lacks is known before a run, and a run without asking fails.
#[test]
fn a_signal_that_the_plant_lacks_is_told_and_never_passed() {
    let tight = demo(&["always leak.flow < 1 g/s", "always vessel.p < 16 bar", "never leak.flow > 1 g/s"]);
    let lacks = [(0, 0, "leak.flow".to_owned()), (0, 2, "leak.flow".to_owned())];
    assert_eq!(missing_signals(&tight), lacks);
    let found = {
        let mut run = begun(&tight);
        run.run_until(10.0).expect("it runs");
        run.finish().result.jobs.remove(0).properties
    };
    let verdicts: Vec<_> = found.iter().map(|one| one.verdict).collect();
    assert_eq!(verdicts, [PropertyVerdict::Failed, PropertyVerdict::Held, PropertyVerdict::Failed]);
    let leaking = scenario(
        "mild_hatchback",
        &[("oil = \"PAG 46\"\n", "oil = \"PAG 46\"\nleak = \"1 mm\"\n")],
        &table("p", "always leak.flow < 1 g/s"),
    );
    assert_eq!(missing_signals(&leaking), []);
}
