//! Names for what can be read from a plant, and their values.

use super::element;
use super::engine::Moment;
use super::layout::Layout;
use super::spec::{LawSpec, PlaceKind};
use super::system::System;

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
    /// An unknown of the state vector times a factor of 1.
    Unknown(u32),
    PoolTemperature(u32),
    PoolFrozen(u32),
    Flammable(u32),
    Flow,
    FlowRefrigerant,
    FlowAir,
    FlowWater,
    FlowOil,
    OutletTemperature,
    Power,
    Current,
    Opening,
    InnerPressure,
}

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
    ("m_oil", "kg"),
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
    ("flow_oil", "kg/s"),
    ("t_out", "K"),
    ("power", "W"),
    ("current", "A"),
    ("opening", "1"),
    ("p_inner", "Pa"),
];

/// Looks a signal up by `<volume>.<field>` or `<element>.<field>`.
pub fn find(layout: &Layout, name: &str) -> Option<Signal> {
    let (owner, field) = name.rsplit_once('.')?;
    if let Some(index) = layout.places.iter().position(|place| place.name == owner) {
        return volume_field(layout, index, field).map(|field| Signal { owner: index as u32, field });
    }
    let index = layout.elements.iter().position(|element| element.name == owner)?;
    let field = match field {
        "flow" => Field::Flow,
        "flow_ref" => Field::FlowRefrigerant,
        "flow_air" => Field::FlowAir,
        "flow_water" => Field::FlowWater,
        "flow_oil" => Field::FlowOil,
        "t_out" => Field::OutletTemperature,
        "power" => Field::Power,
        "current" => Field::Current,
        "opening" => Field::Opening,
        "p_inner" => Field::InnerPressure,
        _ => return None,
    };
    Some(Signal { owner: index as u32, field })
}

fn volume_field(layout: &Layout, index: usize, field: &str) -> Option<Field> {
    let place = layout.places.get(index)?;
    let unknown = |at: usize| Some(Field::Unknown(at as u32));
    match (field, place.kind) {
        ("m_oil", _) => return place.oil.and_then(|(at, _)| unknown(at)),
        ("m_dissolved", _) => return place.oil.and_then(|(at, _)| unknown(at + 1)),
        ("p", _) => return Some(Field::Pressure),
        ("t", _) => return Some(Field::Temperature),
        ("m", PlaceKind::Cabinet { .. }) => return unknown(place.base),
        ("lfl", PlaceKind::Cabinet { .. }) => return Some(Field::Flammable(place.base as u32)),
        (_, PlaceKind::Closed) => {}
        _ => return None,
    }
    match field {
        "p_ref" => Some(Field::PressureRefrigerant),
        "p_air" => Some(Field::PressureAir),
        "p_water" => Some(Field::PressureWater),
        "m" => unknown(place.base + 1),
        "m_air" => unknown(place.base + 2),
        "m_water" => unknown(place.base + 3),
        "m_liq" => Some(Field::MassLiquid),
        "quality" => Some(Field::Quality),
        "level" => Some(Field::Level),
        "gas_volume" => Some(Field::GasVolume),
        "t_wall" => match place.wall {
            Some((wall, _)) => unknown(wall),
            None => Some(Field::Temperature),
        },
        "m_pool" => place.pool.and_then(|(at, _)| unknown(at)),
        "t_pool" => place.pool.map(|(at, _)| Field::PoolTemperature(at as u32)),
        "ice" => place.pool.map(|(at, _)| Field::PoolFrozen(at as u32)),
        _ => None,
    }
}

impl Signal {
    /// Value at one moment.
    pub(super) fn value(self, system: &System, moment: &Moment) -> f64 {
        let owner = self.owner as usize;
        let place = || &system.layout.places[owner];
        let node = || &moment.nodes[owner];
        let flow = || &moment.flows[owner];
        let unknown = |at: u32| moment.y[at as usize];
        let pool = |at: u32| super::gas::pool_state(unknown(at + 1) / unknown(at).max(1e-12));
        match self.field {
            Field::Pressure => node().p,
            Field::PressureRefrigerant => node().p_r,
            Field::PressureAir => node().mass[1] * super::gas::R_AIR * node().t / node().gas_volume,
            Field::PressureWater => node().mass[2] * super::gas::R_WATER * node().t / node().gas_volume,
            Field::Temperature => node().t,
            Field::MassLiquid => node().m_liq,
            Field::Quality => node().quality,
            Field::GasVolume => node().gas_volume,
            Field::Level => (node().m_liq / node().rho_l / place().volume).min(1.0),
            Field::Unknown(at) => unknown(at),
            Field::PoolTemperature(at) => pool(at).celsius + super::gas::ZERO_C,
            Field::PoolFrozen(at) => pool(at).frozen,
            Field::Flammable(at) => {
                let PlaceKind::Cabinet { lower_limit } = place().kind else {
                    return 0.0;
                };
                let air = &system.ambient;
                element::flammable_share(
                    unknown(at),
                    place().volume,
                    system.fluid.molar_mass(),
                    air.pressure,
                    air.temperature,
                    lower_limit,
                )
            }
            Field::Flow => match system.layout.elements[owner].law {
                LawSpec::Fan(_) => flow().rate,
                _ => flow().species.iter().sum::<f64>() + flow().oil + flow().dissolved,
            },
            Field::FlowRefrigerant => flow().species[0] + flow().dissolved,
            Field::FlowAir => flow().species[1],
            Field::FlowWater => flow().species[2],
            Field::FlowOil => flow().oil,
            Field::OutletTemperature => flow().t_out,
            Field::Power => flow().power,
            Field::Current => flow().current,
            Field::Opening => flow().opening,
            Field::InnerPressure => flow().p_inner,
        }
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
