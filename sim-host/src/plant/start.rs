//! The starting content of every place, from its fill to energies and masses.

use super::PlantError;
use super::gas::{self, R_AIR, R_WATER};
use super::layout::{DISSOLVED_AIR, LEDGER, Layout, OIL, POOL, Seat, WALL};
use super::node::{Company, Fluids, NodeState, content_at};
use super::oil::{self, OilState};
use super::parts::{Parts, Place};
use super::spec::{Amount, FillSpec, LawSpec, NetworkSpec, OilLaw, OilSpec, PlaceKind};
use super::wall;

/// Share of saturation up to which oil is filled where liquid lies beside it: at saturation it would take it all, in hours.
const RESTED: f64 = 0.9;
/// Pressure above which a starting content does not fit, Pa.
const BURSTING: f64 = 15e6;
/// Most of a volume that its oil may take.
const OILY: f64 = 0.95;

/// Unknowns and ledger at time 0, and node states that carry the starting temperatures: of the places and elements whose names
/// `fresh` takes, the others are left at nothing.
pub fn content(
    spec: &NetworkSpec,
    parts: &Parts,
    layout: &Layout,
    fluids: &Fluids,
    fresh: &dyn Fn(&str) -> bool,
) -> Result<(Vec<f64>, Vec<NodeState>), PlantError> {
    let mut y = vec![0.0; layout.unknowns + LEDGER];
    let mut nodes = vec![NodeState::default(); parts.places.len() + 2];
    for (((volume, place), seat), node) in
        spec.volumes.iter().zip(&parts.places).zip(&layout.seats).zip(nodes.iter_mut())
    {
        if !fresh(&volume.name) {
            continue;
        }
        let t = volume.fill.temperature;
        if let Some(at) = seat.get(OIL)
            && let Some(data) = &place.oil
        {
            y[at] = data.mass;
            if let Some(held) = seat.get(OIL + 1) {
                y[held] = dissolved(&volume.fill, place, data, fluids)?;
            }
            if let Some(energy) = seat.get(OIL + 2) {
                y[energy] = OilState::energy(fluids.main, data, data.mass, y[at + 1], t);
            }
        }
        if place.kind == PlaceKind::Closed {
            closed(&volume.fill, place, seat, fluids, &mut y, node)?;
        }
        for (metal, first) in place.walls.iter().zip(WALL) {
            if let (Some(metal), Some(at)) = (metal, seat.get(first)) {
                let water = metal.spec.water;
                y[at] = wall::enthalpy(metal.spec.capacity, metal.spec.start.unwrap_or(t), water);
                if let Some(at) = seat.get(first + 1) {
                    y[at] = water;
                }
            }
        }
        if let (Some(at), Some(data)) = (seat.get(POOL), &place.pool) {
            y[at] = data.mass;
            y[at + 1] = wall::enthalpy(0.0, t, data.mass);
        }
    }
    for (element, joint) in parts.elements.iter().zip(&layout.joints).filter(|(element, _)| fresh(&element.name)) {
        match &element.law {
            LawSpec::Heater(_) => {
                let place = &parts.places[joint.ends[0]];
                let start = place.walls[0].and_then(|metal| metal.spec.start);
                y[joint.own as usize] = start.unwrap_or(spec.volumes[joint.ends[0]].fill.temperature);
            }
            LawSpec::VacuumPump(pump) => {
                if let Some(oil) = &pump.oil {
                    y[joint.own as usize] = oil.water;
                }
            }
            _ => {}
        }
    }
    Ok((y, nodes))
}

/// Refrigerant in the oil at the start, kg.
fn dissolved(fill: &FillSpec, place: &Place, oil: &OilSpec, fluids: &Fluids) -> Result<f64, PlantError> {
    if let Some(given) = oil.dissolved {
        if given > oil::MOST_DISSOLVED * oil.mass && given > 0.0 {
            return Err(PlantError::new(format!(
                "volume `{}`: {:.1} g of oil cannot hold {:.1} g of refrigerant; at most {:.1} g",
                place.name,
                oil.mass * 1e3,
                given * 1e3,
                oil::MOST_DISSOLVED * oil.mass * 1e3
            )));
        }
        return Ok(given);
    }
    if !place.closed() {
        return Ok(0.0);
    }
    if oil.weightless
        && let OilLaw::Linear { solubility, .. } = oil.law
    {
        return Ok(oil.mass * solubility);
    }
    let t = fill.temperature;
    let most = RESTED * fluids.main.p_sat(t);
    let p = match fill.refrigerant {
        Amount::Pressure(p) => p.min(most),
        Amount::Mass(mass) => {
            let (_, state) =
                content_at(fluids, place.data.volume, [mass, 0.0, 0.0, fill.second], Company::default(), t);
            state.p_main.min(most)
        }
    };
    Ok(if p > 0.0 { oil::equilibrium(fluids.main, oil, oil.mass, p, t) } else { 0.0 })
}

fn closed(
    fill: &FillSpec,
    place: &Place,
    seat: &Seat,
    fluids: &Fluids,
    y: &mut [f64],
    node: &mut NodeState,
) -> Result<(), PlantError> {
    let (t, volume) = (fill.temperature, place.data.volume);
    let mut company = Company::default();
    if let (Some(at), Some(data)) = (seat.get(OIL), place.oil.filter(|oil| oil.phase())) {
        company.oil = OilState::evaluate(fluids.main, &data, y[at], y[at + 1], y[at + 2], t).volume;
        if company.oil > OILY * volume {
            return Err(PlantError::new(format!(
                "volume `{}`: its oil with what is dissolved in it takes {:.3} L of {:.3} L; at most {:.0} % may be oil",
                place.name,
                company.oil * 1e3,
                volume * 1e3,
                OILY * 100.0
            )));
        }
    }
    let room = volume - company.oil;
    let refrigerant = refrigerant_mass(fill, place, fluids, room)?;
    let (_, alone) = content_at(fluids, volume, [refrigerant, 0.0, 0.0, fill.second], company, t);
    if place.data.compliance <= 0.0 && alone.p > BURSTING {
        return Err(PlantError::new(format!(
            "volume `{}`: {:.1} g of refrigerant do not fit into {:.4} L at {:.1} degC; full of liquid it holds at most {:.1} g",
            place.name,
            (refrigerant + fill.second) * 1e3,
            room * 1e3,
            t - gas::ZERO_C,
            fluids.main.sat(t.min(fluids.main.t_sat_max())).rho_l * room * 1e3
        )));
    }
    let gas_volume = alone.gas_volume.max(1e-3 * volume);
    let steam_p = fill.humidity * gas::p_sat_water(t, false);
    let (air, steam) = match fill.air {
        Amount::Mass(mass) => (mass, if mass > 0.0 { steam_p * gas_volume / (R_WATER * t) } else { 0.0 }),
        Amount::Pressure(p) => {
            if p < steam_p && p > 0.0 {
                return Err(PlantError::new(format!(
                    "volume `{}`: moist air of {p:.0} Pa cannot hold {steam_p:.0} Pa of water vapour; lower the humidity",
                    place.name
                )));
            }
            let steam_p = steam_p.min(p);
            ((p - steam_p) * gas_volume / (R_AIR * t), steam_p * gas_volume / (R_WATER * t))
        }
    };
    let mut air = air;
    if let (Some(at), Some(uptake)) = (seat.get(DISSOLVED_AIR), &place.uptake) {
        // At rest for long: what is there has shared itself out between gas and liquid.
        let held = alone.m_liq * gas::MOLAR_AIR / fluids.main.molar_mass() / uptake.henry * R_AIR * t / gas_volume;
        y[at] = air * held / (1.0 + held);
        air -= y[at];
        company.air = y[at];
    }
    let mass = [refrigerant, air, steam, fill.second];
    let (energy, state) = content_at(fluids, volume, mass, company, t);
    y[seat.base] = energy;
    for (k, mass) in mass.into_iter().enumerate() {
        if let Some(at) = seat.get(k + 1) {
            y[at] = mass;
        }
    }
    *node = state;
    Ok(())
}

fn refrigerant_mass(fill: &FillSpec, place: &Place, fluids: &Fluids, room: f64) -> Result<f64, PlantError> {
    let t = fill.temperature;
    let fluid = fluids.main;
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
            Ok(if p > 0.0 { fluid.vapour_pt(p, t).rho * room } else { 0.0 })
        }
    }
}
