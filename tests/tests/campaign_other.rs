//! A campaign over another controller than the core: a program that is started for each run, judged by the truth alone, and held against the core.

use std::sync::atomic::AtomicBool;

use serde_json::Value;
use valvewright_core::units::Millis;
use valvewright_sim::board::Outside;
use valvewright_sim::campaign::search::Ground;
use valvewright_sim::campaign::{Maker, Row, Runs};
use valvewright_sim::run::{Control, RunOptions, run_controller};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse, parse_fault};

use crate::campaign_bench::{bench, read, runs, short_job};
use crate::line_faults::client;

/// The short job under a fan that stands and a switch that lies, by this controller.
fn plan(controller: &str, end: &str) -> String {
    format!(
        "name = \"others\"\ntitle = \"Two faults under another controller\"\ndesign = \"full\"\nshard = 10\n\
         controller = \"{controller}\"\n[factors]\nscenario = [\"short.toml\"]\nseeds = [3]\n\
         [faults]\nwhich = [\"F070\", \"F043\"]\n[moments]\nat = [\"0 s\", \"20 s\"]\n{end}"
    )
}

fn rows(runs: &Runs) -> Vec<Row> {
    let never = AtomicBool::new(false);
    Maker::new(runs).span(0..runs.count(), &never, &|| {}).expect("they run").expect("nobody stops them")
}

#[test]
fn each_run_of_a_program_is_that_program_from_the_beginning_with_the_same_fault() {
    let command = client("fill_by_weight");
    let text = plan(&command, "");
    let bench = bench(&text);
    let runs = runs(&bench, &text);
    let found = rows(&runs);
    assert_eq!(found.len(), 4);
    for row in &found {
        let words = shlex::split(&row.replay).expect("a command");
        let after =
            |key: &str| words.iter().position(|word| word == key).and_then(|at| words.get(at + 1)).expect("said");
        assert_eq!(after("--controller"), &command, "{}", row.replay);
        let fault = parse_fault::read_words(after("--fault")).expect("it reads").0;
        let source = Source::new("short.toml".to_owned(), short_job());
        let scenario = Scenario { faults: vec![fault], ..parse::read(&source).expect("it reads") };
        let program = Outside::program(&command, Millis(60_000)).expect("it starts");
        let options = RunOptions { seed: Some(3), ..RunOptions::BARE };
        let alone = run_controller(&scenario, &options, program, &mut |_| Control::Continue).expect("it runs");
        assert_eq!(row.hash.as_ref(), Some(&alone.result.trace_hash), "{}", row.replay);
        assert_eq!(row.verdict, Some(alone.result.verdict.word()), "{}", row.replay);
        assert!(row.rows.is_empty(), "no interlock of the core speaks for another controller: {:?}", row.rows);
    }
    assert_ne!(found[0].hash, found[2].hash, "the faults are two");
}

#[test]
fn two_controllers_are_weighed_and_the_worse_one_is_named_with_its_hazard() {
    let bench = bench("");
    let full = valvewright_sim::scenario::shipped::source("vessel_nearly_full").expect("shipped").text;
    let (before, _) = full.split_once("[order]\n").expect("it orders something");
    bench.put("full.toml", &format!("{before}[order]\nphases = [\"recover\"]\nsides = \"both\"\n"));
    let of = |controller: &str| plan(controller, "").replace("short.toml", "full.toml").replace("\"F070\", ", "");
    bench.put("core.toml", &of("built_in"));
    bench.put("naive.toml", &of(&client("naive")));
    for name in ["core", "naive"] {
        let file = format!("{name}.toml");
        // Accidents that are no news of the core are news of this one, and end it with 1.
        let told = bench.run(&["campaign", &file, "--out", name, "--jobs", "2"]);
        assert_eq!(told.code, Some(if name == "core" { 0 } else { 1 }), "{}", told.err);
    }
    let same = bench.run(&["campaign", "--report", "core", "--against", "core", "--json"]).exits(0).json();
    assert_eq!(worse(&same), 0, "{same}");
    let told = bench.run(&["campaign", "--report", "naive", "--against", "core", "--json"]).exits(1).json();
    assert!(worse(&told) > 0, "{told}");
    let text = bench.run(&["campaign", "--report", "naive", "--against", "core"]).exits(1).out;
    assert!(text.contains("new accident H13"), "{text}");
    assert!(!text.contains("out of budget"), "no budget of the core's rows is held against another controller: {text}");
}

fn worse(told: &Value) -> u64 {
    told["worse"].as_u64().expect("a number")
}

#[test]
fn what_needs_the_core_is_refused_of_another_controller_with_what_to_do() {
    let bench = bench("");
    let refused = |controller: &str, end: &str| {
        let list = read(&bench, &plan(controller, end)).expect_err("it is taken");
        let one = list.first().expect("a reason");
        format!("{} {}", one.message, one.help.clone().unwrap_or_default())
    };
    assert!(refused("serial:/dev/ttyACM0", "").contains("a port has one"));
    assert!(refused(" ", "").contains("an empty command"));
    assert!(refused("true", "[heal]\nafter = \"60 s\"\n").contains("take [heal] and [ablation] out"));
    assert!(refused("true", "[ablation]\nrows = [\"I03\"]\n").contains("take [heal] and [ablation] out"));
    let text = plan("true", "");
    bench.put("plan.toml", &text);
    assert!(Ground::of(&runs(&bench, &text)).is_err_and(|why| why.to_string().contains("only the core can be forked")));
    let told = bench.run(&["campaign", "plan.toml", "--out", "out", "--minimal"]).exits(64).err;
    assert!(told.contains("--minimal") && told.contains("`true`"), "{told}");
    // A program that says nothing is no controller.
    let mute = bench.run(&["campaign", "plan.toml", "--out", "out"]);
    assert!(mute.code != Some(0) && !bench.path("out/result.parquet").exists(), "{}", mute.err);
}
