//! The books of refrigerant: every line closes to the milligram, what is not accounted for stands by itself, bad rows are told one by one.

use std::path::PathBuf;

use crate::cli_bench::Bench;
use crate::papers_tickets::on_record;
use serde_json::Value;
use valvewright_sim::papers::bought::{self, COLUMNS};
use valvewright_sim::papers::gwp;
use valvewright_sim::scenario::diagnostic::Source;

/// A bench with the results of two runs on one station.
fn bench() -> Bench {
    let bench = Bench::new();
    for name in ["monday_morning", "purge_at_a_cost"] {
        bench.run(&["run", name, "--out", name, "--no-report", "--trace", "none"]).exits(0);
    }
    bench.put("b.csv", BOUGHT);
    bench
}

const MONDAY: &str = "monday_morning/result.json";
const PURGE: &str = "purge_at_a_cost/result.json@2026-02-28";
const BOUGHT: &str = "date,kind,refrigerant,kg,station,party,document\n\
    2025-12-01,bought,R-1234yf,10,,\"Gas Supply Example, 2 Invented Road\",invoice 17\n\
    2026-01-10,emptied,R-1234yf,1.5,workshop,,\n\
    2026-01-20,filled,R1234yf,0.25,workshop,,\n\
    2026-02-01,disposed,R-1234yf,1.2,,\"Reclaim Example, 3 Invented Road\",note 4\n\
    2026-02-02,counted,R-1234yf,10.04,,,\n";

fn json(bench: &Bench, arguments: &[&str]) -> Value {
    bench.run(&[&["papers", "ledger", "--json"][..], arguments].concat()).exits(0).json()
}

fn mg(value: &Value) -> i64 {
    (value.as_f64().unwrap_or_else(|| panic!("a figure: {value}")) * 1e6).round() as i64
}

/// Every line closes, and each begins where the one before it ended.
fn closes(books: &Value) -> usize {
    let rows = books["rows"].as_array().expect("a list");
    for row in rows {
        let of = |name: &str| mg(&row["kg"][name]);
        let sum = of("opening") + of("bought") + of("recovered") + of("moved")
            - of("charged")
            - of("vented")
            - of("disposed")
            - of("unknown");
        assert_eq!(sum, of("closing"), "{row}");
    }
    for pair in rows
        .windows(2)
        .filter(|pair| pair[0]["place"] == pair[1]["place"] && pair[0]["refrigerant"] == pair[1]["refrigerant"])
    {
        assert_eq!(mg(&pair[0]["kg"]["closing"]), mg(&pair[1]["kg"]["opening"]), "{pair:?}");
    }
    rows.len()
}

#[test]
fn the_ledger_of_a_row_of_jobs_closes_with_the_results_own_figures() {
    let bench = bench();
    let result: Value =
        serde_json::from_str(&std::fs::read_to_string(bench.path(MONDAY)).expect("written")).expect("JSON");
    let books = json(&bench, &[MONDAY, "--by", "day"]);
    assert_eq!(closes(&books), 1, "{books}");
    let kg = &books["rows"][0]["kg"];
    let gram = |value: &Value| (value.as_f64().expect("a figure") * 1e3).round() as i64;
    assert_eq!(mg(&kg["opening"]), gram(&result["ledger"]["start_g"]));
    assert_eq!(mg(&kg["closing"]), gram(&result["ledger"]["end_g"]));
    assert_eq!(mg(&kg["recovered"]), gram(&result["recovered_g"]["shown"]));
    assert_eq!(mg(&kg["charged"]), gram(&result["charged_g"]["shown"]));
    // What is unknown is what the station said otherwise than it was, and what it did not see go.
    let off = |of: &str| result[of]["shown"].as_f64().expect("said") - result[of]["true"].as_f64().expect("known");
    let came = result["ledger"]["from_vehicles_g"].as_f64().expect("a figure");
    let unseen = result["recovered_g"]["true"].as_f64().expect("known")
        - result["charged_g"]["true"].as_f64().expect("known")
        - came;
    let escaped = result["ledger"]["escaped_g"].as_f64().expect("a figure");
    let unknown = off("recovered_g") - off("charged_g") + unseen + escaped;
    assert!((mg(&kg["unknown"]) as f64 * 1e-3 - unknown).abs() < 0.01, "{kg} and {unknown} g");
    assert!(mg(&kg["unknown"]) != 0, "a station without any error would make this test say nothing");
    assert_eq!(books["records"].as_array().expect("a list").len(), 5);
}

#[test]
fn what_was_bought_moved_counted_and_vented_stands_in_its_column_and_every_period_closes() {
    let bench = bench();
    for (by, least) in [("day", 7), ("month", 5), ("year", 3)] {
        let books = json(&bench, &[MONDAY, PURGE, "--bought", "b.csv", "--by", by]);
        assert!(closes(&books) >= least, "{by}: {books}");
        let total =
            |name: &str| books["rows"].as_array().expect("a list").iter().map(|row| mg(&row["kg"][name])).sum::<i64>();
        assert_eq!((total("bought"), total("disposed")), (10_000_000, 1_200_000));
        assert_eq!(total("moved"), 0, "what leaves one place comes to another");
        let result: Value =
            serde_json::from_str(&std::fs::read_to_string(bench.path("purge_at_a_cost/result.json")).expect("written"))
                .expect("JSON");
        let told = result["notices"].as_array().expect("a list").iter();
        let vented: i64 = told.filter_map(|one| one["told"]["Purged"].as_i64()).sum();
        assert!(vented > 0, "the scenario purges");
        assert_eq!(total("vented"), vented);
        // The store was counted 10 g short of its book of 10 + 1.5 - 0.25 - 1.2 kg.
        let store = books["rows"].as_array().expect("a list").iter().filter(|row| row["place"] == "store");
        assert_eq!(store.map(|row| mg(&row["kg"]["unknown"])).sum::<i64>(), 10_000);
    }
}

#[test]
fn carbon_is_each_column_times_the_potential_in_json_and_csv() {
    let bench = bench();
    let books = json(&bench, &[MONDAY]);
    let row = &books["rows"][0];
    let of = "R1234yf".parse().expect("a refrigerant");
    for (name, kg) in row["kg"].as_object().expect("columns") {
        let tonnes = row["tco2e"][name].as_f64().expect("a figure");
        assert!((tonnes - gwp::tonnes(of, kg.as_f64().expect("a figure"))).abs() < 1e-12, "{name}");
    }
    let csv = bench.run(&["papers", "ledger", MONDAY, "--format", "csv"]).exits(0).out;
    let mut lines = csv.lines();
    let head: Vec<&str> = lines.next().expect("a head").split(',').collect();
    let cells: Vec<&str> = lines.next().expect("a line").split(',').collect();
    assert_eq!(head.len(), cells.len());
    let cell = |name: &str| cells[head.iter().position(|one| *one == name).unwrap_or_else(|| panic!("{name}"))];
    assert_eq!(
        mg(&serde_json::json!(cell("recovered_kg").parse::<f64>().expect("a figure"))),
        mg(&row["kg"]["recovered"])
    );
    assert!(cell("closing_tco2e").starts_with("0.0024"), "{csv}");
}

/// The record of each service and of each row, with the days of both laws.
#[test]
fn each_record_says_until_when_it_is_kept() {
    let bench = bench();
    let csv = bench.run(&["papers", "ledger", MONDAY, "--bought", "b.csv", "--format", "records-csv"]).exits(0).out;
    assert!(
        csv.starts_with("made,keep_until_us,keep_until_eu,what,place,refrigerant,in_kg,out_kg,party,document\n"),
        "{csv}"
    );
    assert!(csv.contains("2025-12-01,2028-12-01,2030-12-01,bought,store,R1234yf,10.0,0.0,\"Gas Supply Example, 2 Invented Road\",\"b.csv line 2, invoice 17\""), "{csv}");
    assert_eq!(csv.matches("2026-01-01,2029-01-01,2031-01-01,service,workshop").count(), 5, "{csv}");
    assert_eq!(csv.lines().count(), 1 + 5 + 5, "{csv}");
}

#[test]
fn two_runs_of_one_station_at_one_time_are_refused_with_a_day_that_is_free() {
    let bench = bench();
    let said = bench.run(&["papers", "ledger", MONDAY, "purge_at_a_cost/result.json"]).exits(64);
    said.complains(&["are of one station, `workshop`, at the same time", "result.json@2026-01-02"]);
    let twice = json(&bench, &[MONDAY, &format!("{MONDAY}@2026-03-01")]);
    assert!(twice["notes"].to_string().contains("the same run by their hash"), "{twice}");
    bench.run(&["papers", "ledger"]).exits(64);
}

#[test]
fn the_page_has_a_drawing_and_no_network() {
    let bench = bench();
    let page = bench.run(&["papers", "ledger", MONDAY, PURGE, "--bought", "b.csv", "--format", "html"]).exits(0).out;
    assert_eq!(page.matches("<svg").count(), 2, "a drawing for station and store");
    assert!(page.contains("closing stock") && page.contains("no record of refrigerant that exists"));
    let outside = page.replace("http://www.w3.org/2000/svg", "");
    assert!(!outside.contains("http") && !outside.contains("<script"), "a page by itself");
    assert!(!page.contains("NaN") && !page.contains("inf\""), "every place is a number");
}

#[test]
fn a_ledger_is_what_was_read_with_care_when_it_was_recorded() {
    let bench = bench();
    on_record("ledger.txt", &bench.run(&["papers", "ledger", MONDAY, PURGE, "--bought", "b.csv"]).exits(0).out);
}

/// What is said of a file of purchases: line, column and words of each mistake.
fn said(text: &str) -> Vec<String> {
    match bought::read(&Source::new("b.csv", text)) {
        Ok(rows) => panic!("{} rows were taken of:\n{text}", rows.len()),
        Err(wrong) => wrong.iter().map(|one| format!("{}:{} {}", one.line, one.column, one.message)).collect(),
    }
}

#[test]
fn each_bad_cell_is_told_with_line_and_column_and_no_row_is_lost() {
    const HEAD: &str = "date,kind,refrigerant,kg,station,party,document\n";
    for (row, says) in [
        ("2026-02-30,bought,R-134a,1,,A,", "2:1 `2026-02-30` is no date"),
        ("2026-02-03,buoght,R-134a,1,,A,", "2:12 unknown kind `buoght`"),
        ("2026-02-03,bought,R-12,1,,A,", "2:19 unknown refrigerant `R-12`"),
        ("2026-02-03,bought,R-134a,-1,,A,", "2:26 `-1` is no mass"),
        ("2026-02-03,bought,R-134a,1e3,,A,", "2:26 `1e3` is no mass"),
        ("2026-02-03,bought,R-134a,NaN,,A,", "2:26 `NaN` is no mass"),
        ("2026-02-03,bought,R-134a,20000.1,,A,", "2:26 `20000.1` is no mass"),
        ("2026-02-03,bought,R-134a,0,,A,", "2:26 `0` is no mass"),
        ("2026-02-03,bought,R-134a,0.0000001,,A,", "2:26 `0.0000001` is less than a milligram"),
        ("2026-02-03,bought,R-134a,1,,,", "2:29 `bought` needs a party"),
        ("2026-02-03,disposed,R-134a,1,,,", "2:31 `disposed` needs a party"),
        ("2026-02-03,filled,R-134a,1,,,", "2:28 `filled` needs a station"),
        ("2026-02-03,bought,R-134a,1,hall,A,", "2:28 `bought` is of the store, and no station's"),
        ("2026-02-03,bought,R-134a,1,,A,b,c", "2:1 8 cells, and the first line has 7"),
        ("2026-02-03,bought", "2:1 2 cells, and the first line has 7"),
        ("2026-02-03,bought,R-134a,1,,A,\"open", "2:31 a quote is opened here and never closed"),
        ("2026-02-03,\"ünknown\", R-12 ,1,,A,", "2:12 unknown kind `ünknown`"),
    ] {
        let told = said(&format!("{HEAD}{row}\n2026-02-04,bought,R-134a,1,,A,\n"));
        assert_eq!(told.first().map(String::as_str), Some(says), "{row}");
    }
    let many: String = (0..60).map(|at| format!("2026-02-03,stolen,R-134a,{at}x,,A,\n")).collect();
    assert_eq!(said(&format!("{HEAD}{many}")).len(), 120, "none is left out");
    assert_eq!(said(""), ["1:1 the file is empty"]);
    assert_eq!(said("date,kind,refrigerant,kilos\n"), ["1:23 unknown column `kilos`", "1:1 column `kg` is missing"]);
    assert_eq!(said("date,date,kind,refrigerant,kg\n"), ["1:6 column `date` is given twice"]);
}

#[test]
fn rows_are_read_in_any_order_of_columns_with_quotes_and_line_ends_of_any_kind() {
    let text = "\u{feff}kg,kind,date,refrigerant,party\r\n1.25,bought,2026-02-03,r134a,\"A \"\"B\"\", C\"\r\n\r\n 0 , counted , 2026-02-04 , R-134a ,";
    let rows = bought::read(&Source::new("b.csv", text)).unwrap_or_else(|wrong| panic!("{wrong:?}"));
    let found: Vec<(i64, &str, &str, usize)> =
        rows.iter().map(|row| (row.mg, row.kind.word(), row.party.as_str(), row.line)).collect();
    assert_eq!(found, [(1_250_000, "bought", "A \"B\", C", 2), (0, "counted", "", 4)]);
}

/// The book names every column, and the kinds of the file.
#[test]
fn the_page_of_papers_names_every_column_and_kind() {
    let page =
        std::fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../docs/papers.md")).expect("the page");
    let kinds = bought::Kind::ALL.map(bought::Kind::word);
    for name in COLUMNS.iter().chain(&kinds).chain(&valvewright_sim::papers::ledger_text::COLUMNS) {
        assert!(page.contains(&format!("`{name}`")), "docs/papers.md does not name `{name}`");
    }
}
