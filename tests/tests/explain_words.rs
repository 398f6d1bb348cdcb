//! Why a run stopped: every trip and every phase given up is explained, from what was read to what became of the work, and truth apart.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- explain_words` writes the text in `tests/data/explain` anew.

use std::path::PathBuf;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::RawFrame;
use valvewright_core::kept::Start;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::Instant;
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
use valvewright_sim::display::{Display, STANDARD, Units, Zero};
use valvewright_sim::explain::Explainer;
use valvewright_sim::report::data::{CauseKind, Outcome, RunResult, Stop};
use valvewright_sim::report::{page, stops};
use valvewright_sim::run::{Control, RunOptions, Seams, Simulation, complete, run_scenario};
use valvewright_sim::scenario::shipped::{self, FAULTS, SHIPPED};
use valvewright_sim::scenario::{Scenario, parse};
use valvewright_tests::job_runs::scenario;

fn quick() -> RunOptions {
    RunOptions { no_samples: true, ..RunOptions::default() }
}

fn explained_with<C: Controller>(of: &Scenario, run: Simulation<C>) -> RunResult {
    let mut explainer = Explainer::default();
    let mut seams = Seams { faults: None, observer: Some(&mut explainer) };
    let mut result = complete(run, &mut seams, &mut |_| Control::Continue).expect("runs").result;
    explainer.finish(of, &mut result);
    result
}

fn explained(of: &Scenario) -> RunResult {
    explained_with(of, Simulation::new(of, &quick()).expect("starts"))
}

fn demo(more: &str) -> Scenario {
    scenario("mild_hatchback", &[], more)
}

fn fault(words: &str) -> String {
    format!("\n[[fault]]\n{words}\n")
}

/// The text without colours.
fn plain(result: &RunResult, display: &Display) -> String {
    anstream::adapter::strip_str(&stops::text(result, display)).to_string()
}

/// Stop pressed and pulled out in the evacuation, with a reset in between that is refused.
const PRESSED: &str = r#"
[[operator.act]]
do = "pause"
phase = "recover"
after = "30 s"

[[operator.act]]
do = "resume"
phase = "recover"
after = "60 s"

[[operator.act]]
do = "emergency_stop"
phase = "evacuate"
after = "60 s"

[[operator.act]]
do = "reset"
phase = "evacuate"
after = "70 s"

[[operator.act]]
do = "release_stop"
phase = "evacuate"
after = "80 s"

[[operator.act]]
do = "reset"
phase = "evacuate"
after = "90 s"

[[operator.act]]
do = "resume"
phase = "evacuate"
after = "95 s"

[[fault]]
id = "F042"
phase = "charge"
after = "30 s"
"#;

#[test]
fn a_job_that_is_stopped_three_times_is_told_as_on_record() {
    let result = explained(&demo(PRESSED));
    let text = plain(&result, &STANDARD);
    let file = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/data/explain/stopped.txt"));
    if std::env::var("VALVEWRIGHT_WRITE").is_ok_and(|value| value == "1") {
        std::fs::write(&file, &text).expect("the record can be written");
        panic!("recorded; read it as somebody who never saw the code, then run again without VALVEWRIGHT_WRITE");
    }
    let record = std::fs::read_to_string(&file).expect("tests/data/explain/stopped.txt");
    assert_eq!(
        text, record,
        "the text changed; where it is meant: VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- explain_words"
    );
}

/// What is not explained of a result: trips and phases that were given up and stand in no stop.
fn missing(result: &RunResult) -> Vec<String> {
    let causes = || result.stops.iter().flat_map(|stop| &stop.causes);
    let trips = result.interlocks.iter().filter(|trip| {
        !causes().any(|one| {
            let at = one.t_s == trip.t_s || one.again_t_s.contains(&trip.t_s);
            one.row == Some(trip.id.as_str()) && at
        })
    });
    let mut list: Vec<String> = trips.map(|trip| format!("{} at {}", trip.id, trip.t_s)).collect();
    for phase in result.phases.iter().filter(|phase| matches!(phase.outcome, Outcome::Failed | Outcome::Refused)) {
        let detail = phase.detail.to_string();
        let told = causes().any(|one| one.what.to_string() == detail);
        let consequence = result.stops.iter().flat_map(|stop| &stop.course).any(|one| one.text.contains(&detail));
        if !told && !consequence {
            list.push(format!("{}: {detail}", phase.name));
        }
    }
    list
}

#[test]
fn every_trip_and_every_phase_given_up_of_the_shipped_scenarios_is_explained() {
    let mut seen = 0;
    for one in SHIPPED.iter().chain(FAULTS) {
        let one = parse::read(&shipped::source(one.name).expect("shipped")).expect("reads");
        let (result, name) = (explained(&one), &one.name);
        assert_eq!(missing(&result), Vec::<String>::new(), "{name}");
        for stop in &result.stops {
            seen += 1;
            assert!(!stop.causes.is_empty() && !stop.fate.is_empty() && stop.refrigerant.is_some(), "{name}: {stop:?}");
            assert!(stop.causes.windows(2).all(|pair| pair[0].t_s <= pair[1].t_s), "{name}: causes out of order");
            assert!(stop.course.windows(2).all(|pair| pair[0].t_s <= pair[1].t_s), "{name}: course out of order");
        }
        let refused = result.phases.iter().any(|phase| phase.outcome == Outcome::Failed);
        assert!(!refused || !result.stops.is_empty(), "{name}");
    }
    assert!(seen > 100, "{seen} stops");
}

#[test]
fn looking_on_changes_nothing() {
    let of = demo(PRESSED);
    let bare = run_scenario(&of, &quick(), &mut |_| Control::Continue).expect("runs").result;
    let watched = explained(&of);
    assert_eq!((bare.trace_hash, bare.ticks), (watched.trace_hash, watched.ticks));
    assert!(bare.stops.is_empty() && watched.stops.len() == 3, "{:?}", watched.stops);
}

fn only(result: &RunResult) -> &Stop {
    let [stop] = result.stops.as_slice() else { panic!("one stop is expected: {:#?}", result.stops) };
    stop
}

#[test]
fn a_broken_gauge_is_named_with_what_is_wrong_with_it_and_what_was_true() {
    let result = explained(&demo(&fault("id = \"F014\"\nphase = \"leak_check\"\nafter = \"60 s\"")));
    let stop = only(&result);
    let [cause, ..] = stop.causes.as_slice() else { panic!("{stop:?}") };
    assert_eq!((cause.kind, cause.phase), (CauseKind::GiveUp, Some("leak check")));
    let gauge = cause.inputs.iter().find(|one| one.tag == "PT-4").expect("the gauge is told");
    assert_eq!(gauge.quality, Some("bad"));
    assert!(gauge.believed.contains("below 3.6 mA, as of a broken wire"), "{}", gauge.believed);
    let broken = stop.truth.broken.first().expect("the fault is told");
    assert_eq!(broken.fault, "F014");
    assert!((0.0..5.0).contains(&broken.seconds), "{broken:?}");
    let text = plain(&result, &STANDARD);
    let (before, truth) = text.split_once("in truth").expect("truth stands apart");
    assert!(!before.contains("F014"), "what only the simulator knows is marked as such:\n{text}");
    assert!(truth.contains("F014") && truth.contains("PT-4 gave nothing to be believed, true was"), "{text}");
}

/// A row that acts on a reading says it with its unit and set point, and the display moves both.
#[test]
fn readings_and_set_points_follow_the_display() {
    let result = explained(&demo(&fault("id = \"F056\"\nphase = \"recover\"\nafter = \"40 s\"")));
    let us = Display { units: Units::Us, zero: Zero::Gauge(101_325.0), ..STANDARD };
    let (metric, american) = (plain(&result, &STANDARD), plain(&result, &us));
    assert!(metric.contains("PT-1 (vessel pressure): ") && metric.contains(" bar abs"), "{metric}");
    let stop = american.split_once("what it did").map_or("", |(head, _)| head);
    assert!(stop.contains(" psi gauge") && !stop.contains("bar abs"), "{american}");
}

#[test]
fn a_job_that_never_stops_says_so_and_what_was_broken_all_the_same() {
    let calm = explained(&demo(""));
    assert!(calm.stops.is_empty());
    assert!(plain(&calm, &STANDARD).contains("Nothing stopped: no interlock tripped"), "{}", plain(&calm, &STANDARD));
    let result = explained(&demo(&fault("id = \"F020\"\nphase = \"charge\"")));
    assert!(result.stops.is_empty(), "{:?}", result.stops);
    assert!(plain(&result, &STANDARD).contains("F020 ambient temperature TT-4"), "{}", plain(&result, &STANDARD));
}

/// The time limit comes while a row stands that nobody resets: the end is told with what it waited for.
#[test]
fn a_run_that_is_broken_off_says_what_it_waited_for() {
    let mut of = demo(&fault("id = \"F042\"\nphase = \"charge\"\nafter = \"30 s\""));
    of.time_limit = 3_600.0;
    let result = explained(&of);
    let last = result.stops.last().and_then(|stop| stop.causes.last()).expect("a stop");
    assert_eq!(last.kind, CauseKind::CutOff);
    assert!(last.acts.contains("the rows above to be cleared"), "{}", last.acts);
    let stop = result.stops.last().expect("a stop");
    assert!(stop.fate.contains("still held when the run ended, by I01") && stop.end_t_s.is_none(), "{}", stop.fate);
}

/// The core behind a wall: it drives, and nobody sees its state.
#[derive(Clone)]
struct Walled(Station);

impl Controller for Walled {
    fn who(&self) -> Who {
        Who::program("walled")
    }
    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble> {
        self.0 = Station::wake(config.clone(), start);
        Ok(())
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        self.0.scan(now, frame, notices)
    }
}

#[test]
fn of_another_controller_is_told_what_can_be_known() {
    let of = demo(PRESSED);
    let start = valvewright_sim::run::start(&of);
    let walled = Walled(Station::wake(valvewright_sim::run::station_config(&of).expect("a station"), &start));
    let result = explained_with(&of, Simulation::with(&of, &quick(), walled).expect("starts"));
    assert_eq!(result.stops.len(), 3);
    assert!(result.stops.iter().flat_map(|stop| &stop.causes).all(|one| one.inputs.is_empty()));
    assert!(result.stops.iter().all(|stop| stop.refrigerant.as_ref().is_some_and(|of| of.book.is_none())));
    let text = plain(&result, &STANDARD);
    assert!(text.contains("how far it believed its inputs is not known"), "{text}");
    assert!(text.contains("the emergency stop (HS-1) is pressed") && text.contains("shut XV-1"), "{text}");
}

#[test]
fn the_page_has_every_stop_and_the_json_its_chain() {
    let of = demo(PRESSED);
    let result = explained(&of);
    let page = page::page(&of, &result, &Default::default(), &STANDARD);
    assert!(page.contains("Why it stopped") && page.matches("<summary>").count() == 3);
    assert!(page.contains("the simulator alone knows this"));
    let json = serde_json::to_value(&result).expect("it has a form");
    let stops = json["stops"].as_array().expect("a list");
    assert_eq!(stops.len(), 3);
    let cause = &stops[1]["causes"][0];
    assert_eq!((cause["row"].as_str(), cause["watch"].as_str()), (Some("HS-1"), Some("stop_pressed")));
    assert!(cause["went_off"].as_array().is_some_and(|list| list.iter().any(|tag| tag == "P-1")), "{cause}");
    let gas = &stops[2]["causes"][0]["inputs"][0];
    assert_eq!((gas["tag"].as_str(), gas["quality"].as_str()), (Some("AT-2"), Some("uncertain")));
    assert_eq!((gas["value"]["unit"].as_str(), gas["truth"]["value"].as_f64()), (Some("% LFL"), Some(0.0)));
    assert_eq!(stops[2]["truth"]["broken"][0]["fault"], "F042");
}

/// A power cut takes the order with it, and nothing tells that the work goes on.
#[test]
fn a_restart_in_mid_job_is_told_as_the_end_of_the_order() {
    let mut of = demo(&fault("id = \"F077\"\nat = \"20 min\""));
    of.time_limit = 3_600.0;
    let result = explained(&of);
    let stop = only(&result);
    assert_eq!(stop.causes[0].kind, CauseKind::Controller, "{stop:?}");
    assert!(stop.fate.contains("the order was lost when the controller started anew") && stop.end_t_s.is_none());
    assert!(stop.refrigerant.as_ref().and_then(|of| of.book.as_ref()).is_some_and(|book| book.contains("empty since")));
}

/// A row that trips and lets go again and again is one stop, not fifty.
#[test]
fn what_comes_again_and_again_is_told_once_with_its_times() {
    let source = shipped::source("f080").expect("shipped");
    let result = explained(&parse::read(&source).expect("reads"));
    let stop = only(&result);
    let again =
        stop.causes.iter().find(|one| one.row == Some("I30")).expect("the supply sags below its row's set point");
    let trips = result.interlocks.iter().filter(|one| one.id == "I30").count();
    assert!(trips > 3 && again.again_t_s.len() + 1 == trips, "{trips} trips: {again:?}");
}
