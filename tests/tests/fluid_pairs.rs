//! A state found from density and temperature comes back from every other pair, over all of the tables' range, and what lies outside
//! is refused with a nearest value that is accepted.

use crate::fluid_data::rel;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use valvewright_sim::fluid::{Fluid, FluidError, FluidKind, Found, Pair, Phase, Property, State};

fn any_fluid() -> impl Strategy<Value = &'static Fluid> {
    prop_oneof![Just(FluidKind::R1234yf), Just(FluidKind::R134a)].prop_map(Fluid::get)
}

/// A share between 0 and 1, often within a hair of either end.
fn share() -> impl Strategy<Value = f64> {
    let near = || (-12.0..0.0_f64).prop_map(|x| 10f64.powf(x));
    prop_oneof![0.0..1.0_f64, near(), near().prop_map(|x| 1.0 - x)]
}

/// Any bit pattern, not-a-number and infinities among them, and numbers of an ordinary size.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![proptest::num::f64::ANY, -1e3..1e4_f64, 0.0..1e7_f64]
}

/// Temperature at a share of the range that has saturation data (`all` false) or of the whole.
fn temperature(fluid: &Fluid, f: f64, all: bool) -> f64 {
    let top = if all { fluid.t_max() } else { fluid.t_sat_max() };
    fluid.t_min() + f * (top - fluid.t_min())
}

/// The states that the three solvers find for the pairs of `e`; a guess from anywhere.
fn again(fluid: &Fluid, e: &State, guess: f64) -> [(&'static str, Option<State>); 3] {
    let single = match fluid.at_pt(e.p, e.t) {
        Found::Single(state) => Some(state),
        Found::Saturated(_) => None,
    };
    [("(p, h)", Some(fluid.at_ph(e.p, e.h, guess))), ("(p, s)", Some(fluid.at_ps(e.p, e.s, guess))), ("(p, T)", single)]
}

/// How near the same state must come back: pressure and the given heat to 1e-6, which pins all else but where the fluid is soft.
fn same(e: &State, back: &State, what: &str) -> Result<(), TestCaseError> {
    prop_assert!(rel(back.p, e.p).abs() < 1e-6, "{what}: {} Pa for {}: {e:?}\n{back:?}", back.p, e.p);
    prop_assert!((back.h - e.h).abs() < 0.5, "{what}: {} J/kg for {}: {e:?}\n{back:?}", back.h, e.h);
    prop_assert!((back.t - e.t).abs() < 1e-4, "{what}: {} K for {}: {e:?}\n{back:?}", back.t, e.t);
    prop_assert!(rel(back.rho, e.rho).abs() < 2e-5, "{what}: {} kg/m3 for {}: {e:?}\n{back:?}", back.rho, e.rho);
    Ok(())
}

const PAIRS: [[Property; 2]; 7] = [
    [Property::Pressure, Property::Temperature],
    [Property::Pressure, Property::Enthalpy],
    [Property::Pressure, Property::Entropy],
    [Property::Pressure, Property::Quality],
    [Property::Quality, Property::Temperature],
    [Property::Temperature, Property::Density],
    [Property::InternalEnergy, Property::Density],
];

/// The pairs that a single-phase state can be asked by.
fn pairs_of(e: &State) -> [Pair; 5] {
    [
        Pair::PressureTemperature(e.p, e.t),
        Pair::PressureEnthalpy(e.p, e.h),
        Pair::PressureEntropy(e.p, e.s),
        Pair::DensityTemperature(e.rho, e.t),
        Pair::DensityEnergy(e.rho, e.u),
    ]
}

/// A number between -0.2 and 1.2, sometimes near 0 or 1, seldom not a number at all.
fn wide() -> impl Strategy<Value = f64> {
    prop_oneof![20 => -0.2..1.2_f64, 20 => share(), 1 => Just(f64::NAN), 1 => Just(f64::INFINITY)]
}

/// `f` between 0 and 1 stretched over a bit more than a property's range.
fn size(property: Property, f: f64) -> f64 {
    match property {
        Property::Temperature => 160.0 + 280.0 * f,
        Property::Pressure => 10f64.powf(-6.0 + 14.0 * f),
        Property::Density => 10f64.powf(-10.0 + 13.5 * f),
        Property::InternalEnergy | Property::Enthalpy => 6e4 + 6e5 * f,
        Property::Entropy => 300.0 + 3500.0 * f,
        Property::Quality => f,
    }
}

/// An answer lies where the tables hold data.
fn inside(fluid: &Fluid, e: &State) -> Result<(), TestCaseError> {
    prop_assert!(e.t >= fluid.t_min() - 1e-6 && e.t <= fluid.t_max() + 1e-6 && e.p <= 20.1e6, "{e:?}");
    prop_assert!(
        e.t <= fluid.t_sat_max() + 1e-6 || e.rho <= fluid.sat(fluid.t_sat_max()).rho_v * (1.0 + 1e-6),
        "{e:?}"
    );
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, failure_persistence: None, rng_seed: RngSeed::Fixed(0x5EED), ..ProptestConfig::default() })]

    #[test]
    fn vapour_comes_back(fluid in any_fluid(), f in share(), ft in share(), guess in 0.0..500.0_f64) {
        let t = temperature(fluid, ft, true);
        let rho = (f.min(1.0 - 1e-13) * fluid.sat(t).rho_v).max(1e-9);
        let e = fluid.at(rho, t);
        prop_assert_eq!(e.phase, Phase::Vapour);
        for (what, back) in again(fluid, &e, guess) {
            if let Some(back) = back {
                same(&e, &back, what)?;
            } else {
                prop_assert!(rel(e.p, fluid.p_sat(t)).abs() <= 4e-7);
            }
        }
    }

    #[test]
    fn liquid_comes_back(fluid in any_fluid(), f in share(), ft in share(), guess in 0.0..500.0_f64) {
        let t = temperature(fluid, ft, false);
        let p = fluid.p_sat(t) + f * (200e5 - fluid.p_sat(t));
        let Found::Single(e) = fluid.at_pt(p, t) else { return Ok(()) };
        prop_assert!(rel(e.p, p).abs() < 1e-6, "{} Pa for {p}", e.p);
        prop_assert_eq!(e.phase, Phase::Liquid);
        for (what, back) in again(fluid, &e, guess) {
            if let Some(back) = back {
                same(&e, &back, what)?;
            }
        }
    }

    #[test]
    fn wet_states_come_back(fluid in any_fluid(), x in share(), ft in share(), guess in 0.0..500.0_f64) {
        let t = temperature(fluid, ft, false);
        let sat = fluid.sat(t);
        let e = fluid.at(1.0 / ((1.0 - x) / sat.rho_l + x / sat.rho_v), t);
        prop_assert!(matches!(fluid.at_pt(e.p, t), Found::Saturated(_)) || e.phase != Phase::TwoPhase);
        for (what, back) in &again(fluid, &e, guess)[..2] {
            same(&e, &back.unwrap(), what)?;
        }
    }

    #[test]
    fn every_pair_finds_a_state_of_the_tables(fluid in any_fluid(), f in share(), ft in share(), dense in any::<bool>()) {
        let t = temperature(fluid, ft, !dense);
        let e = if dense {
            // A state at the very top of the data is brought there, and the next one is stiffer.
            let Found::Single(e) = fluid.at_pt(fluid.p_sat(t) + f * (199.9e5 - fluid.p_sat(t)), t) else { return Ok(()) };
            e
        } else {
            fluid.at((f.min(1.0 - 1e-13) * fluid.sat(t).rho_v).max(1e-9), t)
        };
        for pair in pairs_of(&e) {
            match fluid.find(pair) {
                Ok(Found::Single(back)) => same(&e, &back, &format!("{pair:?}"))?,
                Ok(Found::Saturated(sat)) => prop_assert!(rel(sat.p, e.p).abs() <= 4e-7),
                Err(wrong) => prop_assert!(false, "{pair:?}: {wrong}"),
            }
        }
    }

    #[test]
    fn a_refusal_names_a_value_that_is_accepted(fluid in any_fluid(), which in 0..PAIRS.len(), a in wide(), b in wide()) {
        let [one, other] = PAIRS[which];
        let pair = Pair::of((one, size(one, a)), (other, size(other, b))).unwrap();
        let near = fluid.nearest(pair);
        match fluid.find(pair) {
            Ok(_) => prop_assert_eq!(near, pair),
            Err(wrong) => {
                let FluidError::OutOfRange { input, .. } = wrong else { panic!("{wrong}") };
                let parts = near.parts();
                prop_assert!(parts.contains(&(input, wrong.nearest().unwrap())), "{wrong}: {near:?}");
            }
        }
        match fluid.find(near) {
            Ok(Found::Single(e)) => inside(fluid, &e)?,
            Ok(Found::Saturated(_)) => {}
            Err(wrong) => prop_assert!(false, "{near:?}, from {pair:?}: {wrong}"),
        }
    }

    #[test]
    fn wild_pairs_stay_finite(fluid in any_fluid(), a in wild(), b in wild(), c in wild()) {
        let mut states = vec![fluid.at_ph(a, b, c), fluid.at_ps(a, b, c), fluid.at_ph(5e6, a, b), fluid.at_ps(5e6, a, b)];
        for (p, t) in [(a, b), (a, 300.0), (5e6, a), (1e9, a)] {
            match fluid.at_pt(p, t) {
                Found::Single(state) => states.push(state),
                Found::Saturated(sat) => prop_assert!(sat.p.is_finite()),
            }
        }
        for e in states {
            let all = [e.rho, e.t, e.p, e.u, e.h, e.s, e.quality, e.dp_dt, e.dp_drho, e.cv, e.du_drho];
            prop_assert!(all.iter().all(|x| x.is_finite()) && e.p >= 0.0, "{a} {b} {c}: {e:?}");
        }
    }
}
