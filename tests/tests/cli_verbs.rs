//! What the verbs of the command answer, as text and as JSON.

use crate::cli_bench::{Bench, said};
use valvewright_sim::fluid::{Fluid, FluidKind};
use valvewright_sim::scenario::shipped;

/// Keys that the JSON of a run has at least.
const RESULT_KEYS: [&str; 15] = [
    "scenario",
    "seed",
    "verdict",
    "sim_seconds",
    "wall_seconds",
    "ticks",
    "oil_drained_ml",
    "notices",
    "interlocks",
    "phases",
    "mass_balance_error_g",
    "energy_balance_error_rel",
    "trace_hash",
    "partial",
    "expectations",
];

#[test]
fn without_arguments_the_demo_runs_into_a_free_folder() {
    let bench = Bench::new();
    for folder in ["results/mild_hatchback", "results/mild_hatchback-2"] {
        let answer = bench.run(&[]);
        assert!(matches!(answer.code, Some(0 | 1)), "{}", answer.err);
        for part in ["A hatchback on a mild day", "recovered", "charged", "leak check", "trace hash", "Expectations"] {
            assert!(answer.out.contains(part), "{part} is missing in:\n{}", answer.out);
        }
        assert!(answer.out.contains(&format!("{folder}/report.html")), "{}", answer.out);
        assert!(!answer.out.contains('\u{1b}'), "colour without a terminal");
        for file in ["report.html", "result.json", "trace.csv"] {
            assert!(bench.path(folder).join(file).is_file(), "{folder}/{file}");
        }
    }
}

#[test]
fn a_run_answers_in_json_and_repeats_itself() {
    let bench = Bench::new();
    let run = |seed: &str, out: &str| {
        bench.run(&["run", "--json", "--seed", seed, "--out", out, "--trace", "none", "--no-report"]).json()
    };
    let (first, again, other) = (run("7", "a"), run("7", "b"), run("8", "c"));
    for key in RESULT_KEYS {
        assert!(!first[key].is_null(), "{key} is missing");
    }
    for (table, keys) in [
        ("recovered_g", &["shown", "true"][..]),
        ("charged_g", &["target", "shown", "true"]),
        ("leak", &["verdict", "pa_m3_per_s", "g_per_year"]),
    ] {
        for key in keys {
            assert!(!first[table][key].is_null(), "{table}.{key} is missing");
        }
    }
    for key in ["name", "outcome", "seconds"] {
        assert!(!first["phases"][0][key].is_null(), "phases[].{key} is missing");
    }
    assert_eq!(first["seed"], 7);
    assert_eq!(first["trace_hash"], again["trace_hash"]);
    assert_ne!(first["trace_hash"], other["trace_hash"]);
    assert_eq!(bench.listing(), ["a", "a/result.json", "b", "b/result.json", "c", "c/result.json"]);
}

/// Without trace and report no samples are taken, and nothing else is different.
#[test]
fn a_run_without_trace_has_the_result_of_one_with() {
    let bench = Bench::new();
    for one in shipped::SHIPPED {
        let run = |more: &[&str]| {
            let mut words = vec!["run", one.name, "--json", "--out", "a", "--force"];
            words.extend(more);
            let mut answer = bench.run(&words).json();
            for differing in ["wall_seconds", "speed", "files"] {
                answer.as_object_mut().expect("a table").remove(differing).expect("always there");
            }
            answer
        };
        let (bare, traced) = (run(&["--trace", "none", "--no-report"]), run(&["--trace", "csv", "--no-report"]));
        assert!(bare["trace_hash"].is_string());
        assert_eq!(bare, traced, "{}", one.name);
        assert_eq!(bare, run(&["--trace", "none"]), "{}", one.name);
    }
}

#[test]
fn the_trace_comes_in_the_form_that_was_asked_for() {
    let bench = Bench::new();
    bench.run(&["run", "--out", "both", "--trace", "both", "--no-report"]);
    assert_eq!(bench.listing(), ["both", "both/result.json", "both/trace.arrow", "both/trace.csv"]);
    let csv = std::fs::read_to_string(bench.path("both/trace.csv")).expect("written");
    let columns = csv.lines().next().expect("a head").split(',').count();
    assert!(csv.lines().count() > 1000 && csv.lines().all(|line| line.split(',').count() == columns));
    // Shorter forms take the longer away, so that a folder never mixes two runs.
    bench.run(&["run", "--out", "both", "--trace", "none", "--no-report", "--force"]);
    assert_eq!(bench.listing(), ["both", "both/result.json"]);
}

/// A job of some hours, so that there is time to interrupt it.
#[cfg(unix)]
fn long_job() -> String {
    let demo = shipped::source(shipped::DEMO).expect("shipped").text;
    demo.replace("seed = 1", "seed = 1\ntime_limit = \"24 h\"")
        .replace("evacuate_time = \"20 min\"", "evacuate_time = \"2 h\"")
        .replace("leak_hold = \"5 min\"", "leak_hold = \"1 h\"")
        .replace("vessel_air = \"0.3 g\"", "vessel_air = \"0.3 g\"\nscan = \"10 ms\"")
}

/// The signal may come before the command listens or after it has ended; then it is tried again with another delay.
#[cfg(unix)]
#[test]
fn an_interrupt_leaves_a_partial_trace_marked_as_such() {
    let bench = Bench::new();
    bench.put("long.toml", &long_job());
    let mut delay = 200;
    let answer = loop {
        assert!((20..=6400).contains(&delay), "the run could not be interrupted");
        let mut command = bench.command(&["run", "long.toml", "--json", "--out", "cut", "--force"]);
        let child =
            command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped()).spawn().expect("starts");
        std::thread::sleep(std::time::Duration::from_millis(delay));
        let sent =
            std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill exists");
        let answer = said(child.wait_with_output().expect("ends"));
        match answer.code {
            None => delay *= 2,
            Some(2) if sent.success() => break answer,
            Some(_) => delay /= 2,
        }
    };
    let json = answer.json();
    assert_eq!(json["partial"], true);
    assert!(json["sim_seconds"].as_f64().is_some_and(|seconds| seconds > 0.0));
    assert_eq!(bench.listing(), ["cut", "cut/report.html", "cut/result.json", "cut/trace-partial.csv", "long.toml"]);
    let csv = std::fs::read_to_string(bench.path("cut/trace-partial.csv")).expect("written");
    assert!(csv.starts_with("time [s],phase,") && csv.ends_with('\n') && csv.lines().count() > 10);
    let page = std::fs::read_to_string(bench.path("cut/report.html")).expect("written");
    assert!(page.contains("Partial: the run was interrupted"));
}

#[test]
fn shipped_files_pass_the_check() {
    let bench = Bench::new();
    let mut names: Vec<&str> = shipped::SHIPPED.iter().map(|one| one.name).collect();
    names.extend(valvewright_sim::plant::rig::shipped().iter().map(|(name, _)| *name));
    let answer = bench.run(&[&["check", "--json"][..], &names].concat()).exits(0).json();
    let list = answer.as_array().expect("a list");
    assert_eq!(list.len(), names.len());
    assert!(list.iter().all(|one| one["ok"] == true));
    assert_eq!(list[0]["kind"], "scenario");
    assert_eq!(list[names.len() - 1]["kind"], "rig");
}

#[test]
fn the_schema_for_editors_is_printed() {
    let schema = Bench::new().run(&["check", "--schema"]).exits(0).json();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    // One vehicle, or a row of them.
    let forms = schema["properties"]["vehicle"]["anyOf"].as_array().expect("two forms");
    for one in [&forms[0], &forms[1]["items"]] {
        assert_eq!(one["properties"]["volumes"]["required"].as_array().map(Vec::len), Some(3), "{one}");
    }
}

#[test]
fn the_list_names_scenarios_rigs_and_fluids() {
    let bench = Bench::new();
    let text = bench.run(&["list"]).exits(0).out;
    let json = bench.run(&["list", "--json"]).exits(0).json();
    for one in shipped::SHIPPED {
        assert!(text.contains(one.name));
        let listed = json["scenarios"].as_array().expect("a list").iter().find(|entry| entry["name"] == one.name);
        assert!(listed.is_some_and(|entry| !entry["title"].as_str().unwrap_or_default().is_empty()), "{}", one.name);
    }
    assert_eq!(json["rigs"].as_array().map(Vec::len), Some(31));
    assert_eq!(json["fluids"].as_array().map(Vec::len), Some(2));
}

fn near(found: &serde_json::Value, want: f64) {
    let found = found.as_f64().expect("a number");
    assert!((found - want).abs() <= 1e-9 * want.abs(), "found {found}, want {want}");
}

#[test]
fn saturation_is_told_for_both_phases() {
    let bench = Bench::new();
    let json = bench.run(&["fluid", "R1234yf", "--temperature", "23.7degC", "--json"]).exits(0).json();
    let sat = Fluid::get(FluidKind::R1234yf).sat(296.85);
    near(&json["p"], sat.p);
    for (phase, values) in
        [("liquid", [sat.rho_l, sat.h_l, sat.u_l, sat.s_l]), ("vapour", [sat.rho_v, sat.h_v, sat.u_v, sat.s_v])]
    {
        for (key, want) in ["rho", "h", "u", "s"].into_iter().zip(values) {
            near(&json[phase][key], want);
        }
    }
    let by_pressure = bench.run(&["fluid", "R1234yf", "--pressure", &format!("{}Pa", sat.p), "--json"]).exits(0).json();
    assert!((by_pressure["t"].as_f64().expect("a number") - 296.85).abs() < 1e-6);
    let text = bench.run(&["fluid", "r-134a", "--temperature", "-10 degC"]).exits(0).out;
    assert!(text.contains("R-134a on the saturation line at -10.000 degC") && text.contains("vapour"));
}

/// The state found by density and temperature is found again by density and internal energy.
#[test]
fn two_phase_states_answer_both_ways() {
    let bench = Bench::new();
    let first =
        bench.run(&["fluid", "R134a", "--density", "200 kg/m3", "--temperature", "20degC", "--json"]).exits(0).json();
    assert_eq!(first["phase"], "two-phase");
    let sat = Fluid::get(FluidKind::R134a).sat(293.15);
    near(&first["quality"], (1.0 / 200.0 - 1.0 / sat.rho_l) / (1.0 / sat.rho_v - 1.0 / sat.rho_l));
    near(&first["liquid"]["rho"], sat.rho_l);
    let energy = format!("{} J/kg", first["u"].as_f64().expect("a number"));
    let second = bench
        .run(&["fluid", "R134a", "--density", "200 kg/m3", "--internal-energy", &energy, "--json"])
        .exits(0)
        .json();
    for key in ["t", "p", "h", "s", "quality"] {
        let (a, b) = (first[key].as_f64().expect("a number"), second[key].as_f64().expect("a number"));
        assert!((a - b).abs() <= 1e-7 * a.abs(), "{key}: {a} and {b}");
    }
}

#[test]
fn a_rig_writes_one_csv_and_keeps_an_old_one() {
    let bench = Bench::new();
    let json = bench.run(&["rig", "a1", "--out", "rigs", "--json"]).exits(0).json();
    assert_eq!(bench.listing(), ["rigs", "rigs/a1.csv"]);
    let csv = std::fs::read_to_string(bench.path("rigs/a1.csv")).expect("written");
    assert!(csv.starts_with("time_s,"), "{}", csv.lines().next().unwrap_or_default());
    assert_eq!(json["rows"].as_u64(), Some(csv.lines().count() as u64 - 1));
    bench.run(&["rig", "a1", "--out", "rigs"]).exits(64).complains(&["rigs/a1.csv exists", "--force"]);
    // Another rig may join it in the same folder.
    bench.run(&["rig", "a2", "--out", "rigs"]).exits(0);
    bench.run(&["rig", "a1", "--out", "rigs", "--force"]).exits(0);
    bench.put("own.toml", valvewright_sim::plant::rig::shipped_text("a1").expect("shipped"));
    bench.run(&["rig", "own.toml", "--out", "rigs"]).exits(0);
    let own = std::fs::read_to_string(bench.path("rigs/own.csv")).expect("written");
    assert_eq!(own, csv, "the same rig gives the same series");
}

#[test]
fn completions_exist_for_every_shell() {
    let bench = Bench::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = bench.run(&["completions", shell]).exits(0).out;
        assert!(script.contains("valvewright") && script.contains("fluid"), "{shell}");
    }
}

#[test]
fn a_station_of_ones_own_is_found_beside_its_scenario_and_checked_with_it() {
    let bench = Bench::new();
    let folder = bench.path("jobs");
    std::fs::create_dir_all(&folder).expect("a folder");
    let demo = include_str!("../../sim-host/scenarios/mild_hatchback.toml");
    let text = demo.replace("[station]\n", "[station]\nnetwork = \"own.toml\"\n");
    assert_ne!(text, demo);
    std::fs::write(folder.join("job.toml"), text).expect("written");
    let absent = bench.run(&["check", "jobs/job.toml"]);
    assert_eq!(absent.code, Some(64), "{}", absent.out);
    assert!(absent.err.contains("jobs/own.toml cannot be read"), "{}", absent.err);
    let workshop = include_str!("../../sim-host/networks/workshop.toml");
    std::fs::write(folder.join("own.toml"), workshop.replace("volume = ", "volum = ")).expect("written");
    let wrong = bench.run(&["check", "jobs/job.toml"]);
    assert_eq!(wrong.code, Some(64), "{}", wrong.out);
    assert!(wrong.err.contains("jobs/own.toml") && wrong.err.contains("volum"), "{}", wrong.err);
    std::fs::write(folder.join("own.toml"), workshop).expect("written");
    assert_eq!(bench.run(&["check", "jobs/job.toml"]).code, Some(0));
    let run = bench.run(&["run", "jobs/job.toml", "--trace", "none", "--no-report"]);
    assert!(matches!(run.code, Some(0 | 1)), "{}", run.err);
}
