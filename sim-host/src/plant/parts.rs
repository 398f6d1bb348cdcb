//! The parts of a network as they stand while it runs: sizes, walls, strokes, what faults and commands change.

use super::PlantError;
use super::element::Memory;
use super::node::NodeData;
use super::spec::{
    ActuatorSpec, AirUptakeSpec, ElementSpec, LawSpec, NetworkSpec, OilSpec, PlaceKind, PoolSpec, VolumeSpec, WallSpec,
};

/// A value that moves linearly in time from one to another.
#[derive(Debug, Clone, Copy)]
pub struct Drift {
    from: f64,
    to: f64,
    start: f64,
    end: f64,
}

impl Drift {
    /// Standing at `value`.
    pub fn still(value: f64) -> Self {
        Self { from: value, to: value, start: 0.0, end: 0.0 }
    }

    /// Value at `t`.
    #[inline]
    pub fn at(&self, t: f64) -> f64 {
        if t >= self.end {
            return self.to;
        }
        self.from + (self.to - self.from) * ((t - self.start) / (self.end - self.start)).max(0.0)
    }

    /// From where it is at `t` to `to` within `over` s.
    pub fn aim(&mut self, t: f64, to: f64, over: f64) {
        *self = Self { from: self.at(t), to, start: t, end: t + over };
    }

    /// When it comes to rest.
    pub fn end(&self) -> f64 {
        self.end
    }
}

/// Metal of a place.
#[derive(Debug, Clone, Copy)]
pub struct Wall {
    /// Its data.
    pub spec: WallSpec,
    /// Temperature of its surroundings, K; none: the ambient air's.
    pub outside: Option<Drift>,
}

/// A place and what belongs to it.
#[derive(Debug, Clone)]
pub struct Place {
    /// Name from the specification.
    pub name: String,
    /// Kind of place.
    pub kind: PlaceKind,
    /// Data of a closed volume.
    pub data: NodeData,
    /// Wall and cold wall.
    pub walls: [Option<Wall>; 2],
    /// Oil.
    pub oil: Option<OilSpec>,
    /// Puddle.
    pub pool: Option<PoolSpec>,
    /// Air that dissolves.
    pub uptake: Option<AirUptakeSpec>,
    /// Liquid margin of outlets, kg.
    pub dip_margin: f64,
}

impl Place {
    /// The place has gas and liquid states of its own.
    #[inline]
    pub fn closed(&self) -> bool {
        self.kind == PlaceKind::Closed
    }

    fn new(volume: &VolumeSpec) -> Self {
        let closed = volume.kind == PlaceKind::Closed;
        let metal = |spec: Option<WallSpec>| {
            spec.filter(|_| closed && !volume.isothermal)
                .map(|spec| Wall { spec, outside: spec.surroundings.map(Drift::still) })
        };
        Self {
            name: volume.name.clone(),
            kind: volume.kind,
            data: NodeData {
                volume: volume.volume,
                isothermal: volume.isothermal.then_some(volume.fill.temperature),
                compliance: volume.compliance,
            },
            walls: [metal(volume.wall), metal(volume.cold_wall)],
            oil: volume.oil,
            pool: volume.pool.filter(|_| closed),
            uptake: volume.air_uptake.filter(|_| closed),
            dip_margin: volume.dip_margin,
        }
    }
}

/// An element and where it stands.
#[derive(Debug, Clone)]
pub struct Element {
    /// Name from the specification.
    pub name: String,
    /// Law and parameters; faults change them.
    pub law: LawSpec,
    /// What it starts its iterations from.
    pub memory: Memory,
    /// Stroke.
    pub stroke: Stroke,
}

/// Movement of an actuator: opening as a function of time.
#[derive(Debug, Clone, Copy)]
pub struct Stroke {
    spec: ActuatorSpec,
    from: f64,
    to: f64,
    start: f64,
}

impl Stroke {
    fn new(spec: ActuatorSpec) -> Self {
        Self { spec, from: spec.start, to: spec.start, start: 0.0 }
    }

    /// Last command, 0-1.
    pub fn command(&self) -> f64 {
        self.to
    }

    /// Time the movement ends.
    #[inline]
    pub fn end(&self) -> f64 {
        self.start + self.spec.stroke * (self.to - self.from).abs()
    }

    #[inline]
    fn position(&self, t: f64) -> f64 {
        let way = self.to - self.from;
        if way == 0.0 || t >= self.end() {
            return self.to;
        }
        self.from + way.signum() * ((t - self.start).max(0.0) / self.spec.stroke).min(way.abs())
    }

    /// Opening at `t`, never below the leak-by.
    #[inline]
    pub fn opening(&self, t: f64) -> f64 {
        self.position(t).max(self.spec.leak_by)
    }

    /// A new command at `t`.
    pub fn aim(&mut self, t: f64, to: f64) {
        self.from = self.position(t);
        self.start = t;
        self.to = to.clamp(0.0, 1.0);
    }

    /// Stroke time or leak-by.
    pub fn get(&self, key: &str) -> Option<f64> {
        match key {
            "stroke" => Some(self.spec.stroke),
            "leak_by" => Some(self.spec.leak_by),
            _ => None,
        }
    }

    /// Changes stroke time or leak-by.
    pub fn set(&mut self, key: &str, value: f64) -> bool {
        match key {
            "stroke" => self.spec.stroke = value.max(0.0),
            "leak_by" => self.spec.leak_by = value.clamp(0.0, 1.0),
            _ => return false,
        }
        true
    }
}

/// All parts of a network.
#[derive(Debug, Clone)]
pub struct Parts {
    /// Places in the order of the specification.
    pub places: Vec<Place>,
    /// Elements in the order of the specification.
    pub elements: Vec<Element>,
}

impl Parts {
    /// The parts that `spec` states.
    pub fn new(spec: &NetworkSpec) -> Result<Self, PlantError> {
        let mut places: Vec<Place> = Vec::with_capacity(spec.volumes.len());
        for volume in &spec.volumes {
            let taken = places.iter().any(|place| place.name == volume.name);
            if taken || volume.name == "ambient" || volume.name == "vacuum" {
                return Err(PlantError::new(format!("volume name `{}` is taken; choose another", volume.name)));
            }
            places.push(Place::new(volume));
        }
        let elements = spec
            .elements
            .iter()
            .map(|ElementSpec { name, law, actuator, .. }| Element {
                name: name.clone(),
                law: law.clone(),
                memory: Memory::default(),
                stroke: Stroke::new(*actuator),
            })
            .collect();
        Ok(Self { places, elements })
    }

    /// The first moment after `t` at which a stroke or a drift ends, or `limit`.
    pub fn next_end(&self, t: f64, limit: f64) -> f64 {
        let strokes = self.elements.iter().map(|element| element.stroke.end());
        let walls = self.places.iter().flat_map(|place| &place.walls).flatten();
        let drifts = walls.filter_map(|wall| wall.outside.as_ref()).map(Drift::end);
        strokes.chain(drifts).filter(|end| *end > t + 1e-12).fold(limit, f64::min)
    }
}
