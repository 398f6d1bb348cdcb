//! What upkeep leaves stands in the books of the station: parts, spans and tests, from one run to the next.

use crate::cli_bench::Bench;

fn does(bench: &Bench, name: &str, date: &str, code: i32) {
    let run = ["run", name, "--no-report", "--trace", "none", "--store", "s", "--date", date, "--out", name];
    bench.run(&run).exits(code);
}

/// A worn part is exchanged, a scale is calibrated and a detector tried, each in a run of its own on one store: events and due dates say so.
#[test]
fn upkeep_is_on_record_and_no_longer_due() {
    let bench = Bench::new();
    does(&bench, "vessel_scale_calibration", "2026-03-02", 0);
    does(&bench, "gas_detector_test", "2026-03-03", 0);
    let events = bench.run(&["station", "events", "--store", "s"]).exits(0).out;
    for part in ["WT-1A adjusted", "WT-1B adjusted", "check_weight", "gas_detector"] {
        assert!(events.contains(part), "{part} is missing in:\n{events}");
    }
    let due = bench.run(&["station", "due", "--store", "s"]).exits(0).out;
    assert!(due.contains("proof test: gas detector") && due.contains("made 2026-03-03"), "{due}");

    // What was not passed stays as it was.
    let before = bench.run(&["station", "due", "--json", "--store", "s"]).exits(0).out;
    // Nobody has reset what the trial tripped: the row stands over the next run, whose file expects none.
    does(&bench, "gas_detector_blind", "2026-03-04", 1);
    let after = bench.run(&["station", "due", "--json", "--store", "s"]).exits(0).out;
    let of = |text: &str| {
        let all: serde_json::Value = serde_json::from_str(text).expect("JSON");
        let all = all.as_array().cloned().or_else(|| all["items"].as_array().cloned()).expect("a list");
        let one = all.into_iter().find(|one| one["id"] == "gas_detector").expect("the detector is listed");
        // The date, whatever time has gone since.
        one["used"].as_str().expect("words").to_owned()
    };
    assert_eq!(of(&before), of(&after));
}
