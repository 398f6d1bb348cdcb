//! What is wrong with a rig is said once, with its line, its limit and what would be right; nothing is dropped in silence.

use valvewright_sim::plant::parse::MOST_PARTS;
use valvewright_sim::plant::rig::{RigSpec, parse_rig};
use valvewright_sim::scenario::diagnostic::Source;

fn read(text: &str) -> Result<RigSpec, Vec<String>> {
    parse_rig(&Source::new("bad.toml", text)).map_err(|all| all.iter().map(ToString::to_string).collect())
}

/// The messages a text gets.
fn all_told(text: &str) -> Vec<String> {
    read(text).expect_err(text)
}

/// The one message it gets.
fn told(text: &str) -> String {
    let mut all = all_told(text);
    assert_eq!(all.len(), 1, "one mistake, one message:\n{}\n{text}", all.join("\n"));
    all.remove(0)
}

/// A message about `text` that stands in `line` and holds all of `wanted`.
fn told_in(text: &str, line: usize, wanted: &[&str]) {
    let message = told(text);
    assert!(message.starts_with(&format!("bad.toml:{line}:")), "not in line {line}: {message}\n{text}");
    for one in wanted {
        assert!(message.contains(one), "`{one}` is not in: {message}\n{text}");
    }
}

const GOOD: &str = r#"title = "two volumes"
refrigerant = "R1234yf"
[ambient]
temperature = "25 degC"
[volume.loop]
volume = "4 L"
refrigerant = "600 g"
[volume.loop.wall]
heat_capacity = "1 kJ/K"
wet = "10 W/K"
[volume.tank]
volume = "10 L"
[element.valve]
kind = "orifice"
from = "loop"
to = "tank"
diameter = "2 mm"
[[step]]
name = "open"
set = { valve = 1 }
until = "tank.p > 1 bar"
for = "1 min"
"#;

#[test]
fn the_text_that_the_others_spoil_is_good() {
    let spec = read(GOOD).unwrap_or_else(|all| panic!("{}", all.join("\n")));
    assert_eq!((spec.network.volumes.len(), spec.network.elements.len(), spec.steps.len()), (2, 1, 1));
}

#[test]
fn one_wrong_value_gives_one_message() {
    for (from, to, line, wanted) in [
        // The volume that could not be read is still one that an element, a condition and a sweep may name.
        ("volume = \"4 L\"", "volume = \"4 kg\"", 6, "wrong unit"),
        ("refrigerant = \"600 g\"", "refrigerant = \"600 L\"", 7, "wrong unit"),
        ("wet = \"10 W/K\"", "wet = \"10 W\"", 10, "wrong unit"),
        ("heat_capacity = \"1 kJ/K\"\n", "", 8, "`heat_capacity` is missing"),
        ("volume = \"10 L\"", "volume = \"10 L\"\nisothermal = 1", 13, "true or false is needed"),
        // A network without its refrigerant still has steps.
        ("refrigerant = \"R1234yf\"\n", "refrigerant = \"R12\"\n", 2, "`R12` is not known"),
        // An element that could not be read is still one that a step may set.
        ("diameter = \"2 mm\"", "diameter = \"2 bar\"", 17, "wrong unit"),
        ("kind = \"orifice\"", "kind = \"orifise\"", 14, "nearest valid value: `orifice`"),
        ("from = \"loop\"", "from = \"lop\"", 15, "nearest valid value: `loop`"),
        ("temperature = \"25 degC\"", "temperature = \"25 bar\"", 4, "wrong unit"),
        ("for = \"1 min\"", "for = \"1 g\"", 22, "wrong unit"),
        ("until = \"tank.p > 1 bar\"", "until = \"tank.p > 1 g\"", 21, "wrong unit"),
        ("set = { valve = 1 }", "set = { vlve = 1 }", 20, "there is no element `vlve`"),
        // Where kind or law are unknown, nobody knows which keys are.
        (
            "volume = \"10 L\"",
            "kind = \"cabinett\"\nvolume = \"10 L\"\nlower_flammable_limit = \"9 %\"",
            12,
            "`cabinet`",
        ),
        (
            "volume = \"10 L\"",
            "volume = \"10 L\"\noil = { mass = \"1 g\", law = \"rault\", molar_mass = \"9\", rate = 1 }",
            13,
            "`raoult`",
        ),
        ("[volume.tank]", "[volume]\nodd = 1\n[volume.tank]", 12, "a table [volume.odd] is needed"),
    ] {
        told_in(&GOOD.replacen(from, to, 1), line, &[wanted]);
    }
}

#[test]
fn several_wrong_values_give_as_many_messages() {
    let text = GOOD
        .replace("volume = \"10 L\"", "volume = \"10 m\"\noutlet_margin = \"3 s\"\ntemprature = \"3 degC\"")
        .replace("diameter = \"2 mm\"", "diameter = \"2 kg\"\ndischarge = \"150 %\"");
    let all = all_told(&text);
    assert_eq!(all.len(), 5, "{}", all.join("\n"));
}

fn many(volumes: usize, elements: usize) -> String {
    let mut text = String::from("title = \"many\"\nrefrigerant = \"R134a\"\n");
    for k in 0..volumes {
        text += &format!("[volume.v{k}]\nvolume = \"1 L\"\n");
    }
    for k in 0..elements {
        text += &format!(
            "[element.e{k}]\nkind = \"leak\"\nfrom = \"v{}\"\nto = \"ambient\"\ndiameter = \"0 mm\"\n",
            k % volumes
        );
    }
    text + "[[step]]\nname = \"wait\"\nfor = \"1 s\"\n"
}

#[test]
fn too_many_parts_are_told_with_count_limit_and_line() {
    let most = read(&many(MOST_PARTS, MOST_PARTS)).unwrap_or_else(|all| panic!("{}", all.join("\n")));
    assert_eq!((most.network.volumes.len(), most.network.elements.len()), (MOST_PARTS, MOST_PARTS));
    let (over, limit) = ((MOST_PARTS + 1).to_string(), MOST_PARTS.to_string());
    told_in(&many(MOST_PARTS + 1, 3), 3 + 2 * MOST_PARTS, &["volume", &over, &limit]);
    told_in(&many(3, MOST_PARTS + 1), 9 + 5 * MOST_PARTS, &["element", &over, &limit]);
}

#[test]
fn a_value_at_its_bound_is_taken_whatever_its_unit() {
    for value in ["-40 degC", "70 degC", "233.15 K", "-40 degF", "158 degF"] {
        let text = GOOD.replace("\"25 degC\"", &format!("\"{value}\""));
        read(&text).unwrap_or_else(|all| panic!("{value}: {}", all.join("\n")));
    }
    told_in(
        &GOOD.replace("\"25 degC\"", "\"-40.00001 degC\""),
        4,
        &["\"-40.00001 degC\" is outside", "accepted range: -40 degC to 70 degC"],
    );
}

#[test]
fn a_range_in_another_unit_shows_that_the_value_is_outside() {
    // 1.2 bar are 35.436 inHg; with fewer digits the bound would be printed as the value itself.
    told_in(
        &GOOD.replace("temperature = \"25 degC\"", "pressure = \"35.4360 inHg\""),
        4,
        &["accepted range: 14.765 inHg to 35.43598 inHg"],
    );
}

#[test]
fn content_that_does_not_fit_is_told_with_figures_that_differ() {
    told_in(&GOOD.replace("600 g", "6 kg"), 7, &["6000 g of R-1234yf do not fit into 4 L at 25.00 degC", "at most 46"]);
    let most: f64 = told(&GOOD.replace("600 g", "6 kg"))
        .split_once("at most ")
        .and_then(|(_, rest)| rest.split_once(" g"))
        .and_then(|(figure, _)| figure.parse().ok())
        .expect("a figure");
    read(&GOOD.replace("600 g", &format!("{most} g"))).expect("what is said to fit fits");
    let near = told(&GOOD.replace("600 g", &format!("{} g", most + 1.0)));
    let figures: Vec<&str> = near.split(" g of").take(2).collect();
    assert!(
        !figures[1].contains(figures[0].rsplit(' ').next().expect("a figure")),
        "the two figures read alike: {near}"
    );
    told_in(
        &GOOD.replace("refrigerant = \"600 g\"", "refrigerant_pressure = \"9 bar\""),
        7,
        &["condenses", "0 kPa to 682.697 kPa"],
    );
    let moist = "air_pressure = \"1 kPa\"\nair_humidity = \"100 %\"";
    told_in(&GOOD.replace("refrigerant = \"600 g\"", moist), 8, &["cannot hold", "lower the humidity"]);
    let oily = "volume = \"10 L\"\n[volume.tank.oil]\nmass = \"9.9 kg\"";
    told_in(&GOOD.replace("volume = \"10 L\"", oily), 11, &["leave no room"]);
}

#[test]
fn a_sweep_is_checked_value_by_value() {
    let swept = |keys: &str| format!("{GOOD}[[sweep]]\n{keys}\n");
    read(&swept("volume = \"loop\"\nrefrigerant = [\"100 g\", \"4 kg\"]")).expect("both fit");
    told_in(&swept("volume = \"loop\"\nrefrigerant = [\"100 g\", \"6 kg\"]"), 25, &["6000 g", "do not fit"]);
    told_in(&swept("volume = \"loop\"\nrefrigerant = [\"100 g\", \"600 kg\"]"), 25, &["\"600 kg\" is outside"]);
    told_in(
        &swept("volume = \"loop\"\nair = [\"1 g\"]\ntemperature = [\"9 degC\"]"),
        25,
        &["write a second [[sweep]]"],
    );
    told_in(&swept("volume = \"loop\"\nair = []"), 25, &["1 to 1000 values"]);
    told_in(&swept("volume = \"loop\""), 23, &["names nothing to vary"]);
    told_in(&swept("volume = \"lop\"\nair = [\"1 g\"]"), 24, &["nearest valid value: `loop`"]);
}

#[test]
fn names_that_would_break_signals_or_files_are_refused() {
    let named =
        |name: &str| GOOD.replace("[element.valve]", &format!("[element.{name}]")).replace("set = { valve = 1 }\n", "");
    for name in ["\"XV-5+XV-10+XV-1\"", "\"coupler_low/in\"", "XV-1", "\"Ventil-\u{e4}\"", "7"] {
        read(&named(name)).unwrap_or_else(|all| panic!("{name}: {}", all.join("\n")));
    }
    for (name, wrong) in [
        ("\"a,b\"", "','"),
        ("\"a\\\"b\"", "'\"'"),
        ("\"a.b\"", "'.'"),
        ("\"a\\nb\"", "'\\n'"),
        ("\"a b\"", "' '"),
        ("\"a<b\"", "'<'"),
        ("\"\"", "the name is empty"),
    ] {
        told_in(&named(name), 13, &[wrong, "letters, digits, `_`, `-`, `+` and `/`"]);
    }
    told_in(&named(&"x".repeat(61)), 13, &["longer than 60 characters"]);
    told_in(&named("tank"), 13, &["`tank` is a volume already"]);
    told_in(&named("ambient"), 13, &["no element can be called `ambient`"]);
    let volume = GOOD.replace("[volume.tank]", "[volume.vacuum]").replace("to = \"tank\"", "to = \"vacuum\"");
    told_in(&volume.replace("until = \"tank.p > 1 bar\"\n", ""), 11, &["no volume can be called `vacuum`"]);
}

#[test]
fn a_duplicate_names_itself() {
    told_in(
        &GOOD.replace("volume = \"10 L\"", "volume = \"10 L\"\nvolume = \"3 L\""),
        13,
        &["`volume` is given twice"],
    );
    told_in(&format!("{GOOD}[volume.loop]\nvolume = \"3 L\"\n"), 23, &["`loop` is given twice"]);
}

#[test]
fn a_condition_on_what_a_part_does_not_have_lists_what_it_has() {
    told_in(
        &GOOD.replace("tank.p > 1 bar", "tank.m_oil > 1 g"),
        21,
        &["`m_oil` is no signal of `tank`", "signals: p, p_ref"],
    );
    told_in(
        &GOOD.replace("tank.p > 1 bar", "tnk.p > 1 bar"),
        21,
        &["`tnk` is no volume or element", "nearest: `tank`"],
    );
    told_in(&GOOD.replace("tank.p > 1 bar", "tank.p = 1 bar"), 21, &["is no condition", "write `loop.p < 40 kPa`"]);
}
