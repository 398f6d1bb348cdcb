//! `Plant`: a network running in time, commanded through openings and read through signals.

use super::PlantError;
use super::element::Flow;
use super::engine::{Engine, Moment, StepCount, inventories};
use super::fault::PlantFault;
use super::holding::Exchanged;
use super::layout::{ENERGY_IN, LEDGER, Layout};
use super::node::Fluids;
use super::parts::{Drift, Parts};
use super::signal::{self, Signal};
use super::spec::{LawSpec, NetworkSpec, Nozzle, Tolerance};
use super::start;
use super::system::System;
use crate::fluid::Fluid;

/// Pressure that counts as nothing in a plant that stands, Pa (own choice: nobody reads a gauge meanwhile).
const STANDING: f64 = 10.0;

/// A volume of a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct VolumeId(u32);

/// An element of a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ElementId(u32);

/// A network in motion.
///
/// It integrates one step past the asked time and interpolates inside it; a command in between takes the step back to
/// exactly that time. `read` interpolates linearly, `sharpen` makes the present moment exact to the method's order.
#[derive(Debug, Clone)]
pub struct Plant {
    pub(super) engine: Engine,
    pub(super) now: f64,
    /// What it held at the start, in the lines of the ledger.
    pub(super) opening: [f64; LEDGER],
    /// What went and came since.
    pub(super) exchanged: Exchanged,
    pub(super) sharp: Option<Box<Moment>>,
}

impl Plant {
    /// Builds the network at time 0.
    pub fn new(spec: &NetworkSpec, tolerance: Tolerance) -> Result<Self, PlantError> {
        let fluids = Fluids { main: Fluid::get(spec.fluid), second: spec.second.map(Fluid::get), mixing: spec.mixing };
        let parts = Parts::new(spec)?;
        let layout = Layout::of(spec, &parts, false)?;
        let (y, nodes) = start::content(spec, &parts, &layout, &fluids, &|_| true)?;
        let system = System::new(parts, layout, fluids, spec.ambient, &tolerance);
        let engine = Engine::new(system, y, nodes, tolerance, 0.0);
        let opening = inventories(&engine, &engine.start.y, &|_| true);
        Ok(Self { engine, now: 0.0, opening, exchanged: Exchanged::default(), sharp: None })
    }

    /// Present time, s.
    pub fn time(&self) -> f64 {
        self.now
    }

    /// End of the step already integrated, s.
    pub fn horizon(&self) -> f64 {
        self.engine.end.t
    }

    /// The volume of that name.
    pub fn volume(&self, name: &str) -> Option<VolumeId> {
        self.engine.system.parts.places.iter().position(|place| place.name == name).map(|index| VolumeId(index as u32))
    }

    /// The element of that name.
    pub fn element(&self, name: &str) -> Option<ElementId> {
        let elements = &self.engine.system.parts.elements;
        elements.iter().position(|element| element.name == name).map(|index| ElementId(index as u32))
    }

    /// The signal `<volume>.<field>` or `<element>.<field>`; see [`Plant::signal_names`].
    pub fn signal(&self, name: &str) -> Option<Signal> {
        signal::find(&self.engine.system, name)
    }

    /// Every signal of this network with its unit, in a fixed order.
    pub fn signal_names(&self) -> Vec<(String, &'static str)> {
        let system = &self.engine.system;
        let volumes = system.parts.places.iter().map(|place| (&place.name, signal::VOLUME_FIELDS));
        let elements = system.parts.elements.iter().map(|element| (&element.name, signal::ELEMENT_FIELDS));
        volumes
            .chain(elements)
            .flat_map(|(name, fields)| fields.iter().map(move |(field, unit)| (format!("{name}.{field}"), *unit)))
            .filter(|(name, _)| signal::find(system, name).is_some())
            .collect()
    }

    /// Commands an element to `on` (0-1) at the present time; its stroke time is respected inside.
    pub fn set(&mut self, element: ElementId, on: f64) {
        let Some(found) = self.engine.system.parts.elements.get(element.0 as usize) else {
            return;
        };
        if found.stroke.command() == on.clamp(0.0, 1.0) {
            return;
        }
        self.land();
        let now = self.now;
        if let Some(found) = self.engine.system.parts.elements.get_mut(element.0 as usize) {
            found.stroke.aim(now, on);
        }
        self.engine.flows_anew();
    }

    /// Last command of an element, 0-1.
    pub fn command(&self, element: ElementId) -> f64 {
        self.engine.system.parts.elements.get(element.0 as usize).map_or(0.0, |found| found.stroke.command())
    }

    /// Changes one number of the network while it runs, in SI: `<element>.<key>` with the keys of its law (`diameter`, `discharge`,
    /// `speed`, `ultimate`, `volumetric`, `condenser`, `power`, `set`, `reseat`, `coefficient`, `stroke`, `leak_by`, ...), `<volume>.surroundings`,
    /// `<volume>.to_ambient`, `<volume>.compliance`, `ambient.temperature|pressure|humidity`.
    pub fn set_param(&mut self, name: &str, value: f64) -> Result<(), PlantError> {
        self.land();
        let unknown = || {
            PlantError::new(format!(
                "the plant has no parameter `{name}`; write <element>.<key>, <volume>.<key> or ambient.<key>"
            ))
        };
        if !value.is_finite() {
            return Err(PlantError::new(format!("parameter `{name}` must be a finite number")));
        }
        let (owner, key) = name.rsplit_once('.').ok_or_else(unknown)?;
        let system = &mut self.engine.system;
        let done = if owner == "ambient" {
            match key {
                "temperature" => system.ambient.temperature = value,
                "pressure" => system.ambient.pressure = value,
                "humidity" => system.ambient.humidity = value,
                _ => return Err(unknown()),
            }
            true
        } else if let Some(volume) = owner.strip_suffix(".cold_wall") {
            let place = system.parts.places.iter_mut().find(|place| place.name == volume).ok_or_else(unknown)?;
            set_place(place, 1, key, value).ok_or_else(unknown)?;
            true
        } else if let Some(element) = system.parts.elements.iter_mut().find(|element| element.name == owner) {
            element.stroke.set(key, value) || law_parameter(&mut element.law, key).map(|slot| *slot = value).is_some()
        } else if let Some(place) = system.parts.places.iter_mut().find(|place| place.name == owner) {
            set_place(place, 0, key, value).ok_or_else(unknown)?;
            true
        } else {
            false
        };
        if !done {
            return Err(unknown());
        }
        self.engine.refresh();
        Ok(())
    }

    /// Moves `<volume>.surroundings` or `<volume>.cold_wall.surroundings` linearly to `to` (K) within `over` s from the present time.
    pub fn ramp(&mut self, name: &str, to: f64, over: f64) -> Result<(), PlantError> {
        self.land();
        let unknown = || {
            PlantError::new(format!(
                "the plant cannot ramp `{name}`; write <volume>.surroundings or <volume>.cold_wall.surroundings of a volume with that wall"
            ))
        };
        let owner = name.strip_suffix(".surroundings").ok_or_else(unknown)?;
        let (volume, which) = match owner.strip_suffix(".cold_wall") {
            Some(volume) => (volume, 1),
            None => (owner, 0),
        };
        if !(to.is_finite() && over.is_finite() && over >= 0.0) {
            return Err(PlantError::new(format!("a ramp of `{name}` needs a finite end and time")));
        }
        let now = self.now;
        let System { parts, ambient, .. } = &mut self.engine.system;
        let place = parts.places.iter_mut().find(|place| place.name == volume).ok_or_else(unknown)?;
        let metal = place.walls[which].as_mut().ok_or_else(unknown)?;
        metal.outside.get_or_insert(Drift::still(ambient.temperature)).aim(now, to, over);
        self.engine.refresh();
        Ok(())
    }

    /// Adds (or takes, negative) mass of one species to a closed volume at its temperature: 0 refrigerant vapour, 1 air, 2 water vapour; kg.
    /// The ledger books it as crossing the edge.
    pub fn inject(&mut self, volume: VolumeId, species: usize, mass: f64) {
        self.land();
        let index = volume.0 as usize;
        let Some(base) = self.engine.system.layout.base(&self.engine.system.parts, index) else {
            return;
        };
        let unknowns = self.engine.system.layout.unknowns;
        let start = &mut self.engine.start;
        let Some(part) = start.nodes.get(index).and_then(|node| node.gas.parts.get(species).copied()) else {
            return;
        };
        if species > 2 {
            return;
        }
        start.y[base + 1 + species] += mass;
        start.y[base] += mass * part;
        start.y[unknowns + species] -= mass;
        start.y[unknowns + ENERGY_IN] += mass * part;
        self.engine.refresh();
    }

    /// Brings the integrator to exactly the present time.
    pub(super) fn land(&mut self) {
        self.sharp = None;
        self.engine.land(self.now);
    }

    /// Advances to exactly `t` (s, not before the present time), or to where a fault ended the run.
    pub fn advance(&mut self, t: f64) {
        if t <= self.now {
            return;
        }
        self.sharp = None;
        let limit = if self.engine.system.long { t } else { f64::INFINITY };
        while self.engine.end.t < t && self.engine.fault.is_none() {
            self.engine.step(limit);
        }
        self.now = t.min(self.engine.end.t).max(self.now);
    }

    /// As [`Plant::advance`] where nothing is switched and nobody looks for hours: steps may be as long as their error allows, up to `longest` s,
    /// the last one to `t`, pressures are known to 10 Pa, and water settles on walls without the corner at saturation.
    pub fn stand(&mut self, t: f64, longest: f64) {
        let usual = self.engine.tolerance;
        self.engine.tolerance = Tolerance { longest, pressure: usual.pressure.max(STANDING), ..usual };
        self.engine.system.long = true;
        self.advance(t);
        self.engine.system.long = false;
        self.engine.tolerance = usual;
    }

    /// Integrates one step past the present horizon and returns the new horizon, s.
    pub fn look_ahead(&mut self) -> f64 {
        self.sharp = None;
        self.engine.step(f64::INFINITY);
        self.now = self.now.max(self.engine.start.t);
        self.engine.end.t
    }

    /// Moves the present time within the step in hand, also backwards; clamped to its ends.
    pub(super) fn move_to(&mut self, t: f64) {
        self.sharp = None;
        self.now = t.clamp(self.engine.start.t, self.engine.end.t);
    }

    /// Value of a signal at the present time.
    pub fn read(&self, signal: Signal) -> f64 {
        let Engine { system, start, end, .. } = &self.engine;
        if let Some(sharp) = &self.sharp {
            return signal.value(system, sharp);
        }
        let span = end.t - start.t;
        if span <= 0.0 || self.now <= start.t {
            return signal.value(system, start);
        }
        if self.now >= end.t {
            return signal.value(system, end);
        }
        let share = (self.now - start.t) / span;
        let (a, b) = (signal.value(system, start), signal.value(system, end));
        a + share * (b - a)
    }

    /// The step in hand: begin, end and a count that differs from step to step. Between its ends every signal runs straight.
    pub fn step_in_hand(&self) -> (f64, f64, u64) {
        (self.engine.start.t, self.engine.end.t, self.engine.count.accepted)
    }

    /// A signal at both ends of the step in hand.
    pub fn ends(&self, signal: Signal) -> (f64, f64) {
        let Engine { system, start, end, .. } = &self.engine;
        (signal.value(system, start), signal.value(system, end))
    }

    /// Evaluates the present moment itself (cubic in the unknowns) so that `read` no longer interpolates, until time moves on.
    pub fn sharpen(&mut self) {
        let engine = &mut self.engine;
        let mut moment = Box::new(engine.start.clone());
        moment.t = self.now;
        if !engine.between(self.now, &mut moment.y) {
            // The way there is gone anew, exactly to this moment.
            let mut other = engine.clone();
            other.land(self.now);
            self.sharp = Some(Box::new(other.start));
            return;
        }
        let Engine { system, start, .. } = engine;
        system.states(&moment.y, &start.nodes, &start.y, &mut moment.nodes);
        let mut flows: Vec<Flow> = moment.flows.clone();
        let mut f = moment.f.clone();
        system.flows(moment.t, &moment.y, &moment.nodes, &mut flows, &mut f);
        moment.flows = flows;
        moment.f = f;
        self.sharp = Some(moment);
    }

    /// Steps and evaluations so far.
    pub fn steps(&self) -> StepCount {
        self.engine.count
    }

    /// There is a second refrigerant.
    pub fn mixed(&self) -> bool {
        self.engine.system.layout.mixed
    }

    /// Why the run came to an end of its own; nothing moves any more then.
    pub fn fault(&self) -> Option<&PlantFault> {
        self.engine.fault.as_ref()
    }

    /// Bounds of the tables that were passed on the way.
    pub fn notes(&self) -> &[String] {
        &self.engine.notes
    }
}

/// Sets a number of a place or of one of its walls.
fn set_place(place: &mut super::parts::Place, which: usize, key: &str, value: f64) -> Option<()> {
    match (key, &mut place.walls[which]) {
        ("compliance", _) if which == 0 => place.data.compliance = value,
        ("surroundings", Some(wall)) => wall.outside = Some(Drift::still(value)),
        ("to_ambient", Some(wall)) => wall.spec.to_ambient = value,
        ("wet", Some(wall)) => wall.spec.wet = value,
        ("dry", Some(wall)) => wall.spec.dry = value,
        _ => return None,
    }
    Some(())
}

pub(super) fn law_parameter<'a>(law: &'a mut LawSpec, key: &str) -> Option<&'a mut f64> {
    match law {
        LawSpec::Orifice(spec) => match (key, &mut spec.nozzle) {
            ("diameter", _) => Some(&mut spec.diameter),
            ("discharge", _) => Some(&mut spec.discharge),
            ("cracking", _) => Some(&mut spec.cracking),
            ("nonequilibrium", _) => Some(&mut spec.nonequilibrium),
            ("k", Nozzle::Ideal { k } | Nozzle::Real { k }) => Some(k),
            _ => None,
        },
        LawSpec::LiquidOrifice(spec) => match key {
            "diameter" => Some(&mut spec.diameter),
            "discharge" => Some(&mut spec.discharge),
            _ => None,
        },
        LawSpec::Duct(spec) => match key {
            "diameter" => Some(&mut spec.diameter),
            "length" => Some(&mut spec.length),
            "count" => Some(&mut spec.count),
            _ => None,
        },
        LawSpec::Hose(spec) => match key {
            "diameter" => Some(&mut spec.diameter),
            "length" => Some(&mut spec.length),
            "count" => Some(&mut spec.count),
            "roughness" => Some(&mut spec.roughness),
            "fittings" => Some(&mut spec.fittings),
            _ => None,
        },
        LawSpec::Compressor(spec) => match key {
            "displacement" => Some(&mut spec.displacement),
            "speed" => Some(&mut spec.speed),
            "volumetric" => Some(&mut spec.volumetric),
            "clearance" => Some(&mut spec.clearance),
            "isentropic" => Some(&mut spec.isentropic),
            "condenser" => Some(&mut spec.condenser),
            "idle_current" => Some(&mut spec.idle_current),
            "current_per_watt" => Some(&mut spec.current_per_watt),
            _ => None,
        },
        LawSpec::VacuumPump(spec) => match key {
            "speed" => Some(&mut spec.speed),
            "ultimate" => Some(&mut spec.ultimate),
            "current_per_watt" => Some(&mut spec.current_per_watt),
            "stall" => Some(&mut spec.stall),
            "ballast" => spec.oil.as_mut().map(|oil| &mut oil.ballast),
            "idle_current" => Some(&mut spec.idle_current),
            _ => None,
        },
        LawSpec::Relief(spec) => match key {
            "diameter" => Some(&mut spec.diameter),
            "discharge" => Some(&mut spec.discharge),
            "set" => Some(&mut spec.set),
            "reseat" => Some(&mut spec.reseat),
            _ => None,
        },
        LawSpec::DrawOff(spec) => (key == "flow").then_some(&mut spec.flow),
        LawSpec::Heater(spec) => match key {
            "power" => Some(&mut spec.power),
            "to_wall" => Some(&mut spec.to_wall),
            _ => None,
        },
        LawSpec::OilLine(spec) => (key == "coefficient").then_some(&mut spec.coefficient),
        LawSpec::HeatLink(conductance) => (key == "conductance").then_some(conductance),
        LawSpec::Fan(flow) => (key == "flow").then_some(flow),
    }
}
