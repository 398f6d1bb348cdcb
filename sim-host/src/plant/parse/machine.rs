//! Machines from TOML: the recovery compressor and the vacuum pump with its oil.

use super::flow::duct;
use super::keys::Keys;
use super::{CONDUCTANCES, SHARES};
use crate::plant::spec::{CompressorSpec, PumpOilSpec, PumpSpec};
use crate::scenario::quantity::Dim;

/// Motor current: idle (A), and per shaft power (A/W).
fn current(keys: &mut Keys) -> (f64, f64) {
    let idle = keys.or("idle_current", Dim::Current, 0.0..=1e3, 0.0);
    (idle, keys.or("current_per_kilowatt", Dim::Current, 0.0..=1e3, 0.0) * 1e-3)
}

pub(super) fn compressor(keys: &mut Keys) -> CompressorSpec {
    let (idle_current, current_per_watt) = current(keys);
    CompressorSpec {
        displacement: keys.need("displacement", Dim::Volume, 1e-9..=1e-2),
        speed: keys.need("speed", Dim::Speed, 0.1..=500.0),
        volumetric: keys.or("volumetric_efficiency", Dim::Fraction, SHARES, 0.92),
        clearance: keys.or("clearance", Dim::Fraction, 0.0..=0.5, 0.035),
        exponent: keys.or("polytropic_exponent", Dim::Number, 1.0..=1.67, 1.12),
        isentropic: keys.or("isentropic_efficiency", Dim::Fraction, 0.05..=1.0, 0.6),
        shell: keys.or("shell_loss", Dim::Conductance, CONDUCTANCES, 0.0),
        condenser: keys.or("condenser", Dim::Conductance, CONDUCTANCES, 0.0),
        idle_current,
        current_per_watt,
    }
}

pub(super) fn pump(keys: &mut Keys) -> PumpSpec {
    let (idle_current, current_per_watt) = current(keys);
    let ultimate = keys.need("ultimate", Dim::Pressure, 0.0..=1e5);
    // A stall pressure that the pump meets as soon as it starts, or an ultimate pressure beyond it, would be no pump.
    let least = ultimate.max(1e3);
    PumpSpec {
        speed: keys.need("speed", Dim::VolumeFlow, 1e-7..=1.0),
        ultimate,
        hose: keys.part("hose", duct),
        stall: keys.or("stall", Dim::Pressure, least..=1e7, 2e5),
        oil: keys.part("oil", |keys| pump_oil(keys, ultimate)),
        idle_current,
        current_per_watt,
    }
}

/// Usual figures: a two-stage pump of a small workshop holds some 0.5 kg of mineral oil, warms to 60 degC, and with wet oil ends at
/// a few mbar (own choice, not measured); mineral oil takes up far less than synthetic, 0.5 % stands between them.
fn pump_oil(keys: &mut Keys, ultimate: f64) -> PumpOilSpec {
    let mass = keys.or("mass", Dim::Mass, 1e-3..=10.0, 0.5);
    // An ultimate pressure that could not be read sets no limit here.
    let least = ultimate.max(0.0);
    PumpOilSpec {
        mass,
        water: keys.or("water", Dim::Mass, 0.0..=1.0, 0.0),
        saturation: keys.or("saturation", Dim::Fraction, 1e-5..=0.2, 0.005),
        temperature: keys.or("temperature", Dim::Temperature, 253.15..=423.15, 333.15),
        wet_ultimate: keys.or("wet_ultimate", Dim::Pressure, least..=1e5, ultimate.max(300.0)),
        ballast: keys.or("ballast", Dim::VolumeFlow, 0.0..=0.1, 0.0),
    }
}
