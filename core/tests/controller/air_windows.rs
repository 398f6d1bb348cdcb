//! Which growth of the vessel's pressure is air in a recovery, window by window of two minutes.

use crate::bench::Bench;
use crate::give_up::record;
use crate::vacuum::{AIR, Pull, pulls};

use valvewright_core::job::PhaseKind::Recover;

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
