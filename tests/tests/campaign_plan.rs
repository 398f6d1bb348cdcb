//! A plan is read as a person wrote it, and each of its mistakes is told with its place, its range and the nearest key.

use valvewright_sim::campaign::plan::{self, Design, Heal, SHIPPED, Seeds, Together};
use valvewright_sim::scenario::diagnostic::Diagnostic;

use crate::campaign_bench::{PLAN, bench, read};
use crate::cli_bench::Bench;

#[test]
fn a_plan_says_what_is_varied_and_how_it_is_combined() {
    let text = r#"
name = "all"
title = "Everything that a plan can say"
design = "swarm"
runs = 500
seed = 9
shard = 50
controller = "built_in"
[factors]
scenario = ["short.toml", "hot_yard"]
station = ["fleet_yard"]
seeds = 4
refrigerant = ["R-1234yf", "R-134a"]
ambient = { from = "5 degC", to = "40 degC" }
leak = ["0 mm", "0.2 mm"]
[factors.set]
"site.humidity" = ["20 %"]
[faults]
which = ["scale", "F070"]
modes = "all"
severities = ["50 %", "100 %"]
least = 2
most = 4
[[fault]]
id = "F023"
severity = ["0.3 g/s", "0.1 g/s"]
[moments]
each = 3
steps = ["recover pull 50 %"]
at = ["10 min"]
begins = ["row=I11 after=5s"]
[heal]
after = "5 min"
"#;
    let bench = bench(text);
    let found = read(&bench, text).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    assert_eq!(found.design, Design::Swarm { runs: 500, least: 2, most: 4 });
    assert_eq!((found.seed, found.shard, found.seeds.clone()), (9, 50, Seeds::Drawn(4)));
    assert_eq!(found.stations, [Some("fleet_yard".to_owned())]);
    let keys: Vec<&str> = found.factors.iter().map(|one| one.key.as_str()).collect();
    assert_eq!(keys, ["refrigerant", "site.ambient", "vehicle.leak", "site.humidity"]);
    assert_eq!(found.factors[1].values.at(0.5), "22.5 degC");
    assert_eq!(found.heal, Some(Heal { after: 300.0, within: 1_800.0 }));
    assert_eq!((found.moments.each, found.moments.named.len()), (3, 3));
    let words: Vec<&str> = found.ways.iter().map(|way| way.words.as_str()).collect();
    assert!(words.contains(&"F023 severity='0.3 g/s'") && words.iter().any(|one| one.starts_with("F070")), "{words:?}");
    let creep = |share: &str| words.iter().any(|one| one.starts_with("F023 ") && one.contains(share));
    assert!(creep("severity="), "half of the usual severity is another than the usual: {words:?}");
    assert_eq!(found.together, Together::One);
}

#[test]
fn each_mistake_is_told_with_its_line_and_what_is_accepted() {
    let bench = bench(PLAN);
    let with = |from: &str, to: &str| {
        assert!(PLAN.contains(from), "`{from}` is not in the plan");
        PLAN.replace(from, to)
    };
    let cases = [
        (with("design = \"full\"", "design = \"ful\""), 4, "nearest valid value: `full`"),
        (with("shard = 10", "shard = 3"), 5, "10 to 100000"),
        (with("shard = 10", "shart = 10"), 5, "nearest valid key: `shard`"),
        (with("shard = 10", "runs = 10"), 5, "take `runs` out"),
        (with("design = \"full\"", "design = \"latin\""), 1, "`runs`"),
        (with("design = \"full\"", "design = \"list\""), 4, "[[run]]"),
        (with("\"short.toml\"", "\"hot_yrad\""), 7, "nearest: `hot_yard`"),
        (with("\"short.toml\"", "\"monday_morning\""), 7, "one job"),
        (with("\"short.toml\"", "\"f023\""), 7, "the plan says which faults come"),
        (with("seeds = [3]", "seeds = [0.5]"), 8, "how many are drawn"),
        (with("seeds = [3]", "seeds = 0"), 8, "1 to 1000000"),
        (with("seeds = [3]", "station = [\"fleet_yrad\"]"), 8, "fleet_yard"),
        (with("seeds = [3]", "ambient = [\"90 degC\"]"), 8, "50 degC"),
        (with("seeds = [3]", "ambient = [\"3 bar\"]"), 8, "temperature"),
        (with("seeds = [3]", "ambient = []"), 8, "in quotes"),
        (with("seeds = [3]", "ambient = { from = \"5 degC\", to = \"3 bar\" }"), 8, "one unit"),
        (with("seeds = [3]", "leak = { from = \"0 mm\", to = \"1 mm\" }"), 1, "latin"),
        (with("seeds = [3]", "[factors.set]\n\"site.humidty\" = [\"20 %\"]"), 9, "humidity"),
        (with("seeds = [3]", "[factors.set]\nseed = [\"2\"]"), 9, "`seeds` of [factors]"),
        (
            with("seeds = [3]", "ambient = [\"9 degC\"]\n[factors.set]\n\"site.ambient\" = [\"8 degC\"]"),
            10,
            "varied twice",
        ),
        (with("[moments]", "spread = \"apart\"\n[moments]"), 11, "together = 2"),
        (with("\"F070\"", &format!("\"F{}\"", 999)), 10, "F001 to F138"),
        (with("\"F070\"", "\"sensr\""), 10, "nearest: `sensor`"),
        (with("[moments]", "together = 3\n[moments]"), 11, "1 to 2"),
        (with("[moments]", "least = 2\n[moments]"), 11, "only a swarm"),
        (with("each = 2", "each = 0"), 12, "1 to 1000"),
        (with("each = 2", "steps = [\"chrage fill\"]"), 12, "nearest: `charge`"),
        (with("each = 2", "steps = [\"charge fil 50 %\"]"), 12, "nearest: `fill`"),
        (with("each = 2", "steps = [\"charge\"]"), 12, "steps of charge"),
        (with("each = 2", "steps = [\"charge fill 150 %\"]"), 12, "0 % to 100 %"),
        (with("each = 2", &format!("begins = [\"row=I{}\"]", 99)), 12, "I28"),
        (with("each = 2\n", "each = 2\n[heal]\nwithin = \"1 h\"\n"), 13, "`after`"),
        (with("each = 2\n", "each = 2\n[heal]\nafter = \"0 s\"\n"), 14, "1 s"),
        (with("each = 2\n", ""), 1, "add [moments]"),
        (with("each = 2\n", "each = 2\n[[fault]]\nid = \"F023\"\nseverity = [\"9 kg/s\"]\n"), 15, "accepted"),
        (with("shard = 10", "controller = \"serial:/dev/ttyUSB9\""), 5, "built_in"),
        ("name = ".to_owned(), 1, ""),
    ];
    for (text, line, wanted) in cases {
        let list = read(&bench, &text).expect_err(&text);
        let told = |one: &Diagnostic| {
            one.line == line && format!("{} {}", one.message, one.help.as_deref().unwrap_or_default()).contains(wanted)
        };
        assert!(list.iter().any(told), "line {line}, `{wanted}`:\n{text}\n{list:#?}");
    }
}

#[test]
fn every_shipped_plan_reads_and_has_the_name_of_its_file() {
    for one in SHIPPED {
        let source = plan::source(one.name).expect("shipped");
        let found = plan::read(&source).unwrap_or_else(|wrong| panic!("{}: {wrong:#?}", one.name));
        assert_eq!(found.name, one.name);
    }
}

#[test]
fn the_command_refuses_what_it_cannot_do_before_anything_is_written() {
    let bench = bench(PLAN);
    bench.run(&["campaign", "quik"]).exits(64).complains(&["nearest shipped name: `quick`"]);
    bench.run(&["campaign"]).exits(64).complains(&["PLAN"]);
    bench.run(&["campaign", "plan.toml", "--shard", "4/3"]).exits(64).complains(&["from 1/8 to 8/8"]);
    bench.run(&["campaign", "plan.toml", "--shard", "0/3"]).exits(64).complains(&["from 1/8 to 8/8"]);
    bench.run(&["campaign", "plan.toml", "--run", "999"]).exits(64).complains(&["accepted range: 0 to"]);
    bench.run(&["campaign", "--merge", "."]).exits(64).complains(&["no folder of a campaign"]);
    std::fs::create_dir(bench.path("taken")).expect("a folder");
    bench.put("taken/notes.txt", "mine");
    bench.run(&["campaign", "plan.toml", "--out", "taken"]).exits(64).complains(&["give a new folder"]);
    bench.run(&["campaign", "plan.toml", "--out", "plan.toml"]).exits(64).complains(&["give a new folder"]);
    assert!(!bench.path("results").exists());
}

/// A dry run tells the count that the campaign then has.
#[test]
fn a_dry_run_counts_what_would_be_run() {
    let bench: Bench = bench(PLAN);
    let told = bench.run(&["campaign", "plan.toml", "--dry-run", "--json"]).exits(0).json();
    let runs = crate::campaign_bench::runs(&bench, PLAN);
    assert_eq!(told["runs"], runs.count());
    assert_eq!(told["shards"], runs.shards());
    assert!(told["estimated_seconds"].as_f64().expect("a number") > 0.0);
    assert!(!bench.path("results").exists());
}
