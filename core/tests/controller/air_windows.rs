//! Which growth of the vessel's pressure is air in a recovery, window by window of two minutes.

use crate::bench::Bench;
use crate::give_up::{ends, record};
use crate::give_up_gas::recovering_on;
use crate::vacuum::{AIR, Pull, pulls};

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Actuator;
use valvewright_core::job::PhaseKind::Recover;
use valvewright_core::job::{GiveUp, Outcome};
use valvewright_core::units::AbsPa;

/// Hoses at 650 mbar, too far from the barometer to be an open circuit, and more mass than air would bring: the pressure of the
/// vessel alone decides. It stands at 6.1 bar, just over saturation, when the phase begins.
pub fn grows(vessel: f64, rate: f64, minutes: u32) -> Bench {
    pulls(65_000.0, vessel, &Pull { hoses: 0.0, grams: 0.6, vessel: rate }, minutes * 60)
}

fn is_air(bench: &Bench) -> bool {
    record(bench, Recover).map(|r| r.outcome) == AIR
}

#[test]
fn four_hundred_millibar_in_a_window_are_air() {
    assert!(is_air(&grows(610_000.0, 345.0, 5)), "414 mbar in two minutes");
    assert!(!is_air(&grows(610_000.0, 322.0, 8)), "386 mbar");
}

/// Two bar since the start of the phase are air where they still grow by 50 mbar in a window.
#[test]
fn two_bar_in_all_that_still_grow_are_air() {
    assert!(is_air(&grows(610_000.0, 322.0, 15)), "386 mbar in two minutes, until it is two bar");
    assert!(is_air(&grows(812_000.0, 50.0, 9)), "60 mbar in two minutes");
    assert!(!is_air(&grows(812_000.0, 38.0, 15)), "46 mbar");
    assert!(!is_air(&grows(850_000.0, 0.0, 15)), "2.4 bar that stand");
    assert!(!is_air(&grows(780_000.0, 50.0, 9)), "1.7 bar that grow to 2.0");
}

/// Below the barometer a hold leaves the vessel time to even out: 2 bar more over saturation than at the start are air.
#[test]
fn air_that_stands_over_the_vessel_after_a_pull_is_found_in_the_hold() {
    for (vessel, barometer, air) in
        [(818_000.0, 101_325, true), (802_000.0, 101_325, false), (818_000.0, 75_000, false)]
    {
        let cfg = StationConfig { barometer: AbsPa(barometer), ..StationConfig::reference(Refrigerant::R1234yf) };
        let mut bench = recovering_on(Bench::with(cfg), 6_000.0);
        // The start of the phase has seen 6.1 bar.
        bench.seconds(1);
        let pulled = std::cell::Cell::new(0.0);
        let (outcome, _) = ends(&mut bench, Recover, |b, t| {
            if b.on().has(Actuator::C1) {
                pulled.set(t);
            }
            let p = if t < pulled.get() + 5.0 { 35_000.0 } else { 90_000.0 };
            // It comes to stand in the hold alone: in the pull it would be found at once.
            let stands = if b.on().has(Actuator::C1) { 610_000.0 } else { vessel };
            (b.world.p_low, b.world.p_high, b.world.p_vessel) = (p, p, stands);
        });
        let expected = if air { GiveUp::DrawsAir } else { GiveUp::KeepsRising };
        assert_eq!(outcome, Outcome::Failed(expected), "{vessel} Pa, {barometer} Pa: {:?}", bench.notices);
    }
}
