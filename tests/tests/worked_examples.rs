//! Worked examples of vacuum decay, leak rates, recovery and charge bands, hose content: held against the core's arithmetic.
//!
//! Numbers are those of the sources named at each test; the figures were worked with Python and CoolProp 8.0.0.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::job::charge::CLOSE;
use valvewright_core::job::leak::{shape, throughput};
use valvewright_core::job::{LeakVerdict, purge};
use valvewright_core::units::{AbsPa, CentiKelvin, GaugePa, Microlitre, Milligram, Millis};
use valvewright_core::verdict::milligram_per_year;

const BOTH: [Refrigerant; 2] = [Refrigerant::R134a, Refrigerant::R1234yf];
const AT_20: CentiKelvin = CentiKelvin::from_centi_celsius(2_000);

fn near(seen: f64, expected: f64, share: f64) {
    assert!((seen / expected - 1.0).abs() <= share, "{seen:e} against {expected:e}");
}

/// W1: 2 L that rise from 25 300 to 50 600 Pa in 70 s at 293.15 K gain 2.966e-4 mol/s (example inputs of 40 CFR 1065.644).
/// Shows W1.
#[test]
fn vacuum_decay_as_amount_of_gas() {
    let q = throughput(Microlitre(2_000_000), AbsPa(50_600 - 25_300), Millis::from_secs(70));
    near(f64::from(q) * 1e-6 / (8.314_462_618 * 293.15), 2.966e-4, 0.005);
}

/// W2: 4 L lose 1e5 Pa in 30 days (vacuum know-how book 7.1.2): 1.543e-4 Pa m3/s.
/// Shows W2.
#[test]
fn pressure_loss_of_a_month() {
    let q = throughput(Microlitre(4_000_000), AbsPa(100_000), Millis(30 * 86_400_000));
    near(f64::from(q) * 1e-6, 1.543e-4, 0.005);
}

/// W3: 10 g of R-134a in 10 years are 7.57e-7 Pa m3/s at 20 degC (the book rounds to 7.1e-7); a thousand such leaks, so that
/// the integer unit of 1e-6 Pa m3/s does not rule.
/// Shows W3.
#[test]
fn allowed_loss_of_ten_years() {
    near(milligram_per_year(757, Refrigerant::R134a) as f64, 1e3 * 1e3, 0.002);
}

/// W4: 5 g/a (detector practice) are 3.785e-6 and 3.386e-6 Pa m3/s at 20 degC; a thousand such leaks.
/// Shows W4.
#[test]
fn five_grams_a_year() {
    for (fluid, micro) in BOTH.into_iter().zip([3_785, 3_386]) {
        near(milligram_per_year(micro, fluid) as f64, 5e6, 0.002);
    }
}

/// W5: the limit of 40 g/a of directive 2006/40/EC as a flow: 3.028e-5 and 2.709e-5 Pa m3/s; a thousand such leaks.
/// Shows W5.
#[test]
fn forty_grams_a_year() {
    for (fluid, micro) in BOTH.into_iter().zip([30_280, 27_090]) {
        near(milligram_per_year(micro, fluid) as f64, 40e6, 0.002);
    }
}

/// W6: 2 inHg in 5 min on 3 L (TM 5-3805-296-23-4; the volume is ours) are 6.77e-2 Pa m3/s, half for 1 inHg. The station's
/// limit for a leak lies far below, so it calls that a leak.
/// Shows W6.
#[test]
fn standing_vacuum_limit_of_the_trade() {
    for (inches, expected) in [(2.0, 6.77e-2), (1.0, 3.39e-2)] {
        let q = throughput(Microlitre(3_000_000), AbsPa((inches * 3386.389f64).round() as i32), Millis::from_secs(300));
        near(f64::from(q) * 1e-6, expected, 0.005);
        assert_eq!(shape(q, q, q, StationConfig::reference(Refrigerant::R134a).leak_limit), LeakVerdict::Leak);
    }
}

/// W7: that limit is 1.8e4 times a leak of 5 g/a. Own: the station's own limit is no fine test either, 2e-3 Pa m3/s is
/// 2.6 kg of R-134a a year, and a tight verdict says no more.
/// Shows W7.
#[test]
fn vacuum_decay_is_a_coarse_test() {
    let q = throughput(Microlitre(3_000_000), AbsPa(6_773), Millis::from_secs(300));
    near(milligram_per_year(q, Refrigerant::R134a) as f64 / 5e3, 1.8e4, 0.02);
    let limit = StationConfig::reference(Refrigerant::R134a).leak_limit;
    near(milligram_per_year(limit, Refrigerant::R134a) as f64, 2.642e6, 0.002);
}

/// W8: dry gas at 1 000 Pa that warms from 20 to 25 degC shows 1 017.06 Pa without any leak. The core has no temperature of the
/// circuit and does NOT take that off: it counts as a rise. Known limit: at the depths a hold starts from it stays far
/// below the leak limit, which this test keeps so.
/// Shows W8.
#[test]
fn a_rise_by_warming_is_not_taken_off_but_stays_below_the_limit() {
    let rise = AbsPa((1_000.0f64 * 298.15 / 293.15 - 1_000.0).round() as i32);
    assert_eq!(rise, AbsPa(17));
    let q = throughput(Microlitre(3_000_000), rise, Millis::from_secs(300));
    assert_eq!(q, 170, "counted in full");
    assert_eq!(shape(q, q, q, StationConfig::reference(Refrigerant::R134a).leak_limit), LeakVerdict::Tight);
}

/// W10: 15 g of 500 g either way (40 CFR 82 Subpart B App. C 9.1); the core ends a charge inside a sixth of that, which leaves
/// the rest to scale and hoses.
/// Shows W10.
#[test]
fn the_charge_ends_well_inside_its_band() {
    assert!(CLOSE.0 * 6 <= Milligram::from_grams(15).0, "{CLOSE:?}");
}

/// W13: 710 mmHg below 760 are 6 666 Pa absolute, 102 mmHg below are 87 726 Pa (App. C 10.3; App. A J1990 7.1).
/// Shows W13.
#[test]
fn vacuum_units() {
    let mmhg = |below: f64| GaugePa((-below * 101_325.0 / 760.0).round() as i32).to_abs(AbsPa(101_325));
    assert_eq!(mmhg(710.0), AbsPa(6_666));
    assert_eq!(mmhg(102.0), AbsPa(87_726));
}

/// W16: limit 80 psig for R-12 at 70 degF is a table of a refrigerant the core does not know; what it takes from it is the rule
/// behind the table, saturation and 5 psi (from memory): W17 524 kPa gauge for R-134a, W18 78 psig for R-1234yf.
/// Shows W17, W18.
#[test]
fn non_condensables_limit_at_70_degf() {
    const PSI: f64 = 6_894.757;
    assert_eq!(purge::START, AbsPa((5.0 * PSI).round() as i32));
    let at_70_f = CentiKelvin(29_426);
    let limit = |fluid: Refrigerant| fluid.p_sat(at_70_f).plus(purge::START).to_gauge(AbsPa(101_325));
    near(f64::from(limit(Refrigerant::R134a).0), 524_000.0, 0.003);
    assert_eq!((f64::from(limit(Refrigerant::R1234yf).0) / PSI).floor(), 78.0);
    // W17: 545 kPa gauge read at 70 degF is 54.7 kPa above saturation and calls for a purge.
    let excess = GaugePa(545_000).to_abs(AbsPa(101_325)).minus(Refrigerant::R134a.p_sat(at_70_f));
    assert!((excess.0 - 54_700).abs() < 300 && excess > purge::START, "{excess:?}");
}

/// W26: 2.5 m of 5 mm bore hold 49.09 mL: 60.1 and 54.5 g as liquid, 1.36 and 1.61 g as saturated vapour at 20 degC (own problem).
/// Shows W26.
#[test]
fn hose_content() {
    let millilitre = std::f64::consts::FRAC_PI_4 * 0.5f64.powi(2) * 250.0;
    near(millilitre, 49.09, 1e-4);
    for (fluid, liquid, vapour) in [(Refrigerant::R134a, 60.1, 1.36), (Refrigerant::R1234yf, 54.5, 1.61)] {
        near(f64::from(fluid.liquid_density(AT_20)) * 1e-6 * millilitre, liquid, 0.002);
        near(f64::from(fluid.vapour_density(AT_20)) * 1e-6 * millilitre, vapour, 0.004);
        let full = fluid.gas_density(fluid.p_sat(AT_20), AT_20);
        near(f64::from(full) * 1e-6 * millilitre, vapour, 0.004);
    }
}

/// W27: vapour left in 3 L at 20 degC at 87 726, 30 000 and 6 666 Pa (own problem; the first is the 102 mmHg rule).
/// Shows W27.
#[test]
fn vapour_left_after_recovery() {
    let left = [(Refrigerant::R134a, [11.23, 3.79, 0.84]), (Refrigerant::R1234yf, [12.57, 4.24, 0.94])];
    for (fluid, grams) in left {
        for (p, expected) in [87_726, 30_000, 6_666].into_iter().zip(grams) {
            let seen = f64::from(fluid.gas_density(AbsPa(p), AT_20)) * 3e-3;
            // The core's 0.2 %, its unit of 1 g/m3 over 3 L, and half a digit of the figures above.
            assert!(
                (seen - expected).abs() <= 0.002 * expected + 0.003 + 0.005,
                "{seen} g against {expected} g at {p} Pa"
            );
        }
    }
}

/// W38: after five minutes -20 kPa gauge passes to the watch of two minutes, +5 kPa gauge must be recovered again (App. A, J1989
/// 3.2.1). The core is stricter: it recovers again from 80 kPa absolute on, so it never accepts a positive gauge pressure.
/// Shows W38.
#[test]
fn pressure_after_recovery() {
    let cfg = StationConfig::reference(Refrigerant::R1234yf);
    assert!(GaugePa(5_000).to_abs(cfg.barometer) > cfg.recovery_restart);
    assert!(cfg.recovery_restart <= GaugePa(-20_000).to_abs(cfg.barometer));
    assert!(cfg.recovery_end < cfg.recovery_restart);
}
