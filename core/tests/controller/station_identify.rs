//! Air proof, identification and permissions of a bare station on the scripted bench.

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Switches};
use valvewright_core::interlock::RowId;
use valvewright_core::job::flow::JobState;
use valvewright_core::job::identify::judge;
use valvewright_core::job::{GasVerdict, GiveUp, Outcome, PhaseKind};
use valvewright_core::sense::GasReport;
use valvewright_core::talk::{Command, Notice, Question, Refusal};

use crate::bench::{Bench, FlowSwitch, order, report};

/// A station that was ordered to identify a vehicle whose samples read so, one after the other.
fn identified(reports: &[GasReport]) -> Bench {
    let mut bench = Bench::running(order(&[PhaseKind::Identify]));
    bench.world.reports = reports.iter().copied().collect();
    answer(&mut bench, Question::SampleFilterClean, true);
    assert!(bench.until(1_000, |b| !b.station.job().busy()), "{:?}", bench.notices);
    bench
}

fn answer(bench: &mut Bench, question: Question, yes: bool) {
    assert!(bench.until(60, |b| b.station.job().question() == Some(question)), "not asked: {:?}", bench.notices);
    bench.answer(yes);
}

fn outcome(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().last().map(|r| r.outcome)
}

/// Shows I28, H01.
#[test]
fn nothing_but_the_fan_runs_before_five_air_changes() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(7, order(&[PhaseKind::Recover]));
    let begun = bench.now();
    assert!(
        !bench.on().has(valvewright_core::frame::Actuator::K1),
        "the fan stops, so that the switch can be seen open"
    );
    let mut seen_at = None;
    while bench.station.job().state() == JobState::Starting {
        bench.scan(None);
        assert!(bench.on().without(Actuators::SAFE).is_empty(), "{:?} before the proof", bench.on());
        if seen_at.is_none() && bench.notices.contains(&Notice::ProvingAir) {
            seen_at = Some(bench.now());
        }
        assert!(bench.now() - begun < 120_000, "{:?}", bench.notices);
    }
    // 5 x 0.15 m3 at 60 m3/h is 45 s from the moment the flow is back.
    let flushed = bench.now() - seen_at.expect("the switch was seen open");
    assert!((45_000..45_500).contains(&flushed), "{flushed} ms");
}

/// Shows I28, F045.
#[test]
fn a_stuck_flow_switch_keeps_everything_off() {
    for flow in [FlowSwitch::StuckClosed, FlowSwitch::StuckOpen] {
        let mut bench = Bench::new();
        bench.seconds(5);
        bench.world.flow = flow;
        bench.start(7, order(&[PhaseKind::Identify]));
        for _ in 0..20 * 60 {
            bench.scan(None);
            assert!(bench.on().without(Actuators::SAFE).is_empty(), "{flow:?}: {:?}", bench.on());
        }
        assert!(bench.notices.contains(&Notice::AirNotProven), "{flow:?}: {:?}", bench.notices);
        assert_eq!(bench.station.job().state(), JobState::Ended(false), "{flow:?}");
        assert!(bench.station.job().records().is_empty(), "no phase began");
        // Mended, the next start proves the air and goes on.
        bench.world.flow = FlowSwitch::Follows;
        bench.start(8, order(&[PhaseKind::Identify]));
        assert!(
            bench.until(60, |b| b.station.job().phase() == Some(PhaseKind::Identify)),
            "{flow:?}: {:?}",
            bench.notices
        );
    }
}

#[test]
fn air_that_fails_while_flushing_is_not_proven() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(7, order(&[PhaseKind::Identify]));
    bench.seconds(30);
    bench.world.flow = FlowSwitch::StuckOpen;
    bench.seconds(2);
    assert!(bench.notices.contains(&Notice::AirNotProven), "{:?}", bench.notices);
    assert_eq!(bench.station.job().state(), JobState::Ended(false));
}

/// SAE J2099 precondition (98 %) and SAE J2927 alarm (more than 2 % hydrocarbon), both as told, at their borders.
/// Shows W36, W37.
#[test]
fn one_report_is_judged_by_the_published_limits() {
    let judged = |r: GasReport| judge(&r, Refrigerant::R1234yf);
    assert_eq!(judged(report(980, 0, 0, true)), GasVerdict::Pure);
    assert_eq!(judged(report(979, 0, 0, true)), GasVerdict::Foreign);
    assert_eq!(judged(report(980, 20, 0, true)), GasVerdict::Pure);
    assert_eq!(judged(report(979, 21, 0, true)), GasVerdict::FlammableForeign);
    assert_eq!(judged(report(1_000, 0, 100, true)), GasVerdict::Pure);
    assert_eq!(judged(report(1_000, 0, 101, true)), GasVerdict::Air);
    assert_eq!(judged(report(1_000, 0, 0, false)), GasVerdict::Inconclusive);
    // The right gas for another station is a foreign one for this.
    assert_eq!(judge(&report(1_000, 0, 0, true), Refrigerant::R134a), GasVerdict::Foreign);
}

#[test]
fn two_samples_that_agree_give_the_verdict() {
    for (sample, verdict) in [
        (report(998, 1, 12, true), GasVerdict::Pure),
        (report(980, 20, 0, true), GasVerdict::Pure),
        (report(979, 0, 0, true), GasVerdict::Foreign),
        (report(0, 0, 0, true), GasVerdict::Foreign),
        (report(979, 21, 0, true), GasVerdict::FlammableForeign),
        (report(999, 0, 250, true), GasVerdict::Air),
    ] {
        let bench = identified(&[sample; 2]);
        assert_eq!(bench.station.connection().gas(), verdict, "{sample:?}");
        let expected =
            if verdict == GasVerdict::Pure { Outcome::Done } else { Outcome::Failed(GiveUp::GasRefused(verdict)) };
        assert_eq!(outcome(&bench), Some(expected), "{sample:?}");
    }
}

#[test]
fn one_sample_alone_decides_nothing() {
    let bench = identified(&[report(1_000, 0, 0, true)]);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::IdentifierUnsure)));
    assert_eq!(bench.station.connection().gas(), GasVerdict::Inconclusive);
}

#[test]
fn samples_that_disagree_are_taken_again_and_then_given_up() {
    let (high, low) = (report(1_000, 0, 0, true), report(984, 0, 0, true));
    let settled = identified(&[high, low, low]);
    assert_eq!(settled.station.connection().gas(), GasVerdict::Pure);
    let never = identified(&[high, low, high, low, low, low]);
    assert_eq!(outcome(&never), Some(Outcome::Failed(GiveUp::IdentifierUnsure)));
    assert_eq!(never.station.connection().gas(), GasVerdict::Inconclusive);
    assert_eq!(never.world.reports.len(), 2, "four samples and no more");
    let border = identified(&[report(979, 0, 0, true), report(980, 0, 0, true), report(980, 0, 0, true)]);
    assert_eq!(border.station.connection().gas(), GasVerdict::Pure, "one sample on the wrong side is asked again");
}

/// Shows F036, H12.
#[test]
fn a_sick_or_silent_identifier_is_inconclusive() {
    for reports in [vec![report(1_000, 0, 0, false); 5], Vec::new()] {
        let bench = identified(&reports);
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::IdentifierUnsure)));
        assert_eq!(bench.station.connection().gas(), GasVerdict::Inconclusive);
    }
}

#[test]
fn an_oily_sample_filter_ends_the_phase() {
    let mut bench = Bench::running(order(&[PhaseKind::Identify]));
    answer(&mut bench, Question::SampleFilterClean, false);
    bench.seconds(1);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::SampleFilterOily)));
}

/// Window of 1.7 to 16 bar and 20 s more below it: common practice, no source.
#[test]
fn low_pressure_waits_and_very_low_gives_up() {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (150_000.0, 150_000.0);
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Identify]));
    assert!(bench.until(60, |b| b.station.job().phase().is_some()));
    bench.seconds(19);
    assert_eq!(bench.station.job().question(), None, "still waiting");
    bench.seconds(2);
    assert_eq!(bench.station.job().question(), Some(Question::SampleFilterClean));
    let mut empty = Bench::new();
    (empty.world.p_low, empty.world.p_high) = (110_000.0, 110_000.0);
    empty.seconds(5);
    empty.start(1, order(&[PhaseKind::Identify]));
    assert!(empty.until(90, |b| !b.station.job().busy()));
    assert_eq!(outcome(&empty), Some(Outcome::Failed(GiveUp::PressureTooLow)));
}

/// Shows I05.
#[test]
fn an_identity_ends_with_its_connection() {
    let recover = |bench: &mut Bench, id: u16| {
        bench.start(id, order(&[PhaseKind::Recover]));
        assert!(
            bench.until(60, |b| b.station.job().phase().is_some() || !b.station.job().busy()),
            "{:?}",
            bench.notices
        );
        bench.seconds(20);
    };
    let mut bench = identified(&[report(1_000, 0, 0, true); 2]);
    let mut moved = bench.clone();
    recover(&mut bench, 2);
    assert_eq!(bench.station.job().phase(), Some(PhaseKind::Recover), "{:?}", bench.notices);
    moved.world.open = Switches::ZS2_COUPLED;
    moved.seconds(1);
    moved.world.open = 0;
    moved.seconds(1);
    recover(&mut moved, 2);
    assert_eq!(outcome(&moved), Some(Outcome::Failed(GiveUp::NoIdentity)), "{:?}", moved.notices);
}

/// I05: an identification is good for ten minutes.
#[test]
fn an_identity_older_than_ten_minutes_is_none() {
    let mut bench = identified(&[report(1_000, 0, 0, true); 2]);
    bench.seconds(600);
    bench.start(2, order(&[PhaseKind::Recover]));
    assert!(bench.until(60, |b| !b.station.job().busy()), "{:?}", bench.notices);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NoIdentity)));
}

/// Shows F117.
#[test]
fn the_same_start_is_not_done_twice_and_another_must_wait() {
    let mut bench = Bench::running(order(&[PhaseKind::Identify]));
    bench.seconds(1);
    bench.start(1, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::RepeatedId)));
    bench.start(2, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::Busy)));
    assert_eq!(bench.station.job().phase(), Some(PhaseKind::Identify), "the first goes on");
    bench.give(Command::Abort);
    bench.start(1, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::RepeatedId)), "not even after its end");
    bench.start(3, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::OrderStarted(3)));
}

/// Shows HS-1, LC9.
#[test]
fn a_standing_trip_refuses_start_resume_and_reset() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.world.open = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;
    bench.seconds(1);
    let tripped = Notice::Refused(Refusal::Tripped(RowId::Hs1));
    bench.start(1, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&tripped));
    bench.give(Command::Reset);
    assert_eq!(bench.notices.last(), Some(&tripped), "the cause stands");
    bench.world.open = 0;
    bench.seconds(1);
    bench.start(1, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&tripped), "the latch stands");
    bench.give(Command::Reset);
    assert_eq!(bench.notices.last(), Some(&Notice::Cleared(RowId::Hs1)));
    bench.give(Command::Reset);
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::NothingToReset)));
    bench.start(1, order(&[PhaseKind::Identify]));
    assert_eq!(bench.notices.last(), Some(&Notice::OrderStarted(1)));
}

/// Shows LC9.
#[test]
fn commands_out_of_place_say_why() {
    let mut bench = Bench::new();
    for (command, refusal) in [
        (Command::Confirm(0), Refusal::NoQuestion),
        (Command::Decline(0), Refusal::NoQuestion),
        (Command::Pause, Refusal::NotRunning),
        (Command::Resume, Refusal::NotPaused),
        (Command::Abort, Refusal::NotRunning),
        (Command::Reset, Refusal::NothingToReset),
    ] {
        bench.give(command);
        assert_eq!(bench.notices.last(), Some(&Notice::Refused(refusal)));
    }
}
