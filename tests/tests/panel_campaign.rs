//! A small campaign from the page: each of its cells is what the run from its beginning comes to, it finds what a row is known to prevent, it is
//! bounded, one at a time, and stopped in the middle it says nothing.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::Value;
use valvewright_core::row::{RowId, RowSet};
use valvewright_sim::lesson;
use valvewright_sim::matrix::points;
use valvewright_sim::panel::{Altered, Campaign, MOST_CELLS, Outcome, Session, Start, Underway, run};
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::parse_fault::read_words;
use valvewright_sim::scenario::{parse, shipped};

fn start(name: &str) -> Start {
    Start::of(shipped::source(name).expect("it is shipped"), false)
}

fn without(row: RowId) -> Altered {
    Altered { without: RowSet::one(row), moved: Vec::new() }
}

fn outcome(campaign: &Campaign, threads: usize) -> Outcome {
    let found = run(campaign, threads, &AtomicBool::new(false), &|_| {}).expect("the job runs");
    found.expect("nobody stopped it")
}

fn shown(campaign: &Campaign) -> Value {
    serde_json::from_str(&outcome(campaign, 2).json).expect("it is JSON")
}

fn cells(of: &Value) -> Vec<&Value> {
    of["cells"].as_array().expect("rows").iter().flat_map(|row| row.as_array().expect("cells")).collect()
}

fn list<'a>(of: &'a Value, key: &str) -> &'a Vec<Value> {
    of[key].as_array().unwrap_or_else(|| panic!("{key} of {of}"))
}

/// What `valvewright run` comes to by the words of a command: each hazard above rest.
fn again(command: &str) -> Vec<(String, String)> {
    let words = shlex::split(command).expect("a shell takes it");
    assert_eq!(&words[..2], ["valvewright", "run"], "{command}");
    let source = shipped::source(&words[2]).expect("it names what is shipped");
    let mut scenario = parse::read_on(&source, None).expect("it reads");
    let mut options = RunOptions::BARE;
    for pair in words[3..].chunks(2) {
        match pair[0].as_str() {
            "--fault" => scenario.faults.push(read_words(&pair[1]).expect("the words of --fault").0),
            "--without" => {
                let row = RowId::ALL.into_iter().find(|row| row.as_str() == pair[1]).expect("a row");
                options.without = options.without.or(RowSet::one(row));
            }
            "--set-point" => options.moved.push(points::read(&pair[1]).expect("a set point")),
            other => panic!("{other} in {command}"),
        }
    }
    // A campaign lets a run go on for two hours after its fault at most.
    let each = &mut |progress: valvewright_sim::run::Progress<'_>| {
        if progress.t_s > 12_000.0 { Control::Stop } else { Control::Continue }
    };
    let result = run_scenario(&scenario, &options, each).expect("it runs").result;
    let above = result.hazards.iter().filter(|one| one.level.word() != "none");
    above.map(|one| (one.id.to_string(), one.level.word().to_owned())).collect()
}

/// F056, XV-4 that does not open, without I03: H09 comes to its accident level in this job (docs/without-a-row.md).
#[test]
fn a_row_that_is_known_to_prevent_an_accident_is_seen_and_its_cells_are_those_of_run() {
    let campaign = Campaign::of(&start("mild_hatchback"), &Altered::default(), "I03", "F056").expect("it can be asked");
    let found = shown(&campaign);
    let accidents: Vec<&Value> = cells(&found)
        .into_iter()
        .filter(|cell| list(cell, "worse").iter().any(|one| one["level"] == "accident"))
        .collect();
    assert!(!accidents.is_empty(), "{}", found["said"]);
    for cell in &accidents {
        assert_eq!(cell["now"]["hazard"], "H09", "{cell}");
        assert_eq!(cell["now"]["level"], "accident", "{cell}");
        assert_ne!(cell["was"]["level"], "accident", "{cell}");
        let command = cell["command"].as_str().expect("a worse cell has its command");
        assert!(
            command.starts_with("valvewright run mild_hatchback --fault 'F056 ") && command.ends_with(" --without I03"),
            "{command}"
        );
        let now = again(command);
        assert!(now.contains(&("H09".to_owned(), "accident".to_owned())), "{command}: {now:?}");
        let was = again(command.strip_suffix(" --without I03").expect("as above"));
        assert!(!was.iter().any(|(id, level)| id == "H09" && level == "accident"), "{command}: {was:?}");
    }
    let said = found["said"][0].as_str().expect("a sentence");
    let (n, of) = (accidents.len(), cells(&found).len());
    assert!(
        said.starts_with(&format!("{n} of {of} faulted runs come to an accident without I03 ")) && said.contains("H09"),
        "{said}"
    );
}

/// Quiet cells too are what `run` comes to, with either table: those in which nothing came must not be silent by mistake.
#[test]
fn cells_in_which_nothing_is_worse_are_those_of_run_too() {
    let mut tried = [0, 0];
    for (row, fault) in [("I28", "F070"), ("I03", "F001")] {
        let campaign =
            Campaign::of(&start("mild_hatchback"), &Altered::default(), row, fault).expect("it can be asked");
        let made = outcome(&campaign, 2);
        let mut table = csv::Reader::from_reader(made.csv.as_bytes());
        let head = table.headers().expect("a head").clone();
        let at = |name: &str| head.iter().position(|one| one == name).unwrap_or_else(|| panic!("no column {name}"));
        let lines: Vec<csv::StringRecord> = table.records().map(|one| one.expect("a line")).collect();
        let found: Value = serde_json::from_str(&made.json).expect("it is JSON");
        assert_eq!(lines.len(), 1 + cells(&found).len(), "a line for the healthy job and each cell");
        for line in &lines {
            let quiet = line[at("altered_level")] == *"none";
            if tried[usize::from(quiet)] == 3 {
                continue;
            }
            tried[usize::from(quiet)] += 1;
            let command = &line[at("command")];
            let as_it_is = command.strip_suffix(&format!(" --without {row}")).expect("its table");
            for (command, level, hazard) in [
                (command, &line[at("altered_level")], &line[at("altered_hazard")]),
                (as_it_is, &line[at("level")], &line[at("hazard")]),
            ] {
                let came = again(command);
                match level {
                    "none" => assert!(came.is_empty(), "{command}: {came:?}"),
                    level => assert!(came.contains(&(hazard.to_owned(), level.to_owned())), "{command}: {came:?}"),
                }
            }
        }
    }
    assert_eq!(tried, [3, 3], "cells with a hazard and without one were tried");
}

#[test]
fn a_table_that_is_not_altered_makes_nothing_worse_and_says_so() {
    let campaign = Campaign::with(&start("mild_hatchback"), Altered::default(), "F070").expect("it can be run");
    let found = shown(&campaign);
    for cell in cells(&found) {
        assert!(
            list(cell, "worse").is_empty() && list(cell, "better").is_empty() && cell["changed"] == false,
            "{cell}"
        );
        assert_eq!(cell["was"], cell["now"]);
    }
    assert!(
        found["said"][0].as_str().is_some_and(|said| said.starts_with("No hazard comes further")),
        "{}",
        found["said"]
    );
    assert!(
        found["said"][1].as_str().is_some_and(|said| said.starts_with("No run goes otherwise")),
        "{}",
        found["said"]
    );
    // But a page that altered nothing is told so.
    let why = Campaign::of(&start("mild_hatchback"), &Altered::default(), "", "all").err().unwrap_or_default();
    assert!(why.contains("nothing is altered"), "{why}");
}

/// A run that is not made again because its row did nothing is the same as one that is: a set point moved by nothing to speak of has all made.
#[test]
fn what_is_not_made_again_would_have_been_the_same() {
    let watch = points::read("supply_low=20.3").expect("a set point");
    let both = Altered { without: RowSet::one(RowId::I03), moved: vec![watch] };
    let spared = Campaign::with(&start("mild_hatchback"), without(RowId::I03), "F056").expect("it can be run");
    let made = Campaign::with(&start("mild_hatchback"), both, "F056").expect("it can be run");
    let (spared, made) = (shown(&spared), shown(&made));
    assert!(spared["runs"].as_u64() < made["runs"].as_u64(), "{} and {} runs", spared["runs"], made["runs"]);
    let came =
        |of: &Value| cells(of).into_iter().map(|cell| (cell["was"].clone(), cell["now"].clone())).collect::<Vec<_>>();
    assert_eq!(came(&spared), came(&made));
}

#[test]
fn the_same_question_has_the_same_bytes_whatever_was_done_by_hand_and_in_any_number_of_threads() {
    let mut session = Session::new(start("mild_hatchback")).expect("it begins");
    let first = Campaign::of(session.start(), session.altered(), "I28", "F070").expect("it can be asked");
    for _ in 0..3_000 {
        assert!(session.step().expect("it runs"));
    }
    session.leave_out("I28", true).expect("there is such a row");
    session.act("pause").expect("it runs");
    let before = (session.run().hash(), session.run().time());
    let later = Campaign::of(session.start(), session.altered(), "", "F070").expect("it can be asked");
    let (one, two) = (outcome(&first, 1), outcome(&later, 3));
    assert!(one == two, "two answers to one question");
    assert_eq!(before, (session.run().hash(), session.run().time()), "the run at hand was touched");
    let by_hand = Start { by_hand: true, ..start("mild_hatchback") };
    let hands = Campaign::of(&by_hand, &Altered::default(), "I28", "F070").expect("it can be asked");
    assert!(outcome(&hands, 2) == one, "questions are answered as the scenario has it");
}

/// Whatever is asked, it is 600 runs at most, and what was left out is said.
#[test]
fn it_is_bounded_and_says_what_it_leaves_out() {
    let mut most = 0;
    for row in RowId::ALL {
        for faults in ["rows", "all"] {
            let Ok(campaign) = Campaign::of(&start("mild_hatchback"), &Altered::default(), row.as_str(), faults) else {
                // Not every row has a fault that can come in the middle of this job; every one has some of the catalogue.
                assert_eq!(faults, "rows", "{row}");
                continue;
            };
            let told = campaign.told();
            let (runs, cells) = (told["runs"].as_u64().expect("a number"), told["cells"].as_u64().expect("a number"));
            assert!(cells > 0 && cells <= MOST_CELLS as u64 && runs == 2 * (cells + 1), "{told}");
            most = most.max(cells);
            let said = told["said"].to_string();
            assert!(said.contains(&format!("at most {runs} runs")), "{said}");
            assert!(faults == "rows" || said.contains("Left out: "), "{said}");
        }
    }
    assert!(most > 150, "the bound is never come near: {most}");
}

#[test]
fn what_cannot_be_asked_is_refused_with_what_is_accepted() {
    let why = |start: &Start, row: &str, faults: &str| {
        Campaign::of(start, &Altered::default(), row, faults).err().unwrap_or_default()
    };
    let job = start("mild_hatchback");
    assert!(why(&job, "no_row", "all").contains("no row `no_row`"));
    assert!(why(&job, "I03", "F").contains("accepted: rows, all, or a fault"), "{}", why(&job, "I03", "F"));
    assert!(why(&job, "I03", "the roof").contains("`the roof`"));
    // It comes with the job: in its middle it cannot.
    let early = valvewright_sim::fault::injections()
        .find(|one| one.refused.is_none() && one.begins != valvewright_sim::fault::Begins::AnyTime)
        .expect("there is one");
    let told = why(&job, "I03", &early.id.to_string());
    assert!(told.contains("none of them can come in the middle of this job"), "{told}");
    let lesson = lesson::shipped("what_a_row_is_for").expect("it is shipped");
    let told = why(&Start::of_lesson(lesson, true), "I28", "F070");
    assert!(told.contains("found out by hand") && told.contains("Begin anew"), "{told}");
}

/// Of a row of jobs the first alone is run, and that is said.
#[test]
fn of_a_row_of_jobs_the_first_is_taken_and_that_is_said() {
    let row = "monday_morning";
    assert!(!parse::read_on(&shipped::source(row).expect("it is shipped"), None).expect("it reads").then.is_empty());
    let campaign = Campaign::of(&start(row), &Altered::default(), "I28", "F070").expect("it can be asked");
    assert!(campaign.told()["said"].to_string().contains("its first job alone"), "{}", campaign.told());
    let found = shown(&campaign);
    assert_eq!(found["first_job_only"], true);
    let last = list(&found, "steps").last().expect("a step")["t_s"].as_f64().expect("a time");
    assert!(last < 6_000.0, "a step at {last} s is of a later job");
}

/// A set point that lies where its row acts far too late: the H01 of docs/set-points.md.
#[test]
fn of_an_order_changed_on_the_page_the_commands_name_the_file_that_it_hands_over() {
    let session = Session::new(start("mild_hatchback")).expect("it begins");
    let order = "[order]\nphases = [\"identify\", \"recover\"]\nsides = \"both\"\n";
    let changed = session.start().with_order(session.scenario(), order).expect("it is taken");
    let campaign = Campaign::of(&changed, &Altered::default(), "I03", "F056").expect("it can be asked");
    assert!(campaign.told()["said"].to_string().contains("commands below name played.toml"), "{}", campaign.told());
    let found = shown(&campaign);
    assert!(found.to_string().contains("valvewright run played.toml"), "{found}");
    assert!(!found.to_string().contains("run mild_hatchback"), "{found}");
}

#[test]
fn a_moved_set_point_is_asked_of_as_well() {
    let mut altered = Altered::default();
    altered.set_point("cabinet_gas", 99.0).expect("it can be moved");
    let campaign = Campaign::of(&start("mild_hatchback"), &altered, "", "F128").expect("it can be asked");
    let found = shown(&campaign);
    let worse: Vec<&Value> = cells(&found).into_iter().filter(|cell| !list(cell, "worse").is_empty()).collect();
    let hit = worse.iter().find(|cell| list(cell, "worse").iter().any(|one| one["hazard"] == "H01"));
    let command = hit.unwrap_or_else(|| panic!("{}", found["said"]))["command"].as_str().expect("its command");
    assert!(command.ends_with(" --set-point cabinet_gas=99"), "{command}");
    assert!(again(command).iter().any(|(id, _)| id == "H01"), "{command}");
}

#[test]
fn one_at_a_time_and_one_that_was_stopped_has_no_outcome() {
    let ask = || Campaign::of(&start("mild_hatchback"), &Altered::default(), "I03", "all").expect("it can be asked");
    let underway = Underway::default();
    assert!(underway.stop().is_err_and(|why| why.contains("no campaign is under way")));
    assert!(underway.outcome().is_err());
    underway.begin(ask()).expect("nothing else runs");
    let second = underway.begin(ask()).expect_err("one runs");
    assert!(second.contains("under way") && second.contains("stop it"), "{second}");
    assert_eq!(underway.told()["stand"], "runs");
    let told = |wanted: &str, since: Instant| {
        while underway.told()["stand"] != wanted {
            assert!(since.elapsed() < Duration::from_secs(120), "{}", underway.told());
            std::thread::sleep(Duration::from_millis(5));
        }
    };
    while underway.told()["known"] == 0 {
        std::thread::sleep(Duration::from_millis(1));
    }
    underway.stop().expect("it runs");
    told("stopped", Instant::now());
    let (known, of) =
        (underway.told()["known"].as_u64().expect("a number"), underway.told()["of"].as_u64().expect("a number"));
    assert!(known > 0 && known < of, "{known} of {of}");
    assert!(underway.outcome().is_err_and(|why| why.contains("was stopped")));
    // The next one is its own.
    underway
        .begin(Campaign::of(&start("mild_hatchback"), &Altered::default(), "I28", "F070").expect("it can be asked"))
        .expect("nothing runs");
    told("over", Instant::now());
    assert!(underway.outcome().expect("it is over").json.contains("without I28"));
    assert_eq!(underway.told()["number"], 2);
    // Nobody is there any more: it ends though it runs.
    underway.begin(ask()).expect("nothing runs");
    underway.end();
    assert_eq!(underway.told()["stand"], "stopped");
}

#[test]
fn a_stop_whenever_it_comes_leaves_no_half_answer() {
    let campaign = Campaign::of(&start("mild_hatchback"), &Altered::default(), "I28", "F070").expect("it can be asked");
    let whole = outcome(&campaign, 2);
    for after in [0, 1, 5, 25] {
        let stop = AtomicBool::new(after == 0);
        let found = run(&campaign, 2, &stop, &|known| stop.store(known >= after, Ordering::Relaxed)).expect("it runs");
        assert!(found.is_none_or(|found| found == whole), "stopped after {after} runs it says something else");
    }
    assert!(run(&campaign, 1, &AtomicBool::new(true), &|_| {}).expect("it runs").is_none());
}
