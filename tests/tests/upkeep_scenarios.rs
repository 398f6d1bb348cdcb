//! Every procedure of upkeep is shown done and shown refused by a shipped scenario that holds, and has its place in the book with what it asks of a person.

use std::collections::BTreeSet;

use valvewright_core::order::{Procedure, Task};
use valvewright_core::upkeep::procedures::steps;
use valvewright_core::upkeep::steps::Until;
use valvewright_sim::report::data::Verdict;
use valvewright_sim::run::{Control, RunOptions, RunOutcome, Simulation, run_scenario};
use valvewright_sim::scenario::shipped::{self, UPKEEP};
use valvewright_sim::scenario::{Scenario, parse};

fn read(name: &str) -> Scenario {
    parse::read(&shipped::source(name).expect("shipped")).unwrap_or_else(|wrong| panic!("{name}: {wrong:?}"))
}

fn run(name: &str) -> RunOutcome {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    run_scenario(&read(name), &options, &mut |_| Control::Continue).expect("it runs")
}

fn book() -> String {
    std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/upkeep.md")).expect("the page is there")
}

/// Where a procedure passes, every step of its table was reached: a table's end is its only way to be done.
#[test]
fn each_procedure_is_done_and_refused_by_a_scenario_that_holds() {
    let (mut done, mut refused) = (BTreeSet::new(), BTreeSet::new());
    for one in UPKEEP {
        let scenario = read(one.name);
        assert_eq!(scenario.name, one.name, "the file is named after its scenario");
        let (of, _) = scenario.order.upkeep.expect("an order of upkeep");
        let result = run(one.name).result;
        let failed: Vec<_> = result.expectations.iter().filter(|one| !one.held).collect();
        assert_eq!(result.exit_code(), 0, "{failed:?}\nreplay: valvewright run {}", one.name);
        let list = if result.verdict == Verdict::Pass { &mut done } else { &mut refused };
        list.insert(of);
    }
    let all: BTreeSet<Procedure> = Procedure::ALL.into_iter().collect();
    assert_eq!(done, all, "done by a scenario");
    // Both oil scales are one table; the wrong weight is put on one of them.
    assert_eq!(all.difference(&refused).collect::<Vec<_>>(), [&Procedure::UsedOilScale], "refused by a scenario");
    assert_eq!(steps(Procedure::UsedOilScale), steps(Procedure::NewOilScale));
}

/// A section a procedure, which names every scenario of it.
#[test]
fn the_book_has_a_section_for_each_procedure_that_names_its_scenarios() {
    let book = book();
    let section = |name: &str| {
        let from =
            book.find(&format!("\n## {name}\n")).unwrap_or_else(|| panic!("docs/upkeep.md has no section {name}"));
        let rest = &book[from + 4..];
        rest[..rest.find("\n## ").unwrap_or(rest.len())].to_owned()
    };
    for of in Procedure::ALL {
        section(of.name());
    }
    for one in UPKEEP {
        let (of, _) = read(one.name).order.upkeep.expect("an order of upkeep");
        let text = section(of.name());
        // The wrong weight on the new-oil scale stands for both.
        let named = text.contains(&format!("`{}`", one.name));
        assert!(named, "docs/upkeep.md, {}: `{}` is not named", of.name(), one.name);
    }
}

/// A person is told what to do in words that the languages have, and each task belongs to a procedure.
#[test]
fn every_task_is_asked_by_a_procedure() {
    let asked: BTreeSet<String> = Procedure::ALL
        .into_iter()
        .flat_map(steps)
        .filter_map(|step| if let Until::Done(task) = step.until { Some(format!("{task:?}")) } else { None })
        .collect();
    let all: BTreeSet<String> =
        valvewright_sim::language::samples::tasks().iter().map(|task: &Task| format!("{task:?}")).collect();
    assert_eq!(asked, all);
}

/// What the station says came in is what the vessel gained in truth, to the class of its scale.
#[test]
fn a_filling_books_what_came() {
    let mut run = Simulation::new(&read("fill_vessel"), &RunOptions::BARE).expect("it builds");
    run.step().expect("the first scan fills in what the plant holds");
    let before = run.truth().m_vessel_kg;
    run.run_until(f64::INFINITY).expect("the built-in controller answers");
    let gained = (run.truth().m_vessel_kg - before) * 1e3;
    let told = run.station().job().ledger.filled;
    assert!((f64::from(told.0) / 1e3 - gained).abs() < 5.0, "told {told:?}, in truth {gained} g");
    assert!(gained >= 2_000.0, "{gained}");
    assert_eq!(run.station().kept().drier, told, "what came went through the filter-drier");
}
