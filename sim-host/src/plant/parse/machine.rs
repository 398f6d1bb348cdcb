//! Machines from TOML: the recovery compressor and the vacuum pump with its oil.

use super::flow::duct;
use super::keys::Keys;
use super::range::{
    BALLAST, CLEARANCES, CONDUCTANCES, CURRENTS, DISPLACEMENTS, ISENTROPIC, PUMPING, SHARES, SPEEDS, STALL, ULTIMATE,
};
use crate::plant::spec::{CompressorSpec, PumpOilSpec, PumpSpec};
use crate::scenario::quantity::Dim;

/// Motor current: idle (A), and per shaft power (A/W).
fn current(keys: &mut Keys) -> (f64, f64) {
    let idle = keys.or("idle_current", Dim::Current, CURRENTS, 0.0);
    (idle, keys.or("current_per_kilowatt", Dim::Current, CURRENTS, 0.0) * 1e-3)
}

pub(super) fn compressor(keys: &mut Keys) -> CompressorSpec {
    let (idle_current, current_per_watt) = current(keys);
    CompressorSpec {
        displacement: keys.need("displacement", Dim::Volume, DISPLACEMENTS),
        speed: keys.need("speed", Dim::Speed, SPEEDS),
        volumetric: keys.or("volumetric_efficiency", Dim::Fraction, SHARES, 0.92),
        clearance: keys.or("clearance", Dim::Fraction, CLEARANCES, 0.035),
        exponent: keys.or("polytropic_exponent", Dim::Number, 1.0..=1.67, 1.12),
        isentropic: keys.or("isentropic_efficiency", Dim::Fraction, ISENTROPIC, 0.6),
        shell: keys.or("shell_loss", Dim::Conductance, CONDUCTANCES, 0.0),
        condenser: keys.or("condenser", Dim::Conductance, CONDUCTANCES, 0.0),
        idle_current,
        current_per_watt,
    }
}

pub(super) fn pump(keys: &mut Keys) -> PumpSpec {
    let (idle_current, current_per_watt) = current(keys);
    let ultimate = keys.need("ultimate", Dim::Pressure, ULTIMATE);
    // A stall pressure that the pump meets as soon as it starts, or an ultimate pressure beyond it, would be no pump.
    let least = ultimate.max(*STALL.start());
    PumpSpec {
        speed: keys.need("speed", Dim::VolumeFlow, PUMPING),
        ultimate,
        hose: keys.part("hose", duct),
        stall: keys.or("stall", Dim::Pressure, least..=*STALL.end(), 2e5),
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
        wet_ultimate: keys.or("wet_ultimate", Dim::Pressure, least..=*ULTIMATE.end(), ultimate.max(300.0)),
        ballast: keys.or("ballast", Dim::VolumeFlow, BALLAST, 0.0),
    }
}
