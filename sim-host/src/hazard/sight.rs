//! What the monitors see of the plant: its figures by name, at both ends of the step in hand, within which each runs straight.

use valvewright_core::frame::{Actuator, Actuators};

use crate::plant::spec::{LawSpec, PlaceKind};
use crate::plant::{NetworkSpec, Plant, Signal};
use crate::station::stages;

/// A figure of the plant, SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum Field {
    /// Gas in the cabinet over its lower flammable limit.
    CabinetGas,
    /// Share of the vessel that liquid takes.
    VesselLevel,
    /// Pressure of the vessel.
    VesselP,
    /// Refrigerant of both kinds in the vessel.
    VesselM,
    /// Of it, the second kind.
    VesselSecond,
    /// Air in the vessel, dissolved or not.
    VesselAir,
    /// Water in the vessel.
    VesselWater,
    /// Share of the separator that liquid and oil take.
    SeparatorLevel,
    /// Air in the separator.
    SeparatorAir,
    /// Vapour of refrigerant in the separator.
    SeparatorVapour,
    /// Pressure of the manifold.
    ManifoldP,
    /// Refrigerant out of the vacuum pump.
    PumpExhaust,
    /// Skin of the heater; that of the vessel's wall where there is none.
    HeaterSkin,
    /// Gas behind the last stage of C-1.
    DischargeT,
    /// Pressure behind it.
    DischargeP,
    /// Refrigerant out of the purge valve.
    PurgeFlow,
    /// Refrigerant out of the oil drain.
    DrainFlow,
    /// What passes the relief valve.
    ReliefFlow,
    /// Air that the fan moves.
    FanFlow,
    /// Refrigerant of both kinds in the vehicle, its oil included.
    VehicleM,
    /// Of it, the second kind.
    VehicleSecond,
    /// Oil left in the new-oil bottle.
    NewOil,
    /// From the vessel towards the hoses.
    ChargeFlow,
    /// From the manifold into the separator.
    IntakeFlow,
    /// Out of the vehicle's hole.
    LeakFlow,
}

/// Plain fields.
const PLAIN: usize = 25;
/// Pipes and hoses that can be shut at all their ends. A station may lack the last two. The piece between XV-5 and XV-10 has no volume of its
/// own in a station's file, so that nothing can be seen of it.
pub const SECTIONS: [&str; 6] = ["hose_low", "hose_high", "manifold", "discharge", "condenser", "interstage"];
/// Figures of each section: how full of liquid, pressure, temperature, refrigerant of both kinds.
const OF_SECTION: usize = 4;
/// All of them.
const COUNT: usize = PLAIN + SECTIONS.len() * OF_SECTION;

/// Volumes of the vehicle.
const VEHICLE: [&str; 3] = ["vehicle_high", "vehicle_low", "accumulator"];
/// Density of oil where the plant reckons no volume of it, kg/m3: near that of water (from memory).
const PLAIN_OIL: f64 = 1000.0;

/// Every figure at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Values([f64; COUNT]);

impl Values {
    /// All nothing.
    pub const BLANK: Self = Self([0.0; COUNT]);

    /// One of them.
    pub const fn get(&self, field: Field) -> f64 {
        self.0[field as usize]
    }

    /// Sets one of them.
    #[cfg(test)]
    pub const fn set(&mut self, field: Field, value: f64) {
        self.0[field as usize] = value;
    }

    /// How full a section is, its pressure, its temperature and its refrigerant.
    pub fn section(&self, at: usize) -> [f64; OF_SECTION] {
        std::array::from_fn(|k| self.0.get(PLAIN + at * OF_SECTION + k).copied().unwrap_or(0.0))
    }

    /// Sets them.
    #[cfg(test)]
    pub fn set_section(&mut self, at: usize, to: [f64; OF_SECTION]) {
        let start = PLAIN + at * OF_SECTION;
        if let Some(mine) = self.0.get_mut(start..start + OF_SECTION) {
            mine.copy_from_slice(&to);
        }
    }

    /// Between two moments, by a share of the way.
    pub fn between(a: &Self, b: &Self, share: f64) -> Self {
        Self(std::array::from_fn(|k| a.0[k] + (b.0[k] - a.0[k]) * share))
    }
}

/// A way through valves that follow the outputs.
#[derive(Debug, Clone)]
pub struct Way {
    /// The valves in series.
    pub series: Actuators,
    /// What passes, oil and gas together.
    pub flow: Signal,
}

/// Where the figures come from.
#[derive(Debug, Clone)]
pub struct Sight {
    sources: Vec<(usize, Signal, f64)>,
    /// Every way through valves.
    pub ways: Vec<Way>,
    /// For each of [`SECTIONS`], how far each of its ends is open; empty where the station has no such section.
    pub ends: [Vec<Signal>; SECTIONS.len()],
    /// There is a heater.
    pub heated: bool,
    span: (f64, f64, u64),
    known: bool,
}

/// The actuators that an element follows by its name.
fn follows(name: &str) -> Option<Actuators> {
    let tags = name.split('/').next().unwrap_or(name);
    let parts = tags.split('+').map(|tag| Actuator::ALL.into_iter().find(|one| one.tag() == tag));
    Some(Actuators::of(&parts.collect::<Option<Vec<_>>>()?))
}

impl Sight {
    /// Finds them in a plant that was built of this network; what a station lacks counts as nothing.
    pub fn find(plant: &Plant, spec: &NetworkSpec) -> Self {
        let mut me = Self {
            sources: Vec::new(),
            ways: Vec::new(),
            ends: Default::default(),
            heated: plant.element("H-1+H-2").is_some(),
            span: (0.0, 0.0, 0),
            known: false,
        };
        me.plain(plant, spec);
        me.sections(plant, spec);
        for element in &spec.elements {
            let valves = follows(&element.name).filter(|all| all.without(Actuators::VALVES).is_empty());
            if let (Some(series), Some(flow)) = (valves, plant.signal(&format!("{}.flow", element.name))) {
                me.ways.push(Way { series, flow });
            }
        }
        me
    }

    fn add(&mut self, plant: &Plant, at: usize, name: &str, factor: f64) {
        self.sources.extend(plant.signal(name).map(|signal| (at, signal, factor)));
    }

    fn plain(&mut self, plant: &Plant, spec: &NetworkSpec) {
        use Field::*;
        let litres = |name: &str| spec.volumes.iter().find(|v| v.name == name).map_or(1.0, |v| v.volume);
        let separator = 1.0 / litres("separator");
        let (oil, oil_factor) = match plant.signal("separator.v_oil") {
            Some(_) => ("separator.v_oil", separator),
            None => ("separator.m_oil", separator / PLAIN_OIL),
        };
        let heater = if self.heated { "H-1+H-2.t_out" } else { "vessel.t_wall" };
        let behind = stages(spec).last().map_or_else(|| "C-1.t_out".to_owned(), |last| format!("{}.t_out", last.name));
        for (field, name, factor) in [
            (CabinetGas, "cabinet.lfl", 1.0),
            (VesselLevel, "vessel.level", 1.0),
            (VesselP, "vessel.p", 1.0),
            (VesselM, "vessel.m", 1.0),
            (VesselM, "vessel.m_second", 1.0),
            (VesselSecond, "vessel.m_second", 1.0),
            (VesselAir, "vessel.m_air", 1.0),
            (VesselAir, "vessel.m_dissolved_air", 1.0),
            (VesselWater, "vessel.m_water", 1.0),
            (SeparatorLevel, "separator.level", 1.0),
            (SeparatorLevel, oil, oil_factor),
            (SeparatorAir, "separator.m_air", 1.0),
            (SeparatorVapour, "separator.m", 1.0),
            (SeparatorVapour, "separator.m_second", 1.0),
            (SeparatorVapour, "separator.m_liq", -1.0),
            (ManifoldP, "manifold.p", 1.0),
            (PumpExhaust, "P-1.flow_ref", 1.0),
            (PumpExhaust, "P-1.flow_second", 1.0),
            (HeaterSkin, heater, 1.0),
            (DischargeT, &behind, 1.0),
            (DischargeP, "discharge.p", 1.0),
            (ReliefFlow, "PSV-1.flow", 1.0),
            (FanFlow, "K-1.flow", 1.0),
            (NewOil, "new_oil.m_oil", 1.0),
        ] {
            self.add(plant, field as usize, name, factor);
        }
        for volume in VEHICLE {
            for part in ["m", "m_dissolved", "m_second"] {
                self.add(plant, VehicleM as usize, &format!("{volume}.{part}"), 1.0);
            }
            self.add(plant, VehicleSecond as usize, &format!("{volume}.m_second"), 1.0);
        }
        for element in &spec.elements {
            // A hole of the scenario, or one that came later; what the operator opens is none.
            if VEHICLE.contains(&element.from.as_str()) && element.to == "ambient" && element.name != "release" {
                for part in ["flow_ref", "flow_second"] {
                    self.add(plant, LeakFlow as usize, &format!("{}.{part}", element.name), 1.0);
                }
            }
            let Some(series) = follows(&element.name) else { continue };
            let field = match () {
                () if series.has(Actuator::Xv5) => ChargeFlow,
                () if series.has(Actuator::Xv3) => IntakeFlow,
                () if series.has(Actuator::Xv7) => PurgeFlow,
                () if series.has(Actuator::Xv8) => DrainFlow,
                () => continue,
            };
            for part in ["flow_ref", "flow_second"] {
                self.add(plant, field as usize, &format!("{}.{part}", element.name), 1.0);
            }
        }
    }

    fn sections(&mut self, plant: &Plant, spec: &NetworkSpec) {
        for (at, name) in SECTIONS.into_iter().enumerate() {
            let there = spec.volumes.iter().any(|v| v.name == name && v.kind == PlaceKind::Closed);
            let first = PLAIN + at * OF_SECTION;
            for (k, part) in [(0, "level"), (1, "p"), (2, "t"), (3, "m"), (3, "m_second")] {
                self.add(plant, first + k, &format!("{name}.{part}"), 1.0);
            }
            let passes = |law: &LawSpec| !matches!(law, LawSpec::HeatLink(_) | LawSpec::Heater(_) | LawSpec::Fan(_));
            let mine = spec.elements.iter().filter(|e| there && passes(&e.law) && (e.from == name || e.to == name));
            let openings = mine.filter_map(|e| plant.signal(&format!("{}.opening", e.name)));
            if let Some(ends) = self.ends.get_mut(at) {
                *ends = openings.collect();
            }
        }
    }

    /// The step that the plant has in hand, if it is another than at the last call: its ends, s, and the figures there.
    pub fn step(&mut self, plant: &Plant) -> Option<((f64, f64), Values, Values)> {
        let span = plant.step_in_hand();
        if self.known && self.span == span {
            return None;
        }
        (self.span, self.known) = (span, true);
        let (mut a, mut b) = (Values::BLANK, Values::BLANK);
        for (at, signal, factor) in &self.sources {
            let (from, to) = plant.ends(*signal);
            a.0[*at] += from * factor;
            b.0[*at] += to * factor;
        }
        Some(((span.0, span.1), a, b))
    }

    /// Whether a section is shut at all its ends.
    pub fn shut(&self, plant: &Plant, at: usize) -> bool {
        self.ends.get(at).is_some_and(|ends| !ends.is_empty() && ends.iter().all(|end| plant.read(*end) <= 0.0))
    }
}
