//! Every fault of a controller from outside ends in the safe state with words that name it, and in exit code 2 with what was recorded.

use std::time::{Duration, Instant as Clock};

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::link::FORMAT;
use valvewright_core::units::{Instant, Millis};
use valvewright_sim::board::{BoardError, Outside};
use valvewright_sim::controller::{Controller, Scan, Trouble};

use crate::cli_bench::Bench;

/// The command that starts a client of `tests/clients`.
pub fn client(name: &str) -> String {
    format!("python3 '{}/clients/{name}.py'", env!("CARGO_MANIFEST_DIR"))
}

fn faulty(kind: &str) -> String {
    format!("{} {kind} 10", client("faulty"))
}

fn begun(command: &str, patience: Millis) -> Result<Outside, Trouble> {
    let mut outside = Outside::program(command, patience)?;
    outside.begin(&StationConfig::reference(Refrigerant::R1234yf), &Start::first(Millis(0))).map(|()| outside)
}

/// The words and outputs with which it is lost, after nine good scans.
fn lost(kind: &str, patience: u32) -> (String, Actuators) {
    let mut outside = begun(&faulty(kind), Millis(patience)).expect("it begins");
    assert_eq!((outside.who().name.as_str(), outside.who().joined), ("faulty", "program"));
    let mut notices = Vec::new();
    for scan in 0..40 {
        match outside.scan(Instant(scan * 50), &RawFrame::default(), &mut notices).expect("a program never differs") {
            Scan::Done(outputs) => assert!(outputs.on.has(Actuator::Xv6)),
            Scan::Held(on) => panic!("held: {on:?}"),
            Scan::Lost(loss) => {
                assert!(scan >= 9, "{kind} in scan {scan}: {}", loss.why);
                let again = outside.scan(Instant(9_000), &RawFrame::default(), &mut notices).expect("it stays lost");
                assert_eq!(again, Scan::Lost(loss.clone()));
                return (loss.why, loss.on);
            }
        }
    }
    panic!("{kind} was not noticed");
}

/// Whether the words hold each of these.
fn says(kind: &str, patience: u32, words: &[&str]) {
    let begun = Clock::now();
    let (why, on) = lost(kind, patience);
    for word in words {
        assert!(why.contains(word), "{kind}: `{word}` is not in: {why}");
    }
    assert_eq!(on, Actuators::SAFE, "{kind}");
    assert!(begun.elapsed() < Duration::from_secs(30), "{kind}: noticed after {:?}", begun.elapsed());
}

/// Patience of tests in which nothing is late, ms: two processors may be shared with the rest of the suite.
const LONG: u32 = 20_000;

#[test]
fn an_answer_after_the_patience_is_late() {
    says("late", 1_000, &["question 10", "1000 ms are allowed", "--patience"]);
}

#[test]
fn no_answer_at_all_is_silence() {
    says("silent", 1_000, &["nothing came", "question 10", "for 4000 ms"]);
}

#[test]
fn half_an_answer_is_told_by_its_bytes() {
    says("cut", 1_000, &["bytes and no end of a packet", "question 10"]);
}

#[test]
fn an_end_is_told_with_exit_code_and_last_words() {
    says("dies", LONG, &["exit code 7", "the pump is on fire | giving up"]);
}

#[test]
#[cfg(unix)]
fn a_signal_is_told() {
    says("killed", LONG, &["signal 9"]);
}

/// A child of it lives on and holds its streams open, so that they come to no end.
#[test]
#[cfg(unix)]
fn an_end_is_told_though_its_streams_stay_open() {
    says("orphans", 1_000, &["exit code 7"]);
}

#[test]
fn an_output_that_is_shut_is_told() {
    says("closes", LONG, &["shut its standard input or output"]);
}

#[test]
fn an_answer_to_another_scan_is_told_with_both_numbers() {
    says("other", LONG, &["number 7", "10 was due"]);
}

#[test]
fn a_flood_is_told() {
    says("flood", LONG, &["nobody had asked for"]);
}

#[test]
fn two_answers_for_one_are_told() {
    // Where they come apart, the second is the answer to another question.
    let (why, on) = lost("twice", LONG);
    assert!(why.contains("nobody had asked for") || why.contains("10 came where 11 was due"), "{why}");
    assert_eq!(on, Actuators::SAFE);
}

#[test]
fn bytes_without_an_end_are_told() {
    says("endless", LONG, &["without the end of a packet"]);
}

#[test]
fn a_flipped_bit_is_told() {
    says("garbage", LONG, &["broken", "CRC"]);
}

#[test]
fn text_on_the_line_is_told_as_text() {
    says("text", LONG, &["`pressure is 4.2 bar`", "standard error"]);
}

#[test]
fn what_was_not_asked_is_told() {
    says("ready", LONG, &["`Ready`", "wrong time"]);
}

#[test]
fn an_output_that_there_is_not_is_told() {
    says("output", LONG, &["0x8000"]);
}

#[test]
fn a_controller_that_does_not_trust_its_line_says_what_is_on() {
    let (why, on) = lost("distrusts", LONG);
    assert_eq!((why.as_str(), on), ("700 ms lay between two scans", Actuators(0x4008)));
}

#[test]
fn another_format_is_refused_with_both_numbers() {
    let format = valvewright_core::port::link::FORMAT;
    match begun(&faulty("format"), Millis(LONG)) {
        Err(Trouble::Board(why @ BoardError::Line(_))) => {
            let words = why.to_string();
            assert!(words.contains(&format.to_string()) && words.contains(&(format + 1).to_string()), "{words}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_program_that_is_not_there_is_named() {
    for (command, words) in [
        ("no-such-controller --fast", &["no-such-controller --fast", "does not start"][..]),
        ("python3 'half", &["quote is not closed"]),
        ("  ", &["names no program"]),
    ] {
        match Outside::program(command, Millis(LONG)) {
            Err(why @ BoardError::NoProgram { .. }) => {
                for word in words {
                    assert!(why.to_string().contains(word), "{why}");
                }
            }
            other => panic!("{command}: {other:?}"),
        }
    }
}

#[test]
fn run_refuses_what_does_not_start_before_it_writes() {
    let bench = Bench::new();
    let run = |options: &[&str]| bench.run(&[&["run", "mild_hatchback"], options].concat());
    run(&["--controller", "no-such-controller"]).exits(64).complains(&["no-such-controller", "does not start"]);
    run(&["--controller", "serial:/dev/no-such-port"]).exits(64).complains(&["/dev/no-such-port", "does not open"]);
    run(&["--controller", "serial:"]).exits(64).complains(&["names no port"]);
    run(&["--board", "serial:/dev/no-such-port"]).exits(64).complains(&["/dev/no-such-port", "does not open"]);
    run(&["--board", "serial:/dev/x@fast"]).exits(64).complains(&["300 to 12000000"]);
    run(&["--board", "cable"]).exits(64).complains(&["semihosting, uart, or serial:PORT"]);
    run(&["--board", "uart", "--controller", "true"]).exits(64).complains(&["cannot be used with"]);
    run(&["--board", "serial:/dev/x", "--disturb", "lost@5s"]).exits(64).complains(&["in the emulator"]);
    bench.run(&["replay", "--board", "serial:/dev/no-such-port"]).exits(64).complains(&["/dev/no-such-port"]);
    bench.run(&["replay", "--board", "serial:/dev/x", "--count"]).exits(64).complains(&["in the emulator"]);
    assert!(!bench.path("results").exists(), "nothing may be written");
    run(&["--controller", "true"]).exits(2).complains(&["exit code 0", "Bye"]);
}

/// Late, silent, gone, another scan, a flood: each through the command, whatever was seen by [`lost`].
/// Shows F138.
#[test]
fn run_ends_every_fault_safe_with_its_reason_exit_code_2_and_the_trace_so_far() {
    let faults = [
        ("late", "1000", "came after"),
        ("silent", "1500", "nothing came"),
        ("killed", "20000", "signal"),
        ("other", "20000", "question"),
        ("flood", "20000", "nobody had asked for"),
        ("garbage", "20000", "broken"),
    ];
    for (kind, patience, word) in faults {
        let bench = Bench::new();
        let command = format!("{} {kind} 200", client("faulty"));
        let run = ["run", "mild_hatchback", "--controller", &command, "--patience", patience, "--json"];
        let told = bench.run(&run).exits(2).json();
        let fault = &told["controller"]["fault"];
        assert!(fault["why"].as_str().is_some_and(|why| why.contains(word)), "{kind}: {fault}");
        assert_eq!((&fault["on"], &told["partial"]), (&serde_json::json!(["K-1"]), &true.into()), "{kind}");
        let trace = std::fs::read_to_string(bench.path("results/mild_hatchback/trace-partial.csv"));
        assert!(trace.is_ok_and(|text| text.lines().count() > 20), "{kind}: the trace so far is kept");
        assert!(bench.path("results/mild_hatchback/report.html").is_file(), "{kind}");
    }
    // Another format is found before the first scan: nothing was recorded.
    let command = format!("{} format", client("faulty"));
    let run = ["run", "mild_hatchback", "--controller", &command, "--patience", "20000"];
    Bench::new().run(&run).exits(2).complains(&[&FORMAT.to_string(), &(FORMAT + 1).to_string()]);
}

#[test]
fn run_says_how_a_controller_was_lost_and_keeps_the_trace_so_far() {
    let bench = Bench::new();
    let command = format!("{} dies 600", client("faulty"));
    let run = ["run", "mild_hatchback", "--controller", &command, "--patience", "20000", "--json"];
    let told = bench.run(&run).exits(2).json();
    let fault = &told["controller"]["fault"];
    assert_eq!(told["controller"]["name"], "faulty");
    assert!(fault["why"].as_str().is_some_and(|why| why.contains("exit code 7") && why.contains("on fire")), "{told}");
    assert!(fault["t_s"].as_f64().is_some_and(|t| (t - 29.95).abs() < 0.06), "{fault}");
    assert_eq!(fault["on"], serde_json::json!(["K-1"]));
    let trace = bench.path("results/mild_hatchback/trace-partial.csv");
    let text = std::fs::read_to_string(&trace).expect("the trace so far is kept");
    assert!(text.lines().count() > 50, "{} lines", text.lines().count());
}
