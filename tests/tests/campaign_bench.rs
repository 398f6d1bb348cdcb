//! What the tests of campaigns share: a short healthy job, plans over it, and a campaign's runs.

use valvewright_sim::campaign::Runs;
use valvewright_sim::campaign::plan::{self, Plan};
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::shipped;

use crate::cli_bench::Bench;

/// A job of a minute: identification alone, given up after four.
pub fn short_job() -> String {
    let demo = shipped::source(shipped::DEMO).expect("shipped").text;
    let named = demo.replace("name = \"mild_hatchback\"", "name = \"short\"");
    let (before, rest) = named.split_once("[order]\n").expect("the demo orders something");
    let (_, operator) = rest.split_once("[operator]\n").expect("somebody serves");
    let operator = operator.split("[expect]").next().expect("a head");
    let before = before.replace("seed = 1\n", "seed = 1\ntime_limit = \"4 min\"\n");
    format!("{before}[order]\nphases = [\"identify\"]\nsides = \"both\"\n\n[operator]\n{operator}")
}

/// A folder with the short job in it, and this plan.
pub fn bench(plan: &str) -> Bench {
    let bench = Bench::new();
    bench.put("short.toml", &short_job());
    bench.put("plan.toml", plan);
    bench
}

/// Three faults at the beginning and the end of each step of the short job.
pub const PLAN: &str = r#"
name = "tiny"
title = "Three faults at the ends of each step"
design = "full"
shard = 10
[factors]
scenario = ["short.toml"]
seeds = [3]
[faults]
which = ["F001", "F070", "F111"]
[moments]
each = 2
"#;

/// A plan that reads.
pub fn read(bench: &Bench, text: &str) -> Result<Plan, Vec<Diagnostic>> {
    plan::read(&Source::new(bench.path("plan.toml").display().to_string(), text))
}

/// The runs of a plan in this folder.
pub fn runs(bench: &Bench, text: &str) -> Runs {
    let plan = read(bench, text).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    Runs::new(plan).unwrap_or_else(|wrong| panic!("{wrong}"))
}
