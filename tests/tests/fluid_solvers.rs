//! The property solvers undo each other over the whole plane, and no input, however wild, gives a number that is not finite.

use crate::fluid_data::{Worst, fluids, rel};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use valvewright_sim::fluid::{Fluid, FluidKind, Phase, State};

fn any_fluid() -> impl Strategy<Value = &'static Fluid> {
    prop_oneof![Just(FluidKind::R1234yf), Just(FluidKind::R134a)].prop_map(Fluid::get)
}

/// Densities over many decades, from below 0.1 Pa to compressed liquid.
fn any_density() -> impl Strategy<Value = f64> {
    (-6.0..3.13_f64).prop_map(|x| 10f64.powf(x))
}

/// Any bit pattern, not-a-number and infinities among them, and numbers of an ordinary size.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![proptest::num::f64::ANY, -1e3..1e4_f64, 0.0..1e7_f64]
}

fn all_finite(e: &State) -> bool {
    [
        e.rho, e.t, e.p, e.u, e.h, e.s, e.quality, e.rho_l, e.h_l, e.rho_g, e.h_g, e.s_g, e.dp_dt, e.dp_drho, e.cv,
        e.du_drho,
    ]
    .iter()
    .all(|x| x.is_finite())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, rng_seed: RngSeed::Fixed(0x5EED), ..ProptestConfig::default() })]

    #[test]
    fn density_and_energy_give_the_temperature_back(
        fluid in any_fluid(), rho in any_density(), t in 175.0..420.0_f64, guess in 150.0..450.0_f64,
    ) {
        let e = fluid.at(rho, t);
        let back = fluid.at_rho_u(rho, e.u, guess);
        prop_assert!((back.t - t).abs() < 2e-5, "{t} K at {rho} kg/m3 came back as {} K", back.t);
        prop_assert!((back.u - e.u).abs() < 1e-6 * e.cv.max(back.cv), "{} against {} J/kg", back.u, e.u);
        let known = fluid.at_rho_u(rho, e.u, t);
        prop_assert!((known.t - t).abs() < 2e-5, "{t} K at {rho} kg/m3, guessed rightly, came back as {} K", known.t);
        prop_assert!(back.phase == e.phase || (t - fluid.t_sat(e.p)).abs() < 1e-4, "{:?} became {:?}", e.phase, back.phase);
    }

    #[test]
    fn pressure_and_entropy_give_the_state_back(
        fluid in any_fluid(), f in 1e-4..1.0_f64, t in 200.0..420.0_f64, guess in 0.0..500.0_f64,
    ) {
        let rho = f * fluid.sat(t).rho_v;
        let e = fluid.at(rho, t);
        let s = fluid.at_ps(e.p, e.s, guess);
        prop_assert!((s.t - t).abs() < 1e-4 && rel(s.rho, rho).abs() < 1e-6, "by s: {t} K {rho} kg/m3 -> {} K {} kg/m3", s.t, s.rho);
        let h = fluid.at_ph(e.p, e.h, guess);
        prop_assert!((h.t - t).abs() < 1e-4 && rel(h.rho, rho).abs() < 1e-6, "by h: {t} K {rho} kg/m3 -> {} K {} kg/m3", h.t, h.rho);
    }

    #[test]
    fn wet_states_come_back_too(fluid in any_fluid(), x in 0.001..0.999_f64, t in 180.0..360.0_f64) {
        let sat = fluid.sat(t);
        let v = (1.0 - x) / sat.rho_l + x / sat.rho_v;
        let e = fluid.at(1.0 / v, t);
        prop_assert_eq!(e.phase, Phase::TwoPhase);
        prop_assert!((e.quality - x).abs() < 1e-9);
        for back in [fluid.at_ps(e.p, e.s, 300.0), fluid.at_ph(e.p, e.h, 300.0)] {
            prop_assert!((back.t - t).abs() < 1e-6 && rel(back.rho, e.rho).abs() < 1e-6);
        }
    }

    #[test]
    fn wild_input_stays_finite(fluid in any_fluid(), a in wild(), b in wild(), c in wild()) {
        for e in [
            fluid.at(a, b), fluid.at_rho_u(a, b, c), fluid.vapour_pt(a, b), fluid.at_ps(a, b, c), fluid.at_ph(a, b, c),
            fluid.at(a, 300.0), fluid.at(1.0, a), fluid.at_rho_u(10.0, a, b), fluid.at_ps(1e5, a, b), fluid.at_ph(1e5, a, b),
            fluid.at_ps(a, 1700.0, 300.0), fluid.at_ph(a, 4e5, 300.0), fluid.vapour_pt(1e5, a),
        ] {
            prop_assert!(all_finite(&e), "{a} {b} {c}: {e:?}");
            prop_assert!(e.p >= 0.0 && e.cv > 0.0, "{a} {b} {c}: {e:?}");
        }
        prop_assert!(fluid.p_sat(a) > 0.0 && fluid.p_sat(a).is_finite());
        prop_assert!((fluid.t_min()..=fluid.t_max()).contains(&fluid.t_sat(a)));
    }

    #[test]
    fn derivatives_are_those_of_the_values(fluid in any_fluid(), rho in any_density(), t in 176.0..420.0_f64) {
        let e = fluid.at(rho, t);
        let (dt, dr) = (1e-3, rho * 1e-6);
        let (up, dn) = (fluid.at(rho, t + dt), fluid.at(rho, t - dt));
        let (right, left) = (fluid.at(rho + dr, t), fluid.at(rho - dr, t));
        // A difference across a phase boundary or a knot at which the continuation starts says nothing.
        prop_assume!([up, dn, right, left].iter().all(|x| x.phase == e.phase));
        prop_assume!((t - fluid.t_sat_max()).abs() > 2.0 * dt);
        let near = |a: f64, b: f64, scale: f64| (a - b).abs() <= 1e-4 * (a.abs() + scale);
        prop_assert!(near((up.p - dn.p) / (2.0 * dt), e.dp_dt, 1e-3 * e.p / t), "dp/dT {} {e:?}", (up.p - dn.p) / (2.0 * dt));
        prop_assert!(near((up.u - dn.u) / (2.0 * dt), e.cv, 1.0), "cv {} {e:?}", (up.u - dn.u) / (2.0 * dt));
        prop_assert!(near((right.p - left.p) / (2.0 * dr), e.dp_drho, 1e-4 * e.p / rho), "dp/drho {} {e:?}", (right.p - left.p) / (2.0 * dr));
        let du = (right.u - left.u) / (2.0 * dr);
        prop_assert!((du - e.du_drho).abs() <= 1e-4 * du.abs() + 1e-9 * e.u / dr.max(1e-9), "du/drho {du} {e:?}");
    }
}

/// An integrator that crosses the dew line, the bubble line or the start of the continuation must see no step.
#[test]
fn regions_join_without_a_step() {
    for (fluid, name) in fluids() {
        let mut w = Worst::default();
        let mut t = 173.2;
        while t < 423.0 {
            let s = fluid.sat(t);
            // Liquid is stiff: 1e-14 of its density is already 1e-5 Pa.
            for (line, rho, hair) in [("dew", s.rho_v, 1e-12), ("bubble", s.rho_l, 1e-14)] {
                let (a, b) = (fluid.at(rho * (1.0 - hair), t), fluid.at(rho * (1.0 + hair), t));
                assert_ne!(a.phase, b.phase, "{line} {t} K");
                w.see(&format!("{line} p"), rel(a.p, b.p), || format!("{t} K"));
                w.see(&format!("{line} u"), rel(a.u, b.u), || format!("{t} K"));
                w.see(&format!("{line} s"), rel(a.s, b.s), || format!("{t} K"));
            }
            t += 0.1303;
        }
        let edge = fluid.t_sat_max();
        for rho in [1.0, 100.0, 300.0, 500.0, 700.0, 900.0] {
            let (a, b) = (fluid.at(rho, edge - 1e-9), fluid.at(rho, edge + 1e-9));
            w.see("continuation p", rel(a.p, b.p), || format!("{rho} kg/m3"));
            w.see("continuation u", rel(a.u, b.u), || format!("{rho} kg/m3"));
        }
        w.check(&format!("{name} steps between regions"), 1e-6);
    }
}

#[test]
fn pressure_rises_with_temperature_and_with_density() {
    for (fluid, name) in fluids() {
        let mut last = 0.0;
        for k in 0..30_000 {
            let t = 170.0 + 0.01 * f64::from(k);
            let p = fluid.p_sat(t);
            assert!(p > last, "{name}: p_sat falls at {t} K");
            last = p;
            if (174.0..fluid.t_sat_max()).contains(&t) {
                assert!((fluid.t_sat(p) - t).abs() < 1e-6, "{name}: t_sat(p_sat({t})) = {}", fluid.t_sat(p));
            }
        }
        for k in 0..=240 {
            let t = 174.0 + f64::from(k);
            let (mut rho, mut last) = (1e-6, 0.0);
            while rho < 1700.0 {
                let e = fluid.at(rho, t);
                assert!(e.p >= last * (1.0 - 1e-9), "{name}: p falls with density at {t} K {rho} kg/m3");
                assert!(e.phase == Phase::TwoPhase || e.dp_drho > 0.0, "{name}: soft at {t} K {rho} kg/m3");
                last = e.p;
                rho *= 1.003;
            }
        }
    }
}

/// A volume pumped down to 1 Pa holds an ideal gas.
#[test]
fn vacuum_is_an_ideal_gas() {
    for (fluid, name) in fluids() {
        let mut w = Worst::default();
        for t in [240.0, 273.15, 298.15, 350.0] {
            let e = fluid.vapour_pt(1.0, t);
            w.see("p = rho R T", rel(e.p, e.rho * 8.314_462_6 / fluid.molar_mass() * t), || format!("{t} K"));
            w.see("h - u = R T", rel(e.h - e.u, 8.314_462_6 / fluid.molar_mass() * t), || format!("{t} K"));
            let empty = fluid.at(0.0, t);
            assert_eq!(empty.p, 0.0);
            w.see("u of nothing", rel(empty.u, e.u), || format!("{t} K"));
        }
        // R-134a's equation carries R = 8.314471, 1e-6 above the present value.
        w.check(&format!("{name} at 1 Pa"), 3e-6);
    }
}

#[test]
fn errors_name_input_range_and_nearest_value() {
    let fluid = Fluid::get(FluidKind::R1234yf);
    let text = fluid.check_range(500.0).unwrap_err().to_string();
    for part in ["temperature 500", "R-1234yf", "173.15", "423.15", "nearest"] {
        assert!(text.contains(part), "{text}");
    }
    assert_eq!(fluid.check_range(f64::NAN).unwrap_err().nearest(), Some(fluid.t_min()));
    assert_eq!(fluid.check_sat_range(370.0).unwrap_err().nearest(), Some(fluid.t_sat_max()));
    assert!(fluid.check_sat_pressure(10.0).is_err() && fluid.check_sat_pressure(6e5).is_ok());
    assert!(fluid.check_range(300.0).is_ok());
    for name in ["R1234yf", "r-1234YF", "R-134a", "r134A"] {
        let kind: FluidKind = name.parse().unwrap();
        assert_eq!(kind == FluidKind::R134a, name.to_lowercase().contains("134a"));
    }
    assert!("R12".parse::<FluidKind>().unwrap_err().to_string().contains("R12"));
}
