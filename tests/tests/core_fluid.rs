//! The core's integer properties against the equations of state, at every hundredth of a kelvin, and their behaviour off range.

use crate::fluid_data::{Table, Worst, fluids, rel};
use valvewright_core::fluid::{Refrigerant, T_MAX, T_MIN, p_sat_water};
use valvewright_core::units::{AbsPa, CentiKelvin};
use valvewright_sim::fluid::water;

const BOTH: [Refrigerant; 2] = [Refrigerant::R1234yf, Refrigerant::R134a];

fn every_centikelvin() -> impl Iterator<Item = CentiKelvin> {
    (T_MIN.0..=T_MAX.0).map(CentiKelvin)
}

#[test]
fn saturation_at_the_reference_rows() {
    for (fluid, (_, name)) in BOTH.into_iter().zip(fluids()) {
        let (mut p_err, mut t_err) = (Worst::default(), Worst::default());
        for row in Table::read(&format!("sat_{name}.csv")).rows() {
            let t = CentiKelvin((row.num("T_K") * 100.0).round() as i32);
            let p = row.num("p_Pa");
            p_err.see("p_sat, Pa", f64::from(fluid.p_sat(t).0) - p, || format!("{t:?}"));
            let back = fluid.t_sat(AbsPa(p.round() as i32));
            t_err.see("t_sat, 0.01 K", f64::from(back.0 - t.0), || format!("{t:?}: {back:?}"));
        }
        p_err.check(&format!("{name} integer pressure at the reference rows"), 40.0);
        t_err.check(&format!("{name} integer temperature at the reference rows"), 1.0);
    }
}

/// Between the rows the simulator's table, itself checked to 1e-9 in pressure, is the reference.
#[test]
fn saturation_at_every_hundredth_of_a_kelvin() {
    for (core, (host, name)) in BOTH.into_iter().zip(fluids()) {
        let (mut p_err, mut t_err) = (Worst::default(), Worst::default());
        let mut last = 0;
        for t in every_centikelvin() {
            let p = core.p_sat(t).0;
            assert!(p > last, "{name}: pressure does not rise at {t:?}");
            last = p;
            let exact = host.p_sat(f64::from(t.0) / 100.0);
            p_err.see("p_sat, Pa", f64::from(p) - exact, || format!("{t:?}"));
        }
        // Pressures that belong to no whole hundredth, so that the rounding shows.
        let (mut p, top) = (f64::from(core.p_sat(T_MIN).0), host.p_sat(363.15));
        while p < top {
            let back = f64::from(core.t_sat(AbsPa(p as i32)).0) / 100.0;
            t_err.see("t_sat, K", back - host.t_sat(p.floor()), || format!("{p:.0} Pa"));
            p = p * 1.000_07 + 1.0;
        }
        p_err.check(&format!("{name} integer pressure"), 40.0);
        // 5 mK of the curve and 5 mK, half a step, of the result.
        t_err.check(&format!("{name} integer temperature"), 0.010);
    }
}

#[test]
fn densities_at_every_hundredth_of_a_kelvin() {
    for (core, (host, name)) in BOTH.into_iter().zip(fluids()) {
        let (mut cool, mut hot) = (Worst::default(), Worst::default());
        for t in every_centikelvin() {
            let s = host.sat(f64::from(t.0) / 100.0);
            let w = if t.0 <= 35_315 { &mut cool } else { &mut hot };
            w.see("liquid", rel(f64::from(core.liquid_density(t)) / 1000.0, s.rho_l), || format!("{t:?}"));
            w.see("vapour", rel(f64::from(core.vapour_density(t)) / 1000.0, s.rho_v), || format!("{t:?}"));
        }
        cool.check(&format!("{name} integer densities, -40..80 degC"), 2e-4);
        hot.check(&format!("{name} integer densities, 80..90 degC"), 1e-3);
    }
}

#[test]
fn gas_density_for_hose_content() {
    for (core, (host, name)) in BOTH.into_iter().zip(fluids()) {
        let (mut w, mut room) = (Worst::default(), Worst::default());
        for t in (T_MIN.0..=33_315).step_by(97).map(CentiKelvin) {
            let top = core.p_sat(t).0;
            for k in 1..=20 {
                let p = top / 20 * k - 1;
                let exact = host.vapour_pt(f64::from(p), f64::from(t.0) / 100.0).rho;
                if exact > 0.5 {
                    w.see("density", rel(f64::from(core.gas_density(AbsPa(p), t)) / 1000.0, exact), || {
                        format!("{t:?} {p} Pa")
                    });
                }
            }
            let near = f64::from(core.gas_density(AbsPa(top / 2), t)) / 1000.0;
            if t.0 <= 29_815 && near > 5.0 {
                room.see("density", rel(near, host.vapour_pt(f64::from(top / 2), f64::from(t.0) / 100.0).rho), || {
                    format!("{t:?}")
                });
            }
            assert_eq!(core.gas_density(AbsPa(i32::MAX), t), core.vapour_density(t));
            assert_eq!(core.gas_density(AbsPa(-5), t), 0);
        }
        w.check(&format!("{name} integer gas density, -40..60 degC"), 0.015);
        room.check(&format!("{name} integer gas density, to 25 degC, half saturation"), 2e-3);
    }
}

#[test]
fn water_line() {
    let mut w = Worst::default();
    for row in Table::read("water_sat.csv").rows() {
        let t = CentiKelvin((row.num("T_K") * 100.0).round() as i32);
        let p = row.num("p_liq_IAPWS92_Pa");
        w.see("p, share over 1 Pa", ((f64::from(p_sat_water(t).0) - p).abs() - 0.5).max(0.0) / p, || format!("{t:?}"));
    }
    for t in every_centikelvin() {
        let p = water::liquid_formula(f64::from(t.0) / 100.0).0;
        w.see("p everywhere", ((f64::from(p_sat_water(t).0) - p).abs() - 0.5).max(0.0) / p, || format!("{t:?}"));
    }
    w.check("integer water line", 2e-5);
}

#[test]
fn arguments_off_the_range_give_the_end_values() {
    for f in BOTH {
        for (far, end) in [(CentiKelvin(i32::MIN), T_MIN), (CentiKelvin(0), T_MIN), (CentiKelvin(i32::MAX), T_MAX)] {
            assert_eq!(f.p_sat(far), f.p_sat(end));
            assert_eq!(f.liquid_density(far), f.liquid_density(end));
            assert_eq!(f.vapour_density(far), f.vapour_density(end));
            assert_eq!(p_sat_water(far), p_sat_water(end));
        }
        assert_eq!(f.t_sat(AbsPa(i32::MIN)), T_MIN);
        assert_eq!(f.t_sat(AbsPa(0)), T_MIN);
        assert_eq!(f.t_sat(AbsPa(i32::MAX)), T_MAX);
        let mut last = CentiKelvin(0);
        for k in 0..20_000 {
            let t = f.t_sat(AbsPa(k * 200));
            assert!(t >= last, "{f:?}: t_sat falls at {} Pa", k * 200);
            last = t;
        }
    }
}
