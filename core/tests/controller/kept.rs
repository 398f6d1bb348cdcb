//! What outlives power: trips, counters and dates stay, nothing goes on by itself, and what cannot be read is never new.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Feed, Feeds, SelfCheck, SelfChecks, Switches};
use valvewright_core::interlock::RowId;
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::kept::{Boot, Kept, Limits, Memory, Proof, Start};
use valvewright_core::sense::scale::ScaleCal;
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice, Refusal};
use valvewright_core::token::Part;
use valvewright_core::units::{Milligram, Millis};

use crate::bench::{Bench, order, report};

fn woken(memory: Memory, boot: Boot) -> Bench {
    let mut bench = Bench::new();
    let start = Start { memory, boot, vessel_rest: Millis(0) };
    bench.station = Station::wake(StationConfig::reference(Refrigerant::R1234yf), &start);
    bench
}

fn sound(change: impl Fn(&mut Kept)) -> Bench {
    let mut kept = Kept::COMMISSIONED;
    change(&mut kept);
    woken(Memory::Sound(kept), Boot::PowerOn)
}

/// Whether a recovery gets its compressor: it is ordered with a pure gas on the hoses.
fn recovers(bench: &mut Bench) -> bool {
    bench.world.reports.extend([report(1_000, 0, 0, true), report(1_000, 0, 0, true)]);
    bench.give(Command::Start { id: 9, order: order(&[PhaseKind::Identify, PhaseKind::Recover]) });
    for _ in 0..600 {
        bench.seconds(1);
        if let Some(asked) = bench.station.job().asked() {
            bench.give(Command::Confirm(asked.number));
        }
        if bench.outputs.on.has(valvewright_core::frame::Actuator::C1) {
            return true;
        }
    }
    false
}

/// Shows I01, LC3.
#[test]
fn a_trip_stays_through_a_power_cut_and_wants_a_fresh_press() {
    let mut bench = Bench::new();
    bench.seconds(1);
    bench.world.lfl = 30.0;
    bench.seconds(20);
    assert!(bench.station.kept().latched.has(RowId::I01), "stored while the cause stands");
    let kept = bench.station.kept().clone();
    let mut after = woken(Memory::Sound(kept), Boot::PowerOn);
    after.seconds(70);
    assert_eq!(after.outputs.on, Actuators::SAFE);
    after.give(Command::Start { id: 2, order: order(&[PhaseKind::Identify]) });
    assert!(after.notices.contains(&Notice::Refused(Refusal::Tripped(RowId::I01))), "{:?}", after.notices);
    after.give(Command::Reset);
    after.seconds(1);
    assert!(after.station.kept().latched.is_empty());
}

/// F077: the order is told as interrupted with what it had charged, and nothing of it goes on.
/// Shows F077, H24.
#[test]
fn an_order_that_power_broke_off_is_told_and_does_not_go_on() {
    let mut bench = Bench::new();
    bench.give(Command::Start { id: 7, order: order(&[PhaseKind::Identify]) });
    bench.seconds(5);
    let kept = Kept { charged: Milligram::from_grams(120), ..bench.station.kept().clone() };
    assert_eq!(kept.order, 7);
    let mut after = woken(Memory::Sound(kept), Boot::PowerOn);
    after.seconds(50);
    // A start that power breaks off has told nobody: the next one tells it too.
    assert_eq!((after.station.kept().order, after.station.kept().charged), (7, Milligram::from_grams(120)));
    let second = woken(Memory::Sound(after.station.kept().clone()), Boot::PowerOn);
    assert_eq!(second.station.kept().order, 7);
    after.seconds(250);
    assert!(after.notices.contains(&Notice::Interrupted(7, Milligram::from_grams(120))), "{:?}", after.notices);
    assert_eq!((after.outputs.on, after.station.job().state()), (Actuators::SAFE, JobState::Idle));
    let again = woken(Memory::Sound(after.station.kept().clone()), Boot::PowerOn);
    assert_eq!(again.station.kept().order, 0, "told by a start that lasted");
}

/// F083, F087, F090: fail-safe is "expired", never "new".
/// Shows I24, H18, LC8.
#[test]
fn a_record_that_cannot_be_read_locks_the_service() {
    let mut bench = woken(Memory::Lost, Boot::PowerOn);
    assert!(!recovers(&mut bench));
    assert!(bench.station.interlocks().withheld().has(RowId::I24));
    assert!(recovers(&mut sound(|_| {})), "with a sound record the same order runs");
}

/// Shows I22, I23, I27, H16.
#[test]
fn each_lock_holds_the_service_and_says_which_row() {
    type Lock = fn(&mut Kept);
    let locks: [(RowId, Lock); 4] = [
        (RowId::I22, |kept| kept.drier = Limits::USUAL.drier),
        (RowId::I22, |kept| kept.pump_oil = Limits::USUAL.pump_oil),
        (RowId::I23, |kept| kept.unlocking = Some(Part::FilterDrier)),
        (RowId::I27, |kept| kept.due[Proof::GasDetector as usize] = 1),
    ];
    for (row, lock) in locks {
        let mut bench = sound(lock);
        assert!(!recovers(&mut bench), "{row}");
        assert!(bench.station.interlocks().withheld().has(row), "{row}");
    }
    let just = sound(|kept| {
        (kept.drier, kept.pump_oil) = (Limits::USUAL.drier.minus(Milligram(1)), Limits::USUAL.pump_oil - 1);
        kept.due[Proof::GasDetector as usize] = u32::MAX;
    });
    assert!(recovers(&mut { just }), "just short of every limit");
}

/// F109, F027: a span that moved by more than 2 % against the record withholds the charge until it is set anew.
/// Shows I21, F027, F109, H15.
#[test]
fn a_scale_calibrated_with_a_wrong_weight_charges_nothing() {
    let reference = StationConfig::reference(Refrigerant::R1234yf);
    let gain = reference.sense.scales[0].cal.gain();
    for (share, moved) in [(1_019, false), (1_021, true), (981, false), (979, true)] {
        let mut cfg = reference.clone();
        let cal = cfg.sense.scales[0].cal;
        let mass = Milligram((i64::from(cal.span_mass().0) * share / 1_000) as i32);
        cfg.sense.scales[0].cal = ScaleCal::new(cal.zero_code(), cal.span_code(), mass, cal.tare()).expect("a span");
        let kept = Kept { span: [gain, gain, 0, 0], ..Kept::COMMISSIONED };
        let start = Start { memory: Memory::Sound(kept), boot: Boot::PowerOn, vessel_rest: Millis(0) };
        let mut bench = Bench::with(cfg.clone());
        bench.station = Station::wake(cfg, &start);
        bench.seconds(2);
        assert_eq!(bench.station.interlocks().withheld().has(RowId::I21), moved, "{share} permille");
        assert_eq!(bench.station.kept().span[0], gain, "what was found good stays on record until a calibration");
        let weighs_by = bench.station.config().sense.scales[0].cal.gain();
        assert_eq!(weighs_by.abs_diff(gain) <= 1, !moved, "and the scale weighs by it, where it may: {weighs_by}");
    }
}

/// F097: hardware dropped the outputs and restarted the controller.
/// Shows I26, F097, H20.
#[test]
fn after_the_watchdog_nothing_goes_on_before_a_press() {
    let mut bench = woken(Memory::Sound(Kept::COMMISSIONED), Boot::Watchdog);
    bench.seconds(5);
    assert!(bench.station.interlocks().tripped().has(RowId::I26));
    assert_eq!((bench.outputs.on, bench.outputs.dropped), (Actuators::SAFE, Feeds::ALL));
    assert!(bench.station.kept().latched.has(RowId::I26), "and it outlives the next cut too");
    bench.give(Command::Reset);
    bench.seconds(1);
    assert_eq!(bench.outputs.dropped, Feeds::NONE);
}

/// F080: three starts, none of which lasted a minute.
/// Shows I30, F080.
#[test]
fn three_starts_within_a_minute_lock() {
    let mut kept = Kept::COMMISSIONED;
    for (start, locked) in [(1, false), (2, false), (3, true)] {
        let mut bench = woken(Memory::Sound(kept), Boot::BrownOut);
        bench.seconds(20);
        assert_eq!(bench.station.interlocks().tripped().has(RowId::I30), locked, "start {start}");
        kept = bench.station.kept().clone();
    }
    let mut bench = woken(Memory::Sound(Kept { starts: 1, latched: <_>::default(), ..kept }), Boot::PowerOn);
    bench.seconds(61);
    assert_eq!(bench.station.kept().starts, 0, "a minute that went well begins anew");
}

/// Shows I26.
#[test]
fn a_failed_self_check_cuts_off_both_feeds() {
    let mut bench = Bench::new();
    bench.seconds(2);
    bench.failed = SelfChecks::NONE.with(SelfCheck::Memory);
    bench.seconds(1);
    assert!(bench.station.interlocks().tripped().has(RowId::I26));
    assert_eq!(bench.outputs.dropped, Feeds::ALL);
}

#[test]
fn counters_go_on_where_they_were_and_never_back() {
    let mut bench = sound(|kept| (kept.drier, kept.pump_oil) = (Milligram(5_000_000), 1_000));
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(200);
    let kept = bench.station.kept();
    assert_eq!((kept.drier, kept.pump_oil), (Milligram(5_000_000), 1_000), "idle adds nothing");
    assert!(kept.clock > 0);
}

/// The relays are tried at power-on: a welded one and a dead rail are found before anything starts.
/// Shows I26.
#[test]
fn a_rail_that_does_not_follow_its_relay_starts_nothing() {
    for rail in [Some(24.0), Some(0.0), Some(12.0)] {
        let mut bench = woken(Memory::Sound(Kept::COMMISSIONED), Boot::PowerOn);
        bench.world.rail = rail;
        bench.start(3, order(&[PhaseKind::Identify]));
        bench.seconds(120);
        let rows = bench.station.interlocks();
        assert!(rows.tripped().has(RowId::I26), "{rail:?} V: {:?}", rows.tripped());
        assert_eq!(bench.outputs.on, Actuators::SAFE);
        assert!(!bench.notices.iter().any(|n| matches!(n, Notice::ProvingAir)), "{rail:?} V");
    }
}

#[test]
fn an_order_that_comes_during_the_self_test_waits_for_it() {
    let mut bench = woken(Memory::Sound(Kept::COMMISSIONED), Boot::PowerOn);
    bench.start(3, order(&[PhaseKind::Identify]));
    assert_eq!(bench.outputs.dropped, Feeds::ALL, "both relays are tried");
    bench.seconds(5);
    assert_eq!(bench.outputs.dropped, Feeds::NONE);
    assert!(bench.until(120, |b| b.notices.contains(&Notice::AirProven)), "{:?}", bench.notices);
}

/// F079, F081: a supply that sags drops the rail at once; a rail that is lost alone is found in two scans and a tenth of a second.
/// Shows I30, F081, H24.
#[test]
fn a_low_supply_and_a_lost_rail_cut_the_valves_off() {
    for (supply, rail, within) in [(18.0, None, 6), (24.0, Some(18.0), 8), (0.0, None, 3)] {
        let mut bench = Bench::new();
        bench.seconds(5);
        (bench.world.supply, bench.world.rail) = (supply, rail);
        let scans = (1..=40).find(|_| {
            bench.scan(None);
            bench.station.interlocks().tripped().has(RowId::I30)
        });
        // The filter of the loops takes some scans to follow.
        assert!(scans.is_some_and(|n| n <= within), "{supply} V, {rail:?} V: {scans:?}");
        assert_eq!(bench.outputs.dropped, Feeds::of(&[Feed::Valves]));
        (bench.world.supply, bench.world.rail) = (24.0, None);
        bench.seconds(5);
        bench.give(Command::Reset);
        bench.seconds(5);
        assert!(
            !bench.station.interlocks().tripped().has(RowId::I30),
            "the rail rises behind its relay without a new trip"
        );
    }
}
