//! Oil from TOML: which law holds its refrigerant, and the keys that go with that law only.

use super::keys::Keys;
use super::range::CONDUCTANCES;
use crate::plant::spec::{OilLaw, OilSpec};
use crate::scenario::quantity::Dim;

/// Refrigerant per oil beyond what any law holds, kg/kg: Raoult's ends at phi = 0.98, with 49 moles of refrigerant to one of oil, and
/// a mole of oil is the heavier.
const MOST_DISSOLVED: f64 = 49.0;
/// Rate of the Flory-Huggins law per oil mass, 1/(s Pa): 2e-9 kg/(s Pa) for 150 g (a guess: release takes minutes to hours).
const RATE_PER_MASS: f64 = 2e-9 / 0.15;
/// Keys of oil as a phase with volume and heat.
const PHASE: &[&str] = &["density", "heat_capacity", "to_content", "to_wall", "heat_of_mixing"];

/// Keys that stand for one law or another, or for what only oil with a law does.
const OF_LAWS: &[&str] = &["solubility", "time_constant", "molar_mass", "interaction", "rate", "weightless", "mist"];

/// Oil in a closed volume.
pub(super) fn oil(keys: &mut Keys) -> OilSpec {
    let mass = keys.need("mass", Dim::Mass, 0.0..=10.0);
    let Some(law) = law(keys, mass) else {
        // Nobody knows which keys go with it, so none is out of place.
        keys.any(OF_LAWS);
        keys.any(&["dissolved"]);
        return body(keys, mass, flory(mass), false);
    };
    let linear = matches!(law, OilLaw::Linear { .. });
    let phase = PHASE.iter().any(|key| keys.has(key));
    let weightless = linear && keys.flag("weightless", !phase);
    if !linear {
        keys.out_of_place(&["weightless"], "only the linear law can do without the oil's volume and heat");
    }
    if weightless {
        keys.out_of_place(PHASE, "weightless oil has neither volume nor heat; set `weightless = false`");
    }
    let dissolved = keys.get("dissolved", Dim::Mass, 0.0..=500.0);
    if let Some(much) = dissolved.filter(|much| *much > MOST_DISSOLVED * mass) {
        let message = format!("no oil of {:.3} g holds {:.3} g of refrigerant", mass * 1e3, much * 1e3);
        let help = format!("at most {MOST_DISSOLVED} parts to one of oil: {:.3} g", MOST_DISSOLVED * mass * 1e3);
        keys.refuse_at("dissolved", message, help);
    }
    let made = body(keys, mass, law, weightless);
    OilSpec { dissolved, mist: keys.or("mist", Dim::Fraction, 0.0..=0.5, 0.0), ..made }
}

/// Oil in an open bottle: its mass counts, and what it brings along escapes.
pub(super) fn in_bottle(keys: &mut Keys) -> OilSpec {
    let mass = keys.need("mass", Dim::Mass, 0.0..=10.0);
    let why = "the oil of an open bottle gives off what it holds to the ambient; it has no law";
    keys.out_of_place(&["law"], why);
    keys.out_of_place(OF_LAWS, why);
    let made = body(keys, mass, flory(mass), false);
    OilSpec { dissolved: keys.get("dissolved", Dim::Mass, 0.0..=10.0), ..made }
}

fn body(keys: &mut Keys, mass: f64, law: OilLaw, weightless: bool) -> OilSpec {
    let mut other = |key: &str, dim: Dim, range, usual: f64| {
        if weightless { usual } else { keys.or(key, dim, range, usual) }
    };
    OilSpec {
        mass,
        law,
        weightless,
        density: other("density", Dim::Density, 500.0..=2000.0, 980.0),
        heat_capacity: other("heat_capacity", Dim::SpecificHeat, 500.0..=5000.0, 1900.0),
        to_content: other("to_content", Dim::Conductance, CONDUCTANCES, 8.0),
        to_wall: other("to_wall", Dim::Conductance, CONDUCTANCES, 0.0),
        heat_of_mixing: other("heat_of_mixing", Dim::SpecificEnergy, -50e3..=20e3, 0.0),
        dissolved: None,
        mist: 0.0,
    }
}

fn flory(mass: f64) -> OilLaw {
    OilLaw::Flory { molar_mass: 2.0, interaction: 0.64, rate: RATE_PER_MASS * mass }
}

/// The law named, or the one that the keys of older files stand for; none where an unknown one is named.
fn law(keys: &mut Keys, mass: f64) -> Option<OilLaw> {
    let older = ["solubility", "time_constant"].iter().any(|key| keys.has(key));
    let usual = if older { "linear" } else { "flory" };
    let named = match keys.word("law", &["flory", "raoult", "linear", "film"]) {
        None if keys.has("law") => return None,
        named => named.unwrap_or(usual),
    };
    let molar_masses = 0.05..=20.0;
    Some(match named {
        "linear" => {
            keys.out_of_place(
                &["molar_mass"],
                "the linear law has no molar mass; it belongs to \"flory\" and \"raoult\"",
            );
            keys.out_of_place(&["interaction", "rate"], "it belongs to `law = \"flory\"`");
            OilLaw::Linear {
                solubility: keys.or("solubility", Dim::Fraction, 0.0..=2.0, 0.3),
                time_constant: keys.or("time_constant", Dim::Time, 0.1..=1e6, 150.0),
            }
        }
        "film" => {
            let why = "a film holds no refrigerant";
            keys.out_of_place(&["molar_mass", "interaction", "rate", "solubility", "time_constant", "dissolved"], why);
            OilLaw::Film
        }
        "raoult" => {
            keys.out_of_place(&["solubility"], "it belongs to `law = \"linear\"`");
            keys.out_of_place(&["interaction", "rate"], "it belongs to `law = \"flory\"`");
            OilLaw::Raoult {
                molar_mass: keys.or("molar_mass", Dim::MolarMass, molar_masses, 0.52),
                time_constant: keys.or("time_constant", Dim::Time, 0.1..=1e6, 150.0),
            }
        }
        _ => {
            keys.out_of_place(&["solubility"], "it belongs to `law = \"linear\"`");
            keys.out_of_place(&["time_constant"], "\"flory\" goes by pressure: give its `rate`, or another `law`");
            OilLaw::Flory {
                molar_mass: keys.or("molar_mass", Dim::MolarMass, molar_masses, 2.0),
                interaction: keys.or("interaction", Dim::Number, -1.0..=2.0, 0.64),
                rate: keys.or("rate", Dim::Permeance, 0.0..=1e-5, RATE_PER_MASS * mass),
            }
        }
    })
}
