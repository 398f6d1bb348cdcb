//! Upkeep on the bare controller: what a step waits for, what ends it, and what is kept of it only once it was shown.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::kept::{Boot, Kept, Limits, Memory, OWED, PROGRAM, Proof, Start};
use valvewright_core::order::{Field, Procedure, Task};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice, Question, Refusal};
use valvewright_core::token::{Code, CodeKey, Kind, Part};
use valvewright_core::units::{Milligram, Millis, Permille};
use valvewright_core::upkeep::procedures;
use valvewright_core::upkeep::steps::Until;

use crate::bench::Bench;

const FIVE: Milligram = Milligram::from_grams(5_000);

/// A procedure that has begun, on a station with this record.
fn begun(kept: Kept, of: Procedure, mass: Milligram) -> Bench {
    let mut bench = Bench::new();
    let start = Start { memory: Memory::Sound(kept), boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.world.p_low = 100_000.0;
    bench.world.p_high = 100_000.0;
    bench.seconds(5);
    bench.start(1, WorkOrder::upkeep(of, mass));
    assert!(bench.until(60, |b| b.notices.contains(&Notice::AirProven)), "{:?}", bench.notices);
    bench
}

fn fresh(of: Procedure, mass: Milligram) -> Bench {
    begun(Kept::COMMISSIONED, of, mass)
}

/// Waits for this task and says that it is done.
fn does(bench: &mut Bench, task: Task) {
    let asked = bench.until(1_000, |b| b.station.job().question() == Some(Question::Task(task)));
    assert!(asked, "{task:?} was not asked: {:?}", bench.notices);
    bench.answer(true);
}

/// How the procedure ended, within so many seconds.
fn ends(bench: &mut Bench, seconds: u32) -> Outcome {
    assert!(bench.until(seconds, |b| !b.station.job().records().is_empty()), "{:?}", bench.notices);
    let record = bench.station.job().records()[0];
    assert_eq!(record.kind, PhaseKind::Upkeep);
    record.outcome
}

/// A weight on the platform that the scale shows as this much, taken off again so that this much is left, g.
fn weighed(of: Procedure, shown: f64, left: f64) -> Bench {
    let mut bench = fresh(of, FIVE);
    does(&mut bench, Task::FreePlatform);
    assert!(bench.until(30, |b| b.station.job().question() == Some(Question::Task(Task::PutWeight))));
    bench.world.grams[0] += shown;
    bench.answer(true);
    assert!(bench.until(60, |b| b.station.job().question() == Some(Question::Task(Task::TakeWeight))));
    bench.world.grams[0] += left - shown;
    bench.answer(true);
    bench
}

/// Shows F109.
#[test]
fn a_wrong_weight_adjusts_nothing() {
    let mut bench = weighed(Procedure::VesselScale, 4_500.0, 0.0);
    let before = bench.station.config().sense.scales;
    assert_eq!(ends(&mut bench, 60), Outcome::Failed(GiveUp::WeightOff(Milligram::from_grams(-500))));
    assert_eq!(bench.station.config().sense.scales, before);
    let tripped = bench.notices.iter().filter(|n| matches!(n, Notice::Tripped(..))).count();
    assert_eq!(tripped, 0, "a weight is no refrigerant: {:?}", bench.notices);
}

#[test]
fn a_span_inside_two_per_cent_is_taken_and_kept() {
    let mut bench = weighed(Procedure::VesselScale, 5_050.0, 0.0);
    let before = bench.station.kept().span;
    assert_eq!(ends(&mut bench, 60), Outcome::Done);
    let after = bench.station.kept().span;
    for bridge in 0..2 {
        let share = f64::from(after[bridge]) / f64::from(before[bridge]);
        assert!((share - 1.0 / 1.01).abs() < 1e-4, "bridge {bridge}: {share}");
        assert_eq!(bench.station.config().sense.scales[bridge].cal.with_gain(after[bridge]).gain(), {
            bench.station.config().sense.scales[bridge].cal.gain()
        });
    }
    assert_eq!(after[2..], before[2..], "the other scales are not touched");
    // The next start weighs by it.
    let start =
        Start { memory: Memory::Sound(bench.station.kept().clone()), boot: Boot::PowerOn, vessel_rest: Millis(0) };
    let woken = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    assert_eq!(woken.config().sense.scales[0].cal, bench.station.config().sense.scales[0].cal);
}

#[test]
fn a_platform_that_does_not_come_back_adjusts_nothing() {
    let mut bench = weighed(Procedure::VesselScale, 5_000.0, 20.0);
    let before = bench.station.kept().span;
    assert_eq!(ends(&mut bench, 60), Outcome::Failed(GiveUp::NoReturn(Milligram::from_grams(20))));
    assert_eq!(bench.station.kept().span, before);
}

/// Another program has weighed nothing yet: nothing is charged by its scales before a weight was seen (I21).
#[test]
fn another_program_leaves_the_scales_unproven_until_they_are_checked() {
    let kept = Kept { program: PROGRAM + 1, ..Kept::COMMISSIONED };
    let mut bench = begun(kept, Procedure::CheckWeight, FIVE);
    assert!(bench.station.interlocks().withheld().has(valvewright_core::row::RowId::I21));
    does(&mut bench, Task::FreePlatform);
    assert!(bench.until(30, |b| b.station.job().question() == Some(Question::Task(Task::PutWeight))));
    bench.world.grams[0] += 5_000.0;
    bench.answer(true);
    assert!(bench.until(60, |b| b.station.job().question() == Some(Question::Task(Task::TakeWeight))));
    bench.world.grams[0] -= 5_000.0;
    bench.answer(true);
    assert_eq!(ends(&mut bench, 60), Outcome::Done);
    assert!(!bench.station.interlocks().withheld().has(valvewright_core::row::RowId::I21));
    assert_eq!(bench.station.kept().program, PROGRAM);
}

/// Nothing is opened, and nobody is told to loosen anything.
#[test]
fn a_line_under_pressure_is_not_opened() {
    let mut bench = fresh(Procedure::FilterDrier, Milligram(0));
    bench.world.p_low = 300_000.0;
    bench.seconds(5);
    let mut on = Actuators::NONE;
    does(&mut bench, Task::ParkCouplers);
    assert!(bench.until_with(30, |b| on = on.or(b.on()), |b| !b.station.job().records().is_empty()));
    let Outcome::Failed(GiveUp::LineLoaded(p)) = bench.station.job().records()[0].outcome else {
        panic!("{:?}", bench.station.job().records())
    };
    assert!((299_000..301_000).contains(&p.0), "{p:?}");
    assert_eq!(on.without(Actuators::SAFE), Actuators::NONE);
}

/// A PT-5 that is stuck low shows a drawn line: with hoses and line joined the hose gauges show what stands there.
/// Shows F134.
#[test]
fn a_line_that_only_its_own_gauge_shows_empty_is_not_opened() {
    let mut bench = fresh(Procedure::FilterDrier, Milligram(0));
    bench.world.p_separator = Some(300_000.0);
    does(&mut bench, Task::ParkCouplers);
    let drawing = Actuators::of(&[Actuator::Xv3, Actuator::Xv4, Actuator::C1]);
    assert!(bench.until(200, |b| b.on().and(drawing) == drawing), "a loaded line is drawn: {:?}", bench.notices);
    bench.world.p_separator = Some(40_000.0);
    let joined = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3]);
    assert!(bench.until(400, |b| b.on().and(joined) == joined), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high) = (300_000.0, 300_000.0);
    let outcome = ends(&mut bench, 60);
    assert!(matches!(outcome, Outcome::Failed(GiveUp::LineLoaded(_) | GiveUp::ReadingBad)), "{outcome:?}");
    let asked = |n: &Notice| matches!(n, Notice::Asked(asked) if asked.question == Question::Task(Task::ChangeDrier));
    assert!(!bench.notices.iter().any(asked), "{:?}", bench.notices);
}

/// With XV-3 withheld hoses and line are not joined, however long that is waited for: nothing is shown empty by it.
#[test]
fn a_line_that_could_not_be_joined_to_the_hoses_is_not_opened() {
    let mut bench = fresh(Procedure::FilterDrier, Milligram(0));
    bench.world.p_separator = Some(40_000.0);
    bench.world.open = Switches::LS2_NOT_HIGH;
    bench.seconds(5);
    does(&mut bench, Task::ParkCouplers);
    let outcome = ends(&mut bench, 900);
    assert!(matches!(outcome, Outcome::Failed(_)), "{outcome:?}");
    let asked = |n: &Notice| matches!(n, Notice::Asked(asked) if asked.question == Question::Task(Task::ChangeDrier));
    assert!(!bench.notices.iter().any(asked), "{:?}", bench.notices);
}

/// Loosened pipes are owed a proof, whatever ends the procedure: the next service waits for the internal leak check.
#[test]
fn a_broken_off_exchange_leaves_its_leak_check_owed() {
    let mut bench = fresh(Procedure::FilterDrier, Milligram(0));
    does(&mut bench, Task::ParkCouplers);
    bench.world.p_separator = Some(40_000.0);
    let asked = bench.until(600, |b| b.station.job().question() == Some(Question::Task(Task::ChangeDrier)));
    assert!(asked, "{:?}", bench.notices);
    assert_eq!(bench.station.kept().due[Proof::InternalLeak as usize], OWED);
    assert!(bench.notices.iter().any(|n| matches!(n, Notice::LineStands(p) if p.0 < 110_000)));
    bench.answer(false);
    assert_eq!(ends(&mut bench, 5), Outcome::Failed(GiveUp::Declined));
    bench.start(2, WorkOrder { phases: PhaseSet::of(&[PhaseKind::Evacuate]), ..WorkOrder::whole(FIVE) });
    bench.seconds(2);
    assert!(bench.station.interlocks().withheld().has(valvewright_core::row::RowId::I27), "{:?}", bench.notices);
}

/// Shows F040.
#[test]
fn a_detector_that_sees_no_test_gas_stays_due_and_one_that_does_is_dated() {
    let due = [1_000; 6];
    let mut blind = begun(Kept { due, ..Kept::COMMISSIONED }, Procedure::GasDetector, Milligram(0));
    does(&mut blind, Task::GiveTestGas);
    assert_eq!(ends(&mut blind, 60), Outcome::Failed(GiveUp::NotProven));
    assert_eq!(blind.station.kept().due, due);

    let mut sees = begun(Kept { due, ..Kept::COMMISSIONED }, Procedure::GasDetector, Milligram(0));
    does(&mut sees, Task::GiveTestGas);
    sees.world.lfl = 20.0;
    assert!(sees.until(30, |b| b.station.job().question() == Some(Question::Task(Task::TakeTestGas))));
    sees.world.lfl = 0.0;
    sees.answer(true);
    assert_eq!(ends(&mut sees, 60), Outcome::Done);
    let date = sees.station.kept().due[Proof::GasDetector as usize];
    assert!(date > 1_000_000 + Proof::GasDetector.good_for(), "{date}");
    assert_eq!(sees.station.kept().due[1..], due[1..], "no other test was made");
}

/// Shows F043.
#[test]
fn a_pressure_switch_that_stays_shut_is_not_proven() {
    let mut stuck = fresh(Procedure::PressureSwitch, Milligram(0));
    does(&mut stuck, Task::PumpUpSwitch);
    assert_eq!(ends(&mut stuck, 60), Outcome::Failed(GiveUp::NotProven));

    let mut opens = fresh(Procedure::PressureSwitch, Milligram(0));
    does(&mut opens, Task::PumpUpSwitch);
    opens.world.open = Switches::PSH1_HEALTHY;
    assert!(opens.until(30, |b| b.station.job().question() == Some(Question::Task(Task::EaseSwitch))));
    opens.world.open = 0;
    opens.answer(true);
    assert_eq!(ends(&mut opens, 60), Outcome::Done);
}

/// LC8: what the store did not take was not done.
#[test]
fn a_procedure_whose_result_is_not_stored_is_not_done() {
    let mut bench = fresh(Procedure::ReliefValve, Milligram(0));
    bench.store_stands = true;
    does(&mut bench, Task::ChangeReliefValve);
    assert_eq!(ends(&mut bench, 60), Outcome::Failed(GiveUp::NotStored));
}

#[test]
fn upkeep_is_ordered_alone_and_by_a_mass_in_its_range() {
    let mut bench = Bench::new();
    bench.seconds(5);
    let both = PhaseSet::of(&[PhaseKind::Evacuate, PhaseKind::Upkeep]);
    let refused = [
        (WorkOrder { phases: both, ..WorkOrder::upkeep(Procedure::InternalLeak, Milligram(0)) }, Field::Phases),
        (WorkOrder::upkeep(Procedure::VesselScale, Milligram(1_999_999)), Field::Mass),
        (WorkOrder::upkeep(Procedure::FillVessel, Milligram(0)), Field::Mass),
    ];
    for (id, (order, field)) in (1..).zip(refused) {
        bench.notices.clear();
        bench.start(id, order);
        assert_eq!(bench.notices, [Notice::Refused(Refusal::OutOfRange(field))]);
    }
    assert!(!PhaseSet::WHOLE.has(PhaseKind::Upkeep));
}

/// Upkeep is what mends what has expired; from four fifths of a life on a new part is called for.
#[test]
fn a_worn_part_is_told_from_four_fifths_on_and_keeps_no_upkeep_off() {
    let most = Limits::USUAL.drier;
    for (share, told) in [(799, false), (800, true), (1_000, true)] {
        let used = Milligram(most.0 / 1_000 * share);
        let bench = begun(Kept { drier: used, ..Kept::COMMISSIONED }, Procedure::SampleFilter, Milligram(0));
        let worn = bench.notices.iter().any(|n| matches!(n, Notice::Worn(_, of) if *of == Permille(share)));
        assert_eq!(worn, told, "{share}: {:?}", bench.notices);
        assert!(!bench.station.interlocks().withheld().has(valvewright_core::row::RowId::I22));
    }
}

/// No table turns on a pair that must not be on, and every one that turns a pump on says how far it may go.
#[test]
fn no_step_asks_for_a_forbidden_pair_or_waits_without_an_end() {
    for of in Procedure::ALL {
        let steps = procedures::steps(of);
        assert!(!steps.is_empty(), "{of:?}");
        for step in steps {
            for (a, b, why) in valvewright_core::drive::FORBIDDEN {
                assert!(!(step.on.has(*a) && step.on.has(*b)), "{of:?}: {why}");
            }
            assert!(!step.on.has(Actuator::Xv6) || step.on.has(Actuator::P1), "{of:?}");
            let waits = matches!(step.until, Until::Done(_) | Until::Life(_));
            assert!(!waits || step.within >= 600, "{of:?}: a person needs time");
        }
    }
}

/// The code is taken while the procedure is held: it is not asked for a second time.
#[test]
fn a_life_given_during_a_pause_is_not_waited_for_again() {
    let mut bench = fresh(Procedure::PumpOil, Milligram(0));
    does(&mut bench, Task::ChangePumpOil);
    assert!(bench.until(5, |b| b.notices.contains(&Notice::CodeAwaited(Part::PumpOil))));
    let code = Code { kind: Kind::PumpOil, serial: 5 }.mint(&CodeKey::DEMO).expect("in range");
    bench.give(Command::Exchanged { part: Part::PumpOil, code });
    bench.give(Command::Pause);
    assert!(bench.until(5, |b| b.notices.contains(&Notice::Exchanged(Part::PumpOil, false))), "{:?}", bench.notices);
    bench.give(Command::Resume);
    bench.world.p_vacuum = 100.0;
    assert_eq!(ends(&mut bench, 60), Outcome::Done);
}

/// Between two codes the order of another part keeps its own: the pump oil's procedure takes no code of a filter-drier.
#[test]
fn a_procedure_takes_the_code_of_its_own_part_and_at_its_step_alone() {
    let mut bench = fresh(Procedure::PumpOil, Milligram(0));
    let code = Code { kind: Kind::PumpOil, serial: 5 }.mint(&CodeKey::DEMO).expect("in range");
    bench.notices.clear();
    bench.give(Command::Exchanged { part: Part::PumpOil, code });
    assert_eq!(bench.notices, [Notice::Refused(Refusal::Busy)], "before its step");
    does(&mut bench, Task::ChangePumpOil);
    bench.seconds(1);
    bench.notices.clear();
    bench.give(Command::Exchanged { part: Part::FilterDrier, code });
    assert_eq!(bench.notices, [Notice::Refused(Refusal::Busy)], "of another part");
}
