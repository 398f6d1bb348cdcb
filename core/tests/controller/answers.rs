//! Questions and their answers, notices that nobody takes, latches that wait for a press.

use valvewright_core::frame::{Actuator, Lamp, Switches};
use valvewright_core::interlock::RowId;
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::talk::{Command, NOTICE_DEPTH, Notice, Question, Refusal};
use valvewright_core::units::Millis;

use crate::bench::{Bench, order, report};
use crate::connection::{asked, coupled};

const STOP: u16 = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;

fn number(bench: &Bench) -> u16 {
    bench.station.job().asked().expect("a question is open").number
}

fn said(bench: &Bench, notice: &Notice) -> usize {
    bench.notices.iter().filter(|n| *n == notice).count()
}

/// Up to the first of the two questions that follow each other without a pause.
fn draw_in() -> Bench {
    let mut bench = coupled();
    bench.world.p_vessel = 750_000.0;
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::LeakCheck, PhaseKind::Charge, PhaseKind::ClearHoses]));
    assert!(bench.until(100, |b| b.station.job().phase().is_some()));
    bench.seconds(10);
    bench.world.p_vacuum = 120.0;
    assert!(bench.until(400, |b| b.station.job().phase() == Some(PhaseKind::Charge)), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
    for _ in 0..20 * 900 {
        if bench.on().has(Actuator::Xv5) {
            bench.world.grams[0] -= 0.5;
        }
        bench.scan(None);
        if bench.station.job().question().is_some() {
            break;
        }
    }
    assert_eq!(bench.station.job().question(), Some(Question::DrawIn), "{:?}", bench.notices);
    bench
}

#[test]
fn two_presses_answer_one_question() {
    for (first, second) in [
        (Command::Decline as fn(u16) -> Command, Command::Confirm as fn(u16) -> Command),
        (Command::Confirm, Command::Confirm),
    ] {
        let mut bench = draw_in();
        let n = number(&bench);
        bench.give(first(n));
        assert_eq!(bench.station.job().question(), None, "answered is closed");
        for _ in 0..5 {
            bench.give(second(n));
        }
        assert!(bench.until(400, |b| b.station.job().question().is_some()));
        assert_eq!(bench.station.job().question(), Some(Question::ShutCouplers));
        assert!(number(&bench) > n);
        bench.give(second(n));
        assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::QuestionClosed)]));
        assert_eq!(bench.station.job().question(), Some(Question::ShutCouplers), "still open");
    }
}

/// A press in any scan around the time-out answers the question it was meant for, or none.
#[test]
fn a_press_that_comes_with_the_time_out_answers_no_other_question() {
    let mut bench = draw_in();
    let n = number(&bench);
    bench.seconds(1_195);
    let mut late = 0;
    for _ in 0..200 {
        bench.scan(None);
        let mut pressed = bench.clone();
        pressed.notices.clear();
        pressed.give(Command::Confirm(n));
        let refused = pressed.notices.iter().any(|n| matches!(n, Notice::Refused(_)));
        pressed.seconds(1);
        // Taken, it has the vehicle draw in; refused, the next question stands.
        let next = pressed.station.job().question();
        assert_eq!(next, refused.then_some(Question::ShutCouplers), "{:?}", pressed.notices);
        late += u32::from(refused);
    }
    assert!((1..200).contains(&late), "the time-out is among the scans tried: {late}");
}

/// Numbers go on over orders, aborts and pauses, and a number from the future is none.
#[test]
fn a_press_answers_nothing_but_its_own_number() {
    let mut bench = coupled();
    asked(&mut bench, 1, &[PhaseKind::Identify]);
    let first = number(&bench);
    bench.give(Command::Abort);
    bench.give(Command::Confirm(first));
    assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::NoQuestion)]));
    asked(&mut bench, 2, &[PhaseKind::Identify]);
    let second = number(&bench);
    assert!(second > first);
    bench.give(Command::Pause);
    bench.give(Command::Resume);
    bench.seconds(1);
    let third = number(&bench);
    assert!(third > second, "a question that is asked again is another");
    for stale in [0, first, second, third + 1, u16::MAX] {
        bench.give(Command::Decline(stale));
        assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::QuestionClosed)]), "{stale}");
    }
    assert_eq!(number(&bench), third);
}

/// The answer comes in the very scan in which a trip holds the job.
#[test]
fn an_answer_that_meets_a_trip_is_refused_and_asked_for_again() {
    let mut bench = coupled();
    asked(&mut bench, 1, &[PhaseKind::Identify]);
    let n = number(&bench);
    bench.world.open = STOP;
    while bench.station.job().state() == JobState::Running {
        let mut pressed = bench.clone();
        pressed.give(Command::Decline(n));
        if pressed.station.job().state() == JobState::Paused {
            assert_eq!(said(&pressed, &Notice::Refused(Refusal::NoQuestion)), 1, "{:?}", pressed.notices);
        }
        bench.scan(None);
    }
    bench.world.open = 0;
    bench.seconds(1);
    bench.give(Command::Reset);
    bench.give(Command::Resume);
    bench.seconds(1);
    assert!(number(&bench) > n);
}

/// Shows F099.
#[test]
fn a_flood_pushes_no_trip_out() {
    let mut bench = coupled();
    bench.notices.clear();
    bench.deaf = true;
    for id in 0..40 {
        bench.start(id, order(&[PhaseKind::Identify]));
        bench.give(Command::Abort);
        bench.scan_after(300, None);
    }
    // Until the late scans are forgotten: the button is to be the first cause.
    bench.seconds(3);
    bench.world.open = STOP;
    bench.seconds(1);
    bench.world.open |= Switches::ZS1_DOOR_SHUT;
    bench.world.lfl = 40.0;
    bench.seconds(2);
    bench.deaf = false;
    bench.scan(None);
    assert!(bench.station.lost_notices() > 0, "it was a flood");
    let told = |row| {
        bench.notices.iter().find_map(|n| match n {
            Notice::Tripped(of, first) if *of == row => Some(first.is_some()),
            _ => None,
        })
    };
    assert_eq!([RowId::Hs1, RowId::I28, RowId::I01].map(told), [Some(true); 3], "{:?}", bench.notices);
}

#[test]
fn what_repeats_is_counted_and_not_queued() {
    let mut bench = coupled();
    bench.notices.clear();
    bench.deaf = true;
    for step in [300, 900, 400].into_iter().cycle().take(60) {
        bench.scan_after(step, Some(Command::Reset));
    }
    bench.deaf = false;
    bench.scan(None);
    assert_eq!(said(&bench, &Notice::LateScan(Millis(900))), 1, "the longest: {:?}", bench.notices);
    assert_eq!(said(&bench, &Notice::Refused(Refusal::NothingToReset)), 1);
    assert_eq!(bench.station.lost_notices(), 0);
    assert!(bench.station.repeated_notices() >= 118, "{}", bench.station.repeated_notices());
}

/// Whoever listens again must not believe a row free that has tripped anew.
#[test]
fn the_last_word_on_a_row_is_true() {
    let mut bench = coupled();
    bench.notices.clear();
    bench.deaf = true;
    for _ in 0..NOTICE_DEPTH * 2 {
        bench.world.open = STOP;
        bench.seconds(1);
        bench.world.open = 0;
        bench.seconds(1);
        bench.give(Command::Reset);
    }
    let mut free = bench.clone();
    bench.world.open = STOP;
    bench.seconds(1);
    for (mut bench, tripped) in [(bench, true), (free.clone(), false)] {
        bench.deaf = false;
        bench.scan(None);
        let last = bench.notices.iter().rev().find_map(|n| match n {
            Notice::Tripped(RowId::Hs1, _) => Some(true),
            Notice::Cleared(RowId::Hs1) => Some(false),
            _ => None,
        });
        assert_eq!(last, Some(tripped), "{:?}", bench.notices);
        assert_eq!(bench.station.lost_notices(), 0);
    }
    free.seconds(1);
}

/// LC3: a restart of motion needs a press, wherever the trip came.
#[test]
fn a_trip_before_the_first_phase_holds_the_order_until_it_is_reset() {
    let mut bench = coupled();
    bench.start(1, order(&[PhaseKind::Identify]));
    bench.seconds(20);
    bench.world.open = Switches::ZS1_DOOR_SHUT;
    bench.seconds(5);
    bench.world.open = 0;
    bench.seconds(120);
    assert_eq!(bench.station.job().state(), JobState::Paused);
    assert!(bench.station.interlocks().latched().has(RowId::I28));
    bench.give(Command::Resume);
    assert!(bench.notices.ends_with(&[Notice::Refused(Refusal::Tripped(RowId::I28))]));
    bench.give(Command::Reset);
    bench.give(Command::Resume);
    assert_eq!(said(&bench, &Notice::AirProven), 0);
    assert!(bench.until(100, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    assert_eq!(said(&bench, &Notice::AirProven), 1, "the air is proven anew");
}

#[test]
fn the_third_separator_event_waits_for_a_press_and_not_for_a_phase() {
    let mut bench = coupled();
    bench.start(1, order(&[PhaseKind::Identify]));
    bench.seconds(15);
    for _ in 0..3 {
        bench.world.open = Switches::LS2_NOT_HIGH;
        bench.seconds(1);
        bench.world.open = 0;
        bench.seconds(3);
    }
    bench.seconds(60);
    assert!(bench.station.interlocks().latched().has(RowId::I10), "{:?}", bench.notices);
    bench.give(Command::Reset);
    bench.give(Command::Resume);
    assert!(bench.until(100, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
}

/// Liquid stands at LS-2 for the third time: with XV-3 shut C-1 boils it off, and only then the order waits for the press.
/// Shows I10, H07.
#[test]
fn a_separator_that_is_full_for_the_third_time_is_emptied_before_the_press() {
    let mut bench = Bench::new();
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.seconds(200);
    bench.start(1, order(&[PhaseKind::Identify, PhaseKind::Recover]));
    // What C-1 boils off arrives in the vessel.
    let boils = |b: &mut Bench, seconds: u32| {
        for _ in 0..seconds * 20 {
            b.world.grams[0] += if b.on().has(Actuator::C1) { 0.2 } else { 0.0 };
            b.scan(None);
        }
    };
    let draws = |b: &mut Bench| {
        if b.station.job().question().is_some() {
            b.answer(true);
        }
        b.on().has(Actuator::C1)
    };
    assert!(
        (0..20 * 900).any(|_| {
            bench.scan(None);
            draws(&mut bench)
        }),
        "{:?}",
        bench.notices
    );
    (bench.world.p_low, bench.world.p_high) = (600_000.0, 600_000.0);
    bench.world.p_separator = Some(500_000.0);
    for open in [Switches::LS2_NOT_HIGH, 0, Switches::LS2_NOT_HIGH, 0, Switches::LS2_NOT_HIGH] {
        bench.world.open = open;
        boils(&mut bench, 3);
    }
    assert!(bench.station.interlocks().latched().has(RowId::I10), "{:?}", bench.notices);
    bench.give(Command::Reset);
    assert!(bench.station.interlocks().latched().has(RowId::I10), "liquid still stands there");
    assert!(bench.on().has(Actuator::C1) && !bench.on().has(Actuator::Xv3), "{:?}", bench.on());
    bench.world.open = 0;
    boils(&mut bench, 5);
    assert!(bench.on().has(Actuator::C1) && !bench.on().has(Actuator::Xv3), "it boils on: {:?}", bench.on());
    bench.world.p_separator = Some(30_000.0);
    boils(&mut bench, 5);
    assert_eq!(bench.station.job().state(), JobState::Paused, "{:?}", bench.notices);
    bench.give(Command::Resume);
    assert_eq!(bench.station.job().state(), JobState::Paused, "not before the press");
    bench.give(Command::Reset);
    bench.give(Command::Resume);
    assert_eq!(bench.station.job().state(), JobState::Running, "{:?}", bench.notices);
}

/// Shows LC9.
#[test]
fn a_reset_that_frees_nothing_names_the_row() {
    let mut bench = Bench::new();
    bench.world.grams[0] = 10_500.0;
    bench.seconds(20);
    bench.notices.clear();
    bench.give(Command::Reset);
    assert_eq!(bench.notices, [Notice::Refused(Refusal::Tripped(RowId::I02))]);
    bench.world.grams[0] = 6_000.0;
    bench.seconds(20);
    bench.give(Command::Reset);
    assert_eq!(said(&bench, &Notice::Cleared(RowId::I02)), 1, "{:?}", bench.notices);
}

#[test]
fn a_pause_before_the_first_phase_is_obeyed() {
    for seconds in [0, 1, 10, 40] {
        let mut bench = coupled();
        bench.start(1, order(&[PhaseKind::Identify]));
        bench.seconds(seconds);
        bench.give(Command::Pause);
        bench.seconds(120);
        assert_eq!(bench.station.job().state(), JobState::Paused);
        assert!(bench.on().has(Actuator::K1), "the fan does not stay off for its test");
        assert_eq!(said(&bench, &Notice::AirProven), 0);
        bench.give(Command::Resume);
        assert_eq!(bench.station.job().state(), JobState::Starting);
        assert!(bench.until(100, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    }
}

#[test]
fn the_lamp_is_not_green_while_a_row_holds_something_back() {
    let mut bench = Bench::running(order(&[PhaseKind::Evacuate]));
    bench.scan(None);
    assert_eq!(bench.outputs.lamp, Lamp::Green);
    bench.world.open = Switches::LS2_NOT_HIGH;
    bench.seconds(1);
    assert!(bench.station.interlocks().latched().is_empty());
    bench.world.open = 0;
    bench.scan(None);
    assert_ne!(bench.outputs.lamp, Lamp::Green, "{:?}", bench.station.interlocks().tripped());
}
