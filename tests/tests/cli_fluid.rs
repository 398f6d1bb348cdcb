//! `fluid` as a user calls it: every pair, many states from a file or a pipe, and what is said of a state that does not exist.

use crate::cli_bench::{Bench, Said, said};
use crate::fluid_data::{Table, Worst, fluids, rel};
use std::io::Write;
use std::process::Stdio;
use valvewright_sim::fluid::{Fluid, FluidKind};

/// Runs the command with `input` on its standard input.
fn piped(bench: &Bench, arguments: &[&str], input: &[u8]) -> Said {
    let mut child = bench
        .command(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    let mut stdin = child.stdin.take().expect("piped");
    let input = input.to_owned();
    let feeder = std::thread::spawn(move || {
        // The command may refuse the heading and leave the rest unread.
        let _ = stdin.write_all(&input);
    });
    let output = child.wait_with_output().expect("the command ends");
    feeder.join().expect("fed");
    said(output)
}

/// Rows of an answer by column name.
fn rows(csv: &str) -> Vec<std::collections::HashMap<String, String>> {
    csv::Reader::from_reader(csv.as_bytes()).deserialize().map(|row| row.expect("CSV")).collect()
}

/// States of CoolProp 8.0.0 (`*_states.csv`) through a file, asked by three pairs: the limits are those of the tables.
#[test]
fn a_file_of_states_gives_the_reference() {
    let bench = Bench::new();
    for (_, name) in fluids() {
        let table = Table::read(&format!("{}_states.csv", name.to_lowercase()));
        for [one, other] in [["p_Pa", "T_K"], ["p_Pa", "h"], ["s", "p_Pa"]] {
            let unit = |column: &str| match column {
                "h" => "enthalpy [J/kg]".to_owned(),
                "s" => "s (J/(kg K))".to_owned(),
                _ => column.to_owned(),
            };
            let mut text = format!("# made by a test\n\n{},{}\n", unit(one), unit(other));
            for row in table.rows() {
                text += &format!("{},{}\n", row.text(one), row.text(other));
            }
            bench.put("states.csv", &text);
            let answers = rows(&bench.run(&["fluid", name, "--states", "states.csv"]).exits(0).out);
            let mut w = Worst::default();
            for (k, (row, answer)) in table.rows().zip(&answers).enumerate() {
                assert_eq!(answer["line"], (k + 4).to_string());
                assert_eq!(answer["phase"], row.text("phase"));
                let number = |column: &str| answer[column].parse::<f64>().expect("a number");
                w.see("rho", rel(number("rho [kg/m3]"), row.num("rho")), || format!("line {}", answer["line"]));
                let mu = rel(number("viscosity [uPa s]"), row.num("mu_Pa_s") * 1e6);
                w.see("a tenth of the viscosity", 0.1 * mu, || format!("line {}", answer["line"]));
            }
            assert_eq!(answers.len(), table.rows().count());
            w.check(&format!("{name} by {one} and {other} through a file"), 3e-4);
        }
    }
}

#[test]
fn bad_lines_are_named_and_the_others_answered() {
    let bench = Bench::new();
    let input = b"p_bar;t_degC\r\n6;20\nabc;20\n6,5;20\n\n6;20;3\n7\n;20\n8 kPa;300 K\nnan;3\n5;400\n\xff;3\n6;25";
    let answer = piped(&bench, &["fluid", "R-1234yf", "--states", "-"], input).exits(64);
    answer.complains(&["standard input:3: p_bar: `abc`", "8 of 11 states have no answer", "3 of them not shown"]);
    let answers = rows(&answer.out);
    let lines: Vec<&str> = answers.iter().map(|row| row["line"].as_str()).collect();
    assert_eq!(lines, ["2", "3", "4", "6", "7", "8", "9", "10", "11", "12", "13"]);
    for (line, says) in [
        ("3", &["p_bar", "begin with a number"][..]),
        ("4", &["decimal comma"]),
        ("6", &["3 values", "2 columns"]),
        ("7", &["1 value "]),
        ("8", &["p_bar: no value"]),
        ("10", &["p_bar: NaN bar", "accepted range", "nearest"]),
        ("11", &["t_degC: 400 degC", "accepted range: -100 degC to 150 degC", "nearest valid value: 150 degC"]),
        ("12", &["p_bar"]),
    ] {
        let row = answers.iter().find(|row| row["line"] == line).expect("answered");
        assert!(row["phase"].is_empty() && row["rho [kg/m3]"].is_empty(), "{row:?}");
        assert!(says.iter().all(|text| row["error"].contains(text)), "{says:?} is not in {}", row["error"]);
    }
    for (row, phase) in [(&answers[0], "liquid"), (&answers[6], "vapour"), (&answers[10], "vapour")] {
        assert_eq!((row["phase"].as_str(), row["error"].as_str()), (phase, ""));
    }
}

#[test]
fn json_lines_hold_si_values_or_an_error() {
    let bench = Bench::new();
    let input = b"density,temperature\n200 kg/m3,20 degC\n20,20 degC\n5 g/L,68 degF\n";
    let answer = piped(&bench, &["fluid", "R134a", "--states", "-", "--json"], input).exits(64);
    let lines: Vec<serde_json::Value> =
        answer.out.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let state = Fluid::get(FluidKind::R134a).at(200.0, 293.15);
    assert_eq!((lines[0]["phase"].as_str(), lines[0]["line"].as_u64()), (Some("two-phase"), Some(2)));
    for (key, want) in [("t", state.t), ("p", state.p), ("h", state.h), ("quality", state.quality)] {
        assert!(rel(lines[0][key].as_f64().expect("a number"), want).abs() < 1e-12, "{key}");
    }
    assert!(lines[0].get("viscosity").is_none() && lines[2]["viscosity"].is_number());
    assert!(lines[1]["error"].as_str().is_some_and(|error| error.contains("no unit")) && lines[1].get("t").is_none());
    assert_eq!(lines.len(), 3);
}

#[test]
fn headings_are_read_or_refused() {
    let bench = Bench::new();
    for heading in [
        "p_bar,t_degC",
        "P [bar],T [degC]",
        "\"pressure (bar)\",\"temperature °C\"",
        "t_degC\tp_bar",
        "\u{feff}p_bar,t_degC",
    ] {
        let values = if heading.starts_with("t_") { "25\t6" } else { "6,25" };
        let answer = piped(&bench, &["fluid", "R1234yf", "--states", "-"], format!("{heading}\n{values}\n").as_bytes());
        assert_eq!(
            rows(&answer.exits(0).out)[0]["rho [kg/m3]"],
            rows(&answer_of(&bench))[0]["rho [kg/m3]"],
            "{heading}"
        );
    }
    for (heading, says) in [
        ("p_bar,temp_degC", &["`temp_degC`", "nearest name: `temperature`"][..]),
        ("p_barg,t_degC", &["p_barg", "absolute"]),
        ("p_bar", &["columns in the heading: 1"]),
        ("p_bar,rho_kg/m3", &["pressure and density", "pairs: p with t"]),
        ("p_bar,p_kPa", &["pressure and pressure"]),
        ("", &["holds no line"]),
    ] {
        let answer = piped(&bench, &["fluid", "R1234yf", "--states", "-"], heading.as_bytes()).exits(64);
        answer.complains(says);
        assert!(answer.out.is_empty());
    }
    bench.run(&["fluid", "R1234yf", "--states", "none.csv"]).exits(64).complains(&["none.csv cannot be opened"]);
    bench.run(&["fluid", "R1234yf", "--states", "."]).exits(64).complains(&["cannot be read"]);
    bench.run(&["fluid", "R1234yf", "--states", "-", "--pressure", "6bar"]).exits(64).complains(&["--pressure"]);
}

fn answer_of(bench: &Bench) -> String {
    piped(bench, &["fluid", "R1234yf", "--states", "-"], b"p_bar,t_degC\n6,25\n").exits(0).out
}

/// Nothing is lost and nothing grows: as many answers as states, in order.
#[test]
fn many_states_are_all_answered() {
    let bench = Bench::new();
    let mut text = "p_bar,h_kJ/kg\n".to_owned();
    for k in 0..20_000 {
        text += &format!("{},{}\n", 0.5 + 1e-3 * f64::from(k), 150 + k % 250);
    }
    let out = piped(&bench, &["fluid", "R134a", "--states", "-"], text.as_bytes()).exits(0).out;
    let answers = rows(&out);
    assert_eq!(answers.len(), 20_000);
    for (k, row) in answers.iter().enumerate().step_by(997) {
        assert_eq!(row["h [kJ/kg]"], (150 + k % 250).to_string());
        assert_eq!(row["line"], (k + 2).to_string());
    }
}

#[test]
fn single_states_by_each_pair() {
    let bench = Bench::new();
    let fluid = Fluid::get(FluidKind::R1234yf);
    for (arguments, phase) in [
        (["--pressure", "68bar", "--temperature", "25degC"], "liquid"),
        (["--pressure", "6.8bar", "--temperature", "25degC"], "vapour"),
        (["--pressure", "6bar", "--enthalpy", "250 kJ/kg"], "two-phase"),
        (["--pressure", "6bar", "--entropy", "1.7 kJ/(kg K)"], "vapour"),
        (["--pressure", "6bar", "--entropy", "900 J/kg/K"], "liquid"),
        (["--pressure", "6bar", "--quality", "30%"], "two-phase"),
        (["--temperature", "-20degC", "--quality", "1"], "two-phase"),
        (["--density", "4 kg/m3", "--temperature", "80degC"], "vapour"),
    ] {
        let json = bench.run(&[&["fluid", "R1234yf", "--json"], &arguments[..]].concat()).exits(0).json();
        assert_eq!(json["phase"], phase, "{arguments:?}");
        let number = |key: &str| json[key].as_f64().unwrap_or_else(|| panic!("{arguments:?}: no {key}"));
        let state = fluid.at(number("rho"), number("t"));
        for (key, want) in [("p", state.p), ("h", state.h), ("s", state.s), ("u", state.u)] {
            assert!(rel(number(key), want).abs() < 1e-6, "{arguments:?}: {key} {} against {want}", number(key));
        }
        assert_eq!(json.get("viscosity").is_some(), phase != "two-phase" || arguments[3] == "1", "{arguments:?}");
    }
    // On the saturation line, any share of vapour is possible: both ends are the answer.
    let p = format!("{}Pa", fluid.p_sat(293.15));
    let json = bench.run(&["fluid", "R1234yf", "--pressure", &p, "--temperature", "293.15K", "--json"]).exits(0).json();
    assert!(json["liquid"]["rho"].as_f64() > json["vapour"]["rho"].as_f64());
}

/// A state that does not exist is refused with the range and with a nearest state, which is then accepted as it was printed.
#[test]
fn the_nearest_state_is_one() {
    let bench = Bench::new();
    let cases: [(&[&str], &str); 11] = [
        (&["--pressure", "6bar", "--enthalpy", "950 kJ/kg"], "accepted range at --pressure 6 bar: "),
        (&["--pressure", "6bar", "--entropy", "0.2 kJ/kg/K"], "accepted range at --pressure 6 bar: "),
        (&["--pressure", "40bar", "--enthalpy", "380 kJ/kg"], " kJ/kg and "),
        (&["--pressure", "300bar", "--temperature", "200degC"], "nearest state: "),
        (&["--pressure", "900bar", "--temperature", "20degC"], "200 bar"),
        (&["--density", "600kg/m3", "--temperature", "120degC"], "accepted range at --temperature 120 degC"),
        (&["--density", "1.2kg/L", "--internal-energy", "900 kJ/kg"], "--internal-energy: 900 kJ/kg"),
        (&["--temperature", "20degC", "--quality", "1.3"], "accepted range: 0 to 1; nearest valid value: 1"),
        (&["--temperature", "99degC", "--quality", "0.3"], "nearest valid value: 92 degC"),
        (&["--pressure", "100bar"], "nearest valid value"),
        (&["--temperature", "-200degF"], "nearest valid value: -148 degF"),
    ];
    for (arguments, says) in cases {
        let refused = bench.run(&[&["fluid", "R1234yf"], arguments].concat()).exits(64);
        refused.complains(&[says, "is outside the tables"]);
        let advice = refused.err.split("nearest ").nth(1).expect("a nearest state");
        let mut again: Vec<String> = arguments.iter().map(|one| (*one).to_owned()).collect();
        if let Some(value) = advice.strip_prefix("valid value: ") {
            let flag = refused.err.split("--").nth(1).and_then(|rest| rest.split(':').next()).expect("a flag");
            let at = arguments
                .iter()
                .position(|one| one.strip_prefix("--") == Some(flag))
                .unwrap_or_else(|| panic!("{}", refused.err));
            again[at + 1] = value.trim().to_owned();
        } else {
            for part in advice.trim_start_matches("state: ").trim().split(", ") {
                let (flag, value) = part.split_once(' ').expect("flag and value");
                let at = arguments.iter().position(|one| *one == flag).expect("a flag that was given");
                again[at + 1] = value.to_owned();
            }
        }
        let again: Vec<&str> = again.iter().map(String::as_str).collect();
        bench.run(&[&["fluid", "R1234yf"], &again[..]].concat()).exits(0);
    }
}
