//! `valvewright matrix`: the whole table and every row in full, in each form, and what is said where there is no such row.

use crate::cli_bench::Bench;
use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{ROWS, Side};

#[test]
fn the_overview_names_every_row_output_and_first_hazard_within_80_columns() {
    let text = Bench::new().run(&["matrix"]).exits(0).out;
    let table: Vec<&str> = text.lines().skip_while(|line| !line.starts_with("row")).take(ROWS.len() + 1).collect();
    assert_eq!(table.len(), ROWS.len() + 1, "{text}");
    for (line, row) in table[1..].iter().zip(ROWS) {
        assert!(line.starts_with(row.id.as_str()) && line.contains(&row.hazard.to_string()), "{line}");
        let marks: Vec<&str> = line.split_whitespace().skip(1).take(Actuator::ALL.len()).collect();
        for (mark, one) in marks.iter().zip(Actuator::ALL) {
            assert_eq!(mark.contains('X'), row.trip.inhibits.has(one), "{}: {line}", one.tag());
            assert_eq!(mark.contains('P'), row.withholds.has(one), "{}: {line}", one.tag());
            assert_eq!(mark.contains('F'), row.trip.forces.has(one), "{}: {line}", one.tag());
            assert_eq!(mark.contains('S'), row.trip.stops.has(one), "{}: {line}", one.tag());
        }
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn a_row_in_full_says_all_that_the_table_holds_of_it() {
    let bench = Bench::new();
    for row in ROWS {
        let text = bench.run(&["matrix", &row.id.as_str().to_lowercase()]).exits(0).out;
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [row.reset.text(), row.why.text(), &row.hazard.to_string()] {
            assert!(flat.contains(part), "{}: `{part}` is missing in:\n{text}", row.id);
        }
        for set in [row.trip.inhibits, row.trip.stops, row.trip.forces, row.withholds] {
            let tags: Vec<&str> = Actuator::ALL.into_iter().filter(|one| set.has(*one)).map(Actuator::tag).collect();
            assert!(flat.contains(&tags.join(", ")), "{}: {tags:?} are missing in:\n{text}", row.id);
        }
        let holds = row.causes.iter().filter(|one| one.watch.side() != Side::State || one.hold.0 > 0);
        assert!(
            flat.matches(" at or above ").count() + flat.matches(" below ").count() + flat.matches(" for ").count()
                >= holds.count()
        );
    }
    let pump = bench.run(&["matrix", "i11"]).exits(0).out;
    for part in [
        "at or above 80 mbar over the barometer",
        "below 30 mbar over the barometer for 60 s",
        "Stops behind its valve P-1",
        "H08 the vacuum pump sees pressure",
    ] {
        assert!(pump.split_whitespace().collect::<Vec<_>>().join(" ").contains(part), "{part}:\n{pump}");
    }
    assert_eq!(bench.run(&["matrix", "hs1"]).exits(0).out, bench.run(&["matrix", "HS-1"]).exits(0).out);
}

#[test]
fn an_unknown_row_is_refused_with_the_nearest_and_all_of_them() {
    let bench = Bench::new();
    let said = bench.run(&["matrix", "I1"]).exits(64);
    said.complains(&["no interlock row is called `I1`", "nearest: I01, I10, I11;", "HS-1"]);
    for row in ROWS {
        said.complains(&[row.id.as_str()]);
    }
    assert!(said.out.is_empty());
    let json = bench.run(&["matrix", "pump", "--json"]).exits(64).json();
    assert!(json["help"].as_str().is_some_and(|help| help.contains("I11")), "{json}");
}

#[test]
fn json_holds_every_set_point_in_si_with_its_zero() {
    let bench = Bench::new();
    let all = bench.run(&["matrix", "--json"]).exits(0).json();
    assert_eq!(all.as_array().map(Vec::len), Some(ROWS.len()));
    let pump = bench.run(&["matrix", "I11", "--json", "--units", "us", "--pressure", "gauge"]).exits(0).json();
    let inlet = pump["causes"].as_array().expect("a list").iter().find(|one| one["watch"] == "pump_inlet");
    let inlet = inlet.expect("the pump's inlet is watched");
    assert_eq!(inlet["trip"], serde_json::json!({ "value": 8000.0, "unit": "Pa", "from": "barometer" }));
    assert_eq!((&inlet["clear"]["value"], &inlet["clear_hold_s"]), (&3000.0.into(), &2.0.into()));
    assert_eq!(pump["stops_behind_valve"], serde_json::json!(["P-1"]));
    let vessel = bench.run(&["matrix", "I03", "--json"]).exits(0).json();
    assert_eq!(
        vessel["causes"][0]["trip"],
        serde_json::json!({ "value": 1_701_000.0, "unit": "Pa", "from": "vacuum" })
    );
}

#[test]
fn set_points_follow_the_display_and_those_over_the_barometer_take_no_offset() {
    let bench = Bench::new();
    let flat = |arguments: &[&str]| bench.run(arguments).exits(0).out.split_whitespace().collect::<Vec<_>>().join(" ");
    let vessel = flat(&["matrix", "I03", "--pressure", "gauge"]);
    assert!(vessel.contains("at or above 16.00 bar gauge") && vessel.contains("1013 mbar abs"), "{vessel}");
    assert!(flat(&["matrix", "I03"]).contains("at or above 17.01 bar abs"));
    assert!(flat(&["matrix", "I03", "--units", "us"]).contains("at or above 246.7 psi abs"));
    let pump = flat(&["matrix", "I11", "--units", "us", "--pressure", "gauge"]);
    assert!(pump.contains("at or above 1.16 psi over the barometer"), "{pump}");
    assert!(flat(&["matrix", "I12", "--units", "us"]).contains("heater skin (TT-3) at or above 176.0 degF"));
}

#[test]
fn csv_and_page_hold_every_row() {
    let bench = Bench::new();
    let csv = bench.run(&["matrix", "--format", "csv"]).exits(0).out;
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("every row has as many cells")).collect();
    assert_eq!(
        rows.iter().map(|row| row[0].to_owned()).collect::<Vec<_>>(),
        ROWS.iter().map(|r| r.id.to_string()).collect::<Vec<_>>()
    );
    let page = bench.run(&["matrix", "--format", "html"]).exits(0).out;
    for outside in ["http:", "https:", "src=", "@import", "<script"] {
        assert!(!page.contains(outside), "the page refers to {outside}");
    }
    for row in ROWS {
        assert!(page.contains(&format!("id=\"{}\"", row.id.as_str().to_lowercase())), "{} has no card", row.id);
    }
    // Left in the target folder to be looked at in a browser.
    std::fs::write(std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("matrix.html"), page).expect("writable");
    let both = bench.run(&["matrix", "--format", "csv", "--json"]).exits(64).json();
    assert!(both["error"].as_str().is_some_and(|error| error.contains("cannot be used with")), "{both}");
}
