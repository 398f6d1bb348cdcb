//! Where everything of a network sits in the vector of unknowns, and which matrix entries can be other than zero.

use super::PlantError;
use super::element::Memory;
use super::node::NodeData;
use super::sparse::SparseLu;
use super::spec::{
    ActuatorSpec, ElementSpec, LawSpec, NetworkSpec, OilSpec, PlaceKind, PoolSpec, VolumeSpec, WallSpec,
};

/// A place with its unknowns.
#[derive(Debug, Clone)]
pub struct Place {
    /// Name from the specification.
    pub name: String,
    /// Kind of place.
    pub kind: PlaceKind,
    /// Inner volume, m3.
    pub volume: f64,
    /// Data of a closed volume.
    pub data: NodeData,
    /// First of the four unknowns of a closed volume; the cabinet's refrigerant mass.
    pub base: usize,
    /// Wall temperature and data.
    pub wall: Option<(usize, WallSpec)>,
    /// Oil mass, and what is dissolved in it.
    pub oil: Option<(usize, OilSpec)>,
    /// Pool mass and, one further, its energy.
    pub pool: Option<(usize, PoolSpec)>,
    /// Liquid margin of outlets, kg.
    pub dip_margin: f64,
    /// Matrix positions between this place's own unknowns: content, [`WALL`], [`POOL`] and its energy.
    pub own: [[u32; OWN]; OWN],
    /// Matrix positions of oil and dissolved refrigerant on the diagonal.
    pub oil_own: [u32; 2],
}

/// Unknowns of a place that share its own matrix positions.
pub const OWN: usize = 7;
/// The wall among them.
pub const WALL: usize = 4;
/// The pool's mass among them; its energy follows.
pub const POOL: usize = 5;

impl Place {
    /// The place has gas and liquid states of its own.
    pub fn closed(&self) -> bool {
        self.kind == PlaceKind::Closed
    }
}

/// An element with its ends resolved.
#[derive(Debug, Clone)]
pub struct Element {
    /// Name from the specification.
    pub name: String,
    /// Law and parameters; faults change them.
    pub law: LawSpec,
    /// Node indices of `from` and `to`.
    pub ends: [usize; 2],
    /// Matrix positions [row side][column side][row][column]; the dummy slot where a side is no closed volume.
    pub positions: [[[[u32; 4]; 4]; 2]; 2],
    /// Unknown of an element of its own (heater skin temperature).
    pub own: usize,
    /// Matrix positions of the oil of either end, and of what is dissolved in it [row side][column side][which].
    pub oil_positions: [[[u32; 2]; 2]; 2],
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
    pub fn end(&self) -> f64 {
        self.start + self.spec.stroke * (self.to - self.from).abs()
    }

    fn position(&self, t: f64) -> f64 {
        let way = self.to - self.from;
        if way == 0.0 || t >= self.end() {
            return self.to;
        }
        self.from + way.signum() * ((t - self.start).max(0.0) / self.spec.stroke).min(way.abs())
    }

    /// Opening at `t`, never below the leak-by.
    pub fn opening(&self, t: f64) -> f64 {
        self.position(t).max(self.spec.leak_by)
    }

    /// A new command at `t`.
    pub fn aim(&mut self, t: f64, to: f64) {
        self.from = self.position(t);
        self.start = t;
        self.to = to.clamp(0.0, 1.0);
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

/// The whole arrangement.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Places in the order of the specification.
    pub places: Vec<Place>,
    /// Elements in the order of the specification.
    pub elements: Vec<Element>,
    /// Unknowns, without the ledger.
    pub unknowns: usize,
    /// Factors with the network's pattern.
    pub lu: SparseLu,
}

impl Layout {
    /// Node index of the ambient air.
    pub fn ambient(&self) -> usize {
        self.places.len()
    }

    /// Node index of the vacuum.
    pub fn vacuum(&self) -> usize {
        self.places.len() + 1
    }

    /// Numbers all unknowns of `spec`.
    pub fn new(spec: &NetworkSpec) -> Result<Self, PlantError> {
        let mut next = 0;
        let mut places: Vec<Place> = Vec::with_capacity(spec.volumes.len());
        for volume in &spec.volumes {
            if places.iter().any(|place| place.name == volume.name)
                || volume.name == "ambient"
                || volume.name == "vacuum"
            {
                return Err(PlantError::new(format!("volume name `{}` is taken; choose another", volume.name)));
            }
            places.push(number(volume, &mut next));
        }
        let mut elements = Vec::with_capacity(spec.elements.len());
        for element in &spec.elements {
            let ends = [find(&places, element, &element.from)?, find(&places, element, &element.to)?];
            check_ends(&places, element, ends)?;
            let own = next;
            if matches!(element.law, LawSpec::Heater(_)) {
                next += 1;
            }
            elements.push(Element {
                name: element.name.clone(),
                law: element.law.clone(),
                ends,
                positions: [[[[0; 4]; 4]; 2]; 2],
                own,
                oil_positions: [[[0; 2]; 2]; 2],
                memory: Memory::default(),
                stroke: Stroke::new(element.actuator),
            });
        }
        let lu = SparseLu::new(next, &pattern(&places, &elements), &elimination_order(&places, &elements, next));
        let mut made = Self { places, elements, unknowns: next, lu };
        made.locate();
        Ok(made)
    }

    /// Position of a matrix entry; the dummy slot past the end where the pattern has none.
    pub fn at(&self, i: usize, j: usize) -> usize {
        self.lu.position(i, j).unwrap_or(self.lu.len())
    }

    fn locate(&mut self) {
        let dummy = self.lu.len() as u32;
        for index in 0..self.places.len() {
            let Place { base, wall, oil, pool, .. } = &self.places[index];
            let closed = self.places[index].closed();
            let unknown = |k: usize| match k {
                WALL => wall.map(|(at, _)| at),
                POOL.. => pool.map(|(at, _)| at + k - POOL),
                _ => (closed || k == 0 && oil.is_none()).then_some(base + k),
            };
            let own = std::array::from_fn(|row| {
                std::array::from_fn(|column| match (unknown(row), unknown(column)) {
                    (Some(i), Some(j)) => self.at(i, j) as u32,
                    _ => dummy,
                })
            });
            let oil_own = std::array::from_fn(|k| oil.map_or(dummy, |(at, _)| self.at(at + k, at + k) as u32));
            (self.places[index].own, self.places[index].oil_own) = (own, oil_own);
        }
        for index in 0..self.elements.len() {
            let ends = self.elements[index].ends;
            let mut positions = [[[[dummy; 4]; 4]; 2]; 2];
            for (row_side, row_block) in positions.iter_mut().enumerate() {
                for (column_side, block) in row_block.iter_mut().enumerate() {
                    let (Some(row), Some(column)) = (self.base(ends[row_side]), self.base(ends[column_side])) else {
                        continue;
                    };
                    for (r, line) in block.iter_mut().enumerate() {
                        for (c, slot) in line.iter_mut().enumerate() {
                            *slot = self.at(row + r, column + c) as u32;
                        }
                    }
                }
            }
            self.elements[index].positions = positions;
            let oil = |node: usize| self.places.get(node).and_then(|place| place.oil).map(|(at, _)| at);
            let oil_positions = ends.map(|row| {
                ends.map(|column| match (oil(row), oil(column)) {
                    (Some(i), Some(j)) => std::array::from_fn(|k| self.at(i + k, j + k) as u32),
                    _ => [dummy; 2],
                })
            });
            self.elements[index].oil_positions = oil_positions;
        }
    }

    /// First unknown of a closed volume.
    pub fn base(&self, node: usize) -> Option<usize> {
        self.places.get(node).filter(|place| place.closed()).map(|place| place.base)
    }
}

fn number(volume: &VolumeSpec, next: &mut usize) -> Place {
    let base = *next;
    *next += match volume.kind {
        PlaceKind::Closed => 4,
        PlaceKind::Cabinet { .. } => 1,
        PlaceKind::Bottle => 0,
    };
    let mut take = |count: usize| {
        *next += count;
        *next - count
    };
    let closed = volume.kind == PlaceKind::Closed;
    let wall = volume.wall.filter(|_| closed && !volume.isothermal).map(|wall| (take(1), wall));
    let oil = volume.oil.map(|oil| (take(2), oil));
    let pool = volume.pool.filter(|_| closed).map(|pool| (take(2), pool));
    Place {
        name: volume.name.clone(),
        kind: volume.kind,
        volume: volume.volume,
        data: NodeData {
            volume: volume.volume,
            isothermal: volume.isothermal.then_some(volume.fill.temperature),
            compliance: volume.compliance,
        },
        base,
        wall,
        oil,
        pool,
        dip_margin: volume.dip_margin,
        own: [[0; OWN]; OWN],
        oil_own: [0; 2],
    }
}

fn find(places: &[Place], element: &ElementSpec, name: &str) -> Result<usize, PlantError> {
    match name {
        "ambient" => Ok(places.len()),
        "vacuum" => Ok(places.len() + 1),
        _ => places.iter().position(|place| place.name == name).ok_or_else(|| {
            let known: Vec<&str> = places.iter().map(|place| place.name.as_str()).collect();
            PlantError::new(format!(
                "element `{}` names `{name}`, which is no volume; known are {}, ambient, vacuum",
                element.name,
                known.join(", ")
            ))
        }),
    }
}

fn check_ends(places: &[Place], element: &ElementSpec, ends: [usize; 2]) -> Result<(), PlantError> {
    let closed = |node: usize| places.get(node).is_some_and(Place::closed);
    let fail = |what: &str| Err(PlantError::new(format!("element `{}`: {what}", element.name)));
    if ends[0] == ends[1] && !matches!(element.law, LawSpec::Heater(_) | LawSpec::Fan(_)) {
        return fail("`from` and `to` are the same place");
    }
    match element.law {
        LawSpec::Fan(_) if !places.get(ends[0]).is_some_and(|p| matches!(p.kind, PlaceKind::Cabinet { .. })) => {
            fail("a fan airs a cabinet; name one as `from`")
        }
        LawSpec::Heater(_) if places.get(ends[0]).is_none_or(|p| p.wall.is_none()) => {
            fail("a heater needs a volume with a wall as `from`")
        }
        LawSpec::HeatLink(_) if !(closed(ends[0]) && closed(ends[1])) => fail("a heat link joins two closed volumes"),
        LawSpec::Compressor(_) if !(closed(ends[0]) && closed(ends[1])) => {
            fail("a compressor joins two closed volumes")
        }
        LawSpec::VacuumPump(_) | LawSpec::Relief(_) if !closed(ends[0]) => fail("`from` must be a closed volume"),
        _ => Ok(()),
    }
}

/// The four unknowns of a closed volume.
fn content_of(place: &Place) -> Vec<usize> {
    if place.closed() { (place.base..place.base + 4).collect() } else { Vec::new() }
}

/// Those and the wall's.
fn heated_of(place: &Place) -> Vec<usize> {
    content_of(place).into_iter().chain(place.wall.map(|(index, _)| index)).collect()
}

fn pattern(places: &[Place], elements: &[Element]) -> Vec<(usize, usize)> {
    let mut entries = Vec::new();
    for place in places {
        let mut all = heated_of(place);
        if let Some((index, _)) = place.pool {
            all.extend([index, index + 1]);
        }
        block(&mut entries, &all);
    }
    for element in elements {
        let ends: Vec<&Place> = element.ends.iter().filter_map(|&node| places.get(node)).collect();
        match &element.law {
            LawSpec::Heater(_) => {
                let walls = ends.iter().filter_map(|place| place.wall).map(|(index, _)| index);
                block(&mut entries, &walls.chain([element.own]).collect::<Vec<_>>());
            }
            LawSpec::HeatLink(_) => {
                block(&mut entries, &ends.iter().copied().flat_map(heated_of).collect::<Vec<_>>());
            }
            _ => {
                block(&mut entries, &ends.iter().copied().flat_map(content_of).collect::<Vec<_>>());
                if let [Some((one, _)), Some((other, _))] = ends.iter().map(|place| place.oil).collect::<Vec<_>>()[..] {
                    for step in 0..2 {
                        entries.extend([(one + step, other + step), (other + step, one + step)]);
                    }
                }
            }
        }
    }
    entries
}

/// Adds a full block over `unknowns`.
fn block(entries: &mut Vec<(usize, usize)>, unknowns: &[usize]) {
    for &i in unknowns {
        entries.extend(unknowns.iter().map(|&j| (i, j)));
    }
}

/// Groups of unknowns in the order of their elimination. First what hangs on one volume alone (oil, walls, pools, heaters):
/// gone without filling anything in. Then the contents, the least connected first, each with its energy before its masses.
fn elimination_order(places: &[Place], elements: &[Element], unknowns: usize) -> Vec<Vec<usize>> {
    let count = places.len();
    let mut joined = vec![vec![false; count]; count];
    for element in elements {
        if let [a, b] = element.ends
            && a < count
            && b < count
            && a != b
        {
            joined[a][b] = true;
            joined[b][a] = true;
        }
    }
    let mut order =
        vec![places.iter().filter_map(|place| place.oil).flat_map(|(at, _)| [at, at + 1]).collect::<Vec<_>>()];
    for (index, place) in places.iter().enumerate() {
        let heaters = elements.iter().filter(|e| e.ends[0] == index && matches!(e.law, LawSpec::Heater(_)));
        let wall = place.wall.map(|(at, _)| at);
        let pool = place.pool.into_iter().flat_map(|(at, _)| [at, at + 1]);
        order.push(heaters.map(|e| e.own).chain(wall).chain(pool).collect());
    }
    let mut left: Vec<usize> = (0..count).collect();
    while !left.is_empty() {
        let degree = |place: usize| left.iter().filter(|other| joined[place][**other]).count();
        let at = (0..left.len()).min_by_key(|&at| (degree(left[at]), left[at])).unwrap_or(0);
        let place = left.remove(at);
        let neighbours: Vec<usize> = left.iter().copied().filter(|other| joined[place][*other]).collect();
        for &a in &neighbours {
            for &b in &neighbours {
                if a != b {
                    joined[a][b] = true;
                }
            }
        }
        order.push(content_of(&places[place]));
    }
    order.push((0..unknowns).filter(|index| !order.iter().any(|group| group.contains(index))).collect());
    order.retain(|group| !group.is_empty());
    order
}
