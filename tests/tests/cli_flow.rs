//! `fluid ... flow` as a user calls it: rows of the outside tables of nozzles and hoses, and what is said of a question without an answer.
//!
//! Tables: `tests/data/flow/f1_*` and `f2_*` (scipy with CoolProp 8.0.0; equations, solver and checks in the head of each). Limits are
//! those that `law_reference` holds the laws to on every row; here some rows go the whole way through the command.

use crate::cli_bench::Bench;
use crate::fluid_data::rel;
use serde_json::Value;
use valvewright_sim::fluid::{Fluid, FluidKind};
use valvewright_tests::law_reference::{Cells, Table};

/// Asks for JSON.
fn ask(bench: &Bench, fluid: &str, flags: &[(&str, String)]) -> Value {
    let mut arguments = vec!["fluid", fluid, "flow"];
    let (element, rest) = flags.split_first().expect("an element");
    arguments.push(element.0);
    for (flag, value) in rest {
        arguments.extend([*flag, value.as_str()]);
    }
    arguments.push("--json");
    bench.run(&arguments).exits(0).json()
}

fn number(answer: &Value, key: &str) -> f64 {
    answer[key].as_f64().unwrap_or_else(|| panic!("no number `{key}` in {answer}"))
}

fn element(name: &str) -> (&str, String) {
    (name, String::new())
}

#[track_caller]
fn near(what: &str, ours: f64, theirs: f64, limit: f64) {
    let off = rel(ours, theirs).abs();
    assert!(off <= limit, "{what}: {ours:e} here, {theirs:e} there, off by {:.3} %", 100.0 * off);
}

/// Saturated liquid of R-1234yf at 20 degC into vacuum: 6759 kg/(m2 s) (f1_R1234yf.csv, homogeneous equilibrium).
#[test]
fn saturated_liquid_flashes_into_vacuum() {
    let bench = Bench::new();
    let flags = ["--diameter", "1mm", "--discharge", "1", "--temperature", "20degC", "--quality", "0"];
    let said = bench.run(&[&["fluid", "R1234yf", "flow", "orifice"], &flags[..]].concat()).exits(0);
    for text in
        ["5.308", "6759", "yes, as at any back pressure up to 507.8", "homogeneous equilibrium", "591.836 kPa abs"]
    {
        assert!(said.out.contains(text), "`{text}` is not in:\n{}", said.out);
    }
    // The inlet may stand before `flow` as well.
    let before = ["fluid", "R1234yf", "--temperature", "20degC", "--quality", "0", "flow", "orifice"];
    assert_eq!(bench.run(&[&before, &flags[..4]].concat()).exits(0).out, said.out);
}

#[test]
fn orifices_follow_the_table_of_nozzles() {
    let bench = Bench::new();
    for (table, fluid) in [("f1_R1234yf", "R1234yf"), ("f1_R134a", "R134a")] {
        let table = Table::read(table).expect("the table");
        // Nine back pressures an inlet: steps of eleven meet every inlet and every back pressure.
        for row in table.rows().step_by(11) {
            nozzle(&bench, fluid, &row);
        }
    }
}

fn nozzle(bench: &Bench, fluid: &str, row: &Cells) {
    let (kind, x) = (row.word("inlet"), row.get("x0"));
    let (t, p, back) = (row.get("T0_C"), row.get("p0_Pa"), row.get("pb_Pa"));
    let mut flags = vec![
        element("orifice"),
        ("--diameter", "2mm".to_owned()),
        ("--discharge", "1".to_owned()),
        ("--temperature", format!("{t} degC")),
        ("--back", format!("{back} Pa")),
    ];
    let dry = matches!(kind, "sat_vapour" | "superheated");
    if matches!(kind, "subcooled" | "superheated") {
        flags.push(("--pressure", format!("{p} Pa")));
    } else {
        flags.push(("--quality", if dry { "1".to_owned() } else { x.to_string() }));
    }
    let answer = ask(bench, fluid, &flags);
    let what = format!("{fluid} {kind} at {t} degC, x {x}, {p} Pa into {back} Pa");
    let theirs = row.get("G_HEM");
    near(&what, number(&answer, "flux"), theirs, if dry { 0.03 } else { 0.01 });
    if dry {
        assert_eq!(answer["law"], "vapour", "{what}");
        near(&what, number(&answer, "real_flow") / number(&answer, "flow") * number(&answer, "flux"), theirs, 0.01);
    } else {
        assert!(answer["law"] == "flashing" || answer["law"] == "liquid", "{what}: {answer}");
    }
    if row.get("choked") == 1.0 {
        assert_eq!(answer["choked"], true, "{what}");
        near(&what, number(&answer, "chokes_below"), row.get("p_throat_Pa"), 0.03);
    }
}

/// A hose of a table's row.
fn bore(row: &Cells) -> Vec<(&'static str, String)> {
    let bore = row.bore();
    vec![
        ("hose", String::new()),
        ("--diameter", format!("{} m", bore.diameter)),
        ("--length", format!("{} m", bore.length)),
        ("--roughness", format!("{} m", bore.roughness)),
    ]
}

#[test]
fn hoses_follow_the_tables_of_gas() {
    let bench = Bench::new();
    let mut held = 0;
    let table = Table::read("f2_gas").expect("the table");
    // The table leaves the molecular part out: 1 % of the flow and more below 30 kPa.
    let mine = |row: &Cells| row.word("fluid") != "Air" && row.get("p1_Pa") >= 3e4;
    for row in table.rows().filter(mine).step_by(17) {
        let (t, p, back) = (row.get("T1_C"), row.get("p1_Pa"), row.get("p2_Pa"));
        let state = [("--temperature", t, "degC"), ("--pressure", p, "Pa"), ("--back", back, "Pa")];
        let flags = [bore(&row), state.map(|(flag, si, unit)| (flag, format!("{si} {unit}"))).to_vec()].concat();
        let answer = ask(&bench, row.word("fluid"), &flags);
        let what = format!("{} at {p} Pa into {back} Pa", row.word("fluid"));
        assert_eq!(answer["law"], "hose_gas", "{what}");
        near(&what, number(&answer, "flow"), row.get("w_iso_kg_s"), 0.01);
        held += 1;
    }
    assert!(held > 15, "{held} rows");
}

#[test]
fn hoses_follow_the_table_of_thin_gas() {
    let bench = Bench::new();
    let mut held = 0;
    let table = Table::read("f2_rarefied").expect("the table");
    let mine = |row: &Cells| row.word("gas").parse::<FluidKind>().is_ok() && row.get("p1_Pa") <= 3e3;
    for row in table.rows().filter(mine).step_by(7) {
        let (p, back) = (row.get("p1_Pa"), row.get("p2_Pa"));
        let state = [
            ("--temperature", "25 degC".to_owned()),
            ("--pressure", format!("{p} Pa")),
            ("--back", format!("{back} Pa")),
        ];
        let answer = ask(&bench, row.word("gas"), &[bore(&row), state.to_vec()].concat());
        // Its gas is ideal, with a viscosity of its own.
        near(&format!("{p} Pa into {back} Pa"), number(&answer, "flow"), row.get("w_combined_kg_s"), 0.01);
        let knudsen = row.get("Kn");
        let share = number(&answer, "molecular_share");
        assert!(if knudsen > 10.0 { share > 0.9 } else { share > 0.0 }, "{share} of it molecular at Kn {knudsen}");
        held += 1;
    }
    assert!(held > 10, "{held} rows");
}

#[test]
fn hoses_follow_the_tables_of_liquid_and_of_both() {
    let bench = Bench::new();
    let table = Table::read("f2_liquid").expect("the table");
    for row in table.rows().filter(|row| row.word("fluid") != "Water").step_by(19) {
        let (name, t) = (row.word("fluid"), row.get("T_C"));
        let sat = Fluid::get(name.parse().expect("a refrigerant")).p_sat(t + 273.15);
        let p = sat + 1.0 + row.get("dp_Pa");
        let state = [
            ("--temperature", format!("{t} degC")),
            ("--pressure", format!("{p} Pa")),
            ("--back", format!("{} Pa", sat + 1.0)),
        ];
        let answer = ask(&bench, name, &[bore(&row), state.to_vec()].concat());
        let what = format!("{name} liquid at {t} degC, {} Pa", row.get("dp_Pa"));
        assert_eq!(answer["law"], "hose_liquid", "{what}");
        near(&what, number(&answer, "flow"), row.get("w_kg_s"), 0.01);
    }
    let table = Table::read("f2_wet").expect("the table");
    for row in table.rows().step_by(23) {
        let (name, t, x, back) = (row.word("fluid"), row.get("T1_C"), row.get("x1"), row.get("p2_Pa"));
        let state =
            [("--temperature", format!("{t} degC")), ("--quality", x.to_string()), ("--back", format!("{back} Pa"))];
        let answer = ask(&bench, name, &[bore(&row), state.to_vec()].concat());
        let what = format!("{name} at {t} degC with x = {x} into {back} Pa");
        assert_eq!(answer["law"], "hose_wet", "{what}");
        near(&what, number(&answer, "flow"), row.get("w_MSH_kg_s"), 0.03);
    }
}

#[test]
fn a_question_without_an_answer_says_what_would_be_one() {
    let bench = Bench::new();
    let refuse = |flags: &str, says: &[&str]| {
        let arguments: Vec<&str> =
            "fluid R1234yf flow ".split(' ').chain(flags.split(' ')).filter(|one| !one.is_empty()).collect();
        bench.run(&arguments).exits(64).complains(says);
    };
    let wet = "--temperature 25degC --quality 0";
    refuse(
        &format!("orifice --diameter 1m {wet}"),
        &["--diameter: 1 m is outside", "1e-5 m to 0.1 m", "nearest valid value: 0.1 m"],
    );
    refuse(&format!("orifice --diameter 1 {wet}"), &["--diameter: `1` has no unit", "mm"]);
    refuse(&format!("orifice --diameter 1mm --discharge 1.2 {wet}"), &["--discharge: 1.2", "0 to 1", "value: 1"]);
    refuse(&format!("orifice --diameter 1mm --nonequilibrium 3 {wet}"), &["--nonequilibrium: 3", "1 to 2.4"]);
    refuse(
        &format!("orifice --diameter 1mm --back 9bar {wet}"),
        &["--back: 9 bar", "0 bar to 6.82697 bar", "swap the two"],
    );
    refuse(&format!("orifice --diameter 1mm --back -1bar {wet}"), &["--back: -1 bar", "nearest valid value: 0 bar"]);
    refuse(
        &format!("hose --diameter 5mm --length 3m --roughness 1mm {wet}"),
        &["--roughness: 1 mm", "0 mm to 0.25 mm"],
    );
    refuse(&format!("hose --diameter 5mm --length 1km {wet}"), &["--length: unknown unit `km`", "accepted units"]);
    refuse("orifice --diameter 1mm --temperature 25degC", &["--temperature alone", "add --quality"]);
    refuse("orifice --diameter 1mm", &["this is no state", "--quality"]);
    refuse("orifice --diameter 1mm --temperature 400degC --pressure 1bar", &["--temperature: 400 degC", "150 degC"]);
    refuse("orifice --temperature 25degC --quality 0", &["--diameter"]);
    let both = ["fluid", "R1234yf", "--states", "x.csv", "flow", "orifice", "--diameter", "1mm"];
    bench.run(&both).exits(64).complains(&["--states and `flow`"]);
}
