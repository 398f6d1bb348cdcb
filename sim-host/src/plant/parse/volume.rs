//! Volumes from TOML: their size, content, walls, pool and oil, and whether the content fits.

use super::keys::Keys;
use super::{CONDUCTANCES, Fluids, MASSES, PERMEANCES, PRESSURES, SHARES, TEMPERATURES, oil};
use crate::fluid::Fluid;
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

/// Reads one volume; none if anything is wrong with it.
pub(super) fn volume(
    name: &str,
    node: &mut Node,
    fluids: &Fluids,
    air: &AmbientSpec,
    problems: &mut Problems,
) -> Option<VolumeSpec> {
    let mut keys = Keys::new(node, problems);
    let keys = &mut keys;
    let kind = match keys.word("kind", &["closed", "cabinet", "bottle"]) {
        Some("cabinet") => {
            PlaceKind::Cabinet { lower_limit: keys.or("lower_flammable_limit", Dim::Fraction, 0.001..=1.0, 0.062) }
        }
        Some("bottle") => PlaceKind::Bottle,
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
    keys.whole().then_some(made)
}

fn empty(temperature: f64) -> FillSpec {
    FillSpec { temperature, refrigerant: Amount::Mass(0.0), second: 0.0, air: Amount::Mass(0.0), humidity: 0.0 }
}

fn closed(keys: &mut Keys, made: &mut VolumeSpec, fluids: &Fluids, air: &AmbientSpec) {
    made.fill = fill(keys, fluids, air);
    made.isothermal = keys.flag("isothermal", false);
    made.compliance = keys.or("compliance", Dim::Compliance, 0.0..=1e-5, 0.0);
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
    if keys.whole() {
        fits(keys, made, fluids);
    }
}

fn fill(keys: &mut Keys, fluids: &Fluids, air: &AmbientSpec) -> FillSpec {
    let second = if fluids.two {
        keys.or("second_refrigerant", Dim::Mass, MASSES, 0.0)
    } else {
        keys.out_of_place(&["second_refrigerant"], "the file names no `second_refrigerant` at its top");
        0.0
    };
    let made = FillSpec {
        temperature: keys.or("temperature", Dim::Temperature, TEMPERATURES, air.temperature),
        refrigerant: amount(keys, "refrigerant", "refrigerant_pressure"),
        second,
        air: amount(keys, "air", "air_pressure"),
        humidity: keys.or("air_humidity", Dim::Fraction, SHARES, 0.0),
    };
    if keys.whole() {
        saturation(keys, &made, fluids);
    }
    made
}

fn amount(keys: &mut Keys, mass: &str, pressure: &str) -> Amount {
    let by_mass = keys.get(mass, Dim::Mass, MASSES);
    let by_pressure = keys.get(pressure, Dim::Pressure, PRESSURES);
    if keys.has(mass) && keys.has(pressure) {
        keys.refuse_at(pressure, format!("both `{mass}` and `{pressure}` are given"), "keep one of them");
    }
    by_pressure.map_or(Amount::Mass(by_mass.unwrap_or(0.0)), Amount::Pressure)
}

/// A pressure of vapour must lie below saturation, and one of moist air must leave room for its water.
fn saturation(keys: &mut Keys, fill: &FillSpec, fluids: &Fluids) {
    let t = fill.temperature;
    let pressures = |p: f64| range_text(Dim::Pressure, &(0.0..=p), Some("kPa"));
    if let (Amount::Pressure(p), Some(kind)) = (fill.refrigerant, fluids.main) {
        let most = Fluid::get(kind).p_sat(t);
        if p > most * 1.000_001 {
            let message = format!("{kind} condenses before it reaches {p:.0} Pa at {:.2} degC", t - 273.15);
            let help = format!("accepted range: {}; or give the mass", pressures(most));
            keys.refuse_at("refrigerant_pressure", message, help);
        }
    }
    if let Amount::Pressure(p) = fill.air {
        let steam = fill.humidity * crate::plant::gas::p_sat_water(t, false);
        if p < steam {
            let message = format!("moist air of {p:.0} Pa cannot hold {steam:.0} Pa of water vapour");
            keys.refuse_at("air_humidity", message, "lower the humidity, or raise `air_pressure`");
        }
    }
}

/// Pressure up to which a content is still taken to fit, Pa: what locked-in liquid reaches before anything bursts.
const MOST_PRESSURE: f64 = 15e6;

/// The liquids and the oil must fit at the starting temperature.
fn fits(keys: &mut Keys, made: &VolumeSpec, fluids: &Fluids) {
    let (Some(main), Amount::Mass(mass)) = (fluids.main, made.fill.refrigerant) else {
        return;
    };
    let t = made.fill.temperature;
    let volume = made.volume * (1.0 + made.compliance * MOST_PRESSURE);
    let oil = made.oil.filter(|oil| !oil.weightless).map_or(0.0, |oil| oil.mass / oil.density);
    let second = fluids.second.map_or(0.0, |kind| made.fill.second / densest(Fluid::get(kind), t));
    let room = volume - oil - second;
    let most = (room * densest(Fluid::get(main), t)).max(0.0);
    if mass <= most && room > 0.0 {
        return;
    }
    let celsius = t - 273.15;
    let size = format!("{} L at {celsius:.2} degC", short(made.volume * 1e3));
    if room <= 0.0 {
        let message = format!(
            "oil ({} L) and second refrigerant ({} L) leave no room in {size}",
            short(oil * 1e3),
            short(second * 1e3)
        );
        keys.refuse_here(message, "give less of them, or a larger `volume`");
        return;
    }
    let (written, most) = apart(mass * 1e3, most * 1e3);
    let message = format!("{written} g of {main} do not fit into {size}; at most {most} g of liquid do");
    keys.refuse_at("refrigerant", message, "give less, or a larger `volume`");
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
