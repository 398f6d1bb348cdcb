//! Host against board: the first field that differs is named, and nothing is named where all is equal.

use valvewright_core::frame::{Actuator, Actuators, Lamp, Outputs, SerialChunk};
use valvewright_core::port::link::{Answer, Took};
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::{Instant, Millis};
use valvewright_sim::board::compare::{HostScan, first_field, first_line};
use valvewright_sim::board::disturb::{Disturbance, Kind};
use valvewright_sim::board::noise;
use valvewright_tests::job_runs::Run;

fn answer() -> Answer {
    Answer { outputs: Outputs::default(), notices: heapless::Vec::new(), state: 5, took: Took::default() }
}

fn named(change: impl FnOnce(&mut Answer)) -> Option<(String, String, String)> {
    let mut board = answer();
    change(&mut board);
    let outputs = Outputs::default();
    first_field(&HostScan { outputs: &outputs, notices: &[], state: 5 }, &board)
}

fn words(field: &str, host: &str, board: &str) -> Option<(String, String, String)> {
    Some((field.to_owned(), host.to_owned(), board.to_owned()))
}

#[test]
fn equal_scans_differ_in_nothing() {
    assert_eq!(named(|_| ()), None);
    assert_eq!(named(|board| board.took = Took { tick: 9, whole: 99 }), None);
}

#[test]
fn each_field_is_named_with_both_values() {
    let on = |board: &mut Answer| board.outputs.on = Actuators::of(&[Actuator::Xv1, Actuator::C1]);
    assert_eq!(named(on), words("outputs.on", "nothing", "XV-1+C-1"));
    assert_eq!(named(|board| board.outputs.lamp = Lamp::Red), words("outputs.lamp", "White", "Red"));
    assert_eq!(named(|board| board.outputs.buzzer = true), words("outputs.buzzer", "false", "true"));
    let sent = |board: &mut Answer| board.outputs.identifier = SerialChunk::from_slice(&[7]).expect("one byte fits");
    assert_eq!(named(sent), words("outputs.identifier", "[]", "[7]"));
    let told = |board: &mut Answer| board.notices.push(Notice::LateScan(Millis(300))).expect("one notice fits");
    assert_eq!(named(told), words("notices[0]", "none", "LateScan(Millis(300))"));
    assert_eq!(named(|board| board.state = 6), words("state", "0000000000000005", "0000000000000006"));
}

#[test]
fn a_field_deep_in_the_state_is_named_by_its_path() {
    let run = Run::shipped("large_leak");
    let frames = &run.outcome.tape.frames;
    let (mut host, mut board) = (run.fresh_station(), run.fresh_station());
    for (ms, frame) in frames.iter().take(400) {
        host.tick(Instant(*ms), frame);
        board.tick(Instant(*ms), frame);
    }
    let text = |station: &Station| format!("{station:#?}");
    assert_eq!(first_line(&text(&host), &text(&board)), None);
    let (ms, frame) = &frames[400];
    let mut other = frame.clone();
    other.analog[7] = 0;
    host.tick(Instant(*ms), frame);
    board.tick(Instant(*ms), &other);
    let (field, mine, theirs) = first_line(&text(&host), &text(&board)).expect("the states differ");
    assert!(field.starts_with("sense.channels."), "{field}");
    assert_ne!(mine, theirs);
}

#[test]
fn a_disturbance_is_read_from_its_words() {
    for (name, kind) in Kind::ALL {
        let read = format!("{name}@1.5s").parse::<Disturbance>();
        assert_eq!(read, Ok(Disturbance { kind, at: Millis(1_500) }));
    }
    assert_eq!("lost@20".parse::<Disturbance>().map(|d| d.at), Ok(Millis(20_000)));
    for (wrong, says) in [
        ("lost", "names no time"),
        ("torn@5s", "`torn` is no way"),
        ("lost@soon", "`soon` is no time"),
        ("lost@-1s", "from 0s to 86400s"),
        ("lost@nans", "is no time"),
    ] {
        let told = wrong.parse::<Disturbance>().expect_err(wrong);
        assert!(told.contains(says), "{wrong}: {told}");
    }
}

#[test]
fn noise_reaches_phases_trips_and_refusals() {
    let mut station = Station::new(
        valvewright_core::config::StationConfig::reference(valvewright_core::fluid::Refrigerant::R1234yf),
        Millis(0),
    );
    let (mut begun, mut tripped, mut refused, mut late) = (0, 0, 0, 0);
    for (ms, frame) in noise::frames(0, 60_000, 50) {
        station.tick(Instant(ms), &frame);
        for notice in std::iter::from_fn(|| station.take_notice()) {
            match notice {
                Notice::OrderStarted(_) => begun += 1,
                Notice::Tripped(..) => tripped += 1,
                Notice::Refused(_) => refused += 1,
                Notice::LateScan(_) => late += 1,
                _ => {}
            }
        }
    }
    assert!(begun > 3 && tripped > 20 && refused > 20 && late > 3, "{begun} {tripped} {refused} {late}");
}

#[test]
fn noise_can_be_had_again() {
    assert_eq!(noise::frames(3, 500, 20), noise::frames(3, 500, 20));
    assert_ne!(noise::frames(3, 500, 20), noise::frames(4, 500, 20));
}
