//! When a purge is skipped, gives up or is done, and what it has booked by then.

use std::cell::Cell;

use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Actuator;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::talk::{Command, Notice, Question};
use valvewright_core::units::CentiKelvin;

use crate::bench::{Bench, order};
use crate::give_up::{all_off, as_it_is, ends, gives_up, gives_up_after, grams, leant_on, record, skips};

use PhaseKind::Purge;

fn saturation(celsius: i32) -> f64 {
    f64::from(Refrigerant::R1234yf.p_sat(CentiKelvin::from_centi_celsius(celsius * 100)).0)
}

/// A vessel left alone for so long, s, with this excess over saturation, Pa.
pub fn rested(seconds: u32, excess: f64) -> Bench {
    let mut bench = Bench::new();
    bench.world.p_vessel = saturation(21) + excess;
    for _ in 0..seconds / 10 {
        bench.scan_after(10_000, None);
    }
    bench.start(1, order(&[Purge]));
    bench
}

/// Yes to the purge as soon as it is asked for.
pub fn agreed(bench: &mut Bench) {
    if bench.station.job().question() == Some(Question::Purge) {
        bench.answer(true);
    }
}

/// Four hours, and wall and ambient within 2 K; the proof of air takes the last 54 s.
#[test]
fn a_vessel_that_has_not_rested_is_not_purged() {
    skips(&mut rested(4 * 3_600 - 60, 110_000.0), Purge, GiveUp::NotRested, as_it_is);
    assert!(rested(4 * 3_600, 110_000.0).until(100, |b| b.station.job().question().is_some()));
    for (wall, judged) in [(22.9, true), (23.1, false), (19.1, true), (18.9, false)] {
        let mut bench = rested(4 * 3_600, 150_000.0);
        bench.world.wall = Some(wall);
        if judged {
            assert!(bench.until(100, |b| b.station.job().question().is_some()), "{wall} degC: {:?}", bench.notices);
        } else {
            skips(&mut bench, Purge, GiveUp::NotRested, as_it_is);
        }
    }
}

#[test]
fn four_hours_of_rest_are_four_hours_to_the_scan() {
    // The proof of air takes its time: when does a purge begin that is ordered now?
    let mut begins = rested(4 * 3_600 - 100, 110_000.0);
    let ordered = begins.now();
    assert!(begins.until(100, |b| !b.notices.is_empty() && record(b, Purge).is_some()), "{:?}", begins.notices);
    let takes = begins.now() - ordered;
    // At rest since the first scan; the scan that judges is not counted.
    for (rest, judged) in [(4 * 3_600_000 - 50, false), (4 * 3_600_000, true)] {
        let mut bench = rested(0, 110_000.0);
        bench.give(Command::Abort);
        while bench.now() + 10_000 < rest + 100 - takes - 50 {
            bench.scan_after(10_000, None);
        }
        while bench.now() < rest + 100 - takes - 50 {
            bench.scan(None);
        }
        bench.start(2, order(&[Purge]));
        bench.seconds(60);
        assert_eq!(bench.station.job().question().is_some(), judged, "{rest} ms: {:?}", bench.notices);
    }
}

/// 345 mbar over saturation call for a purge.
#[test]
fn a_vessel_without_air_is_not_purged() {
    skips(&mut rested(4 * 3_600, 33_900.0), Purge, GiveUp::NothingToPurge, as_it_is);
    assert!(rested(4 * 3_600, 35_000.0).until(100, |b| b.station.job().question().is_some()));
}

#[test]
fn a_purge_that_nobody_wants_is_skipped() {
    let asked = || {
        let mut bench = rested(4 * 3_600, 110_000.0);
        assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
        bench
    };
    let mut declined = asked();
    declined.answer(false);
    skips(&mut declined, Purge, GiveUp::Declined, as_it_is);
    let lasted = skips(&mut asked(), Purge, GiveUp::NoAnswer, as_it_is);
    assert!((lasted - 600.1).abs() < 0.02, "{lasted} s");
}

#[test]
fn a_purge_waits_a_minute_and_a_half_for_a_scale_at_rest() {
    let mut before = rested(4 * 3_600, 110_000.0);
    assert!(before.until(100, |b| b.station.job().question().is_some()), "{:?}", before.notices);
    let from = Cell::new(0);
    gives_up(&mut before, Purge, GiveUp::ScaleUnsteady, |b, t| {
        leant_on(0, 6_000.0)(b, t);
        if (10.0..10.05).contains(&t) {
            b.answer(true);
            from.set(b.now());
        }
    });
    assert_eq!(before.now() - from.get() - 3_000, 90_050);
    // After the last pulse: what has gone is booked.
    let mut after = rested(4 * 3_600, 110_000.0);
    gives_up_after(&mut after, Purge, GiveUp::ScaleUnsteady, 153.25, |b, t| {
        agreed(b);
        if b.on().has(Actuator::Xv7) {
            b.world.p_vessel = saturation(21);
            b.world.grams[0] -= 0.5;
        } else if b.world.p_vessel < saturation(21) + 1.0 {
            leant_on(0, 5_980.0)(b, t);
        }
    });
    let booked = grams(after.station.job().ledger.vented);
    assert!((booked - 20.0).abs() < 2.5, "{booked} g");
}

/// Every pulse is two seconds, and half a minute after the one before: so many of so much a scan, until it gives up for this reason.
fn pulses_until(why: GiveUp, per_scan: f64, pulses: u32) {
    let mut bench = rested(4 * 3_600, 110_000.0);
    let (count, was, began) = (Cell::new(0), Cell::new(false), Cell::new((0, 0)));
    gives_up(&mut bench, Purge, why, |b, _| {
        agreed(b);
        let vents = b.on().has(Actuator::Xv7);
        b.world.grams[0] -= if vents { per_scan } else { 0.0 };
        // The air thins out with what goes, and what comes out of the liquid keeps 600 mbar of it.
        let fall = if vents { 222.0 * per_scan } else { 0.0 };
        b.world.p_vessel = (b.world.p_vessel - fall).max(saturation(21) + 60_000.0);
        if vents && !was.get() {
            count.set(count.get() + 1);
            began.set((began.get().1, b.now()));
        }
        was.set(vents);
    });
    assert_eq!(count.get(), pulses, "{:?}", bench.notices);
    let (before, last) = began.get();
    assert_eq!(last - before, 63_000, "from pulse to pulse");
    let (booked, gone) = (grams(bench.station.job().ledger.vented), 6_000.0 - bench.world.grams[0]);
    assert!((booked - gone).abs() < 0.2, "{booked} g booked, {gone} g gone");
    assert!((gone - per_scan * 40.0 * f64::from(pulses)).abs() < per_scan * f64::from(pulses) + 0.1, "{gone} g");
}

/// 600 g are enough.
#[test]
fn a_purge_stops_at_its_loss_limit() {
    pulses_until(GiveUp::PurgeLossLimit, 0.4, 38);
}

#[test]
fn a_purge_stops_after_ninety_pulses() {
    pulses_until(GiveUp::PulsesSpent, 0.05, 90);
}

/// An excess of 170 mbar ends it, and what has gone is said.
#[test]
fn a_purge_is_done_at_its_lower_limit() {
    let mut bench = rested(4 * 3_600, 40_000.0);
    let pulses = Cell::new(0);
    let (outcome, _) = ends(&mut bench, Purge, |b, _| {
        agreed(b);
        if b.on().has(Actuator::Xv7) {
            b.world.grams[0] -= 0.1;
            pulses.set(pulses.get() + 1);
            b.world.p_vessel = saturation(21) + if pulses.get() > 45 { 16_700.0 } else { 17_400.0 };
        }
    });
    assert_eq!(outcome, Outcome::Done);
    assert!((75..90).contains(&pulses.get()), "two pulses: {} scans", pulses.get());
    let gone = 6_000.0 - bench.world.grams[0];
    assert!((grams(bench.station.job().ledger.vented) - gone).abs() < 0.05);
    assert!(bench.notices.iter().any(|n| matches!(n, Notice::Purged(m) if (grams(*m) - gone).abs() < 0.05)));
}

/// The wall cools with each pulse and takes most of an hour to warm: four hours are enough.
#[test]
fn a_purge_that_waits_between_its_pulses_ends_after_four_hours() {
    let mut bench = rested(4 * 3_600, 110_000.0);
    let cooled = Cell::new(0.0);
    gives_up_after(&mut bench, Purge, GiveUp::TookTooLong, 4.0 * 3_600.0 + 0.05, |b, t| {
        agreed(b);
        if b.on().has(Actuator::Xv7) {
            cooled.set(t);
        }
        let warm = t - cooled.get() > 3_000.0 || cooled.get() == 0.0;
        b.world.wall = Some(if warm || b.on().has(Actuator::Xv7) { 21.0 } else { 19.4 });
    });
}

/// 1.5 K apart no pulse begins, and after an hour it is given up.
#[test]
fn a_pulse_waits_an_hour_for_the_wall() {
    for (wall, waits) in [(19.55, false), (19.4, true)] {
        let mut bench = rested(4 * 3_600, 150_000.0);
        let first = Cell::new(None);
        let pulses = Cell::new(0);
        let (outcome, lasted) = ends(&mut bench, Purge, |b, t| {
            agreed(b);
            if b.on().has(Actuator::Xv7) {
                pulses.set(pulses.get() + 1);
                first.set(first.get().or(Some(t)));
                b.world.wall = Some(wall);
                if pulses.get() > 45 {
                    b.world.p_vessel = saturation(19);
                }
            }
        });
        if waits {
            assert_eq!(outcome, Outcome::Failed(GiveUp::NotRested));
            all_off(&mut bench);
            assert!((lasted - 3_602.25).abs() < 0.02, "{lasted} s");
        } else {
            assert_eq!(outcome, Outcome::Done, "{:?}", bench.notices);
        }
        assert_eq!(pulses.get() > 45, !waits, "{wall} degC: {} scans", pulses.get());
    }
}

/// The vapour space over 6 kg in 12.5 L is 7.07 L of 34 g/L; a tenth of the excess a step sweeps 0.105 of it, down to 170 mbar,
/// and half as much again comes out of the liquid. More than 600 g is not vented.
#[test]
fn a_purge_says_what_it_will_cost() {
    let fluid = Refrigerant::R1234yf;
    let warm = CentiKelvin::from_centi_celsius(2_100);
    let space = 12.5 - 6_000.0 / (f64::from(fluid.liquid_density(warm)) / 1e3);
    let vapour = f64::from(fluid.gas_density(fluid.p_sat(warm), warm)) / 1e3;
    assert!((7.0..7.1).contains(&space) && (33.0..35.0).contains(&vapour), "{space} L, {vapour} g/L");
    for (excess, steps) in [(36_000.0, 8.0), (40_000.0, 9.0), (60_000.0, 12.0), (200_000.0, 1e3)] {
        let mut bench = rested(4 * 3_600, excess);
        assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
        let cost = bench.notices.iter().find_map(|n| match n {
            Notice::PurgeCosts(m) => Some(grams(*m)),
            _ => None,
        });
        let expected = f64::min(space * vapour * steps * 0.105 * 1.5, 600.0);
        assert!(cost.is_some_and(|g| (g - expected).abs() < 2.0), "{excess} Pa: {cost:?}, not {expected} g");
    }
}

/// A gauge that reads 2 bar too much looks like air, and nothing that is vented changes that: 5 g a pulse, and a tenth of the space is enough to
/// see it.
/// Shows F004.
#[test]
fn a_purge_that_vents_no_air_is_over_after_a_few_pulses() {
    let mut bench = rested(4 * 3_600, 200_000.0);
    let (outcome, _) = ends(&mut bench, Purge, |b, _| {
        agreed(b);
        b.world.grams[0] -= if b.on().has(Actuator::Xv7) { 0.125 } else { 0.0 };
    });
    assert_eq!(outcome, Outcome::Skipped(GiveUp::PulsesSpent), "{:?}", bench.notices);
    let gone = 6_000.0 - bench.world.grams[0];
    assert!((5.0..25.0).contains(&gone), "{gone} g");
}
