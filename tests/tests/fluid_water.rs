//! Vapour pressure of water and ice against the IAPWS values of the reference files.

use crate::fluid_data::{Table, Worst, rel};
use valvewright_sim::fluid::water::{
    T_MAX, T_MIN, ice_formula, liquid_formula, p_ice, p_ice_slope, p_liquid, p_liquid_slope, p_w_sat,
};

#[test]
fn lines_of_the_reference() {
    let mut w = Worst::default();
    for row in Table::read("water_sat.csv").rows() {
        let t = row.num("T_K");
        let place = || format!("{t} K");
        w.see("liquid", rel(p_liquid(t), row.num("p_liq_IAPWS92_Pa")), place);
        w.see("liquid formula", rel(liquid_formula(t).0, row.num("p_liq_IAPWS92_Pa")), place);
        if let Some(ice) = row.opt("p_ice_R14_Pa").filter(|_| t < 273.15) {
            w.see("ice", rel(p_ice(t), ice), place);
            w.see("ice formula", rel(ice_formula(t).0, ice), place);
            assert_eq!(p_w_sat(t, true), p_ice(t));
        }
        assert_eq!(p_w_sat(t, false), p_liquid(t));
    }
    w.check("water against IAPWS SR1-86(1992) and R14-08(2011)", 1e-6);
}

/// Newer IAPWS formulations of the same line differ by less than 2e-4.
#[test]
fn boiling_line_of_iapws_95_and_if97() {
    let (mut w, mut gauge) = (Worst::default(), Worst::default());
    for row in Table::read("water_boiling.csv").rows() {
        let t = row.num("temp_C") + 273.15;
        w.see("IAPWS-95", rel(p_liquid(t), row.num("psat_Pa_IAPWS95")), || format!("{t} K"));
        let inches = 29.921 - p_liquid(t) / 3386.389;
        gauge.see("inHg", inches - row.num("vacuum_inHg_at_sea_level"), || format!("{t} K: {inches}"));
    }
    for row in Table::read("water_sat.csv").rows() {
        if let Some(p) = row.opt("p_liq_IF97_Pa") {
            w.see("IF97", rel(p_liquid(row.num("T_K")), p), || format!("{} K", row.num("T_K")));
        }
    }
    w.check("water against other formulations", 2e-4);
    // The file prints hundredths.
    gauge.check("vacuum at which water boils, inHg", 0.0055);
}

#[test]
fn tables_follow_their_formulas_with_slopes() {
    let (mut value, mut slope) = (Worst::default(), Worst::default());
    let mut t = T_MIN + 0.01;
    while t < T_MAX {
        let place = || format!("{t} K");
        let (p, dp) = liquid_formula(t);
        value.see("liquid", rel(p_liquid(t), p), place);
        slope.see("liquid", rel(p_liquid_slope(t).1, dp), place);
        let difference = (liquid_formula(t + 1e-3).0 - liquid_formula(t - 1e-3).0) / 2e-3;
        slope.see("liquid formula", rel(dp, difference), place);
        if t < 273.0 {
            let (p, dp) = ice_formula(t);
            value.see("ice", rel(p_ice(t), p), place);
            slope.see("ice", rel(p_ice_slope(t).1, dp), place);
        }
        t += 0.1377;
    }
    value.check("water tables against their formulas", 1e-6);
    slope.check("slopes of the water tables", 1e-5);
}

#[test]
fn held_at_the_ends_and_finite() {
    for t in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -5.0, 1e9] {
        for p in [p_liquid(t), p_ice(t), p_w_sat(t, true)] {
            assert!(p.is_finite() && p > 0.0, "{t} K gives {p}");
        }
    }
    assert_eq!(p_liquid(T_MAX + 50.0), p_liquid(T_MAX));
    assert_eq!(p_liquid(10.0), p_liquid(T_MIN));
    // One pressure at the triple point, whatever the line.
    assert!(rel(ice_formula(273.16).0, liquid_formula(273.16).0).abs() < 2e-5);
}
