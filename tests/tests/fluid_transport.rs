//! Viscosities and the exponent of sound against CoolProp 8.0.0's values in `sat_*.csv`, `vapour_*.csv` and `*_states.csv`.
//!
//! Correlations behind them: R-1234yf Bell, Purdue 2016; R-134a Huber et al., Ind Eng Chem Res 2003; sound from the equations of state.

use crate::fluid_data::{Table, Worst, fluids, rel};

/// Limits of viscosity and of the exponent of sound.
const VISCOSITY: f64 = 5e-3;
const SOUND: f64 = 2e-3;

#[test]
fn saturation_line() {
    for (fluid, name) in fluids() {
        let (mut viscosity, mut sound) = (Worst::default(), Worst::default());
        for row in Table::read(&format!("sat_{name}.csv")).rows() {
            let t = row.num("T_K");
            let place = || format!("{t} K");
            viscosity.see("liquid", rel(fluid.viscosity_liquid(t), row.num("mu_Pa_s_liq")), place);
            let vapour = fluid.viscosity_vapour(fluid.sat(t).rho_v, t);
            viscosity.see("vapour", rel(vapour, row.num("mu_Pa_s_vap")), place);
            let k = row.num("rho_kg_m3_vap") * row.num("w_m_s_vap").powi(2) / row.num("p_Pa");
            sound.see("exponent", rel(fluid.sound_exponent_saturated(t), k), place);
        }
        viscosity.check(&format!("{name} viscosity on the saturation line"), VISCOSITY);
        sound.check(&format!("{name} exponent of sound on the saturation line"), SOUND);
    }
}

#[test]
fn superheated_vapour() {
    for (fluid, name) in fluids() {
        let mut w = Worst::default();
        for row in Table::read(&format!("vapour_{name}.csv")).rows() {
            let (t, rho) = (row.num("T_C") + 273.15, row.num("rho_kg_m3"));
            let place = || format!("{t} K {rho} kg/m3");
            w.see("vapour", rel(fluid.viscosity_vapour(rho, t), row.num("mu_Pa_s")), place);
            if row.num("p_Pa") < 200.0 {
                w.see("dilute", rel(fluid.viscosity_dilute(t), row.num("mu_Pa_s")), place);
            }
        }
        w.check(&format!("{name} viscosity of superheated vapour"), VISCOSITY);
    }
}

/// CoolProp's values at random states of `*_states.csv`, liquid up to 20 MPa.
#[test]
fn single_phase_states() {
    for (fluid, name) in fluids() {
        let mut w = Worst::default();
        for row in Table::read(&format!("{}_states.csv", name.to_lowercase())).rows() {
            let e = fluid.at(row.num("rho"), row.num("T_K"));
            let phase = row.text("phase");
            let mu = fluid.viscosity(&e).expect("one phase");
            w.see(phase, rel(mu, row.num("mu_Pa_s")), || format!("{} K {} kg/m3", e.t, e.rho));
        }
        w.check(&format!("{name} viscosity of single-phase states"), VISCOSITY);
    }
}

/// A solver that walks through the ends of the tables or over a knot must see no step.
#[test]
fn no_step_anywhere() {
    for (fluid, name) in fluids() {
        let mut last: Option<[f64; 4]> = None;
        let mut w = Worst::default();
        let mut t = 160.0;
        while t < 440.0 {
            let rho = fluid.sat(t).rho_v;
            let now = [
                fluid.viscosity_liquid(t),
                fluid.viscosity_dilute(t),
                fluid.viscosity_vapour(rho, t),
                fluid.sound_exponent_saturated(t),
            ];
            for (k, (a, b)) in last.unwrap_or(now).iter().zip(now).enumerate() {
                w.see(["liquid", "dilute", "vapour", "exponent"][k], rel(*a, b), || format!("{t} K"));
            }
            last = Some(now);
            t += 0.003;
        }
        w.check(&format!("{name} change over 3 mK"), 2e-4);
    }
}

#[test]
fn held_at_the_ends_and_finite() {
    for (fluid, _) in fluids() {
        for t in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -5.0, 0.0, 1e9, 300.0] {
            for rho in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, 1e9] {
                let all = [
                    fluid.viscosity_liquid(t),
                    fluid.viscosity_dilute(t),
                    fluid.viscosity_vapour(rho, t),
                    fluid.viscosity_compressed(rho, t),
                    fluid.sound_exponent_saturated(t),
                ];
                assert!(all.iter().all(|x| x.is_finite() && *x > 0.0), "{rho} kg/m3 {t} K: {all:?}");
            }
        }
        assert_eq!(fluid.viscosity_liquid(fluid.t_sat_max() + 5.0), fluid.viscosity_liquid(fluid.t_sat_max()));
        assert_eq!(fluid.viscosity_liquid(100.0), fluid.viscosity_liquid(fluid.t_min()));
        assert_eq!(fluid.viscosity_vapour(-1.0, 300.0), fluid.viscosity_dilute(300.0));
        assert_eq!(fluid.viscosity_vapour(1e4, 300.0), fluid.viscosity_vapour(fluid.sat(300.0).rho_v, 300.0));
    }
}
