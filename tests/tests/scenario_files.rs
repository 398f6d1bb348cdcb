//! Scenario files: the shipped ones read whole, and each kind of mistake is said with its place and its remedy.

use proptest::prelude::*;
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::model::{Act, Phase, Trigger};
use valvewright_sim::scenario::{Scenario, parse, shipped};

fn demo() -> &'static str {
    shipped::SHIPPED[0].text
}

fn read(text: &str) -> Result<Scenario, Vec<Diagnostic>> {
    parse::read(&Source::new("job.toml", text))
}

fn said(problems: &[Diagnostic]) -> String {
    problems.iter().map(|one| format!("{one}\n")).collect()
}

#[test]
fn every_shipped_scenario_reads_and_bears_its_name() {
    assert_eq!(shipped::SHIPPED.len(), 26);
    assert_eq!(shipped::SHIPPED[0].name, shipped::DEMO);
    for one in shipped::SHIPPED {
        let source = shipped::source(one.name).expect("listed");
        let scenario = parse::read(&source).unwrap_or_else(|problems| panic!("{}", said(&problems)));
        assert_eq!(scenario.name, one.name);
        assert!(scenario.summary.len() > 40, "{} tells nothing", one.name);
    }
}

#[test]
fn the_demo_comes_out_in_si() {
    let demo = read(demo()).unwrap_or_else(|problems| panic!("{}", said(&problems)));
    assert!((demo.site.ambient - 295.15).abs() < 1e-9);
    assert!((demo.vehicle.content - 0.445).abs() < 1e-12);
    assert!((demo.vehicle.volumes.total() - 3.8e-3).abs() < 1e-12);
    assert!((demo.order.charge - 0.48).abs() < 1e-12);
    let whole: Vec<Phase> =
        Phase::ALL.into_iter().filter(|phase| ![Phase::PressureTest, Phase::Upkeep].contains(phase)).collect();
    assert_eq!(demo.order.phases, whole);
    assert_eq!(demo.vehicle.gas.r1234yf, 1.0);
    assert_eq!(demo.expect.trips.as_deref(), Some(&[][..]));
}

/// 90 % of the density of its liquid, 809.05 kg/m3 at 80 degC (CoolProp 8.0.0), in 3.8 L are 2766.9 g.
#[test]
fn a_hot_circuit_holds_less() {
    let hot = |grams: u32| {
        let text = demo().replace("engine_bay = \"24 degC\"", "engine_bay = \"80 degC\"");
        read(&text.replace("content = \"445 g\" ", &format!("content = \"{grams} g\" ")))
    };
    assert!(hot(2_766).is_ok());
    let problems = hot(2_767).expect_err("more than liquid");
    assert!(problems[0].help.as_deref().is_some_and(|help| help.contains("0 g to 2766 g")), "{}", said(&problems));
}

/// The controller takes orders for circuits of 0.2 to 20 L, so a file with another is refused before it runs.
#[test]
fn the_volumes_together_are_a_circuit_that_the_controller_takes() {
    let with = |high: &str, low: &str, accumulator: &str| {
        let text = demo().replace("\"1.6 L\"", &format!("\"{high}\"")).replace("\"1.4 L\"", &format!("\"{low}\""));
        read(&text.replace("\"0.8 L\"", &format!("\"{accumulator}\"")).replace("445 g", "100 g"))
    };
    assert!(with("10 L", "9 L", "1 L").is_ok());
    assert!(with("0.1 L", "0.05 L", "0.05 L").is_ok());
    for (high, low, accumulator, total) in
        [("10 L", "9 L", "1.1 L", "20.10 L together"), ("0.06 L", "0.06 L", "0.06 L", "0.18 L together")]
    {
        let problems = with(high, low, accumulator).expect_err(total);
        assert!(problems[0].message.contains(total), "{}", said(&problems));
        assert!(problems[0].help.as_deref().is_some_and(|help| help.contains("0.2 L to 20 L")), "{}", said(&problems));
    }
}

/// What a message calls the end of a range is inside it, though a difference of kilograms falls a rounding short of it.
#[test]
fn a_charge_of_all_that_the_vessel_can_give_is_accepted() {
    for grams in 1_100..1_600 {
        let text = demo()
            .replace("vessel_content = \"6 kg\"", &format!("vessel_content = \"{grams} g\""))
            .replace("charge = \"480 g\"", &format!("charge = \"{} g\"", grams - 1_000));
        let read = read(&text).unwrap_or_else(|problems| panic!("{}", said(&problems)));
        assert!((read.order.charge - f64::from(grams - 1_000) * 1e-3).abs() < 1e-9);
    }
}

/// Each row: a line of the demo, what stands there instead, a text of the line to be pointed at, what must be said, what must be offered.
#[test]
fn each_mistake_is_named_with_its_place_and_remedy() {
    for (line, instead, at, message, help) in [
        (
            "charge = \"480 g\"",
            "charge = \"9 kg\"",
            "charge = \"9 kg\"",
            "more than the vessel can give",
            "accepted range: 50 g to 5445 g",
        ),
        (
            "content = \"445 g\" ",
            "content = \"4.8 kg\"",
            "content = \"4.8 kg\"",
            "outside the accepted range",
            "0 kg to 3.42 kg",
        ),
        (
            "content = \"445 g\" ",
            "content = \"445 mm\"",
            "content = \"445 mm\"",
            "wrong unit",
            "accepted units: g, kg, mg",
        ),
        (
            "content = \"445 g\" ",
            "contents = \"445 g\"",
            "contents = \"445 g\"",
            "unknown key `contents`",
            "nearest valid key: `content`",
        ),
        (
            "[vehicle.volumes]",
            "[vehicle.volumns]",
            "[vehicle.volumns]",
            "unknown key `volumns`",
            "nearest valid key: `volumes`",
        ),
        ("low_side = \"1.4 L\"", "", "[vehicle.volumes]", "`low_side` is missing", "a volume, 0.05 L to 10 L"),
        (
            "humidity = \"50 %\"",
            "humidity = \"150 %\"",
            "humidity = \"150 %\"",
            "outside the accepted range",
            "0 % to 100 %",
        ),
        (
            "refrigerant = \"R-1234yf\"",
            "refrigerant = \"R-1234y\"",
            "refrigerant = \"R-1234y\"",
            "not known here",
            "nearest valid value: `R-1234yf`",
        ),
        (
            "phases = \"whole\"",
            "phases = [\"recover\", \"identify\"]",
            "phases = [\"recover\", \"identify\"]",
            "order of a job",
            "identify, recover",
        ),
        (
            "phases = \"whole\"",
            "phases = [\"recovery\"]",
            "phases = [\"recovery\"]",
            "`recovery` is no phase",
            "nearest valid value: `recover`",
        ),
        ("phases = \"whole\"", "phases = [\"identify\"]", "charge = \"480 g\"", "no charge phase", "take `charge` out"),
        ("trips = []", "trips = [\"I99\"]", "trips = [\"I99\"]", "`I99` is no interlock row", "I01 to I31"),
        (
            "seed = 1",
            "seed = 1\n[[sweep]]\nid = \"F001\"",
            "[[sweep]]",
            "[[sweep]] is not supported yet",
            "take the [[sweep]]",
        ),
        (
            "name = \"mild_hatchback\"",
            "name = \"../up\"",
            "name = \"../up\"",
            "cannot name a folder",
            "letters, digits",
        ),
        (
            "delay = \"5 s\"",
            "act = [{ do = \"pause\" }]\ndelay = \"5 s\"",
            "act = [{",
            "one of `at`, `phase`, `notice`",
            "at = \"5 min\"",
        ),
    ] {
        let text = demo().replacen(line, instead, 1);
        assert_ne!(text, demo(), "`{line}` is not in the demo");
        let problems = read(&text).expect_err(instead);
        let all = said(&problems);
        assert!(problems.iter().any(|p| p.message.contains(message)), "{instead}: {all}");
        assert!(problems.iter().any(|p| p.help.as_deref().unwrap_or_default().contains(help)), "{instead}: {all}");
        let place = text.lines().position(|one| one.contains(at)).map(|index| index + 1);
        assert!(place.is_some(), "`{at}` is not in the text");
        assert!(problems.iter().any(|p| Some(p.line) == place), "{instead}, line {place:?}: {all}");
    }
}

#[test]
fn a_vehicle_without_a_volume_is_told_what_a_volume_is() {
    let start = demo().find("[vehicle.volumes]").expect("in the demo");
    let end = demo().find("[order]").expect("in the demo");
    let text = format!("{}{}", &demo()[..start], &demo()[end..]);
    let problems = read(&text).expect_err("no volumes");
    assert!(problems[0].message.contains("`volumes` is missing in [vehicle]"), "{}", said(&problems));
    assert!(problems[0].help.as_deref().unwrap_or_default().contains("each 0.05 L to 10 L"), "{}", said(&problems));
}

#[test]
fn several_mistakes_are_reported_in_one_go() {
    let text = demo().replace("480 g", "480").replace("humidity", "humidty");
    let problems = read(&text).expect_err("three mistakes");
    assert_eq!(problems.len(), 3, "{}", said(&problems));
    assert!(problems.is_sorted_by_key(|p| p.line));
}

#[test]
fn the_operator_acts_on_time_phase_or_notice() {
    let acts = "[operator]\n[[operator.act]]\nat = \"5 min\"\ndo = \"pause\"\n[[operator.act]]\nphase = \"evacuate\"\n\
                after = \"10 s\"\ndo = \"open_door\"\n[[operator.act]]\nnotice = \"tripped\"\ndo = \"shut_door\"\n[expect]";
    let start = demo().find("[operator]").expect("in the demo");
    let end = demo().find("[expect]").expect("in the demo");
    let text = format!("{}{acts}{}", &demo()[..start], &demo()[end + "[expect]".len()..]);
    let operator = read(&text).unwrap_or_else(|problems| panic!("{}", said(&problems))).operator;
    assert_eq!(operator.acts.len(), 3);
    assert_eq!((operator.acts[0].when.clone(), operator.acts[0].act), (Trigger::At(300.0), Act::Pause));
    assert_eq!(operator.acts[1].when, Trigger::PhaseStart(Phase::Evacuate));
    assert_eq!(operator.acts[1].after, 10.0);
    assert_eq!(operator.acts[2].when, Trigger::Notice("tripped".to_owned()));
}

proptest! {
    /// A demo with a piece cut out and another text put in reads or is refused, and every refusal has a place inside the file.
    #[test]
    fn a_mangled_file_never_panics(from in 0usize..1500, length in 0usize..60, text in "(?s).{0,20}") {
        let cut = |at: usize| (0..=at.min(demo().len())).rev().find(|at| demo().is_char_boundary(*at)).unwrap_or(0);
        let mangled = format!("{}{text}{}", &demo()[..cut(from)], &demo()[cut(from + length)..]);
        if let Err(problems) = read(&mangled) {
            prop_assert!(!problems.is_empty());
            let lines = mangled.split('\n').count();
            prop_assert!(problems.iter().all(|p| p.line >= 1 && p.line <= lines && p.column >= 1));
        }
    }
}
