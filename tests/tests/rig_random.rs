//! Networks drawn from seeds: what is drawn reads and reaches all that a file can say, what must not happen is seen when it does, and a
//! sample of them is run and judged.

use valvewright_sim::plant::PlantFault;
use valvewright_sim::plant::rig::{RigSeries, RigSpec, parse_rig, run_rig};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_tests::random_rigs::{judge, judge_series, judge_within, text};

/// Networks that are run.
const SAMPLE: u64 = 300;
/// Most of them that may end where the plant's laws do, one in ten. What is drawn gets there soundly: liquid in a rigid volume that is warmed,
/// a heater on a dry volume, a compressor into a dead end, liquid let into nothing at all (21 of the 300). The bound is there lest a
/// change of the draw or of the engine leaves a sample that proves little.
const MOST_ENDS: u64 = SAMPLE / 10;
/// Most of them that the integrator may not get through, one in thirty (9 of the 300): each is a weakness, none of them is sound, and the
/// bound is to go down with them.
const MOST_UNSOLVED: u64 = SAMPLE / 30;

fn replay(seed: u64) -> String {
    format!(
        "cargo run --release -p valvewright-tests --example networks -- 1 {seed} --write .; valvewright rig network-{seed}.toml"
    )
}

#[test]
fn every_seed_reads_and_is_drawn_the_same_again() {
    for seed in 0..2000 {
        let drawn = text(seed);
        assert_eq!(drawn, text(seed), "seed {seed} gives two texts");
        if let Err(all) = parse_rig(&Source::new("network.toml", drawn)) {
            panic!("{}\n{}", all[0], replay(seed));
        }
    }
}

#[test]
fn the_seeds_reach_what_a_file_can_say() {
    let all: String = (0..2000).map(text).collect();
    let kinds = ["orifice", "liquid orifice", "check valve", "leak", "duct", "hose", "compressor", "vacuum pump"];
    let more = ["relief valve", "heater", "oil line", "heat link", "fan", "cabinet", "bottle"];
    for kind in kinds.iter().chain(&more) {
        assert!(all.contains(&format!("kind = \"{kind}\"")), "no {kind} in 2000 networks");
    }
    for words in [
        "\nsecond_refrigerant = \"R",
        "\nsecond_refrigerant = \"0.",
        "mixing = \"ideal\"",
        "mixing = \"real\"",
        "law = \"flory\"",
        "law = \"raoult\"",
        "law = \"linear\"",
        "weightless = true",
        "weightless = false",
        "dissolved = ",
        "heat_of_mixing = ",
        ".cold_wall]",
        ".wall]\nheat_capacity",
        ".water]",
        ".air_uptake]",
        "condensation = ",
        "isothermal = true",
        "compliance = ",
        "outlet_margin = ",
        "air_humidity = ",
        "draws = \"liquid\"",
        "draws = \"mixed\"",
        "draws_back = ",
        "one_way = ",
        "nonequilibrium = ",
        "flashing_limit = ",
        "flow = \"real\"",
        "fittings = ",
        "roughness = ",
        "stall = ",
        "ballast = ",
        ".hose]",
        "leak_by = ",
        "stroke = ",
        "to = \"ambient\"",
        "from = \"ambient\"",
        "to = \"vacuum\"",
        "[step.ramp]\n\"v",
        ".cold_wall.surroundings\" = ",
        "[step.change]\n\"",
        "until = \"",
        "diameter = \"0 mm\"",
    ] {
        assert!(all.contains(words), "`{words}` is in none of 2000 networks");
    }
}

/// A sealed pair of dry volumes beside walls, which nothing is wrong with.
const WELL: &str = r#"title = "well"
refrigerant = "R134a"
output = "10 s"
[volume.a]
volume = "2 L"
refrigerant_pressure = "500 Pa"
[volume.a.wall]
heat_capacity = "500 J/K"
wet = "5 W/K"
to_surroundings = "2 W/K"
[volume.b]
volume = "3 L"
air_pressure = "100 Pa"
[volume.b.wall]
heat_capacity = "500 J/K"
wet = "5 W/K"
[element.valve]
kind = "orifice"
from = "a"
to = "b"
diameter = "1 mm"
[[step]]
name = "open"
set = { valve = 1 }
for = "10 min"
"#;

fn well() -> (RigSpec, RigSeries) {
    let spec = parse_rig(&Source::new("well.toml", WELL)).expect("it reads");
    let series = run_rig(&spec, |_| true).expect("it runs");
    (spec, series)
}

/// Classes of what is wrong with the series once `spoil` has been at it.
fn seen(spoil: impl FnOnce(&mut RigSeries)) -> Vec<String> {
    let (spec, mut series) = well();
    spoil(&mut series);
    judge_series(&spec, &series).into_iter().map(|failure| failure.class).collect()
}

fn put(series: &mut RigSeries, signal: &str, row: usize, value: f64) {
    let column = series.column(signal).unwrap_or_else(|| panic!("no signal {signal}"));
    series.rows[row].values[column] = value;
}

#[test]
fn a_sound_series_is_passed_and_every_kind_of_harm_is_seen() {
    assert_eq!(judge(WELL).failures, []);
    assert_eq!(seen(|_| {}), [""; 0]);
    assert_eq!(seen(|series| put(series, "b.p", 7, f64::NAN)), ["shows what is no number"]);
    assert_eq!(seen(|series| put(series, "b.m_air", 7, -1e-15)), ["shows a negative mass"]);
    assert_eq!(seen(|series| series.balance.mass_error_kg = 1e-8 * series.balance.start_kg), ["loses refrigerant"]);
    assert_eq!(seen(|series| series.balance.air_error_kg = f64::NAN), ["loses air"]);
    assert_eq!(seen(|series| series.balance.energy_error_j = 1e-5 * series.balance.energy_scale_j), ["loses energy"]);
    assert_eq!(seen(|series| series.balance.air_out_kg = 1e-14), ["leaks though nothing leads out"]);
    // Ten kelvin off its wall after minutes, and as hot as no filling makes it.
    let wall = |series: &RigSeries| series.rows[40].values[series.column("b.t_wall").expect("a wall")];
    assert_eq!(seen(|series| put(series, "b.t", 40, wall(series) - 10.0)), ["has gas off the temperature of its wall"]);
    let hot = seen(|series| put(series, "b.t", 1, 400.0));
    assert!(hot.contains(&"is hotter than anything can make it".to_owned()), "{hot:?}");
    let fault = |place: &str, time: f64, advice: &str| {
        let (place, what, advice) = (place.to_owned(), "it burst".to_owned(), advice.to_owned());
        seen(|series| series.fault = Some(PlantFault { time, place, what, advice }))
    };
    assert_eq!(fault("valve", 600.0, "use less"), [""; 0]);
    for vague in [fault("", 600.0, "use less"), fault("valve", 700.0, "use less"), fault("valve", 600.0, "")] {
        assert_eq!(vague, ["ends in a vague fault"]);
    }
}

#[test]
fn what_is_no_rig_and_what_never_ends_is_seen() {
    assert_eq!(judge("title = 1").failures[0].class, "is refused");
    let endless = judge_within(WELL, |_| 10.0);
    assert_eq!(endless.failures.first().map(|failure| failure.class.as_str()), Some("runs on and on"), "{endless:?}");
}

/// What came of the sample.
#[derive(Default)]
struct Sample {
    /// Failures with their replays.
    failures: Vec<String>,
    ends: u64,
    unsolved: u64,
}

fn sample() -> Sample {
    let mut made = Sample::default();
    for seed in 0..SAMPLE {
        let verdict = judge(&text(seed));
        made.unsolved += u64::from(verdict.unsolved());
        made.ends += u64::from(verdict.fault.is_some() && !verdict.unsolved());
        made.failures.extend(verdict.failures.iter().map(|one| format!("seed {seed} {one}\n  {}", replay(seed))));
    }
    made
}

#[test]
fn every_network_holds_or_says_why_not() {
    let Sample { failures, ends, unsolved } = sample();
    assert!(failures.is_empty(), "{} in {SAMPLE} networks:\n{}", failures.len(), failures.join("\n"));
    assert!(ends <= MOST_ENDS, "{ends} of {SAMPLE} networks end where the laws do, at most {MOST_ENDS} may");
    assert!(
        unsolved <= MOST_UNSOLVED,
        "{unsolved} of {SAMPLE} networks cannot be integrated, at most {MOST_UNSOLVED} may"
    );
}
