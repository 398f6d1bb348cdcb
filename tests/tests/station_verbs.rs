//! The verbs of `station` and `run --store` as a person uses them.

use crate::cli_bench::{Bench, Said};

const RUN: [&str; 7] = ["run", "mild_hatchback", "--no-report", "--trace", "none", "--store", "s"];

/// A workshop with a supervisor, a technician and one service.
struct Shop(Bench);

impl Shop {
    fn new() -> Self {
        let shop = Self(Bench::new());
        shop.0.run(&[&RUN[..], &["--out", "first"]].concat()).exits(0);
        shop.station("operators add 1 Ada supervisor").exits(0);
        shop.station("operators add 2 Ben technician --operator 1").exits(0);
        shop
    }

    /// `station`, words apart by blanks, on the store.
    fn station(&self, words: &str) -> Said {
        let mut all = vec!["station"];
        all.extend(words.split(' '));
        all.extend(["--store", "s"]);
        self.0.run(&all)
    }

    fn json(&self, words: &str) -> serde_json::Value {
        self.station(&format!("{words} --json")).exits(0).json()
    }
}

#[test]
fn a_workshop_lives_from_run_to_run() {
    let shop = Shop::new();
    for change in ["settings language=de header1=Beispiel units=us", "presets evacuate.time=25min --operator 1"] {
        shop.station(change).exits(0);
    }
    let text = shop.0.run(&["list", "mild_hatchback"]).out;
    let unsaid: String =
        text.lines().filter(|line| !line.starts_with("evacuate_time")).map(|line| format!("{line}\n")).collect();
    shop.0.put("mine.toml", &unsaid);
    let said = shop
        .0
        .run(&["run", "mine.toml", "--store", "s", "--operator", "2", "--out", "second", "--trace", "none"])
        .exits(0);
    assert!(said.out.contains("preset  evacuate.time 25 min") && said.out.contains("s: service 2"), "{}", said.out);
    let ticket = std::fs::read_to_string(shop.0.path("second/ticket.txt")).unwrap();
    for part in ["Beispiel", "Ben (2)", "Servicebeleg", "2026-01-02 00:00:00"] {
        assert!(ticket.contains(part), "{part} is missing in:\n{ticket}");
    }
    // The same from the result, in the language that is asked for.
    let again = shop.0.run(&["papers", "ticket", "second/result.json", "--language", "de"]).exits(0);
    assert_eq!(again.out, ticket);
    let other = shop
        .0
        .run(&["papers", "ticket", "second/result.json", "--operator", "Somebody", "--header", "Elsewhere"])
        .exits(0);
    assert!(other.out.contains("Somebody") && !other.out.contains("Beispiel"), "{}", other.out);
    let print = shop.station("reprint 2").exits(0).out;
    for part in ["Beispiel", "Ben (2)", "Nachdruck", "R-1234yf", "Small hatchback"] {
        assert!(print.contains(part), "{part} is missing in:\n{print}");
    }
    assert!(
        shop.station("reprint 2 --columns 32 --language fr")
            .exits(0)
            .out
            .lines()
            .all(|line| line.chars().count() <= 32)
    );
    let history = shop.json("history");
    let services = history["services"].as_array().unwrap();
    assert_eq!(
        (services.len(), &services[1]["operator_name"], &services[1]["begun"]),
        (2, &"Ben".into(), &"2026-01-02 00:00:00".into())
    );
    let vehicles = shop.json("vehicles list");
    assert_eq!(vehicles["vehicles"][0]["kind"], "recent");
    assert_eq!(vehicles["vehicles"][0]["number"], services[1]["vehicle"]);
    assert!(
        vehicles["vehicles"][0]["served"].as_str().is_some_and(|when| when.starts_with("2026-01-02")),
        "{vehicles}"
    );
    assert_eq!(shop.json("selftest")["starts"].as_array().unwrap().len(), 2);
    assert_eq!(shop.json("hours")["starts"], 2);
    let kinds: Vec<String> = shop.json("events")["events"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["text"].as_str().unwrap().to_owned())
        .collect();
    assert!(kinds.iter().any(|text| text == "presets changed by operator 1"), "{kinds:?}");
    assert_eq!(shop.json("events --last 1")["events"].as_array().unwrap().len(), 1);
}

#[test]
fn looking_changes_nothing_and_each_look_has_a_json_form() {
    let shop = Shop::new();
    let before = std::fs::read(shop.0.path("s")).unwrap();
    for words in [
        "show",
        "history",
        "reprint 1",
        "events",
        "due",
        "hours",
        "selftest",
        "settings",
        "operators list",
        "presets",
        "vehicles list",
        "vehicles export",
    ] {
        let (text, json) = (shop.station(words).exits(0), shop.json(words));
        assert!(!text.out.is_empty() && json.is_object(), "{words}");
        assert!(!text.out.contains("damaged"), "{words}: {}", text.out);
    }
    assert_eq!(std::fs::read(shop.0.path("s")).unwrap(), before);
    assert_eq!(shop.json("show")["services"]["next"], 2);
    assert!(shop.json("show")["state"]["drier"].as_i64().unwrap() > 400_000_000 / 1_000);
}

#[test]
fn an_export_is_a_file_and_a_mark_and_a_due_page_is_written_once() {
    let shop = Shop::new();
    shop.station("history --export csv").exits(64).complains(&["--out"]);
    assert!(shop.station("history --export csv --out a.csv").exits(0).out.contains("up to number 1"));
    let text = std::fs::read_to_string(shop.0.path("a.csv")).unwrap();
    assert_eq!(text.lines().count(), 2);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let row = reader.records().next().unwrap().unwrap();
    let head = reader.headers().unwrap().clone();
    let cell = |name: &str| row[head.iter().position(|one| one == name).unwrap()].to_owned();
    assert_eq!(
        (cell("ending"), cell("leak_check"), cell("pressure_test")),
        ("met".into(), "done".into(), String::new())
    );
    assert!(cell("recovered_g").parse::<f64>().unwrap() > 400.0);
    shop.station("history --export json --out a.csv").exits(64).complains(&["exists and is not overwritten"]);
    shop.station("history --export json --out a.json").exits(0);
    assert_eq!(shop.json("show")["services"]["exported"], 1);
    assert_eq!(shop.json("history")["services"][0]["exported"], true);
    shop.station("due --html due.html").exits(0);
    assert!(std::fs::read_to_string(shop.0.path("due.html")).unwrap().contains("What is due"));
    shop.station("due --html due.html").exits(64).complains(&["not overwritten"]);
}

#[test]
fn what_is_protected_needs_a_supervisor_and_says_so() {
    let shop = Shop::new();
    let before = std::fs::read(shop.0.path("s")).unwrap();
    for (words, part) in [
        ("settings clock=+60", "needs a supervisor"),
        ("settings clock=+60 --operator 2", "Ben (2) is a technician"),
        ("presets evacuate.time=20min --operator 3", "nobody has the number 3"),
        ("operators remove 1 --operator 1", "last supervisor"),
        ("operators add 3 Cy technician --operator 2", "technician"),
        ("due --proved gas_detector=2027-01-31", "needs a supervisor"),
        ("due --proved gas_detector=2020-01-31 --operator 1", "is not after the station's clock"),
        ("due --proved gas=2027-01-31 --operator 1", "no proof test `gas`"),
        ("presets evacuate.time=5s --operator 1", "accepted range: 1 min to 240 min"),
        ("settings language=it", "accepted: en, de, es, fr"),
        ("vehicles remove 99", "no vehicle 99"),
        ("vehicles add x R-12 480 3500", "`R-12` is none of"),
        ("reprint 2", "kept are 1 to 1"),
    ] {
        shop.station(words).exits(64).complains(&[part]);
    }
    assert_eq!(std::fs::read(shop.0.path("s")).unwrap(), before, "a refusal changed something");
    shop.station("settings clock=+60 --operator 1").exits(0);
    shop.station("due --proved gas_detector=2027-01-31 --operator 1").exits(0);
    let due = shop.json("due");
    let gas = due["items"].as_array().unwrap().iter().find(|one| one["id"] == "gas_detector").unwrap();
    assert_eq!(gas["level"], "good");
    let last = shop.json("events --last 1");
    assert_eq!(last["events"][0]["kind"], "proof_test");
}

#[test]
fn an_import_with_a_bad_row_takes_nothing_and_names_each_line() {
    let shop = Shop::new();
    let head = "name,refrigerant,charge_g,circuit_ml";
    shop.0.put("bad.csv", &format!("{head}\ngood,R-134a,500,3000\nbad,R-134a,5,3000\nworse,R-12,500,30\n"));
    let before = std::fs::read(shop.0.path("s")).unwrap();
    let said = shop.station("vehicles import bad.csv").exits(64);
    said.complains(&[
        "3 mistakes, and no row was taken",
        "line 3: charge_g `5`",
        "line 4: refrigerant `R-12`",
        "line 4: circuit_ml `30`",
    ]);
    shop.station("vehicles import s").exits(64).complains(&["neither .csv nor .json"]);
    shop.station("vehicles import none.csv").exits(64).complains(&["cannot be read"]);
    assert_eq!(std::fs::read(shop.0.path("s")).unwrap(), before);
    shop.0.put("good.csv", &format!("{head}\ngood,R-134a,500,3000\n\"two, words\",R-1234yf,480.5,3500\n"));
    shop.station("vehicles import good.csv").exits(0);
    shop.station("vehicles export --out book.json").exits(0);
    shop.station("vehicles export --out book.csv").exits(0);
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(shop.0.path("book.json")).unwrap()).unwrap();
    assert_eq!(json["vehicles"][1]["name"], "two, words");
    shop.station("vehicles import book.json").exits(0);
    assert_eq!(
        shop.json("vehicles list")["vehicles"].as_array().unwrap().len(),
        6,
        "one recent, two, and three of the file"
    );
}

#[test]
fn wrong_files_and_wrong_people_are_refused_before_anything_runs() {
    let bench = Bench::new();
    bench.put("text", "not an image at all, but long enough to be one");
    bench
        .run(&["station", "show", "--store", "none"])
        .exits(64)
        .complains(&["no file is called `none`", "run SCENARIO --store"]);
    bench.run(&["station", "show", "--store", "text"]).exits(64).complains(&["no image of a station's store"]);
    bench.run(&["station", "show", "--store", "."]).exits(64).complains(&["is a folder"]);
    bench.run(&["station", "show"]).exits(64).complains(&["--store"]);
    let run = |more: &[&str]| bench.run(&[&RUN[..5], more].concat());
    run(&["--store", "text"]).exits(64).complains(&["no image"]);
    run(&["--operator", "1"]).exits(64).complains(&["--store"]);
    run(&["--store", "new", "--operator", "1"]).exits(64).complains(&["nobody has this number"]);
    run(&["--store", "new", "--date", "tomorrow"]).exits(64).complains(&["no date"]);
    run(&["--store", "no/where"]).exits(64).complains(&["its folder does not exist"]);
    assert_eq!(bench.listing(), ["text"]);
    run(&["--store", "new", "--date", "2026-05-01", "--out", "a"]).exits(0);
    run(&["--store", "new", "--date", "2026-04-30", "--out", "b"])
        .exits(64)
        .complains(&["before the end of the last run", "2026-05-01"]);
    let whole = std::fs::read(bench.path("new")).unwrap();
    std::fs::write(bench.path("cut"), &whole[..whole.len() / 2]).unwrap();
    bench.run(&["station", "due", "--store", "cut"]).exits(64).complains(&["is not whole"]);
    assert!(!bench.path("b").exists());
}

/// F090: the next order is refused before it begins, and goes after an export.
/// Shows F090.
#[test]
fn a_full_log_refuses_the_run_before_it_begins() {
    use valvewright_core::record::service::{Ending, Service};
    use valvewright_sim::shop::opened::{Shop as Opened, read, write};
    let shop = Shop::new();
    let path = shop.0.path("s");
    let mut opened = Opened::open(&read(&path).unwrap().unwrap()).unwrap();
    let filled = opened.change("many services", |all| {
        let mut count = 0;
        while all.holding(valvewright_core::record::LogId::Services)?.room > 2 {
            let service = Service { number: all.next_service()?, ending: Ending::Met, ..Service::default() };
            all.close_service(&service)?;
            count += 1;
        }
        Ok(count)
    });
    assert!(filled.unwrap() > 800);
    write(&path, &opened.image()).unwrap();
    let run = |out: &str| shop.0.run(&[&RUN[..], &["--out", out]].concat());
    run("full").exits(64).complains(&["the log of services is full", "were not exported", "before it begins"]);
    assert!(!shop.0.path("full").exists());
    let due = shop.json("due");
    assert_eq!(due["items"].as_array().unwrap().iter().find(|one| one["id"] == "export").unwrap()["level"], "due");
    shop.station("history --export csv --out all.csv").exits(0);
    run("after").exits(0);
    let last = shop.json("history")["services"].as_array().unwrap().last().unwrap().clone();
    assert_eq!((last["ending"].as_str(), last["exported"].as_bool()), (Some("met"), Some(false)));
}
