//! Elements that let something through, from TOML: orifices, ducts, hoses, relief valves.

use super::draws;
use super::keys::Keys;
use super::range::{
    BORES, COUNTS, CRACKING, EXPONENTS, LENGTHS, LOSSES, NONEQUILIBRIUM, PIPE_BORES, RELIEFS, ROUGHEST, SHARES,
    SMOOTHING,
};
use crate::plant::spec::{Draw, DrawOffSpec, DuctSpec, HoseSpec, LiquidOrificeSpec, Nozzle, OrificeSpec, ReliefSpec};
use crate::scenario::quantity::Dim;

/// `draws` and `draws_back`, which follows it where it is left out.
fn both_ways(keys: &mut Keys, one_way: bool) -> [Draw; 2] {
    let there = draws(keys, "draws").unwrap_or(Draw::Vapour);
    if one_way {
        keys.out_of_place(&["draws_back"], "nothing flows back through it: `one_way` is true");
        return [there; 2];
    }
    [there, draws(keys, "draws_back").unwrap_or(there)]
}

/// Isentropic exponent; 0, where it is left out, stands for the stream's own.
fn exponent(keys: &mut Keys) -> f64 {
    keys.or("exponent", Dim::Number, EXPONENTS, 0.0)
}

pub(super) fn orifice(keys: &mut Keys, check_valve: bool) -> OrificeSpec {
    let k = exponent(keys);
    let nozzle = match keys.word("flow", &["ideal", "real"]) {
        Some("real") => Nozzle::Real { k },
        _ => Nozzle::Ideal { k },
    };
    let one_way = keys.flag("one_way", check_valve);
    OrificeSpec {
        diameter: keys.need("diameter", Dim::Length, BORES),
        discharge: keys.or("discharge", Dim::Fraction, SHARES, 0.8),
        nozzle,
        draw: both_ways(keys, one_way),
        nonequilibrium: keys.or("nonequilibrium", Dim::Number, NONEQUILIBRIUM, 1.0),
        one_way,
        cracking: keys.or("cracking", Dim::PressureDifference, CRACKING, 0.0),
        regular: keys.or("smoothing", Dim::PressureDifference, SMOOTHING, 2.0),
    }
}

pub(super) fn liquid_orifice(keys: &mut Keys) -> LiquidOrificeSpec {
    LiquidOrificeSpec {
        diameter: keys.need("diameter", Dim::Length, BORES),
        discharge: keys.or("discharge", Dim::Fraction, SHARES, 0.6),
        regular: keys.or("smoothing", Dim::PressureDifference, SMOOTHING, 10.0),
        one_way: keys.flag("one_way", true),
        flashing: keys.get("flashing_limit", Dim::Fraction, SHARES),
    }
}

pub(super) fn duct(keys: &mut Keys) -> DuctSpec {
    DuctSpec {
        diameter: keys.need("diameter", Dim::Length, PIPE_BORES),
        length: keys.need("length", Dim::Length, LENGTHS),
        count: keys.or("count", Dim::Number, COUNTS, 1.0),
        viscosity: keys.or("viscosity", Dim::Viscosity, 1e-6..=1e-3, 1.8e-5),
        entrance: keys.or("entrance_discharge", Dim::Fraction, SHARES, 0.0),
    }
}

pub(super) fn hose(keys: &mut Keys) -> HoseSpec {
    let diameter = keys.need("diameter", Dim::Length, PIPE_BORES);
    let roughest = (ROUGHEST * diameter).min(ROUGHEST * PIPE_BORES.end());
    let one_way = keys.flag("one_way", false);
    HoseSpec {
        diameter,
        length: keys.need("length", Dim::Length, LENGTHS),
        count: keys.or("count", Dim::Number, COUNTS, 1.0),
        roughness: keys.or("roughness", Dim::Length, 0.0..=roughest, 0.0),
        fittings: keys.or("fittings", Dim::Number, LOSSES, 0.0),
        draw: both_ways(keys, one_way),
        one_way,
        regular: keys.or("smoothing", Dim::PressureDifference, SMOOTHING, 2.0),
    }
}

pub(super) fn relief(keys: &mut Keys) -> ReliefSpec {
    let set = keys.need("set", Dim::PressureDifference, RELIEFS);
    ReliefSpec {
        diameter: keys.need("diameter", Dim::Length, BORES),
        discharge: keys.or("discharge", Dim::Fraction, SHARES, 0.8),
        k: exponent(keys),
        set,
        reseat: keys.or("reseat", Dim::PressureDifference, *RELIEFS.start()..=set.min(*RELIEFS.end()), 0.85 * set),
    }
}

pub(super) fn draw_off(keys: &mut Keys) -> DrawOffSpec {
    DrawOffSpec {
        flow: keys.need("flow", Dim::MassFlow, 0.0..=1.0),
        draw: draws(keys, "draws").unwrap_or(Draw::Vapour),
    }
}
