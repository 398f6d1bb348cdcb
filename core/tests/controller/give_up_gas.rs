//! When identification and recovery give up, what they have booked by then, and how long a recovery's hold lasts.

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Actuator;
use valvewright_core::job::identify::judge;
use valvewright_core::job::{GasVerdict, GiveUp, Outcome, PhaseKind, WorkOrder};
use valvewright_core::sense::GasReport;
use valvewright_core::sense::identifier::RequestListener;
use valvewright_core::talk::{Notice, Question};
use valvewright_core::units::{Milligram, Permille};

use crate::bench::{Bench, order, report};
use crate::give_up::{as_it_is, ends, gives_up, gives_up_after, grams, leant_on, record};

use PhaseKind::{Identify, Recover};

/// Identification begun on hoses at this pressure, Pa.
fn sampling(hoses: f64) -> Bench {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high) = (hoses, hoses);
    bench.seconds(5);
    bench.start(1, order(&[Identify]));
    assert!(bench.until(60, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    bench
}

/// The filter is called clean whenever it is asked for.
fn clean(bench: &mut Bench, _: f64) {
    if bench.station.job().question() == Some(Question::SampleFilterClean) {
        bench.answer(true);
    }
}

fn said(bench: &Bench, what: impl Fn(&Notice) -> bool) -> usize {
    bench.notices.iter().filter(|n| what(n)).count()
}

#[test]
fn a_sample_of_hose_air_is_not_taken() {
    gives_up_after(&mut sampling(124_000.0), Identify, GiveUp::PressureTooLow, 20.0, as_it_is);
    // From 1.25 bar on the extra wait is enough, from 1.7 bar none is needed.
    for (hoses, waits, told) in [(126_000.0, true, 1), (169_000.0, true, 1), (171_000.0, false, 0)] {
        let mut bench = sampling(hoses);
        bench.seconds(19);
        assert_eq!(bench.station.job().question().is_none(), waits, "{hoses} Pa");
        bench.seconds(2);
        assert_eq!(bench.station.job().question(), Some(Question::SampleFilterClean), "{hoses} Pa");
        assert_eq!(said(&bench, |n| matches!(n, Notice::LowSamplePressure(_))), told, "{hoses} Pa");
    }
}

#[test]
fn a_sample_waits_five_minutes_for_pressure_to_fall() {
    gives_up_after(&mut sampling(1_610_000.0), Identify, GiveUp::PressureTooHigh, 300.05, as_it_is);
    let mut bench = sampling(1_610_000.0);
    bench.seconds(290);
    (bench.world.p_low, bench.world.p_high) = (1_599_000.0, 1_599_000.0);
    assert!(bench.until(2, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
}

#[test]
fn no_sample_is_taken_with_a_broken_hose_gauge() {
    for (low, high) in [(-1e6, 600_000.0), (600_000.0, -1e6)] {
        let mut bench = sampling(2_000_000.0);
        (bench.world.p_low, bench.world.p_high) = (low, high);
        bench.seconds(1);
        gives_up(&mut bench, Identify, GiveUp::ReadingBad, as_it_is);
    }
}

#[test]
fn an_oily_or_unseen_filter_takes_no_sample() {
    let mut oily = sampling(600_000.0);
    gives_up(&mut oily, Identify, GiveUp::SampleFilterOily, |b, t| {
        if (10.0..10.05).contains(&t) {
            b.answer(false);
        }
    });
    gives_up_after(&mut sampling(600_000.0), Identify, GiveUp::NoAnswer, 600.1, as_it_is);
}

/// Three requests of three minutes each, and nothing is known of the gas.
/// Shows F031.
#[test]
fn a_silent_identifier_is_asked_three_times() {
    let mut bench = sampling(600_000.0);
    bench.seconds(1);
    bench.answer(true);
    let asked = std::cell::Cell::new(0);
    gives_up_after(&mut bench, Identify, GiveUp::IdentifierUnsure, 541.4, |b, _| {
        asked.set(asked.get() + u32::from(!b.outputs.identifier.is_empty()));
    });
    assert_eq!(asked.get(), 3);
    assert_eq!(bench.station.connection().gas(), GasVerdict::Inconclusive);
    assert_eq!(said(&bench, |n| *n == Notice::Gas(GasVerdict::Inconclusive)), 1);
}

/// Ids begin with the tick in sixteenths of a second, never with 0, and go on from there: a device that kept the report of
/// another vehicle can't answer by chance.
#[test]
fn a_sample_id_is_that_of_its_moment() {
    for later in [0, 10, 16, 1_000] {
        let mut bench = sampling(600_000.0);
        bench.world.reports = [report(998, 1, 5, true); 2].into();
        bench.seconds(1);
        (0..later).for_each(|_| bench.scan(None));
        bench.answer(true);
        let (mut listener, mut ids) = (RequestListener::new(), Vec::new());
        while bench.station.job().busy() {
            bench.scan(None);
            ids.extend(listener.feed(&bench.outputs.identifier).map(|id| (id, bench.now())));
        }
        let [(first, at), (second, _)] = ids[..] else { panic!("{ids:?}") };
        assert_eq!(first, (at / 16) as u16 | 1, "{at} ms");
        assert_eq!(second, first + 1);
    }
}

/// An identification with these reports, up to its end.
pub fn identified(reports: &[GasReport]) -> Bench {
    let mut bench = sampling(600_000.0);
    bench.world.reports = reports.iter().copied().collect();
    ends(&mut bench, Identify, clean);
    bench
}

/// Two samples must agree within 1.5 %; the third that does not ends it, and each is held against the one before.
#[test]
fn samples_that_disagree_are_taken_again_twice() {
    let [a, b, c] = [997, 982, 981].map(|share| report(share, 0, 5, true));
    let foreign = report(500, 0, 5, true);
    let unsure = Outcome::Failed(GiveUp::IdentifierUnsure);
    for (reports, taken, outcome) in [
        (&[a, b][..], 2, Outcome::Done),
        (&[a, c, c], 3, Outcome::Done),
        (&[a, c, a, a], 4, Outcome::Done),
        (&[a, c, a, c, c], 4, unsure),
        (&[a, foreign, a, foreign], 4, unsure),
        (&[report(998, 0, 5, false); 5], 3, unsure),
    ] {
        let bench = identified(reports);
        assert_eq!(record(&bench, Identify).map(|r| r.outcome), Some(outcome), "{reports:?}");
        assert_eq!(said(&bench, |n| matches!(n, Notice::Sampled(..))), taken, "{reports:?}");
    }
}

/// 98 % of the named gas, 2 % hydrocarbon, 10 % air; from 95 % air on no share can be told.
#[test]
fn a_gas_is_judged_at_its_limits() {
    for (sample, verdict) in [
        (report(980, 20, 100, true), GasVerdict::Pure),
        (report(979, 20, 100, true), GasVerdict::Foreign),
        (report(979, 21, 0, true), GasVerdict::FlammableForeign),
        (report(999, 0, 101, true), GasVerdict::Air),
        (report(500, 0, 949, true), GasVerdict::Foreign),
        (report(500, 0, 950, true), GasVerdict::Air),
    ] {
        assert_eq!(judge(&sample, Refrigerant::R1234yf), verdict, "{sample:?}");
        let bench = identified(&[sample; 2]);
        let expected =
            // Nothing but air is nothing that would have to be kept out of the vessel.
            if verdict == GasVerdict::Pure || sample.air == Permille(950) {
                Outcome::Done
            } else {
                Outcome::Failed(GiveUp::GasRefused(verdict))
            };
        assert_eq!(record(&bench, Identify).map(|r| r.outcome), Some(expected), "{sample:?}");
        assert_eq!(said(&bench, |n| *n == Notice::Gas(verdict)), 1, "{sample:?}");
        // Only where both samples are next to nothing but air is the circuit an open one.
        assert_eq!(bench.station.connection().open_to_air(), sample.air == Permille(950), "{sample:?}");
    }
    let [mostly, nearly] = [950, 949].map(|air| report(999, 0, air, true));
    for reports in [[mostly, nearly], [nearly, mostly]] {
        assert!(!identified(&reports).station.connection().open_to_air(), "{reports:?}");
    }
    let other = GasReport { r134a: Permille(980), ..report(0, 0, 0, true) };
    assert_eq!(judge(&other, Refrigerant::R134a), GasVerdict::Pure);
    assert_eq!(judge(&other, Refrigerant::R1234yf), GasVerdict::Foreign);
}

/// The gas is identified, and the compressor's wait since power-on is over.
fn known() -> Bench {
    let mut bench = identified(&[report(998, 1, 5, true); 2]);
    bench.seconds(120);
    bench
}

/// A recovery alone, begun on a vessel of so many grams.
pub fn recovering(vessel: f64) -> Bench {
    recovering_on(Bench::new(), vessel)
}

pub fn recovering_on(mut bench: Bench, vessel: f64) -> Bench {
    bench.world.grams[0] = vessel;
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    bench.seconds(5);
    bench.start(1, order(&[Identify]));
    assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
    bench.answer(true);
    bench.seconds(120);
    bench.start(2, order(&[Recover]));
    assert!(bench.until(70, |b| b.station.job().phase().is_some()), "{:?}", bench.notices);
    bench
}

/// Hoses at this pressure as soon as the compressor runs.
fn pulled_to(hoses: f64) -> impl Fn(&mut Bench, f64) {
    move |bench, _| {
        if bench.on().has(Actuator::C1) {
            (bench.world.p_low, bench.world.p_high) = (hoses, hoses);
        }
    }
}

/// Shows F116.
#[test]
fn a_recovery_without_identity_does_not_begin() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(1, order(&[Recover]));
    gives_up_after(&mut bench, Recover, GiveUp::NoIdentity, 0.05, as_it_is);
    assert_eq!(bench.station.job().ledger.recovered, Milligram(0));
}

#[test]
fn a_recovery_waits_two_minutes_for_a_scale_at_rest() {
    let mut bench = known();
    bench.start(2, order(&[Recover]));
    gives_up_after(&mut bench, Recover, GiveUp::ScaleUnsteady, 120.1, leant_on(0, 6_000.0));
    // The same after the hold: what came in is booked all the same.
    let mut bench = recovering(6_000.0);
    gives_up_after(&mut bench, Recover, GiveUp::ScaleUnsteady, 484.65, |b, t| {
        pulled_to(35_000.0)(b, t);
        if b.notices.iter().any(|n| matches!(n, Notice::RecoveryHold(_))) {
            leant_on(0, 6_040.0)(b, t);
        } else if b.on().has(Actuator::C1) {
            b.world.grams[0] = 6_040.0;
        }
    });
    let booked = grams(bench.station.job().ledger.recovered);
    assert!((booked - 40.0).abs() < 2.5, "{booked} g");
    assert!(!bench.station.connection().recovered());
}

/// The vessel is rated for 10 kg, less than its volume holds at 21 degC.
#[test]
fn a_recovery_ends_at_the_fill_limit_and_books_what_came() {
    for (vessel, begins) in [(9_999.9, true), (10_000.1, false)] {
        let mut bench = recovering(vessel);
        if begins {
            assert!(bench.until(10, |b| b.on().has(Actuator::Xv3)), "{:?}", bench.notices);
        } else {
            gives_up(&mut bench, Recover, GiveUp::VesselFull, as_it_is);
        }
    }
    let mut bench = recovering(9_980.0);
    gives_up(&mut bench, Recover, GiveUp::VesselFull, |b, _| {
        b.world.grams[0] += if b.on().has(Actuator::C1) { 0.1 } else { 0.0 };
    });
    let booked = grams(bench.station.job().ledger.recovered);
    assert!((booked - (bench.world.grams[0] - 9_980.0)).abs() < 0.2 && (20.0..21.5).contains(&booked), "{booked} g");
    assert!(bench.notices.iter().any(|n| matches!(n, Notice::Recovered(_))), "{:?}", bench.notices);
}

#[test]
fn a_recovery_with_a_broken_hose_gauge_is_given_up() {
    for hold in [false, true] {
        for (low, high) in [(-1e6, 35_000.0), (35_000.0, -1e6)] {
            let mut bench = recovering(6_000.0);
            if hold {
                pulled_to(35_000.0)(&mut bench, 0.0);
                assert!(bench.until(200, |b| b.on().has(Actuator::C1)));
                pulled_to(35_000.0)(&mut bench, 0.0);
                assert!(bench.until(20, |b| said(b, |n| matches!(n, Notice::RecoveryHold(_))) == 1));
                bench.seconds(5);
            }
            (bench.world.p_low, bench.world.p_high) = (low, high);
            gives_up(&mut bench, Recover, GiveUp::ReadingBad, as_it_is);
        }
    }
}

/// What a recovery says from the second its first hold begins, with hoses that rise as this function of that second.
fn held(rise: impl Fn(f64) -> f64) -> (Bench, f64) {
    let mut bench = recovering(6_000.0);
    assert!(bench.until(200, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high) = (35_900.0, 35_900.0);
    assert!(bench.until(20, |b| said(b, |n| matches!(n, Notice::RecoveryHold(_))) == 1), "{:?}", bench.notices);
    for scan in 0..20 * 1_000 {
        let t = f64::from(scan) * 0.05;
        let p = 35_900.0 + rise(t);
        (bench.world.p_low, bench.world.p_high) = (p - 500.0, p);
        bench.scan(None);
        if !bench.station.job().busy() || said(&bench, |n| matches!(n, Notice::RecoveryRestart(_))) > 0 {
            return (bench, t);
        }
    }
    panic!("no end of the hold: {:?}", bench.notices)
}

/// SAE J1989: five minutes, steady over the last two; windows of two minutes make it six. Steady is less than 60 mbar.
#[test]
fn a_recovery_is_done_after_a_hold_that_ends_steady() {
    for (name, rise, seconds, done) in [
        ("still", &(|_| 0.0) as &dyn Fn(f64) -> f64, 360.0, true),
        ("5 400 Pa in a window", &|t| 45.0 * t, 360.0, true),
        ("6 500 Pa in a window", &|t| 54.2 * t, 600.0, false),
        ("rises for five and a half minutes", &|t: f64| 80.0 * t.min(330.0), 480.0, true),
        ("above 800 mbar", &|t| 200.0 * t, 220.0, false),
    ] {
        let (bench, at) = held(rise);
        assert!((at - seconds).abs() < 1.0, "{name}: after {at} s");
        let outcome = record(&bench, Recover).map(|r| r.outcome);
        assert_eq!(outcome, done.then_some(Outcome::Done), "{name}: {:?}", bench.notices);
        assert_eq!(bench.station.connection().recovered(), done, "{name}");
    }
}

/// Six pulls with a hold after each; what comes back after the sixth ends it.
#[test]
fn the_sixth_pull_is_the_last() {
    let mut bench = recovering(6_000.0);
    gives_up(&mut bench, Recover, GiveUp::KeepsRising, |b, _| {
        let p = if b.on().has(Actuator::C1) { 35_000.0 } else { 90_000.0 };
        (b.world.p_low, b.world.p_high) = (p, p);
    });
    assert_eq!(said(&bench, |n| matches!(n, Notice::RecoveryHold(_))), 6);
    assert_eq!(said(&bench, |n| matches!(n, Notice::RecoveryRestart(_))), 5);
}

/// Half a gram a minute never comes to an end, and four hours of pulling are enough.
#[test]
fn a_recovery_that_never_ends_is_given_up_after_four_hours() {
    let mut bench = recovering(6_000.0);
    bench.world.p_separator = Some(50_000.0);
    let ran = std::cell::Cell::new(0_u32);
    gives_up(&mut bench, Recover, GiveUp::RecoveryTimeout, |b, _| {
        let on = b.on().has(Actuator::C1);
        ran.set(ran.get() + u32::from(on));
        b.world.grams[0] += if on { 0.03 / 20.0 } else { 0.0 };
        (b.world.p_low, b.world.p_high) = (150_000.0, 150_000.0);
    });
    assert_eq!(ran.get(), 4 * 3_600 * 20 + 1, "scans of pulling");
    let booked = grams(bench.station.job().ledger.recovered);
    assert!((booked - 432.0).abs() < 1.0, "{booked} g");
}

/// The platform's own 3 g in two minutes are nothing, and more than twenty minutes of nothing are enough.
#[test]
fn pulling_that_brings_next_to_nothing_ends_in_the_eleventh_idle_window() {
    for (rate, ends_so) in [(0.024, true), (0.026, false)] {
        let mut bench = recovering(6_000.0);
        bench.world.p_separator = Some(50_000.0);
        let ran = std::cell::Cell::new(0_u32);
        for _ in 0..20 * 1_500 {
            let on = bench.on().has(Actuator::C1);
            ran.set(ran.get() + u32::from(on));
            bench.world.grams[0] += if on { rate / 20.0 } else { 0.0 };
            (bench.world.p_low, bench.world.p_high) = (150_000.0, 150_000.0);
            bench.scan(None);
            if !bench.station.job().busy() {
                break;
            }
        }
        let minutes = f64::from(ran.get()) / 1_200.0;
        assert_eq!(!bench.station.job().busy(), ends_so, "{rate} g/s, {minutes} min: {:?}", bench.notices);
        // In the first window of two minutes the hoses fell; the eleventh that brings nothing ends it.
        assert!(!ends_so || (minutes - 24.0).abs() < 0.1, "{minutes} min");
    }
}

#[test]
fn no_room_is_no_room_to_the_gram() {
    for (vessel, begins) in [(9_499.9, true), (9_500.0, true), (9_500.1, false)] {
        let mut bench = known();
        bench.world.grams[0] = vessel;
        bench.seconds(3);
        // A vessel that changed by hand is a mass error, until somebody has looked.
        bench.seconds(30);
        bench.give(valvewright_core::talk::Command::Reset);
        bench.start(2, WorkOrder { charge: Milligram::from_grams(500), ..order(&[Recover, PhaseKind::Charge]) });
        let opened = bench.until(100, |b| b.on().has(Actuator::Xv3) || !b.station.job().busy());
        assert!(opened);
        assert_eq!(bench.on().has(Actuator::Xv3), begins, "{vessel} g: {:?}", bench.notices);
    }
}
