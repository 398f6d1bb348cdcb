//! Volumes from TOML: their size, content, walls, pool and oil, and whether the content fits.

use super::keys::Keys;
use super::range::{COMPLIANCES, CONDUCTANCES, MASSES, PERMEANCES, PRESSURES, SHARES, TEMPERATURES};
use super::{Fluids, oil};
use crate::fluid::{Fluid, FluidKind};
use crate::plant::gas::p_sat_water;
use crate::plant::spec::{AirUptakeSpec, AmbientSpec, Amount, FillSpec, PlaceKind, PoolSpec, VolumeSpec, WallSpec};
use crate::scenario::diagnostic::Problems;
use crate::scenario::quantity::{Dim, range_text, short};
use crate::scenario::reader::Node;

/// Keys of a closed volume that mean nothing in a bottle or a cabinet.
const CLOSED_ONLY: &[&str] = &[
    "temperature",
    "refrigerant",
    "refrigerant_pressure",
    "second_refrigerant",
    "air",
    "air_pressure",
    "air_humidity",
    "isothermal",
    "compliance",
    "outlet_margin",
    "wall",
    "cold_wall",
    "water",
    "air_uptake",
];

/// Reads one volume: none if anything is wrong with it; and whether its kind, hence its keys, are known.
pub(super) fn volume(
    name: &str,
    node: &mut Node,
    fluids: &Fluids,
    air: &AmbientSpec,
    problems: &mut Problems,
) -> (Option<VolumeSpec>, bool) {
    let mut keys = Keys::new(node, problems);
    let keys = &mut keys;
    let kind = match keys.word("kind", &["closed", "cabinet", "bottle"]) {
        Some("cabinet") => {
            PlaceKind::Cabinet { lower_limit: keys.or("lower_flammable_limit", Dim::Fraction, 0.001..=1.0, 0.062) }
        }
        Some("bottle") => PlaceKind::Bottle,
        None if !keys.whole() => return (None, false),
        _ => PlaceKind::Closed,
    };
    let mut made = VolumeSpec {
        name: name.to_owned(),
        kind,
        volume: keys.need("volume", Dim::Volume, 1e-6..=10.0),
        fill: empty(air.temperature),
        isothermal: false,
        compliance: 0.0,
        wall: None,
        cold_wall: None,
        oil: None,
        pool: None,
        air_uptake: None,
        dip_margin: 0.0,
    };
    match kind {
        PlaceKind::Closed => closed(keys, &mut made, fluids, air),
        PlaceKind::Cabinet { .. } => {
            keys.out_of_place(CLOSED_ONLY, "a cabinet holds ambient air and what leaks into it");
            keys.out_of_place(&["oil"], "a cabinet holds no oil; give the oil a bottle of its own");
        }
        PlaceKind::Bottle => {
            keys.out_of_place(CLOSED_ONLY, "a bottle stands open to the ambient and holds oil only");
            made.oil = keys.part("oil", oil::in_bottle);
            if !keys.has("oil") {
                keys.refuse_here(format!("the bottle `{name}` has no oil table"), "add `oil = { mass = \"0 g\" }`");
            }
        }
    }
    if !matches!(kind, PlaceKind::Cabinet { .. }) {
        keys.out_of_place(&["lower_flammable_limit"], "it belongs to `kind = \"cabinet\"`");
    }
    (keys.whole().then_some(made), true)
}

fn empty(temperature: f64) -> FillSpec {
    FillSpec { temperature, refrigerant: Amount::Mass(0.0), second: 0.0, air: Amount::Mass(0.0), humidity: 0.0 }
}

fn closed(keys: &mut Keys, made: &mut VolumeSpec, fluids: &Fluids, air: &AmbientSpec) {
    made.fill = fill(keys, fluids, air);
    made.isothermal = keys.flag("isothermal", false);
    made.compliance = keys.or("compliance", Dim::Compliance, COMPLIANCES, 0.0);
    made.dip_margin = keys.or("outlet_margin", Dim::Mass, 0.0..=10.0, 0.0);
    if made.isothermal {
        let why = "`isothermal` holds the content's temperature whatever the wall does; keep one of the two";
        keys.out_of_place(&["wall", "cold_wall"], why);
    } else {
        made.wall = keys.part("wall", wall);
        made.cold_wall = keys.part("cold_wall", wall);
    }
    made.pool = keys.part("water", pool);
    made.oil = keys.part("oil", oil::oil);
    made.air_uptake = keys.part("air_uptake", |keys| AirUptakeSpec {
        henry: keys.or("henry", Dim::Pressure, 1e5..=1e10, 3e7),
        time_constant: keys.or("time_constant", Dim::Time, 0.1..=1e7, 600.0),
    });
    if let (true, Some(main)) = (keys.whole(), fluids.main)
        && let Some(Misfit { key, message, help }) = misfit(made, main, fluids.second)
    {
        keys.refuse_at(key, message, help);
    }
}

fn fill(keys: &mut Keys, fluids: &Fluids, air: &AmbientSpec) -> FillSpec {
    let second = if fluids.two {
        keys.or("second_refrigerant", Dim::Mass, MASSES, 0.0)
    } else {
        keys.out_of_place(&["second_refrigerant"], "the file names no `second_refrigerant` at its top");
        0.0
    };
    FillSpec {
        temperature: keys.or("temperature", Dim::Temperature, TEMPERATURES, air.temperature),
        refrigerant: amount(keys, "refrigerant", "refrigerant_pressure"),
        second,
        air: amount(keys, "air", "air_pressure"),
        humidity: keys.or("air_humidity", Dim::Fraction, SHARES, 0.0),
    }
}

fn amount(keys: &mut Keys, mass: &str, pressure: &str) -> Amount {
    let by_mass = keys.get(mass, Dim::Mass, MASSES);
    let by_pressure = keys.get(pressure, Dim::Pressure, PRESSURES);
    if keys.has(mass) && keys.has(pressure) {
        keys.refuse_at(pressure, format!("both `{mass}` and `{pressure}` are given"), "keep one of them");
    }
    by_pressure.map_or(Amount::Mass(by_mass.unwrap_or(0.0)), Amount::Pressure)
}

/// Why a starting content cannot be: the key, what is wrong, what would be right.
pub struct Misfit {
    /// Key that says too much.
    pub key: &'static str,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

/// Why the starting content of a closed volume cannot be, if it cannot.
pub fn misfit(made: &VolumeSpec, main: FluidKind, second: Option<FluidKind>) -> Option<Misfit> {
    condensing(&made.fill, main).or_else(|| too_moist(&made.fill)).or_else(|| overfull(made, main, second))
}

/// A pressure of vapour must lie below saturation.
fn condensing(fill: &FillSpec, main: FluidKind) -> Option<Misfit> {
    let Amount::Pressure(p) = fill.refrigerant else { return None };
    let most = Fluid::get(main).p_sat(fill.temperature);
    (p > most * 1.000_001).then(|| Misfit {
        key: "refrigerant_pressure",
        message: format!("{main} condenses before it reaches {p:.0} Pa at {:.2} degC", fill.temperature - 273.15),
        help: format!("accepted range: {}; or give the mass", range_text(Dim::Pressure, &(0.0..=most), Some("kPa"))),
    })
}

/// A pressure of moist air must leave room for its water.
fn too_moist(fill: &FillSpec) -> Option<Misfit> {
    let Amount::Pressure(p) = fill.air else { return None };
    let steam = fill.humidity * p_sat_water(fill.temperature, false);
    (p < steam).then(|| Misfit {
        key: "air_humidity",
        message: format!("moist air of {p:.0} Pa cannot hold {steam:.0} Pa of water vapour"),
        help: "lower the humidity, or raise `air_pressure`".to_owned(),
    })
}

/// Pressure up to which a content is still taken to fit, Pa: what locked-in liquid reaches before anything bursts.
const MOST_PRESSURE: f64 = 15e6;

/// The liquids and the oil must fit at the starting temperature.
fn overfull(made: &VolumeSpec, main: FluidKind, second: Option<FluidKind>) -> Option<Misfit> {
    let mass = match made.fill.refrigerant {
        Amount::Mass(mass) => mass,
        Amount::Pressure(_) => 0.0,
    };
    let t = made.fill.temperature;
    let volume = made.volume * (1.0 + made.compliance * MOST_PRESSURE);
    let oil = made.oil.filter(|oil| !oil.weightless).map_or(0.0, |oil| oil.mass / oil.density);
    let other = second.map_or(0.0, |kind| made.fill.second / densest(Fluid::get(kind), t));
    let room = volume - oil - other;
    let most = (room * densest(Fluid::get(main), t)).max(0.0);
    if mass <= most && room > 0.0 {
        return None;
    }
    let size = format!("{} L at {:.2} degC", short(made.volume * 1e3), t - 273.15);
    let message = if room <= 0.0 {
        let (oil, other) = (short(oil * 1e3), short(other * 1e3));
        format!("oil ({oil} L) and second refrigerant ({other} L) leave no room in {size}")
    } else {
        let (written, most) = apart(mass * 1e3, most * 1e3);
        format!("{written} g of {main} do not fit into {size}; at most {most} g of liquid do")
    };
    Some(Misfit { key: "refrigerant", message, help: "give less, or a larger `volume`".to_owned() })
}

/// Density of liquid under [`MOST_PRESSURE`] at `t`, kg/m3.
fn densest(fluid: &Fluid, t: f64) -> f64 {
    let (mut low, mut high) = (fluid.sat(t.min(fluid.t_sat_max())).rho_l, 2500.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if fluid.at(middle, t).p > MOST_PRESSURE { high = middle } else { low = middle }
    }
    low
}

/// Two figures of which the first is the larger, with as many digits as it takes to see that; the second is rounded down.
fn apart(large: f64, small: f64) -> (String, String) {
    (0..6)
        .map(|digits| {
            let unit = 10f64.powi(digits);
            (format!("{large:.*}", digits as usize), format!("{:.*}", digits as usize, (small * unit).floor() / unit))
        })
        .find(|(one, other)| one != other)
        .unwrap_or_else(|| (large.to_string(), small.to_string()))
}

fn wall(keys: &mut Keys) -> WallSpec {
    let wet = keys.need("wet", Dim::Conductance, CONDUCTANCES);
    WallSpec {
        capacity: keys.need("heat_capacity", Dim::HeatCapacity, 1e-3..=1e7),
        to_ambient: keys.or("to_surroundings", Dim::Conductance, CONDUCTANCES, 0.0),
        wet,
        dry: keys.or("dry", Dim::Conductance, CONDUCTANCES, wet),
        half_mass: keys.or("half_liquid", Dim::Mass, 1e-6..=10.0, 0.05),
        surroundings: keys.get("surroundings", Dim::Temperature, TEMPERATURES),
        start: keys.get("temperature", Dim::Temperature, TEMPERATURES),
        condensation: keys.or("condensation", Dim::Permeance, PERMEANCES, 2e-8),
        half_water: keys.or("half_water", Dim::Mass, 1e-9..=1.0, 5e-6),
        water: keys.or("water", Dim::Mass, 0.0..=10.0, 0.0),
    }
}

fn pool(keys: &mut Keys) -> PoolSpec {
    PoolSpec {
        mass: keys.need("mass", Dim::Mass, 0.0..=10.0),
        to_wall: keys.or("to_wall", Dim::Conductance, CONDUCTANCES, 0.8),
        evaporation: keys.or("evaporation", Dim::Permeance, PERMEANCES, 2e-8),
        half_mass: keys.or("half_mass", Dim::Mass, 1e-9..=1.0, 5e-5),
    }
}
