//! What is known of a connection: whose it is, how long it holds, what takes it back; and the order that ends with it.

use valvewright_core::frame::{Actuator, Switches};
use valvewright_core::interlock::RowId;
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GasVerdict, GiveUp, LeakVerdict, Outcome, PhaseKind, WorkOrder};
use valvewright_core::sense::GasReport;
use valvewright_core::talk::{Command, Notice, Question, Refusal};
use valvewright_core::units::Milligram;

use crate::bench::{Bench, order, report};

pub fn pure() -> GasReport {
    report(998, 1, 5, true)
}

pub fn outcome(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().last().map(|r| r.outcome)
}

/// A station that stands coupled, its scales at rest.
pub fn coupled() -> Bench {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench
}

/// The same under vacuum, with pressure in the vessel.
pub fn evacuated() -> Bench {
    let mut bench = Bench::new();
    bench.world.p_vessel = 750_000.0;
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
    bench.seconds(5);
    bench
}

/// An order up to its question about the sample filter.
pub fn asked(bench: &mut Bench, id: u16, phases: &[PhaseKind]) {
    bench.start(id, order(phases));
    assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
}

pub fn identify(bench: &mut Bench, id: u16, samples: &[GasReport], clean: bool) {
    bench.world.reports = samples.iter().copied().collect();
    asked(bench, id, &[PhaseKind::Identify]);
    bench.answer(clean);
    assert!(bench.until(1_000, |b| !b.station.job().busy()), "{:?}", bench.notices);
}

/// Whether a recovery opens the way to the vessel.
pub fn recovers(bench: &mut Bench, id: u16) -> bool {
    bench.start(id, order(&[PhaseKind::Recover]));
    let opened = bench.until(300, |b| b.on().has(Actuator::Xv3) || !b.station.job().busy());
    opened && bench.on().has(Actuator::Xv3)
}

/// A leak check in which the gauge moves on shutting and then climbs by so much each scan, up to its end or to `until` s.
fn hold(bench: &mut Bench, id: u16, phases: &[PhaseKind], climb: f64, until: u32) {
    bench.world.p_vacuum = 100.0;
    bench.start(id, order(phases));
    assert!(bench.until(600, |b| b.station.job().phase() == Some(PhaseKind::LeakCheck)), "{:?}", bench.notices);
    bench.seconds(10);
    bench.world.p_vacuum = 120.0;
    for _ in 0..until * 20 {
        if !bench.station.job().busy() {
            break;
        }
        bench.world.p_vacuum += climb;
        bench.scan(None);
    }
}

fn charges(bench: &mut Bench, id: u16) -> bool {
    (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
    bench.start(id, order(&[PhaseKind::Charge]));
    let opened = bench.until(300, |b| b.on().has(Actuator::Xv5) || !b.station.job().busy());
    opened && bench.on().has(Actuator::Xv5)
}

pub fn move_couplers(bench: &mut Bench, seconds: u32) {
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(seconds);
    bench.world.open = 0;
    bench.seconds(5);
}

/// I05: a fail latches until the couplers are removed.
/// Shows I05, F121, F122, H04.
#[test]
fn a_refused_gas_stays_refused_until_the_couplers_move() {
    let bad = [
        (report(500, 0, 0, true), GasVerdict::Foreign),
        (report(900, 60, 0, true), GasVerdict::FlammableForeign),
        (report(999, 0, 300, true), GasVerdict::Air),
        (report(0, 0, 1_000, true), GasVerdict::Air),
    ];
    for (sample, verdict) in bad {
        let mut bench = coupled();
        identify(&mut bench, 1, &[sample; 2], true);
        assert_eq!(bench.station.connection().gas(), verdict);
        identify(&mut bench, 2, &[pure(); 2], true);
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::RefusalStands(verdict))));
        // Neither an oily filter nor a silent device is a way round it.
        identify(&mut bench, 3, &[], false);
        assert_eq!(bench.station.connection().gas(), verdict);
        assert!(!recovers(&mut bench, 4), "{verdict:?}");
        move_couplers(&mut bench, 2);
        identify(&mut bench, 5, &[pure(); 2], true);
        assert_eq!(bench.station.connection().gas(), GasVerdict::Pure, "{verdict:?} is not the next vehicle's");
        // What a foreign gas left in the hoses outlives its vehicle; air leaves nothing.
        let clean = verdict == GasVerdict::Air;
        assert_eq!(recovers(&mut bench, 6), clean, "{:?}", bench.notices);
        assert_eq!(bench.notices.last() == Some(&Notice::Refused(Refusal::HosesForeign)), !clean);
    }
}

/// Hazard H12: what is asked anew is open until it is answered.
/// Shows I05, H12.
#[test]
fn an_identification_begun_anew_takes_the_earlier_pass_back() {
    let mut passed = coupled();
    identify(&mut passed, 1, &[pure(); 2], true);
    assert!(recovers(&mut passed.clone(), 2));

    let mut oily = passed.clone();
    identify(&mut oily, 2, &[], false);
    assert_eq!(outcome(&oily), Some(Outcome::Failed(GiveUp::SampleFilterOily)));
    let mut silent = passed.clone();
    identify(&mut silent, 2, &[], true);
    let mut broken_off = passed;
    broken_off.world.reports = [report(500, 0, 0, true)].into_iter().collect();
    asked(&mut broken_off, 2, &[PhaseKind::Identify]);
    broken_off.answer(true);
    broken_off.seconds(5);
    broken_off.give(Command::Abort);
    for mut bench in [oily, silent, broken_off] {
        assert_ne!(bench.station.connection().gas(), GasVerdict::Pure);
        assert!(!recovers(&mut bench, 3), "{:?}", bench.notices);
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NoIdentity)));
    }
}

/// The row itself counts the ten minutes, not the phase alone.
/// Shows I05.
#[test]
fn an_old_identity_withholds_the_way_to_the_vessel() {
    let mut bench = coupled();
    identify(&mut bench, 1, &[pure(); 2], true);
    bench.seconds(590);
    assert!(!bench.station.interlocks().withheld().has(RowId::I05));
    bench.seconds(20);
    assert!(bench.station.interlocks().withheld().has(RowId::I05));
}

/// What nobody watched may have been another vehicle.
#[test]
fn a_gap_in_the_scans_ends_what_was_known() {
    let mut bench = coupled();
    identify(&mut bench, 1, &[pure(); 2], true);
    bench.start(2, order(&[PhaseKind::Recover]));
    assert!(bench.until(300, |b| b.on().has(Actuator::Xv3)));
    bench.give(Command::Pause);
    bench.seconds(5);
    let mut longer = bench.clone();
    bench.scan_after(10_000, None);
    assert_eq!((bench.station.connection().gas(), bench.station.job().state()), (GasVerdict::Pure, JobState::Paused));
    longer.scan_after(10_001, None);
    assert_eq!(longer.station.connection().gas(), GasVerdict::Unknown);
    assert_eq!(outcome(&longer), Some(Outcome::Failed(GiveUp::CouplersMoved)));
    longer.give(Command::Resume);
    assert!(longer.notices.contains(&Notice::Refused(Refusal::NotPaused)));
}

/// Hazard H04: the sample id belongs to a connection; the report of the one before is nobody's.
/// Shows F033, H04.
#[test]
fn a_late_report_never_speaks_for_the_next_vehicle() {
    for paused in [false, true] {
        let mut bench = coupled();
        bench.world.reports = [pure(); 6].into_iter().collect();
        asked(&mut bench, 1, &[PhaseKind::Identify]);
        bench.answer(true);
        assert!(bench.until(5, |b| b.notices.iter().any(|n| matches!(n, Notice::Sampled(..)))));
        bench.slow = true;
        bench.seconds(2);
        if paused {
            bench.give(Command::Pause);
        }
        move_couplers(&mut bench, 20);
        bench.give(Command::Resume);
        bench.slow = false;
        for _ in 0..100 {
            bench.scan(None);
            assert_eq!(bench.station.readings().gas, None, "it counts as stale");
        }
        assert_eq!(bench.station.connection().gas(), GasVerdict::Unknown, "paused {paused}");
        assert!(!bench.notices.iter().any(|n| matches!(n, Notice::Gas(_))));
        assert!(!recovers(&mut bench, 2));
    }
}

pub fn oil() -> WorkOrder {
    WorkOrder { oil_extra: Milligram::from_grams(20), ..order(&[PhaseKind::InjectOil]) }
}

/// Whatever an order was doing at one vehicle, it does not go on at the next.
#[test]
fn an_order_ends_when_the_couplers_come_off() {
    let mut starting = evacuated();
    starting.start(1, oil());
    starting.seconds(20);
    let mut held = starting.clone();
    held.give(Command::Pause);
    let mut running = starting.clone();
    assert!(running.until(120, |b| b.on().has(Actuator::Xv9)), "{:?}", running.notices);
    let mut paused = running.clone();
    paused.give(Command::Pause);
    paused.seconds(2);
    for mut bench in [starting, held, running, paused] {
        let state = bench.station.job().state();
        move_couplers(&mut bench, 1);
        assert_eq!(bench.station.job().state(), JobState::Ended(false), "from {state:?}");
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::CouplersMoved)), "from {state:?}");
        bench.give(Command::Resume);
        assert!(!bench.until(120, |b| b.on().has(Actuator::Xv9)), "from {state:?}");
        // Off a way that is open it is a trip beside (I31).
        let works = state == JobState::Running;
        let refused = if works { Refusal::Tripped(RowId::I31) } else { Refusal::NotPaused };
        assert!(bench.notices.contains(&Notice::Refused(refused)), "from {state:?}");
        assert_eq!(bench.station.interlocks().latched().has(RowId::I31), works, "from {state:?}");
    }
}

/// An abandoned vehicle is no reason to stop what goes on inside the station; and a vehicle that comes on has none before it.
#[test]
fn couplers_end_only_what_they_carry() {
    let mut drain = coupled();
    drain.start(1, order(&[PhaseKind::DrainOil]));
    drain.seconds(20);
    move_couplers(&mut drain, 2);
    assert!(drain.station.job().busy(), "{:?}", drain.notices);

    let mut bench = Bench::new();
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Identify]));
    bench.seconds(10);
    bench.world.open = 0;
    assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
}

/// I14: a leak that was found stands; only a new evacuation opens the way to another verdict.
/// Shows I14.
#[test]
fn a_found_leak_outlives_a_second_look_at_the_same_vacuum() {
    let mut bench = evacuated();
    hold(&mut bench, 1, &[PhaseKind::LeakCheck], 0.5, 1_000);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::Leaks)));
    hold(&mut bench, 2, &[PhaseKind::LeakCheck], 0.0, 1_000);
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::LeakStands)));
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Leak);
    let mut again = bench.clone();
    assert!(!charges(&mut bench, 3), "{:?}", bench.notices);

    hold(&mut again, 3, &[PhaseKind::Evacuate, PhaseKind::LeakCheck], 0.0, 1_000);
    assert_eq!(again.station.connection().leak().verdict, LeakVerdict::Tight, "{:?}", again.notices);
    assert!(charges(&mut again, 4), "{:?}", again.notices);
}

#[test]
fn an_evacuation_alone_is_no_leak_verdict() {
    let mut bench = evacuated();
    hold(&mut bench, 1, &[PhaseKind::LeakCheck], 0.5, 1_000);
    hold(&mut bench, 2, &[PhaseKind::Evacuate, PhaseKind::LeakCheck], 0.0, 60);
    bench.give(Command::Abort);
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Leak);
    assert!(!charges(&mut bench, 3));
}

#[test]
fn a_hold_begun_anew_takes_the_earlier_pass_back() {
    let mut bench = evacuated();
    hold(&mut bench, 1, &[PhaseKind::LeakCheck], 0.0, 1_000);
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Tight);
    assert!(charges(&mut bench.clone(), 2));
    // It leaks now, and whoever sees that stops the check.
    hold(&mut bench, 2, &[PhaseKind::LeakCheck], 2.0, 100);
    bench.give(Command::Abort);
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Unknown);
    assert!(!charges(&mut bench, 3));
}

/// An order without recovery has no identity, but after its charge the hoses hold what came out of the vessel.
#[test]
fn hoses_are_cleared_after_a_charge_that_needed_no_identity() {
    let mut bench = evacuated();
    hold(&mut bench, 1, &[PhaseKind::LeakCheck], 0.0, 1_000);
    (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
    bench.start(2, order(&[PhaseKind::Charge, PhaseKind::ClearHoses]));
    for _ in 0..20 * 900 {
        if bench.on().has(Actuator::Xv5) {
            bench.world.grams[0] -= 0.5;
        }
        if bench.station.job().question() == Some(Question::DrawIn) {
            bench.answer(false);
        } else if bench.station.job().question() == Some(Question::ShutCouplers) {
            break;
        }
        bench.scan(None);
    }
    bench.answer(true);
    assert!(bench.until(300, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    assert_eq!(bench.station.connection().gas(), GasVerdict::Unknown);
}

/// A verdict must be fresh when the valves open, however early the phase was begun.
#[test]
fn a_verdict_does_not_keep_over_a_pause_before_the_first_gram() {
    let mut known = coupled();
    identify(&mut known, 1, &[pure(); 2], true);
    let mut tight = evacuated();
    hold(&mut tight, 1, &[PhaseKind::LeakCheck], 0.0, 1_000);
    (tight.world.p_low, tight.world.p_high) = (500_000.0, 500_000.0);
    let fresh = [(known, PhaseKind::Recover, GiveUp::NoIdentity), (tight, PhaseKind::Charge, GiveUp::NoLeakVerdict)];
    for (mut bench, kind, why) in fresh {
        bench.start(2, order(&[kind]));
        let mass = bench.world.grams[0];
        for k in 0..20 * 70 {
            // Somebody leans on the platform, too lightly for I20, so that the phase can't weigh.
            bench.world.grams[0] = mass + if k % 40 < 20 { 2.0 } else { -2.0 };
            bench.scan(None);
        }
        bench.world.grams[0] = mass;
        assert_eq!(bench.station.job().phase(), Some(kind), "{:?}", bench.notices);
        bench.give(Command::Pause);
        bench.seconds(1_900);
        bench.give(Command::Resume);
        assert!(!bench.until(60, |b| b.on().has(Actuator::Xv3) || b.on().has(Actuator::Xv5)), "{:?}", bench.notices);
        assert_eq!(outcome(&bench), Some(Outcome::Failed(why)));
    }
}

/// Ten scripts of mischief drawn from a fixed series: whatever is pressed, an order does nothing to a vehicle that came after
/// it, and nothing enters the vessel but what was sampled on the connection it comes from.
#[test]
fn no_order_outlives_its_vehicle_whatever_is_pressed() {
    const WORK: [Actuator; 4] = [Actuator::Xv3, Actuator::Xv5, Actuator::Xv6, Actuator::Xv9];
    let (mut draws, mut worked) = (0x2545_f491_u32, 0);
    let mut draw = |below: u32| {
        draws ^= draws << 13;
        draws ^= draws >> 17;
        draws ^= draws << 5;
        draws % below
    };
    for _ in 0..10 {
        let mut bench = coupled();
        let (mut vehicle, mut ordered, mut sampled) = (0, 0, None);
        let mut off = false;
        for id in 1..400 {
            match draw(12) {
                0 | 1 if !bench.station.job().busy() && !off => {
                    let phases = [PhaseKind::Identify, PhaseKind::Recover, PhaseKind::Evacuate, PhaseKind::InjectOil];
                    let some = &phases[draw(3) as usize..];
                    bench.start(id, WorkOrder { oil_extra: Milligram::from_grams(20), ..order(some) });
                    ordered = vehicle;
                }
                2 => bench.give(Command::Pause),
                3 | 4 => bench.give(Command::Resume),
                5 => bench.give(Command::Reset),
                6 => bench.answer(true),
                7 if draw(3) == 0 => {
                    off = !off;
                    vehicle += u32::from(off);
                    bench.world.open = if off { Switches::ZS2_COUPLED } else { 0 };
                    // The debouncing needs a scan.
                    bench.seconds(1);
                }
                8 => bench.slow = !bench.slow,
                9 => bench.world.reports.push_back(pure()),
                10 => (bench.world.p_low, bench.world.p_high) = [(600e3, 600e3), (1e3, 1e3)][draw(2) as usize],
                _ => bench.scan_after(50 + draw(200), None),
            }
            for _ in 0..draw(400) {
                bench.scan(None);
                if bench.notices.drain(..).any(|n| n == Notice::Gas(GasVerdict::Pure)) {
                    sampled = Some(vehicle);
                }
                if WORK.iter().any(|one| bench.on().has(*one)) {
                    worked += 1;
                    assert_eq!(ordered, vehicle, "an order for another vehicle works on this one");
                    assert!(!bench.on().has(Actuator::Xv3) || sampled == Some(vehicle), "nothing was sampled here");
                }
            }
        }
    }
    assert!(worked > 1_000, "the scripts reach something: {worked} scans of work");
}
