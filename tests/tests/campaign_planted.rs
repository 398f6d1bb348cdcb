//! A pair of faults that only an edited station does not bear: a plan over pairs finds it as a cut set of order 2, and nothing less.

use valvewright_sim::campaign::findings::Findings;
use valvewright_sim::station;

use crate::campaign_report::found;
use crate::cli_bench::Bench;

/// A hole of half a millimetre in a liquid pipe of the cabinet, a gas detector that sees nothing, and what stands beside them.
fn plan(name: &str, together: bool) -> String {
    let pairs = if together { "together = 2\nspread = \"at_once\"\n" } else { "" };
    format!(
        "name = \"{name}\"\ntitle = \"Faults of the cabinet\"\ndesign = \"full\"\nshard = 10\n\
         [factors]\nscenario = [\"mild_hatchback\"]\nstation = [\"workshop\", \"small_fan.toml\"]\nseeds = [1]\n\
         [faults]\n{pairs}[[fault]]\nid = \"F128\"\nmode = [\"liquid\"]\nseverity = [\"0.5 mm\"]\n\
         [[fault]]\nid = \"F040\"\n[[fault]]\nid = \"F045\"\n[[fault]]\nid = \"F013\"\n\
         [moments]\nsteps = [\"evacuate 50 %\"]\n"
    )
}

/// The findings of the runs on one station.
fn campaign(bench: &Bench, name: &str, together: bool) -> Findings {
    bench.put(&format!("{name}.toml"), &plan(name, together));
    let said = bench.run(&["campaign", &format!("{name}.toml"), "--out", name, "--jobs", "2"]);
    // 1: an accident that no list knows of came, as it is to.
    assert!(matches!(said.code, Some(0 | 1)), "{}\n{}", said.out, said.err);
    found(&bench.path(name))
}

/// Sets of faults that came before this hazard.
fn sets(of: &Findings, hazard: usize) -> Vec<Vec<String>> {
    of.counts.cuts.minimal(hazard - 1).into_iter().map(|(set, _, _)| set.to_vec()).collect()
}

#[test]
fn a_fan_a_tenth_as_strong_makes_a_pair_dangerous_that_is_found_as_a_set_of_two() {
    let bench = Bench::new();
    let sound = station::SHIPPED.iter().find(|one| one.name == "workshop").expect("shipped").text;
    let edited = sound.replace("flow = \"60 m3/h\"", "flow = \"6 m3/h\"");
    assert_ne!(sound, edited, "one value is changed");
    bench.put("small_fan.toml", &edited);

    let single = campaign(&bench, "single", false);
    assert_eq!(single.counts.runs, 8);
    assert!(sets(&single, 1).is_empty(), "none of them lights the gas alone, on either station");

    let pairs = campaign(&bench, "pairs", true);
    assert_eq!(pairs.counts.runs, 12);
    assert_eq!(sets(&pairs, 1), [["F040 AT-2".to_owned(), "F128 liquid ENV".to_owned()]]);
    // On the edited station alone: of the same pair on the shipped one nothing is lit.
    let (_, runs, recipe) = pairs.counts.cuts.accidents().find(|(hazard, _, _)| *hazard == 0).expect("H01 came");
    assert!(runs == 1 && recipe.replay.contains("--station small_fan.toml"), "{runs}: {}", recipe.replay);
    let tree = std::fs::read_to_string(bench.path("pairs/fault_tree.xml"));
    assert!(tree.is_err(), "only a report writes it");
    bench.run(&["campaign", "--report", "pairs"]).exits(0);
    let tree = std::fs::read_to_string(bench.path("pairs/fault_tree.xml")).expect("written");
    let gate =
        "<and><basic-event name=\"F040_AT-2\"></basic-event><basic-event name=\"F128_liquid_ENV\"></basic-event></and>";
    assert!(tree.contains(gate), "{tree}");
}
