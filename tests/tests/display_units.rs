//! Units of the display: each quantity on each display, screens that hold no figure in other units, files that don't change, and every
//! pressure said to be absolute or gauge.

use regex_lite::Regex;
use valvewright_sim::display::{Amount, Display, STANDARD, Units, Zero};
use valvewright_sim::report::data::{RunResult, Trace};
use valvewright_sim::report::{page, text};
use valvewright_sim::scenario::Scenario;
use valvewright_tests::job_runs::Run;

use crate::cli_bench::Bench;

/// A barometer at some 1 500 m, Pa: so far from the standard one that a wrong offset shows.
const AIR: f64 = 84_600.0;

fn display(units: Units, gauge: bool) -> Display {
    Display { units, zero: if gauge { Zero::Gauge(AIR) } else { Zero::Absolute }, ..STANDARD }
}

#[test]
fn each_amount_is_written_on_each_display() {
    for (amount, texts) in [
        (Amount::Pressure(680_000.0), ["6.80 bar abs", "5.95 bar gauge", "98.6 psi abs", "86.4 psi gauge"]),
        (Amount::Pressure(40_000.0), ["0.40 bar abs", "-0.45 bar gauge", "5.8 psi abs", "-6.5 psi gauge"]),
        (Amount::Pressure(110.0), ["1.10 mbar abs", "1.10 mbar abs", "0.0160 psi abs", "0.0160 psi abs"]),
        (Amount::Barometer(AIR), ["846 mbar abs", "846 mbar abs", "12.27 psi abs", "12.27 psi abs"]),
        (Amount::OverBarometer(8_000.0), {
            let (metric, us) = ("80 mbar over the barometer", "1.16 psi over the barometer");
            [metric, metric, us, us]
        }),
        (Amount::Difference(3_100.0), ["3.1 kPa", "3.1 kPa", "0.45 psi", "0.45 psi"]),
        (Amount::Temperature(296.65), ["23.5 degC", "23.5 degC", "74.3 degF", "74.3 degF"]),
        (Amount::Mass(0.48), ["480.0 g", "480.0 g", "16.93 oz", "16.93 oz"]),
        (Amount::Mass(6.0), ["6000.0 g", "6000.0 g", "211.6 oz (13.23 lb)", "211.6 oz (13.23 lb)"]),
        (Amount::MassDifference(0.0023), ["+2.3 g", "+2.3 g", "+0.08 oz", "+0.08 oz"]),
        (Amount::Weight(5.97), ["5.970 kg", "5.970 kg", "13.162 lb", "13.162 lb"]),
        (Amount::Loss(0.058), ["58 g/year", "58 g/year", "2.0 oz/year", "2.0 oz/year"]),
        (Amount::Oil(10e-6), ["10.0 mL", "10.0 mL", "0.34 fl oz", "0.34 fl oz"]),
    ] {
        let displays = [(Units::Metric, false), (Units::Metric, true), (Units::Us, false), (Units::Us, true)];
        let found = displays.map(|(units, gauge)| display(units, gauge).words(amount));
        assert_eq!(found, texts, "{amount:?}");
    }
}

/// Terminal and page of a run, without what is not the program's: words of the scenario file, reset texts of the core, styles, data.
fn screens(run: &Run, display: &Display) -> [String; 2] {
    let mut scenario: Scenario = run.scenario.clone();
    (scenario.title, scenario.summary, scenario.vehicle.label) = Default::default();
    let mut result: RunResult = run.result().clone();
    result.expectations.iter_mut().for_each(|one| one.name = String::new());
    result.interlocks.iter_mut().for_each(|one| one.to_clear = String::new());
    let trace: &Trace = &run.outcome.trace;
    let told = anstream::adapter::strip_str(&text::summary("a job", &result, display)).to_string();
    let page = page::page(&scenario, &result, trace, display);
    let hidden = Regex::new(r"(?s)<style>.*?</style>|<script.*?</script>").expect("a pattern");
    let tags = Regex::new(r"<[^>]*>").expect("a pattern");
    let page = tags.replace_all(&hidden.replace_all(&page, ""), "\n").into_owned();
    [told, page]
}

/// Places where a figure with one of these units stands, each with what is before and after it.
fn found(text: &str, units: &str) -> Vec<String> {
    let figure = Regex::new(&format!(r"[^\n]{{0,40}}[0-9]\s(?:{units})\b[^\n]{{0,20}}")).expect("a pattern");
    figure.find_iter(text).map(|one| one.as_str().to_owned()).collect()
}

#[test]
fn screens_in_us_units_hold_no_metric_figure_and_metric_ones_no_other() {
    for run in Run::all_shipped() {
        for screen in screens(run, &display(Units::Us, true)) {
            let left = found(&screen, "g|kg|bar|mbar|degC|mL|g/year|kg/year|kPa");
            assert!(left.is_empty(), "{}: {left:?}", run.scenario.name);
            assert!(!found(&screen, "oz").is_empty() || !screen.contains("Recovered"), "{screen}");
        }
        for screen in screens(run, &STANDARD) {
            let left = found(&screen, "oz|lb|psi|degF|fl oz");
            assert!(left.is_empty(), "{}: {left:?}", run.scenario.name);
        }
    }
}

#[test]
fn every_pressure_on_a_screen_is_absolute_gauge_or_a_difference() {
    let kinds = [" abs", " gauge", " over the barometer", " above saturation", " beyond "];
    let pressure = Regex::new(r"[0-9]\s(?:bar|mbar|psi|kPa)\b([^\n]{0,20})").expect("a pattern");
    let mut seen = 0;
    for run in Run::all_shipped() {
        for (units, gauge) in [(Units::Metric, false), (Units::Metric, true), (Units::Us, true)] {
            for screen in screens(run, &display(units, gauge)) {
                for one in pressure.captures_iter(&screen) {
                    assert!(kinds.iter().any(|kind| one[1].starts_with(kind)), "{}: {}", run.scenario.name, &one[0]);
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 100, "{seen} pressures");
}

#[test]
fn the_display_changes_no_file_for_programs() {
    let bench = Bench::new();
    let run = |out: &str, more: &[&str]| {
        let said = bench.run(&[&["run", "hot_yard", "--out", out, "--json"][..], more].concat());
        assert!(matches!(said.code, Some(0 | 1)), "{}", said.err);
        let mut json = said.json();
        for of_the_moment in ["wall_seconds", "speed", "files"] {
            json.as_object_mut().expect("an object").remove(of_the_moment);
        }
        json
    };
    let (plain, other) = (run("a", &[]), run("b", &["--units", "us", "--pressure", "gauge"]));
    assert_eq!(plain, other);
    let read = |name: &str| std::fs::read(bench.path(name)).expect("written");
    assert!(read("a/trace.csv") == read("b/trace.csv"), "the traces differ");
    let (metric, us) = (read("a/report.html"), read("b/report.html"));
    let (metric, us) = (String::from_utf8_lossy(&metric), String::from_utf8_lossy(&us));
    assert!(metric.contains("bar abs") && !metric.contains("psi"), "the metric page");
    assert!(us.contains("psi gauge") && us.contains("degF") && !us.contains("bar abs"), "the page in US units");
}

/// The page's pressure lane hangs on the scenario's barometer: what stands at the barometer is drawn at zero.
#[test]
fn a_gauge_counts_from_the_barometer_of_the_scenario() {
    let (factor, offset, unit) = display(Units::Metric, true).channel("bar");
    assert_eq!(((AIR / 1e5).mul_add(factor, offset), unit), (0.0, "bar gauge"));
    let (factor, offset, unit) = display(Units::Us, true).channel("bar");
    let zero = (AIR / 1e5).mul_add(factor, offset);
    assert!(zero.abs() < 1e-12 && unit == "psi gauge", "{zero} {unit}");
    assert_eq!(display(Units::Us, true).channel("mbar").2, "psi abs", "the vacuum lane counts from vacuum");
}

/// A door opened in the recovery: what tripped, its quality, what the row waits for and what clears it, on all three alike.
#[test]
fn a_trip_is_told_alike_on_terminal_page_and_json() {
    let act = "\n[[operator.act]]\ndo = \"open_door\"\nphase = \"recover\"\nafter = \"30 s\"\n";
    let run = Run::new("mild_hatchback", &[], act, None);
    let trip = run.result().interlocks.iter().find(|one| one.id == "I28").expect("I28 trips");
    let told =
        [trip.reading.to_string(), format!("waits for: {}", trip.waits_for), format!("to clear: {}", trip.to_clear)];
    assert_eq!(told[0], "the service door (ZS-1) is open");
    assert_eq!(told[1], "waits for: the end of this for 1 s, then a fresh press of reset");
    assert_eq!((trip.watch.as_deref(), trip.quality), (Some("door"), Some("good")));
    let text = text::summary("a job", run.result(), &STANDARD);
    let page = page::page(&run.scenario, run.result(), &run.outcome.trace, &STANDARD);
    for part in &told {
        assert!(text.contains(part) && page.contains(part), "{part} is missing in:\n{text}");
    }
    let json = serde_json::to_value(trip).expect("has a form");
    assert_eq!(json["reading"], told[0].as_str());
    assert_eq!(format!("waits for: {}", json["waits_for"].as_str().unwrap_or_default()), told[1]);
    assert_eq!(json["value"], serde_json::Value::Null, "a contact has no number");
}
