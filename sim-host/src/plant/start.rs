//! The starting content of every place, from its fill to energies and masses.

use super::PlantError;
use super::gas::{self, R_AIR, R_WATER};
use super::layout::{Layout, Place};
use super::node::NodeState;
use super::spec::{Amount, FillSpec, NetworkSpec, PlaceKind};
use super::system::LEDGER;
use crate::fluid::Fluid;

/// Unknowns and ledger at time 0, and node states that carry the starting temperatures.
pub fn content(spec: &NetworkSpec, layout: &Layout, fluid: &Fluid) -> Result<(Vec<f64>, Vec<NodeState>), PlantError> {
    let mut y = vec![0.0; layout.unknowns + LEDGER];
    let mut nodes = vec![NodeState::default(); layout.places.len() + 2];
    for ((volume, place), node) in spec.volumes.iter().zip(&layout.places).zip(nodes.iter_mut()) {
        if place.kind == PlaceKind::Closed {
            closed(&volume.fill, place, fluid, &mut y, node)?;
        }
        if let Some((oil, data)) = place.oil {
            y[oil] = data.mass;
            let saturated = if place.closed() { data.mass * solubility(&data) } else { 0.0 };
            y[oil + 1] = data.dissolved.unwrap_or(saturated);
        }
        let t = volume.fill.temperature;
        if let Some((wall, data)) = place.wall {
            y[wall] = data.start.unwrap_or(t);
        }
        if let Some((pool, data)) = place.pool {
            y[pool] = data.mass;
            y[pool + 1] = data.mass * water_energy(t);
        }
    }
    for element in &layout.elements {
        if let super::spec::LawSpec::Heater(_) = element.law {
            let wall = layout.places[element.ends[0]].wall.map_or(spec.ambient.temperature, |(wall, _)| y[wall]);
            y[element.own] = wall;
        }
    }
    Ok((y, nodes))
}

fn water_energy(t: f64) -> f64 {
    let celsius = t - gas::ZERO_C;
    if celsius >= 0.0 { gas::CP_LIQUID * celsius } else { gas::CP_ICE * celsius - gas::FUSION }
}

fn closed(
    fill: &FillSpec,
    place: &Place,
    fluid: &Fluid,
    y: &mut [f64],
    node: &mut NodeState,
) -> Result<(), PlantError> {
    let (t, volume) = (fill.temperature, place.volume);
    let refrigerant = refrigerant_mass(fill, place, fluid)?;
    let state = fluid.at((refrigerant / volume).max(1e-9), t);
    let liquid = refrigerant * (1.0 - state.quality).clamp(0.0, 1.0);
    let room = volume - liquid / state.rho_l.max(1.0);
    if place.data.compliance <= 0.0 && state.p > 15e6 {
        return Err(PlantError::new(format!(
            "volume `{}`: {:.1} g of refrigerant do not fit into {:.3} L at {:.1} degC; at most {:.1} g of liquid do",
            place.name,
            refrigerant * 1e3,
            volume * 1e3,
            t - gas::ZERO_C,
            state.rho_l * volume * 1e3
        )));
    }
    let room = room.max(1e-3 * volume);
    let steam_p = fill.humidity * gas::p_sat_water(t, false);
    let (air, steam) = match fill.air {
        Amount::Mass(mass) => (mass, if mass > 0.0 { steam_p * room / (R_WATER * t) } else { 0.0 }),
        Amount::Pressure(p) => {
            if p < steam_p {
                return Err(PlantError::new(format!(
                    "volume `{}`: moist air of {p:.0} Pa cannot hold {steam_p:.0} Pa of water vapour; lower the humidity",
                    place.name
                )));
            }
            ((p - steam_p) * room / (R_AIR * t), steam_p * room / (R_WATER * t))
        }
    };
    let empty = super::node::empty_energy(volume, t);
    y[place.base] = refrigerant * state.u + air * gas::u_air(t) + steam * gas::u_steam(t) + empty;
    y[place.base + 1] = refrigerant;
    y[place.base + 2] = air;
    y[place.base + 3] = steam;
    node.t = t;
    Ok(())
}

fn refrigerant_mass(fill: &FillSpec, place: &Place, fluid: &Fluid) -> Result<f64, PlantError> {
    let (t, volume) = (fill.temperature, place.volume);
    match fill.refrigerant {
        Amount::Mass(mass) => Ok(mass),
        Amount::Pressure(p) => {
            if t < fluid.t_crit() && p > fluid.p_sat(t) * 1.000_001 {
                return Err(PlantError::new(format!(
                    "volume `{}`: a refrigerant pressure of {p:.0} Pa is above saturation ({:.0} Pa at {:.2} degC); give the mass instead",
                    place.name,
                    fluid.p_sat(t),
                    t - gas::ZERO_C
                )));
            }
            Ok(if p > 0.0 { fluid.vapour_pt(p, t).rho * volume } else { 0.0 })
        }
    }
}

fn solubility(oil: &super::spec::OilSpec) -> f64 {
    match oil.law {
        super::spec::OilLaw::Linear { solubility, .. } => solubility,
        _ => 0.0,
    }
}
