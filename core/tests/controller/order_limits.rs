//! What a work order may ask for, and what the vessel may hold.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::job::{PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::order::Field;
use valvewright_core::station::fill_limit;
use valvewright_core::talk::{Notice, Refusal};
use valvewright_core::units::{AbsPa, CentiKelvin, Microlitre, Milligram, Millis};

use crate::attacker::Numbers;
use crate::bench::Bench;

const YF: Refrigerant = Refrigerant::R1234yf;

fn checked(change: impl FnOnce(&mut WorkOrder)) -> Result<(), Refusal> {
    let mut order = WorkOrder::whole(Milligram::from_grams(500));
    change(&mut order);
    order.check(&StationConfig::reference(YF))
}

type Change = fn(&mut WorkOrder);

#[test]
fn every_field_is_held_to_its_range_and_named() {
    // Lowest and highest accepted, and one step outside each.
    let inside: [Change; 12] = [
        |o| o.charge = Milligram(50_000),
        |o| o.charge = Milligram(5_000_000),
        |o| o.evacuate = Millis::from_secs(60),
        |o| o.evacuate = Millis::from_secs(4 * 3600),
        |o| o.depth = AbsPa(20),
        |o| o.depth = AbsPa(5_000),
        |o| o.leak_hold = Millis::from_secs(120),
        |o| o.leak_hold = Millis::from_secs(2 * 3600),
        |o| o.circuit = Microlitre(200_000),
        |o| o.circuit = Microlitre(20_000_000),
        |o| o.oil_extra = Milligram(0),
        |o| o.oil_extra = Milligram(200_000),
    ];
    for (at, change) in inside.into_iter().enumerate() {
        assert_eq!(checked(change), Ok(()), "limit {at}");
    }
    let outside: [(Change, Field); 17] = [
        (|o| o.charge = Milligram(49_999), Field::Charge),
        (|o| o.charge = Milligram(10_000_001), Field::Charge),
        (|o| o.charge = Milligram(i32::MIN), Field::Charge),
        (|o| o.evacuate = Millis(59_999), Field::Evacuate),
        (|o| o.evacuate = Millis(4 * 3_600_000 + 1), Field::Evacuate),
        (|o| o.depth = AbsPa(19), Field::Depth),
        (|o| o.depth = AbsPa(5_001), Field::Depth),
        (|o| o.leak_hold = Millis(119_999), Field::LeakHold),
        (|o| o.leak_hold = Millis(2 * 3_600_000 + 1), Field::LeakHold),
        (|o| o.circuit = Microlitre(199_999), Field::Circuit),
        (|o| o.circuit = Microlitre(20_000_001), Field::Circuit),
        (|o| o.test_over = AbsPa(199_999), Field::TestOver),
        (|o| o.test_over = AbsPa(1_500_001), Field::TestOver),
        (|o| o.test_hold = Millis(299_999), Field::TestHold),
        (|o| o.test_hold = Millis(2 * 3_600_000 + 1), Field::TestHold),
        (|o| o.oil_extra = Milligram(-1), Field::OilExtra),
        (|o| o.oil_extra = Milligram(200_001), Field::OilExtra),
    ];
    for (at, (change, field)) in outside.into_iter().enumerate() {
        assert_eq!(checked(change), Err(Refusal::OutOfRange(field)), "case {at}");
    }
}

#[test]
fn a_charge_above_what_the_vessel_is_rated_for_is_refused() {
    let small = StationConfig { vessel_rated: Milligram::from_grams(2_000), ..StationConfig::reference(YF) };
    assert_eq!(WorkOrder::whole(Milligram::from_grams(2_000)).check(&small), Ok(()));
    assert_eq!(WorkOrder::whole(Milligram::from_grams(2_001)).check(&small), Err(Refusal::OutOfRange(Field::Charge)));
}

#[test]
fn the_charge_counts_only_where_a_charge_is_ordered() {
    let charge = |o: &mut WorkOrder| o.charge = Milligram(0);
    assert_eq!(checked(|o| (charge(o), o.phases = PhaseSet::of(&[PhaseKind::Recover])).1), Ok(()));
    assert_eq!(checked(charge), Err(Refusal::OutOfRange(Field::Charge)));
}

#[test]
fn an_order_for_nothing_is_refused() {
    for bits in [0, 0x1000, 0xF000] {
        assert_eq!(checked(|o| o.phases = PhaseSet(bits)), Err(Refusal::NothingOrdered), "{bits:#x}");
    }
}

#[test]
fn a_refused_order_starts_nothing_and_keeps_its_id_free() {
    let mut bench = Bench::new();
    bench.seconds(5);
    let good = WorkOrder::whole(Milligram::from_grams(500));
    bench.start(1, WorkOrder { depth: AbsPa(1), ..good.clone() });
    assert_eq!(bench.notices, [Notice::Refused(Refusal::OutOfRange(Field::Depth))]);
    assert!(!bench.station.job().busy());
    bench.start(1, good);
    assert_eq!(bench.notices.last(), Some(&Notice::OrderStarted(1)));
}

#[test]
fn phases_follow_in_job_order() {
    let set = PhaseSet::of(&[PhaseKind::Charge, PhaseKind::Recover, PhaseKind::Identify]);
    assert_eq!(set.next(None), Some(PhaseKind::Identify));
    assert_eq!(set.next(Some(PhaseKind::Identify)), Some(PhaseKind::Recover));
    assert_eq!(set.next(Some(PhaseKind::Recover)), Some(PhaseKind::Charge));
    assert_eq!(set.next(Some(PhaseKind::Charge)), None);
}

/// A 12 L vessel without a lower rating.
fn twelve(refrigerant: Refrigerant) -> StationConfig {
    StationConfig {
        vessel: Microlitre(12_000_000),
        vessel_rated: Milligram::MAX,
        ..StationConfig::reference(refrigerant)
    }
}

fn grams_at(refrigerant: Refrigerant, celsius: i32) -> f64 {
    f64::from(fill_limit(&twelve(refrigerant), CentiKelvin::from_centi_celsius(celsius * 100)).0) * 1e-3
}

/// Worked example W24, liquid alone: 80 % of 12 L at 21 degC (40 CFR 82 Subpart B App. C 7.2, densities CoolProp 8.0.0).
/// Shows W24.
#[test]
fn fill_limit_is_eighty_percent_at_21_degc() {
    assert!((grams_at(YF, 21) - 10_620.0).abs() < 10.0, "{}", grams_at(YF, 21));
    assert!((grams_at(Refrigerant::R134a, 21) - 11_730.0).abs() < 10.0, "{}", grams_at(Refrigerant::R134a, 21));
}

/// Shows F120.
#[test]
fn a_cold_vessel_may_hold_no_more_and_a_hot_one_less() {
    for fluid in [YF, Refrigerant::R134a] {
        for cold in [-30, 0, 10, 20] {
            assert_eq!(grams_at(fluid, cold), grams_at(fluid, 21), "{cold} degC");
        }
        for warm in [25, 35, 45, 55] {
            assert!(grams_at(fluid, warm + 5) < grams_at(fluid, warm), "{warm} degC");
        }
    }
    // The shell's rating stands above whatever the density allows.
    let rated = StationConfig { vessel_rated: Milligram::from_grams(9_000), ..twelve(YF) };
    assert_eq!(fill_limit(&rated, CentiKelvin::from_centi_celsius(2_100)), Milligram::from_grams(9_000));
}

/// Fault F015: without TT-1 the vessel is taken to be at 60 degC, where the limit is lowest.
/// Shows F015.
#[test]
fn without_a_wall_temperature_the_hot_case_holds() {
    let mut bench = Bench::with(twelve(YF));
    bench.seconds(2);
    let known = bench.station.fill_limit();
    assert_eq!(known, fill_limit(&twelve(YF), CentiKelvin::from_centi_celsius(2_100)));
    bench.world.wall = None;
    bench.seconds(1);
    let blind = bench.station.fill_limit();
    assert_eq!(blind, fill_limit(&twelve(YF), CentiKelvin::from_centi_celsius(6_000)));
    assert!(blind < known);
    bench.world.wall = Some(21.0);
    bench.seconds(2);
    assert!((bench.station.fill_limit().0 - known.0).abs() < 20_000, "{:?}", bench.station.fill_limit());
}

/// A number of a range, at its ends or beside them, or anywhere.
fn around(n: &mut Numbers, range: (i64, i64)) -> i64 {
    match n.below(8) {
        0 => range.0,
        1 => range.0 - 1,
        2 => range.1,
        3 => range.1 + 1,
        4 => i64::from(n.next() as i32),
        _ => range.0 + (n.next() % (range.1 - range.0) as u64) as i64,
    }
}

/// Whatever is ordered, drawn from a fixed series: the check lets through what is inside every range and no more.
#[test]
fn a_checked_order_is_inside_every_range() {
    let (mut n, mut fitting) = (Numbers(1), 0);
    for _ in 0..60_000 {
        let ranges = [
            (50_000, 10_000_000),
            (60_000, 14_400_000),
            (20, 5_000),
            (120_000, 7_200_000),
            (200_000, 20_000_000),
            (0, 200_000),
            (200_000, 1_500_000),
            (300_000, 7_200_000),
        ];
        let drawn = ranges.map(|range| around(&mut n, range));
        let [charge, evacuate, depth, hold, circuit, oil, over, test] = drawn.map(|v| v as i32);
        let order = WorkOrder {
            // Upkeep is ordered alone; its limits have a test of their own.
            phases: PhaseSet(n.next() as u16 & if n.next().is_multiple_of(8) { 0xFFFF } else { 0xF7FF }),
            charge: Milligram(charge),
            evacuate: Millis(evacuate as u32),
            depth: AbsPa(depth),
            leak_hold: Millis(hold as u32),
            circuit: Microlitre(circuit),
            oil_extra: Milligram(oil),
            test_over: AbsPa(over),
            test_hold: Millis(test as u32),
            ..WorkOrder::whole(Milligram(0))
        };
        let inside = |at: usize| (ranges[at].0..=ranges[at].1).contains(&drawn[at]);
        let fits = order.phases.0 & 0x07FF != 0
            && order.phases.0 & 0x0800 == 0
            && (!order.phases.has(PhaseKind::Charge) || inside(0))
            && (1..8).all(inside);
        assert_eq!(order.check(&StationConfig::reference(YF)).is_ok(), fits, "{order:?}");
        fitting += u32::from(fits);
    }
    assert!(fitting > 1_000, "{fitting} orders of 60 000 fit");
}

#[test]
fn a_phase_is_named_as_its_kind_in_lower_case() {
    for kind in PhaseKind::ALL {
        let mut name = String::new();
        for c in format!("{kind:?}").chars() {
            if c.is_uppercase() && !name.is_empty() {
                name.push('_');
            }
            name.extend(c.to_lowercase());
        }
        assert_eq!(kind.name(), name);
    }
}

/// A whole service has the usual times: a quarter of an hour of evacuation to 2 mbar, ten minutes of hold, on 3.5 L, and no pressure test.
#[test]
fn a_whole_service_has_the_usual_times() {
    let whole = WorkOrder::whole(Milligram(450_000));
    assert_eq!((whole.phases, whole.charge), (PhaseSet::WHOLE, Milligram(450_000)));
    let left_out = PhaseKind::ALL.iter().filter(|kind| !whole.phases.has(**kind));
    assert_eq!(left_out.collect::<Vec<_>>(), [&PhaseKind::PressureTest, &PhaseKind::Upkeep], "ordered by name");
    assert_eq!((whole.evacuate.0, whole.leak_hold.0, whole.depth.0), (900_000, 600_000, 200));
    assert_eq!((whole.circuit.0, whole.oil_extra.0, whole.oil_replace), (3_500_000, 0, true));
}
