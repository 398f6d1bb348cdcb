//! Names for what can be read from a plant, and their values.

use super::element;
use super::engine::Moment;
use super::layout::{DISSOLVED_AIR, OIL, POOL, WALL};
use super::oil::OilState;
use super::spec::{LawSpec, PlaceKind};
use super::system::System;
use super::wall;

/// Something readable, found once by name and then read cheaply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    owner: u32,
    field: Field,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Field {
    Pressure,
    PressureRefrigerant,
    PressureAir,
    PressureWater,
    Temperature,
    MassLiquid,
    Quality,
    Level,
    GasVolume,
    /// A mass among the unknowns; what the integrator leaves below nothing counts as none.
    Mass(u32),
    Purity,
    /// All that is in the volume, oil and water with it.
    Weight,
    /// Temperature, water and ice of wall or cold wall.
    WallTemperature(u32),
    WallWater(u32),
    WallIce(u32),
    OilTemperature,
    OilVolume,
    PoolTemperature(u32),
    PoolFrozen(u32),
    Flammable(u32),
    Flow,
    FlowRefrigerant,
    FlowAir,
    FlowWater,
    FlowSecond,
    FlowOil,
    OutletTemperature,
    Power,
    Current,
    Opening,
    InnerPressure,
    Choked,
    /// Water in a pump's oil.
    PumpWater,
}

/// Unknowns of a place that are masses.
const MASSES: [usize; 10] = [1, 2, 3, 4, WALL[0] + 1, WALL[1] + 1, POOL, OIL, OIL + 1, DISSOLVED_AIR];

/// Signal fields of a volume, with their units.
pub const VOLUME_FIELDS: &[(&str, &str)] = &[
    ("p", "Pa"),
    ("p_ref", "Pa"),
    ("p_air", "Pa"),
    ("p_water", "Pa"),
    ("t", "K"),
    ("m", "kg"),
    ("m_liq", "kg"),
    ("m_air", "kg"),
    ("m_water", "kg"),
    ("t_wall", "K"),
    ("m_second", "kg"),
    ("weight", "kg"),
    ("purity", "1"),
    ("m_wall_water", "kg"),
    ("m_wall_ice", "kg"),
    ("t_cold_wall", "K"),
    ("m_cold_wall_water", "kg"),
    ("m_cold_wall_ice", "kg"),
    ("m_dissolved_air", "kg"),
    ("m_oil", "kg"),
    ("t_oil", "K"),
    ("v_oil", "m3"),
    ("m_dissolved", "kg"),
    ("m_pool", "kg"),
    ("t_pool", "K"),
    ("ice", "1"),
    ("quality", "1"),
    ("level", "1"),
    ("gas_volume", "m3"),
    ("lfl", "1"),
];

/// Signal fields of an element, with their units.
pub const ELEMENT_FIELDS: &[(&str, &str)] = &[
    ("flow", "kg/s"),
    ("flow_ref", "kg/s"),
    ("flow_air", "kg/s"),
    ("flow_water", "kg/s"),
    ("flow_second", "kg/s"),
    ("flow_oil", "kg/s"),
    ("t_out", "K"),
    ("power", "W"),
    ("current", "A"),
    ("opening", "1"),
    ("p_inner", "Pa"),
    ("choked", "1"),
    ("m_kept", "kg"),
];

/// Looks a signal up by `<volume>.<field>` or `<element>.<field>`.
pub fn find(system: &System, name: &str) -> Option<Signal> {
    let (owner, field) = name.rsplit_once('.')?;
    if let Some(index) = system.parts.places.iter().position(|place| place.name == owner) {
        return volume_field(system, index, field).map(|field| Signal { owner: index as u32, field });
    }
    let index = system.parts.elements.iter().position(|element| element.name == owner)?;
    let field = match field {
        "flow" => Field::Flow,
        "flow_ref" => Field::FlowRefrigerant,
        "flow_air" => Field::FlowAir,
        "flow_water" => Field::FlowWater,
        "flow_second" => system.layout.mixed.then_some(Field::FlowSecond)?,
        "flow_oil" => Field::FlowOil,
        "t_out" => Field::OutletTemperature,
        "power" => Field::Power,
        "current" => Field::Current,
        "opening" => Field::Opening,
        "p_inner" => Field::InnerPressure,
        "choked" => Field::Choked,
        "m_kept" => match &system.parts.elements[index].law {
            LawSpec::VacuumPump(pump) if pump.oil.is_some() => Field::PumpWater,
            _ => return None,
        },
        _ => return None,
    };
    Some(Signal { owner: index as u32, field })
}

fn volume_field(system: &System, index: usize, field: &str) -> Option<Field> {
    let place = system.parts.places.get(index)?;
    let seat = &system.layout.seats[index];
    let mass = |local: usize| seat.get(local).map(|at| Field::Mass(at as u32));
    let wall = |which: usize, make: fn(u32) -> Field| place.walls[which].is_some().then(|| make(which as u32));
    match (field, place.kind) {
        ("m_oil", _) => return mass(OIL),
        ("m_dissolved", _) => return mass(OIL + 1),
        ("p", _) => return Some(Field::Pressure),
        ("t", _) => return Some(Field::Temperature),
        ("m", PlaceKind::Cabinet { .. }) => return Some(Field::Mass(seat.base as u32)),
        ("lfl", PlaceKind::Cabinet { .. }) => return Some(Field::Flammable(seat.base as u32)),
        (_, PlaceKind::Closed) => {}
        _ => return None,
    }
    let moist = system.layout.moist;
    let phase = place.oil.is_some_and(|oil| oil.phase());
    match field {
        "p_ref" => Some(Field::PressureRefrigerant),
        "p_air" => Some(Field::PressureAir),
        "p_water" => Some(Field::PressureWater),
        "m" => mass(1),
        "m_air" => mass(2),
        "m_water" => mass(3),
        "m_second" => mass(4),
        "weight" => Some(Field::Weight),
        "purity" => system.layout.mixed.then_some(Field::Purity),
        "m_liq" => Some(Field::MassLiquid),
        "quality" => Some(Field::Quality),
        "level" => Some(Field::Level),
        "gas_volume" => Some(Field::GasVolume),
        "t_wall" => wall(0, Field::WallTemperature).or(Some(Field::Temperature)),
        "m_wall_water" if moist => wall(0, Field::WallWater),
        "m_wall_ice" if moist => wall(0, Field::WallIce),
        "t_cold_wall" => wall(1, Field::WallTemperature),
        "m_cold_wall_water" if moist => wall(1, Field::WallWater),
        "m_cold_wall_ice" if moist => wall(1, Field::WallIce),
        "m_dissolved_air" => mass(DISSOLVED_AIR),
        "t_oil" if phase => Some(Field::OilTemperature),
        "v_oil" if phase => Some(Field::OilVolume),
        "m_pool" => mass(POOL),
        "t_pool" => seat.get(POOL).map(|at| Field::PoolTemperature(at as u32)),
        "ice" => seat.get(POOL).map(|at| Field::PoolFrozen(at as u32)),
        _ => None,
    }
}

impl Signal {
    /// Value at one moment.
    pub(super) fn value(self, system: &System, moment: &Moment) -> f64 {
        let owner = self.owner as usize;
        let place = || &system.parts.places[owner];
        let node = || &moment.nodes[owner];
        let flow = || &moment.flows[owner];
        let unknown = |at: u32| moment.y[at as usize];
        let pool = |at: u32| super::gas::pool_state(unknown(at + 1) / unknown(at).max(1e-12));
        let metal = |which: u32| {
            let first = WALL[which as usize];
            let seat = &system.layout.seats[owner];
            let capacity = place().walls[which as usize].map_or(1.0, |metal| metal.spec.capacity);
            let water = if system.layout.moist { unknown(seat.at[first + 1]) } else { 0.0 };
            (wall::metal(capacity, unknown(seat.at[first]), water), water.max(0.0))
        };
        match self.field {
            Field::Pressure => node().p,
            Field::PressureRefrigerant => node().p_r,
            Field::PressureAir => node().mass[1] * super::gas::R_AIR * node().t / node().gas_volume,
            Field::PressureWater => node().mass[2] * super::gas::R_WATER * node().t / node().gas_volume,
            Field::Temperature => node().t,
            Field::MassLiquid => node().m_liq,
            Field::Quality => node().quality,
            Field::GasVolume => node().gas_volume,
            Field::Level => (node().m_liq / node().rho_l / place().data.volume).min(1.0),
            Field::Mass(at) => unknown(at).max(0.0),
            Field::Weight => {
                let seat = &system.layout.seats[owner];
                MASSES.iter().filter_map(|local| seat.get(*local)).map(|at| moment.y[at].max(0.0)).sum()
            }
            Field::Purity => {
                let [main, _, _, second] = node().mass;
                if main + second > 0.0 { main / (main + second) } else { 1.0 }
            }
            Field::WallTemperature(which) => metal(which).0.t,
            Field::WallWater(which) => metal(which).1 - metal(which).0.ice,
            Field::WallIce(which) => metal(which).0.ice,
            Field::OilTemperature => oil(system, owner, moment).t,
            Field::OilVolume => oil(system, owner, moment).volume,
            Field::PoolTemperature(at) => pool(at).celsius + super::gas::ZERO_C,
            Field::PoolFrozen(at) => pool(at).frozen,
            Field::Flammable(at) => {
                let PlaceKind::Cabinet { lower_limit } = place().kind else {
                    return 0.0;
                };
                let air = &system.ambient;
                element::flammable_share(
                    unknown(at),
                    place().data.volume,
                    system.fluids.main.molar_mass(),
                    air.pressure,
                    air.temperature,
                    lower_limit,
                )
            }
            Field::Flow => match system.parts.elements[owner].law {
                LawSpec::Fan(_) => flow().rate,
                _ => flow().species.iter().sum::<f64>() + flow().oil + flow().dissolved,
            },
            Field::FlowRefrigerant => flow().species[0] + flow().dissolved,
            Field::FlowAir => flow().species[1],
            Field::FlowWater => flow().species[2],
            Field::FlowSecond => flow().species[3],
            Field::FlowOil => flow().oil,
            Field::OutletTemperature => flow().t_out,
            Field::Power => flow().power,
            Field::Current => flow().current,
            Field::Opening => flow().opening,
            Field::InnerPressure => flow().p_inner,
            Field::Choked => f64::from(u8::from(flow().choked)),
            Field::PumpWater => unknown(system.layout.joints[owner].own).max(0.0),
        }
    }
}

/// The oil phase of a place at one moment.
fn oil(system: &System, place: usize, moment: &Moment) -> OilState {
    let at = system.layout.seats[place].at[OIL] as usize;
    let y = &moment.y;
    match &system.parts.places[place].oil {
        Some(spec) => OilState::evaluate(system.fluids.main, spec, y[at], y[at + 1], y[at + 2], moment.nodes[place].t),
        None => OilState::default(),
    }
}

/// Unit of a field name.
pub fn unit(field: &str) -> Option<&'static str> {
    VOLUME_FIELDS.iter().chain(ELEMENT_FIELDS).find(|(name, _)| *name == field).map(|(_, unit)| *unit)
}

/// Every field name, for a help text.
pub fn all_fields() -> String {
    let names: Vec<&str> = VOLUME_FIELDS.iter().chain(ELEMENT_FIELDS).map(|(name, _)| *name).collect();
    names.join(", ")
}
