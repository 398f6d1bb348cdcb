//! Interlocks: each row trips at its point after its hold, clears at its own, and no reset goes round a standing cause.

use valvewright_core::frame::{Actuator, Actuators, Feeds, Switches};
use valvewright_core::interlock::table::{ANSWERED, Latch, ROWS, Role};
use valvewright_core::interlock::{Facts, FirstOut, Inhibits, Interlocks, RowId, RowSet, Watch};
use valvewright_core::row::WatchSet;
use valvewright_core::sense::{Broken, Quality, Readings};
use valvewright_core::units::*;

use crate::attacker::Numbers;
use crate::interlock_bench::*;

/// Every condition of the table: acts at its trip point after its hold, and then does what its row says.
/// Shows LC3, I25.
#[test]
fn every_condition_acts_after_its_hold_with_the_effects_of_its_row() {
    let mut conditions = 0;
    for row in ROWS {
        for cause in row.causes {
            let mut rig = Rig::new();
            provoke(cause.watch, &mut rig.r, &mut rig.f);
            conditions += 1;
            if cause.role == Role::Permit {
                let inhibits = rig.step(HANDS_OFF);
                assert!(rig.locks.withheld().has(row.id) && !rig.tripped(row.id), "{} {:?}", row.id, cause.watch);
                assert_eq!(inhibits.off.and(row.withholds), row.withholds, "{}", row.id);
                assert!(inhibits.force.is_empty(), "a permission forces nothing");
                continue;
            }
            // A disagreement of the stop's channels is an open channel too, which trips at once.
            let expected = if cause.watch == Watch::StopDisagrees { 0 } else { cause.hold.0 };
            let took = rig.time_to_trip(row.id, 40_000);
            assert_eq!(took, Some(expected), "{} {:?}", row.id, cause.watch);
            assert!(rig.locks.newly_tripped().has(row.id));
            let inhibits = rig.locks.inhibits();
            assert_eq!(inhibits.off.and(row.trip.inhibits), row.trip.inhibits, "{}", row.id);
            assert_eq!(inhibits.force.and(row.trip.forces), row.trip.forces, "{}", row.id);
            assert_eq!(inhibits.drop, row.trip.drops, "{}: alone, and its relays with it", row.id);
            assert!(!inhibits.off.has(Actuator::K1), "the fan is never inhibited");
        }
    }
    assert_eq!(conditions, 62);
}

/// One unit on the safe side of the trip point, for ten minutes, trips nothing.
#[test]
fn just_short_of_the_trip_point_nothing_trips() {
    let mut rig = Rig::new();
    rig.r.at2.value = PermilleLfl(149);
    load(&mut rig.r, rig.f.fill_limit.minus(Milligram(12_000)));
    rig.r.wt1b.mass.value = rig.f.fill_limit.minus(Milligram(1));
    rig.r.st1.value = Rpm(1_680);
    rig.r.pt1.value = AbsPa(1_700_999);
    rig.r.tt2.value = CentiKelvin::from_centi_celsius(11_999);
    rig.r.tt3.value = CentiKelvin::from_centi_celsius(7_999);
    (rig.r.pt2.value, rig.r.pt3.value) = (AbsPa(30_000), AbsPa(109_324));
    rig.f.applied =
        Actuators::of(&[Actuator::Xv6, Actuator::P1, Actuator::C1, Actuator::Xv3, Actuator::Xv4, Actuator::H1]);
    rig.run(600_000);
    assert_eq!(rig.locks.tripped(), RowSet::NONE);
}

/// Every tripping condition, mended, then reset: a latched row waits for the press, the others go by themselves.
#[test]
fn every_row_clears_as_its_latch_says() {
    for row in ROWS {
        for cause in row.causes.iter().filter(|c| c.role == Role::Trip && c.watch != Watch::StopDisagrees) {
            let mut rig = Rig::new();
            provoke(cause.watch, &mut rig.r, &mut rig.f);
            rig.run(31_000);
            assert!(rig.tripped(row.id), "{} {:?}", row.id, cause.watch);
            rig.mend();
            let waits = matches!(row.latch, Latch::Phase | Latch::Latched);
            assert_eq!(rig.tripped(row.id), waits, "{} {:?}", row.id, cause.watch);
            assert_eq!(rig.locks.latched().has(row.id), waits);
            rig.locks.phase_started();
            assert_eq!(rig.tripped(row.id), row.latch == Latch::Latched, "{}", row.id);
            rig.press();
            assert_eq!(rig.locks.tripped(), RowSet::NONE, "{} {:?}", row.id, cause.watch);
            assert_eq!(rig.locks.first_out(), None);
            assert_eq!(rig.locks.inhibits(), Inhibits::default());
        }
    }
}

/// No press, however often, frees a row while its cause stands; nor in the clear hold.
/// Shows LC3.
#[test]
fn no_reset_while_the_cause_stands() {
    for row in ROWS.iter().filter(|row| row.latch == Latch::Latched) {
        for cause in row.causes.iter().filter(|c| c.role == Role::Trip) {
            let mut rig = Rig::new();
            provoke(cause.watch, &mut rig.r, &mut rig.f);
            rig.run(31_000);
            for _ in 0..20 {
                rig.press();
                assert!(rig.tripped(row.id), "{} {:?}", row.id, cause.watch);
            }
            rig.mend();
            assert!(rig.tripped(row.id), "{}: presses before the cause was gone count for nothing", row.id);
        }
    }
}

/// Shows I01, F042.
#[test]
fn gas_must_stay_low_for_a_minute_before_reset() {
    let mut rig = Rig::new();
    rig.r.at2.value = PermilleLfl(400);
    rig.step(HANDS_OFF);
    rig.r.at2.value = PermilleLfl(120);
    rig.run(120_000);
    rig.press();
    assert!(rig.tripped(RowId::I01), "12 % LFL is between trip and clear point");
    rig.r.at2.value = PermilleLfl(99);
    rig.run(59_000);
    rig.press();
    assert!(rig.tripped(RowId::I01), "one second short");
    rig.run(2_000);
    rig.press();
    assert!(!rig.tripped(RowId::I01));
}

/// Shows F115.
#[test]
fn held_reset_button_resets_nothing() {
    let mut rig = Rig::new();
    rig.r.at2.value = PermilleLfl(400);
    rig.step(RESET);
    rig.r.at2.value = PermilleLfl(0);
    for _ in 0..3_000 {
        rig.step(RESET);
    }
    assert!(rig.tripped(RowId::I01), "down since before the cause went");
    rig.press();
    assert!(!rig.tripped(RowId::I01));
}

/// A button jammed down at power-on is not a press.
/// Shows F115.
#[test]
fn button_down_at_power_on_is_not_fresh() {
    let (r, f) = calm();
    let mut locks = Interlocks::new();
    locks.restore(RowSet::one(RowId::I19));
    locks.evaluate(Instant(0), &r, &f, RESET);
    assert!(locks.tripped().has(RowId::I19));
    locks.evaluate(Instant(50), &r, &f, HANDS_OFF);
    locks.evaluate(Instant(100), &r, &f, RESET);
    assert!(!locks.tripped().has(RowId::I19));
}

/// Shows I03, F043, LC3.
#[test]
fn first_cause_is_kept_with_its_reading_and_later_ones_are_counted() {
    let mut rig = Rig::new();
    rig.r.pt1.value = AbsPa(1_750_000);
    rig.run(200);
    let at = rig.now;
    let first = rig.locks.first_out().expect("tripped");
    assert_eq!((first.row, first.watch, first.value, first.bad), (RowId::I03, Watch::VesselPressure, 1_750_000, false));
    assert!(at.since(first.at) <= Millis(150));
    for _ in 0..3 {
        rig.r.at2.value = PermilleLfl(300);
        rig.run(1_000);
        rig.r.at2.value = PermilleLfl(0);
        rig.run(61_000);
    }
    rig.r.pt1.value = AbsPa(600_000);
    rig.run(10_000);
    assert_eq!(rig.locks.first_out(), Some(first), "until no row is tripped any more");
    assert_eq!((rig.locks.count(RowId::I03), rig.locks.count(RowId::I01)), (1, 3));
    rig.press();
    assert_eq!(rig.locks.first_out(), None);
    assert_eq!(rig.locks.newly_cleared(), RowSet::one(RowId::I01).or(RowSet::one(RowId::I03)));
}

#[test]
fn two_causes_in_one_scan_report_the_first_of_the_table() {
    let mut rig = Rig::new();
    rig.r.at2.value = PermilleLfl(990);
    rig.r.switches = Switches(0);
    rig.step(HANDS_OFF);
    assert!(matches!(rig.locks.first_out(), Some(FirstOut { row: RowId::I01, value: 990, .. })));
}

/// LC3: a bad-quality input is a tripped input. For each analog input a row reads, and for the vessel scale.
/// Shows F001, F002, F015, F016, F021, F039, H21, LC3.
#[test]
fn bad_input_trips_every_row_that_reads_it() {
    let bad = Quality::Bad(Broken::Under);
    type Break = fn(&mut Readings, Quality);
    let running = Actuators::of(&[Actuator::C1, Actuator::Xv3, Actuator::Xv4, Actuator::H1]).or(Actuators::SAFE);
    let pumping = Actuators::of(&[Actuator::P1, Actuator::Xv6]).or(Actuators::SAFE);
    let charging = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv5, Actuator::Xv10]).or(Actuators::SAFE);
    let purging = Actuators::of(&[Actuator::Xv7]).or(Actuators::SAFE);
    let inputs: [(&str, Break, Actuators, &[RowId]); 15] = [
        ("AT-2", |r, q| r.at2.quality = q, Actuators::SAFE, &[RowId::I01]),
        ("PT-1", |r, q| r.pt1.quality = q, Actuators::SAFE, &[RowId::I03, RowId::I29]),
        ("PT-2", |r, q| r.pt2.quality = q, running, &[RowId::I13]),
        ("PT-3", |r, q| r.pt3.quality = q, running, &[RowId::I13]),
        ("PT-2", |r, q| r.pt2.quality = q, pumping, &[RowId::I11]),
        ("PT-3", |r, q| r.pt3.quality = q, pumping, &[RowId::I11]),
        ("TT-2", |r, q| r.tt2.quality = q, Actuators::SAFE, &[RowId::I13]),
        ("TT-3", |r, q| r.tt3.quality = q, Actuators::SAFE, &[RowId::I12]),
        ("TT-1", |r, q| r.tt1.quality = q, running, &[RowId::I12]),
        ("IT-1", |r, q| r.it1.quality = q, Actuators::SAFE, &[RowId::I13]),
        ("PT-2", |r, q| r.pt2.quality = q, charging, &[RowId::I31]),
        ("PT-3", |r, q| r.pt3.quality = q, charging, &[RowId::I31]),
        ("WT-1", |r, q| r.wt1.mass.quality = q, Actuators::SAFE, &[RowId::I02, RowId::I08, RowId::I20, RowId::I29]),
        ("WT-1", |r, q| r.wt1.mass.quality = q, purging, &[RowId::I02, RowId::I08, RowId::I18, RowId::I20]),
        ("WT-1", |r, q| r.wt1.mass.quality = q, running, &[RowId::I02, RowId::I08, RowId::I12, RowId::I20]),
    ];
    for (tag, spoil, applied, rows) in inputs {
        for quality in [bad, Quality::Bad(Broken::Over), Quality::None] {
            let mut rig = Rig::new();
            rig.f.applied = applied;
            spoil(&mut rig.r, quality);
            rig.step(HANDS_OFF);
            let expected = rows.iter().fold(RowSet::NONE, |set, id| set.or(RowSet::one(*id)));
            assert_eq!(rig.locks.tripped(), expected, "{tag} {quality:?}: at once, without the row's hold");
            assert!(rig.locks.first_out().expect("tripped").bad);
        }
    }
}

/// Shows I10, H07.
#[test]
fn separator_latches_on_its_third_event_in_a_phase() {
    let mut rig = Rig::new();
    let event = |rig: &mut Rig| {
        rig.r.switches.0 &= !Switches::LS2_NOT_HIGH;
        assert_eq!(rig.run(1_000).off, Actuators::of(&[Actuator::Xv3]), "the compressor goes on boiling it off");
        rig.r.switches.0 |= Switches::LS2_NOT_HIGH;
        rig.run(3_000);
        rig.tripped(RowId::I10)
    };
    assert!(!event(&mut rig) && !event(&mut rig));
    rig.locks.phase_started();
    assert!(!event(&mut rig) && !event(&mut rig));
    assert!(event(&mut rig), "third in this phase");
    rig.press();
    assert!(!rig.tripped(RowId::I10));
}

/// Shows I11, H08.
#[test]
fn vacuum_valve_needs_a_minute_below_atmosphere() {
    let mut rig = Rig::new();
    rig.r.pt2.value = AbsPa(400_000);
    rig.run(1_000);
    assert!(rig.locks.withheld().has(RowId::I11) && rig.locks.tripped().is_empty());
    rig.r.pt2.value = AbsPa(99_000);
    assert!(rig.run(59_500).off.has(Actuator::Xv6));
    assert!(!rig.run(1_000).off.has(Actuator::Xv6));
}

/// Permission comes back when the verdict does; after the couplers moved, a pass that simply stays is not believed.
/// Shows I05, I14.
#[test]
fn pass_from_the_old_connection_is_void() {
    let mut rig = Rig::new();
    rig.locks.connection_changed();
    let withheld = RowSet::of(&[RowId::I05, RowId::I14, RowId::I15]);
    assert_eq!(rig.locks.withheld(), withheld);
    rig.run(5_000);
    assert_eq!(rig.locks.withheld(), withheld, "nobody withdrew the old verdicts");
    (rig.f.identity_pass, rig.f.leak_pass) = (false, false);
    rig.f.well = WatchSet::FOUND.without(WatchSet::of(&[Watch::OilVoltage]));
    rig.step(HANDS_OFF);
    (rig.f.identity_pass, rig.f.leak_pass, rig.f.well) = (true, true, WatchSet::FOUND);
    rig.step(HANDS_OFF);
    assert_eq!(rig.locks.withheld(), RowSet::NONE);
}

/// Until the air is proven everything but the fan is withheld, and the fan test itself is no trip.
/// Shows I28.
#[test]
fn fan_test_withholds_everything_but_trips_nothing() {
    let mut rig = Rig::new();
    (rig.f.air_proven, rig.f.air_test) = (false, true);
    rig.r.switches.0 &= !Switches::FSL1_FLOW;
    rig.f.wanted = Actuators::of(&[Actuator::Xv1]);
    let inhibits = rig.run(10_000);
    assert_eq!(rig.locks.tripped(), RowSet::NONE);
    assert_eq!(
        inhibits,
        Inhibits { off: Actuators::ALL.without(Actuators::SAFE), force: Actuators::NONE, drop: Feeds::NONE }
    );
}

/// Fault F050: one channel welded. Releasing the button makes both agree again, and that must not do.
/// Shows HS-1, F050.
#[test]
fn welded_stop_contact_is_not_reset_by_releasing_the_button() {
    let mut rig = Rig::new();
    rig.r.switches.0 &= !Switches::HS1_A_RELEASED;
    rig.run(1_000);
    rig.r.switches.0 |= Switches::HS1_A_RELEASED;
    rig.run(5_000);
    rig.press();
    assert!(rig.tripped(RowId::Hs1));
    // Mended, pressed fully, pulled out.
    rig.r.switches.0 &= !(Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED);
    rig.run(1_000);
    rig.r.switches = Switches(Switches::ALL);
    rig.run(1_000);
    rig.press();
    assert!(!rig.tripped(RowId::Hs1));
}

/// Shows LC3, I19.
#[test]
fn latched_rows_survive_a_power_cut() {
    let mut rig = Rig::new();
    rig.f.effect_mismatch = true;
    rig.step(HANDS_OFF);
    let stored = rig.locks.latched();
    let (r, f) = calm();
    let mut after = Interlocks::new();
    after.restore(stored);
    assert_eq!(after.evaluate(Instant(0), &r, &f, HANDS_OFF).force, Actuators::SAFE);
    assert!(after.tripped().has(RowId::I19) && after.newly_tripped().has(RowId::I19));
}

/// With facts nobody filled in and readings nobody received, nothing but the fan may run.
/// Shows LC2.
#[test]
fn nothing_known_means_nothing_allowed() {
    let inhibits = Interlocks::new().evaluate(Instant(0), &Readings::default(), &Facts::default(), HANDS_OFF);
    assert_eq!(
        inhibits,
        Inhibits { off: Actuators::ALL.without(Actuators::SAFE), force: Actuators::SAFE, drop: Feeds::ALL }
    );
}

#[test]
fn ids_read_as_printed_on_reports() {
    let printed: Vec<String> = RowId::ALL.iter().map(ToString::to_string).collect();
    assert_eq!(
        printed.join(" "),
        "I01 I02 I03 I04 I05 I06 I07 I08 I09 I10 I11 I12 I13 I14 I15 I16 I17 I18 I19 I20 I21 I22 I23 I24 I25 I26 I27 I28 I29 I30 I31 HS-1"
    );
    assert_eq!(format!("{:>5}", RowId::I05), "  I05");
    for (row, id) in ROWS.iter().zip(RowId::ALL) {
        assert_eq!((row.id, id.row().map(|r| r.id)), (id, Some(id)));
    }
    assert!(
        ANSWERED.iter().all(|h| { ROWS.iter().any(|r| r.hazard.0 == *h || r.also.all().iter().any(|a| a.0 == *h)) })
    );
}

/// Any mix of causes, times and presses, drawn from a fixed series: same inputs give the same state; what stands is tripped;
/// what is tripped or withheld has its effects; the fan is never held off; a latched row leaves only in a scan with a fresh press.
#[test]
fn laws_hold_for_any_history() {
    let all: Vec<Watch> = ROWS.iter().flat_map(|row| row.causes).map(|c| c.watch).collect();
    for seed in 0..200 {
        let mut n = Numbers(seed);
        let (mut a, mut b) = (Interlocks::new(), Interlocks::new());
        let (mut now, mut was_down) = (Instant(n.next() as u32), true);
        for _ in 0..1 + n.below(60) {
            let (mut r, mut f) = calm();
            for _ in 0..n.below(3) {
                provoke(n.pick(&all), &mut r, &mut f);
            }
            now = now.after(Millis(1 + n.below(3_000)));
            let (held_before, reset) = (a.latched(), n.one_in(2));
            let inhibits = a.evaluate(now, &r, &f, reset);
            assert_eq!(inhibits, b.evaluate(now, &r, &f, reset), "seed {seed}");
            assert_eq!(a, b, "seed {seed}");
            assert!(a.standing().without(a.tripped()).is_empty(), "seed {seed}");
            assert!(!inhibits.off.has(Actuator::K1), "seed {seed}");
            for row in ROWS {
                let off = if a.tripped().has(row.id) { row.trip.inhibits } else { Actuators::NONE };
                let off = if a.withheld().has(row.id) { off.or(row.withholds) } else { off };
                assert!(off.without(inhibits.off).is_empty(), "seed {seed}: {}", row.id);
            }
            let released = held_before.without(a.latched());
            assert!(released.is_empty() || (reset && !was_down), "seed {seed}");
            was_down = reset;
        }
    }
}
