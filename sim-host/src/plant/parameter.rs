//! What a schedule may change while a rig runs: the keys of the network file, with what the plant calls them.

use super::parse::range::{self, Range};
use super::spec::{LawSpec, NetworkSpec, VolumeSpec, WallSpec};
use crate::scenario::quantity::Dim;

/// A number of the network that may change.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Its name for `Plant::set_param` and `Plant::ramp`.
    pub name: String,
    /// Dimension of the value as written.
    pub dim: Dim,
    /// Accepted values, SI.
    pub range: Range,
    /// The plant's value for 1 of the written value in SI.
    pub factor: f64,
    /// It may move in a ramp.
    pub ramps: bool,
}

/// Key in the file, key of the plant, dimension, range, factor.
type Line = (&'static str, &'static str, Dim, Range, f64);

fn same(key: &'static str, dim: Dim, range: Range) -> Line {
    (key, key, dim, range, 1.0)
}

/// Looks up `VOLUME.KEY`, `VOLUME.cold_wall.KEY`, `ELEMENT.KEY` or `ambient.KEY`; an error is what is wrong and what would be right.
pub fn find(network: &NetworkSpec, name: &str) -> Result<Parameter, (String, String)> {
    let shapes = "write `ELEMENT.KEY`, `VOLUME.KEY`, `VOLUME.cold_wall.surroundings` or `ambient.temperature`";
    let (path, key) =
        name.rsplit_once('.').ok_or_else(|| (format!("`{name}` names no parameter"), shapes.to_owned()))?;
    let lines = lines(network, path).ok_or_else(|| {
        let known = network.volumes.iter().map(|volume| volume.name.as_str());
        let known = known.chain(network.elements.iter().map(|element| element.name.as_str())).chain(["ambient"]);
        let list: Vec<&str> = known.collect();
        (format!("`{path}` is no volume, wall or element"), format!("{shapes}; known: {}", list.join(", ")))
    })?;
    match lines.iter().find(|line| line.0 == key) {
        Some((_, plant, dim, range, factor)) => Ok(Parameter {
            name: format!("{path}.{plant}"),
            dim: *dim,
            range: range.clone(),
            factor: *factor,
            ramps: *plant == "surroundings",
        }),
        None => {
            let keys: Vec<&str> = lines.iter().map(|line| line.0).collect();
            Err((format!("`{key}` of `{path}` cannot change in a run"), format!("these can: {}", keys.join(", "))))
        }
    }
}

fn lines(network: &NetworkSpec, path: &str) -> Option<Vec<Line>> {
    if path == "ambient" {
        return Some(vec![
            same("temperature", Dim::Temperature, range::AIR_TEMPERATURES),
            same("pressure", Dim::Pressure, range::AIR_PRESSURES),
            same("humidity", Dim::Fraction, range::SHARES),
        ]);
    }
    if let Some(volume) = network.volumes.iter().find(|volume| volume.name == path) {
        return Some(of_volume(volume));
    }
    if let Some(owner) = path.strip_suffix(".cold_wall") {
        let volume = network.volumes.iter().find(|volume| volume.name == owner)?;
        return volume.cold_wall.as_ref().map(of_wall);
    }
    let element = network.elements.iter().find(|element| element.name == path)?;
    let mut made = of_law(&element.law);
    made.push(same("stroke", Dim::Time, range::STROKES));
    made.push(same("leak_by", Dim::Fraction, range::SHARES));
    Some(made)
}

fn of_volume(volume: &VolumeSpec) -> Vec<Line> {
    let mut made = volume.wall.as_ref().map(of_wall).unwrap_or_default();
    made.push(same("compliance", Dim::Compliance, range::COMPLIANCES));
    made
}

fn of_wall(_: &WallSpec) -> Vec<Line> {
    vec![
        same("surroundings", Dim::Temperature, range::TEMPERATURES),
        ("to_surroundings", "to_ambient", Dim::Conductance, range::CONDUCTANCES, 1.0),
        same("wet", Dim::Conductance, range::CONDUCTANCES),
        same("dry", Dim::Conductance, range::CONDUCTANCES),
    ]
}

fn of_law(law: &LawSpec) -> Vec<Line> {
    let diameter = same("diameter", Dim::Length, range::BORES);
    let discharge = same("discharge", Dim::Fraction, range::SHARES);
    let bore = same("diameter", Dim::Length, range::PIPE_BORES);
    let length = same("length", Dim::Length, range::LENGTHS);
    let idle = same("idle_current", Dim::Current, range::CURRENTS);
    let loaded = ("current_per_kilowatt", "current_per_watt", Dim::Current, range::CURRENTS, 1e-3);
    match law {
        LawSpec::Orifice(_) => vec![
            diameter,
            discharge,
            ("exponent", "k", Dim::Number, range::EXPONENTS, 1.0),
            same("cracking", Dim::PressureDifference, range::CRACKING),
            same("nonequilibrium", Dim::Number, range::NONEQUILIBRIUM),
        ],
        LawSpec::LiquidOrifice(_) => vec![diameter, discharge],
        LawSpec::Duct(_) => vec![bore, length, same("count", Dim::Number, range::COUNTS)],
        LawSpec::Hose(spec) => vec![
            bore,
            length,
            same("count", Dim::Number, range::COUNTS),
            same("roughness", Dim::Length, 0.0..=range::ROUGHEST * spec.diameter),
            same("fittings", Dim::Number, range::LOSSES),
        ],
        LawSpec::Compressor(_) => vec![
            same("displacement", Dim::Volume, range::DISPLACEMENTS),
            same("speed", Dim::Speed, range::SPEEDS),
            ("volumetric_efficiency", "volumetric", Dim::Fraction, range::SHARES, 1.0),
            same("clearance", Dim::Fraction, range::CLEARANCES),
            ("isentropic_efficiency", "isentropic", Dim::Fraction, range::ISENTROPIC, 1.0),
            same("condenser", Dim::Conductance, range::CONDUCTANCES),
            idle,
            loaded,
        ],
        LawSpec::DrawOff(_) => vec![same("flow", Dim::MassFlow, range::OIL_FLOWS)],
        LawSpec::VacuumPump(spec) => {
            let mut made = vec![
                same("speed", Dim::VolumeFlow, range::PUMPING),
                same("ultimate", Dim::Pressure, range::ULTIMATE),
                same("stall", Dim::Pressure, range::STALL),
                idle,
                loaded,
            ];
            made.extend(spec.oil.map(|_| same("ballast", Dim::VolumeFlow, range::BALLAST)));
            made
        }
        LawSpec::Relief(_) => vec![
            diameter,
            discharge,
            same("set", Dim::PressureDifference, range::RELIEFS),
            same("reseat", Dim::PressureDifference, range::RELIEFS),
        ],
        LawSpec::Heater(_) => {
            vec![same("power", Dim::Power, range::POWERS), same("to_wall", Dim::Conductance, range::JOINTS)]
        }
        LawSpec::OilLine(_) => {
            vec![("flow_at_1_bar", "coefficient", Dim::MassFlow, range::OIL_FLOWS, 1.0 / 1e5f64.sqrt())]
        }
        LawSpec::HeatLink(_) => vec![same("conductance", Dim::Conductance, range::CONDUCTANCES)],
        LawSpec::Fan(_) => vec![same("flow", Dim::VolumeFlow, range::AIRINGS)],
    }
}
