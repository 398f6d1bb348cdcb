//! Failure rates given to a report: shares weighted by hand are those of the report, and each mistake of the file is told with what is accepted.

use valvewright_sim::campaign::Row;
use valvewright_sim::campaign::findings::{read_rates, sections};
use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::scenario::diagnostic::Source;

use crate::campaign_report::{found, hazard, put, run, tripped};
use crate::cli_bench::Bench;

const A: (&str, &str, &str) = ("F001", "PT-1", "at 5 s");
const B: (&str, &str, &str) = ("F003", "PT-1", "at 5 s");
const C: (&str, &str, &str) = ("F005", "PT-1", "at 5 s");
const K: (&str, &str, &str) = ("F070", "K-1", "at 5 s");

/// PT-1 fails in three ways: F001 is found in three of four runs, F003 never and harms once in two, F005 has no rate. With K-1 at once nothing
/// counts.
fn rows() -> Vec<Row> {
    let seen = |index: u64| tripped(run(index, &[A]), &[("I03", 0.5)]);
    vec![
        seen(0),
        seen(1),
        seen(2),
        run(3, &[A]),
        run(4, &[B]),
        hazard(run(5, &[B]), 5, HazardLevel::Accident, 200.0, -0.1),
        tripped(run(6, &[C]), &[("I03", 0.5)]),
        tripped(run(7, &[A, K]), &[("I03", 0.5)]),
    ]
}

fn cells(bench: &Bench, rates: Option<&str>, id: &str, first: &str) -> Vec<String> {
    let rates = rates.map(|text| read_rates(&Source::new("rates.csv", text)).expect("they read"));
    let all = sections(&found(&bench.path("one")).with_rates(rates));
    let section = all.iter().find(|one| one.id == id).expect("it has the section");
    let row = section.rows.iter().find(|row| row[0].text == first).expect("it has the row");
    row.iter().map(|cell| cell.text.clone()).collect()
}

fn bench() -> Bench {
    let (bench, rows) = (Bench::new(), rows());
    put(&bench, "one", &rows, valvewright_sim::campaign::SCHEMA, rows.len());
    bench
}

const RATES: &str = "fault,mode,tag,rate_per_h,source\nF001,,,3e-6,made up\nF003,,PT-1,1e-6,made up too\n";

#[test]
fn with_rates_each_way_to_fail_counts_by_its_rate_and_not_by_its_runs() {
    let bench = bench();
    // Alike: found in 5 of 8; of the seven with one fault one harms, and two are latent.
    assert_eq!(cells(&bench, None, "components", "PT-1"), ["PT-1", "8", "1", "5", "62.5 %", "low", "14.2 %", "28.5 %"]);
    // By rates: (3 x 3/4 + 1 x 0) / 4, single-point (0 + 1 x 1/2) / 4, latent (3 x 1/4 + 1 x 1/2) / 4.
    let weighted = cells(&bench, Some(RATES), "components", "PT-1");
    assert_eq!(weighted, ["PT-1", "8", "1", "5", "56.2 %", "none", "12.5 %", "31.2 %"]);
    // Of H05 run 5 alone, whose fault has a rate; K-1 was never alone.
    assert_eq!(cells(&bench, Some(RATES), "hazards", "H05")[4..], ["0", "0.0 %", "none", "100.0 %", "0.0 %"]);
    assert_eq!(
        cells(&bench, Some(RATES), "components", "K-1")[3..],
        ["1", "\u{2013}", "\u{2013}", "\u{2013}", "\u{2013}"]
    );
    // A factor common to all rates changes no share, and the row that says most about a way counts.
    let other = RATES.replace("e-6", "e-4") + "F003,,,1e-2,less is said\n";
    assert_eq!(cells(&bench, Some(&other), "components", "PT-1"), weighted);
    // All found is all, to the last part; one in a billion missing is not.
    let sure = "fault,rate_per_h,source\nF005,1,made up\nF003,1e-12,made up\n";
    assert_eq!(cells(&bench, Some("fault,rate_per_h,source\nF005,0.3,x\n"), "components", "PT-1")[4], "100.0 %");
    assert_eq!(cells(&bench, Some(sure), "components", "PT-1")[4], "99.9 %");
}

#[test]
fn a_report_says_whose_rates_it_has_and_what_has_none() {
    let bench = bench();
    bench.put("rates.csv", RATES);
    let said = bench.run(&["campaign", "--report", "one", "--rates", "rates.csv"]).exits(0);
    assert!(said.out.contains("by the rates of rates.csv") && said.out.contains("fault_tree.xml"), "{}", said.out);
    let page = std::fs::read_to_string(bench.path("one/report.md")).expect("written");
    for wanted in
        ["failure rates of rates.csv", "without weight: F005 PT-1, F070 K-1.", "| F001 PT-1 | 3e-6 | made up |"]
    {
        assert!(page.contains(wanted), "{wanted}\n{page}");
    }
    assert!(!page.contains("Every run weighs the same"));
    bench.run(&["campaign", "--report", "one"]).exits(0);
    let page = std::fs::read_to_string(bench.path("one/report.md")).expect("written");
    assert!(page.contains("Every run weighs the same") && !page.contains("Failure rates"), "{page}");
}

#[test]
fn each_mistake_in_a_file_of_rates_is_told_with_its_line_and_what_is_accepted() {
    let head = "fault,mode,tag,rate_per_h,source\n";
    let cases: [(&str, usize, &[&str]); 14] = [
        ("", 1, &["`fault` is missing"]),
        (head, 1, &["no rate"]),
        ("fault,rate,source\nF001,1e-6,x\n", 1, &["no column is called `rate`", "nearest: `rate_per_h`"]),
        ("fault,fault,rate_per_h,source\nF001,F001,1e-6,x\n", 1, &["`fault` is there twice"]),
        ("fault,rate_per_h\nF001,1e-6\n", 1, &["`source` is missing"]),
        (&format!("{head}F0O1,,,1e-6,x\n"), 2, &["no fault is called `F0O1`", "nearest: `F0"]),
        (&format!("{head}\n\nF001,,,1e-6,x\nG001,,,1e-6,x\n"), 5, &["no fault is called `G001`", "F001 to F138"]),
        (&format!("{head}F128,liqiud,,1e-6,x\n"), 2, &["F128 has no mode `liqiud`", "nearest: `liquid`"]),
        (&format!("{head}F001,open,,1e-6,x\n"), 2, &["F001 has no mode `open`", "leave it empty"]),
        (&format!("{head}F001,,PT-2,1e-6,x\n"), 2, &["F001 has no tag `PT-2`", "PT-1"]),
        (&format!("{head}F001,,,0,x\nF003,,,-1e-6,x\n"), 2, &["`0` is no rate", "above 0 to 1"]),
        (&format!("{head}F001,,,NaN,x\n"), 2, &["`NaN` is no rate", "above 0 to 1"]),
        (&format!("{head}F001,,,1e-6,\n"), 2, &["source: it is missing"]),
        (&format!("{head}\nF001,,,1e-6,x\nF001,,,2e-6,y\n"), 4, &["F001 has a rate already, in line 3"]),
    ];
    for (text, line, wanted) in cases {
        let wrong = read_rates(&Source::new("rates.csv", text)).expect_err(text);
        let said = wrong[0].to_string();
        assert!(wanted.iter().all(|one| said.contains(one)), "{said}");
        assert_eq!(wrong[0].line, line, "{said}");
    }
    let bench = bench();
    bench.put("rates.csv", &format!("{head}F001,,,1e-6\n"));
    bench
        .run(&["campaign", "--report", "one", "--rates", "rates.csv"])
        .exits(64)
        .complains(&["rates.csv:2", "4 cells"]);
    bench
        .run(&["campaign", "--report", "one", "--rates", "none.csv"])
        .exits(64)
        .complains(&["no file of rates at `none.csv`"]);
    bench.run(&["campaign", "quick", "--rates", "rates.csv"]).exits(64).complains(&["cannot be used with"]);
    bench.run(&["campaign", "--rates", "rates.csv"]).exits(64).complains(&["--report"]);
    assert!(!bench.path("one/report.md").exists(), "nothing is written where something was refused");
}
