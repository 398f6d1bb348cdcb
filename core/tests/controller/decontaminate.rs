//! A foreign gas that was let into the hoses goes no further: no order but its decontamination opens them, before and after a power cut.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GasVerdict, GiveUp, Outcome, PhaseKind, Sides, WorkOrder};
use valvewright_core::kept::{Boot, Hoses, Kept, Memory, Start};
use valvewright_core::order::{Procedure, Task};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice, Question, Refusal};
use valvewright_core::units::{Milligram, Millis};
use valvewright_core::upkeep::procedures::{needs, steps};

use crate::bench::{Bench, order, report};

const CLEAN: WorkOrder = WorkOrder::upkeep(Procedure::Decontaminate, Milligram(0));
const HOSES: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]);
/// What the rinses let out, mg.
const LET_OUT: i32 = -180_000;

fn woken(hoses: Hoses) -> Bench {
    let mut bench = Bench::new();
    wake(&mut bench, Kept { hoses, ..Kept::COMMISSIONED });
    bench
}

fn wake(bench: &mut Bench, kept: Kept) {
    let start = Start { memory: Memory::Sound(kept), boot: Boot::PowerOn, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench.seconds(5);
}

fn stand(bench: &mut Bench, hoses: f64) {
    let w = &mut bench.world;
    (w.p_low, w.p_high) = (hoses, hoses);
}

/// A cylinder that takes what flows into it down to `least`, Pa, and a person who says yes.
fn cylinder(least: f64) -> impl FnMut(&mut Bench) {
    let mut out = 0.0;
    move |bench| {
        let (on, shut) = (bench.on(), out >= 179.0);
        let mut hoses = bench.world.p_low;
        if on.has(Actuator::Xv5) && on.has(Actuator::Xv10) {
            (bench.world.grams[0], out, hoses) = (bench.world.grams[0] - 0.5, out + 0.5, 400_000.0);
        } else if on.has(Actuator::C1) && on.has(Actuator::Xv3) {
            hoses = (hoses * 0.99).max(30_000.0);
        } else if on.has(Actuator::Xv1) {
            hoses = (hoses * 0.98).max(least);
        } else if shut {
            hoses = 500_000.0;
        }
        stand(bench, hoses);
        if bench.station.job().question().is_some() {
            bench.answer(true);
        }
    }
}

/// A decontamination that has begun, with what AT-1 will say.
fn begun(shares: &[i32]) -> Bench {
    let mut bench = woken(Hoses::Foreign);
    stand(&mut bench, 500_000.0);
    bench.world.reports = shares.iter().map(|share| report(*share, 0, 2, true)).collect();
    bench.start(1, CLEAN);
    assert!(bench.until(90, |b| b.station.job().state() == JobState::Running), "{:?}", bench.notices);
    bench
}

fn over(bench: &Bench) -> bool {
    matches!(bench.station.job().state(), JobState::Ended(_))
}

fn last(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().last().map(|one| one.outcome)
}

/// Shows H04, LC8.
#[test]
fn a_foreign_gas_is_kept_as_what_the_hoses_hold_and_no_order_takes_it_further() {
    for (report_of, verdict) in
        [(report(300, 0, 2, true), GasVerdict::Foreign), (report(900, 90, 2, true), GasVerdict::FlammableForeign)]
    {
        let mut bench = Bench::running(order(&[PhaseKind::Identify, PhaseKind::Recover]));
        stand(&mut bench, 500_000.0);
        bench.world.reports = vec![report_of; 4].into();
        let asked = |b: &Bench| b.station.job().question() == Some(Question::SampleFilterClean);
        assert!(bench.until(90, asked), "{:?}", bench.notices);
        assert_ne!(bench.station.kept().hoses, Hoses::Foreign, "nothing was found yet");
        bench.answer(true);
        assert!(bench.until(600, over), "{:?}", bench.notices);
        assert_eq!(last(&bench), Some(Outcome::Failed(GiveUp::GasRefused(verdict))));
        assert_eq!(bench.station.kept().hoses, Hoses::Foreign);
        // The vehicle goes, and power with it.
        let kept = bench.station.kept().clone();
        wake(&mut bench, kept);
        for (id, kind) in (2..).zip(PhaseKind::ALL) {
            bench.notices.clear();
            bench.start(id, order(&[kind]));
            let refused = bench.notices.contains(&Notice::Refused(Refusal::HosesForeign));
            // Upkeep without a word of its own is the exchange of the filter-drier.
            assert_eq!(refused, kind != PhaseKind::Identify, "{kind:?}: {:?}", bench.notices);
            if !refused {
                bench.give(Command::Abort);
            }
        }
    }
}

#[test]
fn only_what_leaves_every_valve_of_the_hoses_shut_is_done_beside_a_foreign_gas() {
    for of in Procedure::ALL {
        let mut bench = woken(Hoses::Foreign);
        let mass = of.mass().map_or(Milligram(0), |(least, _)| least);
        bench.start(1, WorkOrder::upkeep(of, mass));
        let begins = bench.notices.contains(&Notice::OrderStarted(1));
        assert_eq!(begins, needs(of).is_empty() || of == Procedure::Decontaminate, "{of:?}: {:?}", bench.notices);
    }
}

/// The way of the whole procedure, on what it rests: three rinses, the question for the shut cylinder, two samples, and only then C-1.
#[test]
fn hoses_are_rinsed_once_identified_and_drawn_and_are_the_stations_own_again() {
    let mut bench = begun(&[995, 995]);
    let (mut turn, mut rinses, mut was, mut pumped) = (cylinder(20_000.0), 0, false, false);
    let ended = bench.until_with(
        3_600,
        |b| {
            turn(b);
            let on = b.on();
            let out = on.has(Actuator::Xv5);
            assert!(!out || on.and(HOSES) == HOSES, "through both hoses: {on:?}");
            assert!(!on.has(Actuator::Xv3) || b.station.connection().pure(), "drawn in unidentified");
            rinses += u32::from(out && !was);
            (was, pumped) = (out, pumped | on.has(Actuator::P1));
        },
        over,
    );
    assert!(ended, "{:?}", bench.notices);
    assert_eq!((last(&bench), rinses, pumped), (Some(Outcome::Done), 3, false), "{:?}", bench.notices);
    let asked = |task| {
        bench.notices.iter().filter(|n| matches!(n, Notice::Asked(a) if a.question == Question::Task(task))).count()
    };
    assert_eq!([asked(Task::HangCylinder), asked(Task::ShutMixed)], [1, 1]);
    assert!(
        (LET_OUT - 3_000..=LET_OUT).contains(&bench.station.job().ledger.filled.0),
        "{:?}",
        bench.station.job().ledger
    );
    assert_eq!(bench.station.kept().hoses, Hoses::Used);
    assert_eq!(bench.station.kept().drier, Milligram(0), "what went out passed no filter");
    bench.start(2, order(&[PhaseKind::Recover]));
    assert!(bench.notices.contains(&Notice::OrderStarted(2)), "{:?}", bench.notices);
}

#[test]
fn hoses_that_are_still_foreign_after_the_rinse_stay_so() {
    let mut bench = begun(&[900, 900]);
    let (mut turn, mut drew) = (cylinder(20_000.0), false);
    let each = |b: &mut Bench| {
        turn(b);
        drew |= b.on().has(Actuator::C1);
    };
    assert!(bench.until_with(3_600, each, over), "{:?}", bench.notices);
    assert_eq!(last(&bench), Some(Outcome::Failed(GiveUp::GasRefused(GasVerdict::Foreign))));
    assert_eq!((bench.station.kept().hoses, drew), (Hoses::Foreign, false));
    assert!(bench.station.job().ledger.filled <= Milligram(LET_OUT), "what went out is booked all the same");
}

#[test]
fn a_cylinder_that_takes_nothing_gets_nothing() {
    let mut bench = begun(&[995, 995]);
    let before = bench.world.grams[0];
    assert!(bench.until_with(900, cylinder(300_000.0), over), "{:?}", bench.notices);
    let Some(Outcome::Failed(GiveUp::CylinderFull(p))) = last(&bench) else { panic!("{:?}", bench.notices) };
    assert!((299_000..301_000).contains(&p.0), "{p:?}");
    assert_eq!((bench.station.kept().hoses, bench.world.grams[0]), (Hoses::Foreign, before));
}

#[test]
fn one_hose_alone_is_not_decontaminated_and_couplers_that_leave_end_it() {
    for sides in [Sides::Low, Sides::High] {
        let mut bench = woken(Hoses::Foreign);
        bench.start(1, WorkOrder { sides, ..CLEAN });
        assert!(bench.until(90, over), "{:?}", bench.notices);
        assert_eq!(last(&bench), Some(Outcome::Failed(GiveUp::NotCoupled)));
    }
    let mut bench = begun(&[995, 995]);
    let mut turn = cylinder(20_000.0);
    assert!(bench.until_with(900, &mut turn, |b| b.on().has(Actuator::Xv5)), "{:?}", bench.notices);
    bench.world.open |= valvewright_core::frame::Switches::ZS2_COUPLED;
    assert!(bench.until(1, over), "{:?}", bench.notices);
    bench.seconds(5);
    assert!(bench.on().and(HOSES.or(Actuators::of(&[Actuator::Xv5, Actuator::Xv10]))).is_empty(), "{:?}", bench.on());
    assert_eq!(bench.station.kept().hoses, Hoses::Foreign);
}

/// What the identifier said before the rinse was of another gas than what is drawn in after it.
/// Shows H04, H12.
#[test]
fn an_identification_from_before_the_rinse_clears_nothing() {
    let mut bench = woken(Hoses::Foreign);
    stand(&mut bench, 500_000.0);
    bench.world.reports = vec![report(995, 0, 2, true); 2].into();
    bench.start(1, order(&[PhaseKind::Identify]));
    let yes = |b: &mut Bench| {
        if b.station.job().question().is_some() {
            b.answer(true);
        }
    };
    assert!(bench.until_with(300, yes, over), "{:?}", bench.notices);
    assert!(bench.station.connection().may_recover(), "{:?}", bench.notices);
    bench.world.reports = vec![report(900, 0, 2, true); 2].into();
    bench.start(2, CLEAN);
    assert!(bench.until_with(900, cylinder(20_000.0), over), "{:?}", bench.notices);
    assert_eq!(last(&bench), Some(Outcome::Failed(GiveUp::GasRefused(GasVerdict::Foreign))), "{:?}", bench.notices);
    assert_eq!(bench.station.kept().hoses, Hoses::Foreign);
}

/// A flush would be refused too: the refusal names what comes first.
#[test]
fn a_high_voltage_vehicle_is_sent_to_the_decontamination_first() {
    let mut bench = woken(Hoses::Foreign);
    bench.start(1, WorkOrder { high_voltage: true, ..order(&[PhaseKind::Recover]) });
    assert_eq!(bench.notices.last(), Some(&Notice::Refused(Refusal::HosesForeign)));
}

/// Said no, or cut off by power: nothing of it counts, and the rinse begins anew.
#[test]
fn a_decontamination_that_is_broken_off_leaves_the_hoses_foreign() {
    let mut bench = begun(&[995, 995]);
    let asked = |b: &Bench| b.station.job().question().is_some();
    assert!(bench.until(5, asked), "{:?}", bench.notices);
    bench.answer(false);
    assert!(bench.until(5, over), "{:?}", bench.notices);
    assert_eq!((last(&bench), bench.station.kept().hoses), (Some(Outcome::Failed(GiveUp::Declined)), Hoses::Foreign));

    let mut bench = begun(&[995, 995]);
    let mut turn = cylinder(20_000.0);
    let pure = |b: &Bench| b.station.connection().pure();
    assert!(bench.until_with(3_600, &mut turn, pure), "{:?}", bench.notices);
    let kept = bench.station.kept().clone();
    assert_eq!(kept.hoses, Hoses::Foreign, "identified is not yet drawn in");
    wake(&mut bench, kept);
    bench.start(2, CLEAN);
    let asked = |b: &Bench| b.station.job().question() == Some(Question::Task(Task::HangCylinder));
    assert!(bench.until(120, asked), "{:?}", bench.notices);
}

/// Shows LC8.
#[test]
fn a_record_that_was_restored_does_not_know_what_its_hoses_hold() {
    let restored = Kept::restored(&valvewright_core::kept::Limits::USUAL, 7);
    assert_eq!(restored.hoses, Hoses::Foreign);
}

/// Upkeep passes I14 with no vacuum hold behind it, for what it lets out of the vessel goes into no vehicle.
#[test]
fn liquid_is_let_out_by_those_procedures_alone_that_ask_for_it() {
    let lets_out = |of: &Procedure| steps(*of).iter().any(|step| step.on.has(Actuator::Xv5));
    let all: Vec<Procedure> = Procedure::ALL.into_iter().filter(lets_out).collect();
    assert_eq!(all, [Procedure::Flush, Procedure::Decontaminate]);
}
