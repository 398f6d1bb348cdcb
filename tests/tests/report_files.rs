//! Results for programs: what the CSV, Arrow and JSON files hold is what the run held.

use arrow_array::{Array, BooleanArray, Float32Array, Float64Array, StringArray};
use arrow_ipc::reader::FileReader;
use valvewright_sim::display::STANDARD;
use valvewright_sim::report::data::{ChannelSpec, Group, Trace, View};
use valvewright_sim::report::{files, text};

fn csv_rows(trace: &Trace) -> Vec<Vec<String>> {
    let mut bytes = Vec::new();
    files::csv(trace, &mut bytes).expect("writes to memory");
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
    reader.records().map(|row| row.expect("every row has as many cells").iter().map(str::to_owned).collect()).collect()
}

#[test]
fn the_csv_holds_every_sample_and_switch() {
    let trace = crate::report_sample::trace();
    let rows = csv_rows(&trace);
    assert_eq!(rows.len(), trace.time_s.len() + 1);
    let column =
        |name: &str| rows[0].iter().position(|head| head == name).unwrap_or_else(|| panic!("no column {name}"));
    let (pt2, wt1, xv3, phase) = (column("pt2 [bar]"), column("wt1 [g]"), column("XV-3"), column("phase"));
    for (row, t_s) in rows[1..].iter().zip(&trace.time_s) {
        assert_eq!(row[0].parse::<f64>().expect("a number"), *t_s);
        let open = (155.0..640.0).contains(t_s) || (700.0..880.0).contains(t_s);
        assert_eq!(row[xv3], if open { "1" } else { "0" }, "XV-3 at {t_s} s");
    }
    for at in [0, 1234, 5400] {
        let row = &rows[at + 1];
        assert_eq!(row[pt2].parse::<f32>().expect("a number"), trace.channel("pt2").expect("there").values[at]);
        assert_eq!(row[wt1].parse::<f32>().expect("a number"), trace.channel("wt1").expect("there").values[at]);
    }
    assert_eq!((rows[1][phase].as_str(), rows[601][phase].as_str()), ("identify", "recover"));
}

#[test]
fn a_missing_value_is_an_empty_cell_and_a_null() {
    let mut trace = Trace::new(vec![ChannelSpec::new("a", "A", "bar", Group::Pressure, View::Shown)], &["XV-1"]);
    trace.record(0.0, &[1.5]);
    trace.record(0.5, &[]);
    trace.switch(0, 0.25, true);
    trace.switch(0, 0.25, true);
    trace.close(0.5);
    assert_eq!(
        csv_rows(&trace),
        [["time [s]", "phase", "a [bar]", "XV-1"], ["0", "", "1.5", "0"], ["0.5", "", "", "0"]]
    );
    let mut bytes = Vec::new();
    files::arrow(&crate::report_sample::result(), &trace, &mut bytes).expect("writes to memory");
    let batch = FileReader::try_new(std::io::Cursor::new(bytes), None)
        .expect("an Arrow file")
        .next()
        .expect("a batch")
        .expect("reads");
    assert!(batch.column_by_name("a").expect("there").is_null(1));
}

#[test]
fn the_arrow_file_holds_the_same_with_its_units() {
    let (result, mut trace) = (crate::report_sample::result(), crate::report_sample::trace());
    trace.partial = true;
    let mut bytes = Vec::new();
    files::arrow(&result, &trace, &mut bytes).expect("writes to memory");
    let mut reader = FileReader::try_new(std::io::Cursor::new(bytes), None).expect("an Arrow file");
    let schema = reader.schema();
    assert_eq!(schema.metadata()["trace_hash"], result.trace_hash);
    assert_eq!(schema.metadata()["partial"], "true");
    assert_eq!(schema.field_with_name("pt2").expect("there").metadata()["unit"], "bar");
    assert_eq!(schema.field_with_name("pt2_true").expect("there").metadata()["view"], "true");
    let batch = reader.next().expect("a batch").expect("reads");
    assert!(reader.next().is_none());
    let times = batch.column_by_name("time").and_then(|c| c.as_any().downcast_ref::<Float64Array>()).expect("times");
    assert_eq!(times.values().as_ref(), trace.time_s.as_slice());
    let masses = batch.column_by_name("wt1").and_then(|c| c.as_any().downcast_ref::<Float32Array>()).expect("masses");
    assert_eq!(masses.values().as_ref(), trace.channel("wt1").expect("there").values.as_slice());
    let pump = batch.column_by_name("P-1").and_then(|c| c.as_any().downcast_ref::<BooleanArray>()).expect("a switch");
    assert_eq!((pump.value(2047), pump.value(2048), pump.value(3739), pump.value(3740)), (false, true, true, false));
    let phases = batch.column_by_name("phase").and_then(|c| c.as_any().downcast_ref::<StringArray>()).expect("phases");
    assert_eq!(phases.value(4000), "leak_check");
}

#[test]
fn the_json_keeps_the_names_that_others_read() {
    let json: serde_json::Value =
        serde_json::from_str(&files::json(&crate::report_sample::result()).expect("has a form")).expect("is JSON");
    assert_eq!(json["recovered_g"]["shown"], 441.2);
    assert_eq!(json["recovered_g"]["true"], 438.9);
    assert_eq!(json["charged_g"]["target"], 480.0);
    assert_eq!(json["charged_g"]["true"], 476.7);
    assert_eq!(json["leak"]["pa_m3_per_s"], 2.1e-4);
    assert_eq!(json["interlocks"][0]["cleared_t_s"], 423.0);
    assert_eq!(json["phases"][1]["outcome"], "pass");
    assert_eq!(json["verdict"], "pass");
    assert_eq!(json["units"], "metric, pressures absolute");
}

#[test]
fn the_summary_tells_figures_phases_and_failed_expectations() {
    let mut result = crate::report_sample::result();
    result.expectations[1].held = false;
    let summary = text::summary("A hatchback", &result, &STANDARD);
    let plain = anstream::adapter::strip_str(&summary).to_string();
    for part in [
        "A hatchback   PASS",
        "441.2       438.9        +2.3 g",
        "480.4       476.7        +3.7 g",
        "(true charge -3.3 g off)",
        "as refrigerant below 127 g/year",
        "smallest this hold could see: 8.00e\u{2212}5 Pa m3/s, 35 g/year",
        "✕ failed charged_within = 15 g",
        "67 500 x real time",
        "I10",
    ] {
        assert!(plain.contains(part), "`{part}` is missing in:\n{plain}");
    }
    assert_eq!(result.exit_code(), 1);
    result.partial = true;
    assert_eq!(result.exit_code(), 2);
}
