//! The search for the least margin: the same for the same seed, sooner at a planted weak set point than drawing, and what it tells runs again.

use std::sync::atomic::AtomicBool;

use valvewright_sim::campaign::Runs;
use valvewright_sim::campaign::search::{Aim, Choice, Ground, Nearest};
use valvewright_sim::hazard::Id;
use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{Scenario, parse, parse_fault};
use valvewright_sim::station;

use crate::campaign_bench::{bench, runs, short_job};
use crate::cli_bench::Bench;

/// The shop grows hot at any time of the short job, to any temperature, in any weather.
const HOT: &str = r#"
name = "hot"
title = "A shop that grows hot"
design = "latin"
runs = 1
[factors]
scenario = ["warm.toml"]
station = ["station.toml"]
seeds = [1]
ambient = { from = "15 degC", to = "36 degC" }
[faults]
which = ["F120"]
[moments]
each = 1
"#;

/// A folder with the plan and a station whose relief valve is set to this.
fn yard(set: &str) -> Bench {
    let bench = bench(HOT);
    let shipped = station::SHIPPED.iter().find(|one| one.name == "workshop").expect("shipped").text;
    let changed = shipped.replace("set = \"20 bar\"", &format!("set = \"{set}\"")).replace("18 bar", "8 bar");
    assert_ne!(changed, shipped, "its set point stands where it stood");
    bench.put("station.toml", &changed);
    bench.put("warm.toml", &short_job().replace("ambient = \"22 degC\"", "ambient = \"30 degC\""));
    bench
}

fn approach(runs: &Runs, choice: Choice, bounds: (u64, bool), seed: u64) -> Nearest {
    let ground = Ground::varied(runs).unwrap_or_else(|wrong| panic!("{wrong}"));
    let aim = Aim::new(runs, &ground, Id::H23).unwrap_or_else(|wrong| panic!("{wrong}"));
    let stop = AtomicBool::new(false);
    aim.approach(choice, bounds, seed, &stop, &mut |_, _| {}).unwrap_or_else(|wrong| panic!("{wrong}"))
}

#[test]
fn a_planted_set_point_is_found_and_its_command_does_it_again() {
    let bench = yard("8.9 bar");
    let runs = runs(&bench, HOT);
    let found = approach(&runs, Choice::Guided, (300, true), 1);
    let first = found.first.unwrap_or_else(|| panic!("{found:#?}"));
    assert_eq!(first, found.runs, "it ends with the first accident");
    let best = found.best.clone().expect("a run");
    assert!(best.accident_s.is_some() && best.margin <= 0.0, "{best:?}");
    assert_eq!(found, approach(&runs, Choice::Guided, (300, true), 1), "the same seed");
    let ground = Ground::varied(&runs).unwrap_or_else(|wrong| panic!("{wrong}"));
    let aim = Aim::new(&runs, &ground, Id::H23).unwrap_or_else(|wrong| panic!("{wrong}"));
    let (text, command) = aim.replay(&best, "nearest.toml").expect("it has one");
    let words = shlex::split(&command).expect("a command");
    assert_eq!(words[..3], ["valvewright", "run", "nearest.toml"]);
    let station = words.windows(2).find(|pair| pair[0] == "--station").map(|pair| pair[1].clone());
    let faults = words.windows(2).filter(|pair| pair[0] == "--fault");
    let faults: Vec<_> = faults.map(|pair| parse_fault::read_words(&pair[1]).expect("it reads").0).collect();
    let healthy = parse::read_on(&Source::new("nearest.toml".to_owned(), text), station.as_deref()).expect("it reads");
    let options = RunOptions { seed: Some(1), ..RunOptions::BARE };
    let result = run_scenario(&Scenario { faults, ..healthy }, &options, &mut |_| Control::Continue).expect("it runs");
    let hazard = result.result.hazards.iter().find(|one| one.id == "H23").expect("judged").clone();
    assert_eq!((hazard.level, hazard.accident_t_s), (HazardLevel::Accident, best.accident_s));
}

#[test]
fn where_the_set_point_is_right_the_least_margin_is_told_and_no_accident() {
    let bench = yard("20 bar");
    let runs = runs(&bench, HOT);
    let (guided, even) =
        (approach(&runs, Choice::Guided, (60, false), 2), approach(&runs, Choice::Even, (60, false), 2));
    assert_eq!((guided.first, even.first, guided.runs + guided.unfit), (None, None, 60));
    let margin = |of: &Nearest| of.best.as_ref().map_or(1.0, |best| best.margin);
    assert!(margin(&guided) > 0.0 && margin(&guided) <= margin(&even), "{guided:?} {even:?}");
}
