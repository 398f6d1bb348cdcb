//! What follows from a network: volumes, areas, flows, each with the place in the file that it comes from.

use std::f64::consts::FRAC_PI_4;

use valvewright_core::frame::Actuator;

use super::names::{follows, stages};
use crate::plant::NetworkSpec;
use crate::plant::spec::{ElementSpec, LawSpec, PlaceKind};
use crate::scenario::diagnostic::Diagnostic;
use crate::scenario::reader::Document;

/// A figure of the network.
pub(super) struct Derived {
    /// SI.
    pub value: f64,
    /// The key it comes from, `volume.vessel.volume`.
    pub key: String,
    /// Its place; says nothing yet.
    pub spot: Diagnostic,
}

impl Derived {
    /// Its key and place in words.
    pub fn told(&self) -> String {
        format!("{} at {}:{}:{}", self.key, self.spot.file, self.spot.line, self.spot.column)
    }
}

/// A network that was read, and its text.
#[derive(Clone, Copy)]
pub(super) struct Network<'a> {
    pub spec: &'a NetworkSpec,
    pub document: &'a Document,
}

/// The names in a file, also of what could not be read.
#[derive(Clone, Copy)]
pub(super) struct Names<'a> {
    pub volumes: &'a [String],
    pub elements: &'a [String],
    pub document: &'a Document,
}

/// The place of a key of `[volume.NAME]` or `[element.NAME]`, of the table where the key is not given.
pub(super) fn spot(document: &Document, part: &str, name: &str, key: &str) -> Diagnostic {
    let mut root = document.root();
    let table = root.opt_node(part).ok().flatten();
    let node = table.and_then(|mut table| table.opt_node(name).ok().flatten());
    node.map_or_else(|| root.error_at(part, ""), |node| node.error_at(key, ""))
}

impl<'a> Network<'a> {
    /// As [`spot`].
    pub fn spot(&self, part: &str, name: &str, key: &str) -> Diagnostic {
        spot(self.document, part, name, key)
    }

    /// A figure with its key and place.
    pub fn of(&self, value: f64, part: &str, name: &str, key: &str) -> Derived {
        let quoted = if name.contains('+') || name.contains('/') { format!("\"{name}\"") } else { name.to_owned() };
        Derived { value, key: format!("{part}.{quoted}.{key}"), spot: self.spot(part, name, key) }
    }

    /// Volume of a volume, m3.
    pub fn volume(&self, name: &str) -> Option<Derived> {
        let volume = self.spec.volumes.iter().find(|v| v.name == name)?;
        Some(self.of(volume.volume, "volume", name, "volume"))
    }

    /// Volume of one service hose, the mean of the two, m3.
    pub fn hose(&self) -> Option<Derived> {
        let (low, high) = (self.volume("hose_low")?, self.volume("hose_high")?);
        let value = if low.value == high.value { low.value } else { 0.5 * (low.value + high.value) };
        Some(Derived { value, ..low })
    }

    /// Five times the cabinet through its fan, s.
    pub fn air_changes(&self) -> Option<Derived> {
        let cabinet = self.spec.volumes.iter().find(|v| matches!(v.kind, PlaceKind::Cabinet { .. }))?;
        let fans = self.spec.elements.iter().filter(|e| e.from == cabinet.name && follows_one(e, Actuator::K1));
        let flow: f64 = fans.clone().map(|e| if let LawSpec::Fan(flow) = e.law { flow } else { 0.0 }).sum();
        let fan = fans.clone().next().filter(|_| flow > 0.0)?;
        Some(self.of(5.0 * cabinet.volume / flow, "element", &fan.name, "flow"))
    }

    /// Displacement times speed times filling of the first stage, m3/s.
    pub fn compressor_draws(&self) -> Option<Derived> {
        let first = *stages(self.spec).first()?;
        let LawSpec::Compressor(c) = &first.law else { return None };
        Some(self.of(c.displacement * c.speed * c.volumetric, "element", &first.name, "displacement"))
    }

    /// Discharge times bore area times nonequilibrium of the ways through XV-5, their mean, m2.
    pub fn charge_area(&self) -> Option<Derived> {
        let ways = self.charge_ways();
        let areas: Vec<f64> = ways.iter().filter_map(|e| area(e)).collect();
        let first = ways.first().filter(|_| areas.len() == ways.len())?;
        let same = areas.iter().all(|one| *one == areas[0]);
        let value = if same { areas[0] } else { areas.iter().sum::<f64>() / areas.len() as f64 };
        Some(self.of(value, "element", &first.name, "diameter"))
    }

    /// The ways through XV-5.
    pub fn charge_ways(&self) -> Vec<&'a ElementSpec> {
        self.spec.elements.iter().filter(|e| follows_one(e, Actuator::Xv5)).collect()
    }
}

fn follows_one(element: &ElementSpec, actuator: Actuator) -> bool {
    follows(&element.name).is_some_and(|all| all.has(actuator))
}

/// Effective area of an orifice, m2.
fn area(element: &ElementSpec) -> Option<f64> {
    match &element.law {
        LawSpec::Orifice(o) => Some(o.discharge * FRAC_PI_4 * o.diameter * o.diameter * o.nonequilibrium),
        LawSpec::LiquidOrifice(o) => Some(o.discharge * FRAC_PI_4 * o.diameter * o.diameter),
        _ => None,
    }
}
