//! `Plant`: a network running in time, commanded through openings and read through signals.

use super::PlantError;
use super::element::Flow;
use super::engine::{Engine, Moment, StepCount, inventory};
use super::fault::PlantFault;
use super::layout::Layout;
use super::signal::{self, Signal};
use super::spec::{LawSpec, NetworkSpec, Nozzle, Tolerance};
use super::start;
use super::system::System;
use crate::fluid::Fluid;

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
    engine: Engine,
    now: f64,
    opening: Vec<f64>,
    sharp: Option<Box<Moment>>,
    fault: Option<PlantFault>,
}

/// Mass and energy accounts. Masses in kg, energies in J.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Balance {
    /// Main refrigerant inside now (gas, liquid, dissolved in oil, in the cabinet's air), kg.
    pub inventory_kg: f64,
    /// Main refrigerant inside at the start, kg.
    pub start_kg: f64,
    /// Main refrigerant that crossed the network's edge outwards, kg.
    pub out_kg: f64,
    /// Main refrigerant unaccounted for, kg.
    pub mass_error_kg: f64,
    /// Second refrigerant inside now, kg.
    pub second_kg: f64,
    /// Second refrigerant that crossed the network's edge outwards, kg.
    pub second_out_kg: f64,
    /// Second refrigerant unaccounted for, kg.
    pub second_error_kg: f64,
    /// Air inside now, kg.
    pub air_kg: f64,
    /// Air that crossed the network's edge outwards, kg.
    pub air_out_kg: f64,
    /// Air unaccounted for, kg.
    pub air_error_kg: f64,
    /// Water inside now, as vapour, liquid and ice, kg.
    pub water_kg: f64,
    /// Water that crossed the network's edge outwards, kg.
    pub water_out_kg: f64,
    /// Water unaccounted for, kg.
    pub water_error_kg: f64,
    /// Oil inside now, kg.
    pub oil_kg: f64,
    /// Oil that crossed the network's edge outwards, kg.
    pub oil_out_kg: f64,
    /// Oil unaccounted for, kg.
    pub oil_error_kg: f64,
    /// Energy unaccounted for, J.
    pub energy_error_j: f64,
    /// Energy moved so far or held, the larger, J: what the error is to be compared with.
    pub energy_scale_j: f64,
}

impl Plant {
    /// Builds the network at time 0.
    pub fn new(spec: &NetworkSpec, tolerance: Tolerance) -> Result<Self, PlantError> {
        let fluid = Fluid::get(spec.fluid);
        let layout = Layout::new(spec)?;
        let (y, nodes) = start::content(spec, &layout, fluid)?;
        let jacobian = vec![0.0; layout.lu.len() + 1];
        let system = System {
            layout,
            fluid,
            ambient: spec.ambient,
            jacobian,
            evaluations: 0,
            relative: tolerance.relative,
            idle: Vec::new(),
            busy: Vec::new(),
            lone: Vec::new(),
            keep: true,
        };
        let engine = Engine::new(system, y, nodes, tolerance);
        let opening = engine.start.y.clone();
        Ok(Self { engine, now: 0.0, opening, sharp: None, fault: None })
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
        self.engine.system.layout.places.iter().position(|place| place.name == name).map(|index| VolumeId(index as u32))
    }

    /// The element of that name.
    pub fn element(&self, name: &str) -> Option<ElementId> {
        let elements = &self.engine.system.layout.elements;
        elements.iter().position(|element| element.name == name).map(|index| ElementId(index as u32))
    }

    /// The signal `<volume>.<field>` or `<element>.<field>`; see [`Plant::signal_names`].
    pub fn signal(&self, name: &str) -> Option<Signal> {
        signal::find(&self.engine.system.layout, name)
    }

    /// Every signal of this network with its unit, in a fixed order.
    pub fn signal_names(&self) -> Vec<(String, &'static str)> {
        let layout = &self.engine.system.layout;
        let volumes = layout.places.iter().map(|place| (&place.name, signal::VOLUME_FIELDS));
        let elements = layout.elements.iter().map(|element| (&element.name, signal::ELEMENT_FIELDS));
        volumes
            .chain(elements)
            .flat_map(|(name, fields)| fields.iter().map(move |(field, unit)| (format!("{name}.{field}"), *unit)))
            .filter(|(name, _)| signal::find(layout, name).is_some())
            .collect()
    }

    /// Commands an element to `on` (0-1) at the present time; its stroke time is respected inside.
    pub fn set(&mut self, element: ElementId, on: f64) {
        let Some(found) = self.engine.system.layout.elements.get(element.0 as usize) else {
            return;
        };
        if found.stroke.command() == on.clamp(0.0, 1.0) {
            return;
        }
        self.land();
        let now = self.now;
        if let Some(found) = self.engine.system.layout.elements.get_mut(element.0 as usize) {
            found.stroke.aim(now, on);
        }
        self.engine.flows_anew();
    }

    /// Last command of an element, 0-1.
    pub fn command(&self, element: ElementId) -> f64 {
        self.engine.system.layout.elements.get(element.0 as usize).map_or(0.0, |found| found.stroke.command())
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
        } else if let Some(element) = system.layout.elements.iter_mut().find(|element| element.name == owner) {
            element.stroke.set(key, value) || law_parameter(&mut element.law, key).map(|slot| *slot = value).is_some()
        } else if let Some(place) = system.layout.places.iter_mut().find(|place| place.name == owner) {
            match (key, &mut place.wall) {
                ("compliance", _) => place.data.compliance = value,
                ("surroundings", Some((_, wall))) => wall.surroundings = Some(value),
                ("to_ambient", Some((_, wall))) => wall.to_ambient = value,
                ("wet", Some((_, wall))) => wall.wet = value,
                ("dry", Some((_, wall))) => wall.dry = value,
                _ => return Err(unknown()),
            }
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

    /// Adds (or takes, negative) mass of one species to a closed volume at its temperature: 0 refrigerant vapour, 1 air, 2 water vapour; kg.
    /// The ledger books it as crossing the edge.
    pub fn inject(&mut self, volume: VolumeId, species: usize, mass: f64) {
        self.land();
        let index = volume.0 as usize;
        let Some(base) = self.engine.system.layout.base(index) else {
            return;
        };
        let unknowns = self.engine.system.layout.unknowns;
        let start = &mut self.engine.start;
        let Some(part) = start.nodes.get(index).and_then(|node| node.gas.parts.get(species).copied()) else {
            return;
        };
        start.y[base + 1 + species] += mass;
        start.y[base] += mass * part;
        start.y[unknowns + species] -= mass;
        start.y[unknowns + 4] += mass * part;
        self.engine.refresh();
    }

    /// Brings the integrator to exactly the present time.
    fn land(&mut self) {
        self.sharp = None;
        self.engine.land(self.now);
    }

    /// Advances to exactly `t` (s, not before the present time).
    pub fn advance(&mut self, t: f64) {
        if t <= self.now || self.fault.is_some() {
            return;
        }
        self.sharp = None;
        while self.engine.end.t < t {
            self.engine.step(f64::INFINITY);
            self.look_for_fault();
            if self.fault.is_some() {
                self.now = self.engine.end.t.min(t);
                return;
            }
        }
        self.now = t;
    }

    /// Integrates one step past the present horizon and returns the new horizon, s.
    pub fn look_ahead(&mut self) -> f64 {
        if self.fault.is_some() {
            return self.engine.end.t;
        }
        self.sharp = None;
        self.engine.step(f64::INFINITY);
        self.now = self.now.max(self.engine.start.t);
        self.look_for_fault();
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
        engine.between(self.now, &mut moment.y);
        let Engine { system, start, .. } = engine;
        system.states(&moment.y, &start.nodes, &start.y, &mut moment.nodes);
        let mut flows: Vec<Flow> = moment.flows.clone();
        let mut f = moment.f.clone();
        system.flows(moment.t, &moment.y, &moment.nodes, &mut flows, &mut f);
        moment.flows = flows;
        moment.f = f;
        self.sharp = Some(moment);
    }

    /// Accounts since the start, at the end of the step in hand.
    pub fn balance(&self) -> Balance {
        let engine = &self.engine;
        let unknowns = engine.system.layout.unknowns;
        let y = &engine.end.y;
        let missing =
            |line: usize| inventory(engine, y, line) - inventory(engine, &self.opening, line) + y[unknowns + line];
        let energy = inventory(engine, y, 4) - inventory(engine, &self.opening, 4) - y[unknowns + 4];
        let held = inventory(engine, &self.opening, 4).abs();
        let account = |line: usize| (inventory(engine, y, line), y[unknowns + line], missing(line));
        let (air_kg, air_out_kg, air_error_kg) = account(1);
        let (water_kg, water_out_kg, water_error_kg) = account(2);
        let (oil_kg, oil_out_kg, oil_error_kg) = account(3);
        Balance {
            inventory_kg: inventory(engine, y, 0),
            start_kg: inventory(engine, &self.opening, 0),
            out_kg: y[unknowns],
            mass_error_kg: missing(0),
            // One refrigerant only, so far.
            second_kg: 0.0,
            second_out_kg: 0.0,
            second_error_kg: 0.0,
            air_kg,
            air_out_kg,
            air_error_kg,
            water_kg,
            water_out_kg,
            water_error_kg,
            oil_kg,
            oil_out_kg,
            oil_error_kg,
            energy_error_j: energy,
            energy_scale_j: held.max(y[unknowns + 4].abs()),
        }
    }

    /// Steps and evaluations so far.
    pub fn steps(&self) -> StepCount {
        self.engine.count
    }

    /// What stopped the plant; from there on it stands still.
    pub fn fault(&self) -> Option<&PlantFault> {
        self.fault.as_ref()
    }

    /// Where the run went beyond what its tables cover, a sentence each.
    pub fn notes(&self) -> &[String] {
        // STAND-IN: the laws do not report their bounds yet.
        &[]
    }

    /// Moves a parameter evenly from its present value to `to` (SI) over the coming `over` seconds; names as for [`Plant::set_param`].
    pub fn ramp(&mut self, parameter: &str, to: f64, over: f64) -> Result<(), PlantError> {
        // STAND-IN: sets the value at once, and cold walls, which have no unknowns yet, not at all.
        let _ = over;
        if parameter.ends_with(".cold_wall.surroundings") {
            return Ok(());
        }
        self.set_param(parameter, to)
    }

    /// STAND-IN: says when, but not where.
    fn look_for_fault(&mut self) {
        if self.engine.stuck && self.fault.is_none() {
            self.fault = Some(PlantFault {
                time: self.engine.start.t,
                place: String::new(),
                what: "the integration wants steps below the shortest".to_owned(),
                advice: "look for tiny volumes behind large bores, or loosen `tolerance`".to_owned(),
            });
        }
    }

    /// The integrator wanted steps shorter than its shortest at least once: results are in doubt.
    pub fn stuck(&self) -> bool {
        self.engine.stuck
    }
}

fn law_parameter<'a>(law: &'a mut LawSpec, key: &str) -> Option<&'a mut f64> {
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
            "stall" => Some(&mut spec.stall),
            "ballast" => spec.oil.as_mut().map(|oil| &mut oil.ballast),
            "idle_current" => Some(&mut spec.idle_current),
            "current_per_watt" => Some(&mut spec.current_per_watt),
            _ => None,
        },
        LawSpec::Relief(spec) => match key {
            "diameter" => Some(&mut spec.diameter),
            "discharge" => Some(&mut spec.discharge),
            "set" => Some(&mut spec.set),
            "reseat" => Some(&mut spec.reseat),
            _ => None,
        },
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
