//! The scenario of each fault: it does what it says, those that are not met yet fail, and the book's table is made of their runs.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- docs_ fault_scenarios` writes the table anew.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

use valvewright_sim::campaign::reaction::{NAME, Reaction, asked, reaction};
use valvewright_sim::evidence::{Evidence, Id};
use valvewright_sim::fault::{self, FaultId, catalogue};
use valvewright_sim::report::data::JobResult;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::shipped::{self, FAULTS, QUESTIONS};
use valvewright_sim::scenario::{Scenario, parse};

/// One fault's scenario and what came of it.
pub struct Ran {
    name: &'static str,
    id: String,
    scenario: Scenario,
    came: Reaction,
}

impl Ran {
    fn replay(&self) -> String {
        format!("replay: valvewright run {}", self.name)
    }

    fn failed(&self) -> Vec<String> {
        let failed = self.came.result.expectations.iter().filter(|one| !one.held);
        failed.map(|one| format!("{}: {}", one.name, one.detail)).collect()
    }
}

/// Every one of them, run once for the whole test binary, on all processors.
fn all() -> &'static [Ran] {
    static RUNS: OnceLock<Vec<Ran>> = OnceLock::new();
    RUNS.get_or_init(|| {
        let (next, (tell, hear)) = (AtomicUsize::new(0), mpsc::channel());
        std::thread::scope(|scope| {
            for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
                let (tell, next) = (tell.clone(), &next);
                scope.spawn(move || {
                    while let Some(one) = FAULTS.get(next.fetch_add(1, Ordering::Relaxed)) {
                        tell.send(ran(one.name)).expect("somebody listens");
                    }
                });
            }
            drop(tell);
            let mut all: Vec<Ran> = hear.iter().collect();
            all.sort_by_key(|one| one.name);
            assert_eq!(all.len(), FAULTS.len(), "each was run");
            all
        })
    })
}

fn ran(name: &'static str) -> Ran {
    let source = shipped::source(name).expect("it is shipped");
    let scenario = parse::read(&source).unwrap_or_else(|problems| panic!("{name}: {problems:?}"));
    let id = name.to_uppercase();
    let fault = FaultId::read(&id).unwrap_or_else(|| panic!("{name} is named after no fault"));
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let came = reaction(&scenario, fault, &options).unwrap_or_else(|why| panic!("{name}: {why}"));
    Ran { name, id, scenario, came }
}

/// Why the reaction to a fault is not met, where `sim-host/data/open.csv` says so.
fn open(id: &str) -> Option<&'static str> {
    let evidence = Evidence::shipped();
    evidence.open(Id::parse(id)?).map(|one| one.why.as_str())
}

#[test]
fn each_fault_that_can_be_injected_has_a_scenario_of_its_name() {
    let injectable: Vec<String> =
        fault::injections().filter(|one| one.refused.is_none()).map(|one| one.id.to_string().to_lowercase()).collect();
    let shipped: Vec<&str> = FAULTS.iter().map(|one| one.name).collect();
    assert_eq!(shipped, injectable);
    for one in all() {
        assert_eq!(one.scenario.name, one.name);
        assert!(one.scenario.properties.iter().any(|property| property.name == NAME), "{} asks for nothing", one.name);
    }
}

#[test]
fn each_does_what_it_says_and_what_is_not_met_is_said_to_be() {
    let mut wrong = Vec::new();
    for one in all() {
        let failed = one.failed();
        match (failed.is_empty(), open(&one.id)) {
            (true, None) | (false, Some(_)) => {}
            (true, Some(why)) => {
                wrong.push(format!("{} is met now, take it out of open: {why}; {}", one.id, one.replay()))
            }
            (false, None) => wrong.push(format!("{}: {}; {}", one.id, failed.join("; "), one.replay())),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A scenario whose fault never came, or whose property was never asked, shows nothing.
#[test]
fn each_comes_to_what_it_is_about() {
    let mut idle = Vec::new();
    for one in all() {
        if one.scenario.faults.iter().any(|planned| planned.id.to_string() == one.id) && one.came.began_s.is_none() {
            idle.push(format!("{}: the fault never came; {}", one.id, one.replay()));
        }
        let properties = one.came.result.jobs.iter().flat_map(|job| &job.properties);
        for property in properties.filter(|property| property.met == Some(false)) {
            idle.push(format!("{}: the condition of `{}` never came; {}", one.id, property.name, one.replay()));
        }
    }
    assert!(idle.is_empty(), "{}", idle.join("\n"));
}

/// What answers one hazard leads towards another: fan and trips, shut valves and locked liquid, a stop and a full separator, heat and relief,
/// purge and venting, a trip in a charge and the ledger; and what may not be done before it is earned.
#[test]
fn each_question_to_the_table_is_answered_as_its_file_says() {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    for one in QUESTIONS {
        let scenario = parse::read(&shipped::source(one.name).expect("shipped")).expect("it reads");
        assert_eq!(scenario.name, one.name);
        let result = run_scenario(&scenario, &options, &mut |_| Control::Continue).expect("it runs").result;
        let failed: Vec<_> = result.expectations.iter().filter(|one| !one.held).collect();
        assert_eq!(result.exit_code(), 0, "{failed:?}\nreplay: valvewright run {}", one.name);
        let met = |job: &JobResult| job.properties.iter().any(|one| one.met == Some(false));
        assert!(!result.jobs.iter().any(met), "{}: a property was never asked", one.name);
    }
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('<', "&lt;").replace('\n', " ")
}

fn seconds(time: f64) -> String {
    if time < 10.0 { format!("{time:.2} s") } else { format!("{time:.0} s") }
}

fn budget(entry: &catalogue::Entry) -> String {
    match entry.budget_s.as_str() {
        "pt" => "at the next proof test".to_owned(),
        "pre" => "before the act that it would spoil".to_owned(),
        number => format!("{number} s"),
    }
}

/// One line of the table.
fn line(entry: &catalogue::Entry) -> String {
    let (latent, what) = (entry.latent == "y", format!("{} {}: {}", entry.component, entry.tag, entry.failure_mode));
    let head = format!("| {} | {} | {} |", entry.id, cell(&what), entry.hazards.replace(',', " "));
    let within = budget(entry) + if latent { ", latent" } else { "" };
    let reaction = cell(&entry.expected_safe_reaction);
    let Some(one) = all().iter().find(|one| one.id == entry.id) else {
        let why =
            FaultId::read(&entry.id).and_then(fault::find).and_then(|one| one.refused).unwrap_or("it is not there");
        return format!("{head} | {reaction} | | {within} | cannot be injected: {} |\n", cell(why));
    };
    let property = one.scenario.properties.iter().find(|property| property.name == NAME);
    let said = property.and_then(|property| property.why.as_deref()).and_then(|why| why.strip_prefix("found by: "));
    let rows = one.came.rows.join(", ");
    let found = said.map_or_else(|| rows.clone(), |said| said.split("; ").next().unwrap_or(said).to_owned());
    let time = match (one.came.after_s, property.is_some_and(|property| asked(&property.formula).is_some())) {
        (Some(time), _) => seconds(time),
        (None, true) => "not reached".to_owned(),
        (None, false) => "-".to_owned(),
    };
    let verdict = match (one.failed().is_empty(), open(&entry.id)) {
        (true, _) => "held".to_owned(),
        (false, why) => format!("**not met**: {}", cell(why.unwrap_or("see its run"))),
    };
    format!("{head} {} | {reaction} | {time} | {within} | {verdict} |\n", cell(&found))
}

/// The page of the book.
#[test]
fn the_books_table_is_made_of_their_runs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/fault-table.md");
    let held = all().iter().filter(|one| one.failed().is_empty()).count();
    let lines: String = catalogue::entries().iter().map(line).collect();
    let made = format!(
        "# What the station does about each fault\n\nOne run of each fault of the [catalogue](faults.md), let in at a moment at which it would do harm: \
         `valvewright run f003` is that of F003, and `valvewright list f003` shows its file. {held} of {} are met. The time is from the fault's first scan to the first in \
         which all that is asked for is so; a run asks for it whenever the fault acts. Budgets are the catalogue's. What is latent, or found by a proof test, \
         says what finds it. Every run also asks that no hazard comes to its accident level, in truth.\n\nMade by a test from these runs; \
         `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- fault_scenarios` renews it.\n\n\
         | fault | what breaks | hazards | found by | expected reaction | time | budget | verdict |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n{lines}",
        all().len()
    );
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        std::fs::write(path, &made).expect("the page can be written");
    }
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(committed == made, "docs/fault-table.md is stale: run with VALVEWRIGHT_WRITE=1");
}
