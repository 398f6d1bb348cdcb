//! `fluid`: properties of a refrigerant on the saturation line or of any state.

use serde::Serialize;

use super::output::{Exit, Refusal, print, print_json};
use super::{FluidArgs, Global};
use crate::fluid::{Fluid, FluidKind, Phase, Sat, State};
use crate::report::axis::significant;
use crate::scenario::quantity::{self, Dim};

const KELVIN: f64 = 273.15;
/// Densest state asked for, kg/m3; liquid of both fluids at -100 degC is lighter.
const DENSEST: f64 = 1_700.0;

/// Properties of one phase, SI.
#[derive(Serialize)]
struct Properties {
    p: f64,
    rho: f64,
    h: f64,
    u: f64,
    s: f64,
}

#[derive(Serialize)]
struct Units {
    t: &'static str,
    p: &'static str,
    rho: &'static str,
    h: &'static str,
    u: &'static str,
    s: &'static str,
    quality: &'static str,
}

const UNITS: Units =
    Units { t: "K", p: "Pa", rho: "kg/m3", h: "J/kg", u: "J/kg", s: "J/(kg K)", quality: "kg vapour per kg" };

#[derive(Serialize)]
struct SaturationAnswer {
    fluid: &'static str,
    t: f64,
    p: f64,
    liquid: Properties,
    vapour: Properties,
    units: Units,
}

#[derive(Serialize)]
struct StateAnswer {
    fluid: &'static str,
    phase: &'static str,
    t: f64,
    #[serde(flatten)]
    properties: Properties,
    quality: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    liquid: Option<Properties>,
    #[serde(skip_serializing_if = "Option::is_none")]
    vapour: Option<Properties>,
    units: Units,
}

fn number(text: &str, flag: &str, dim: Dim) -> Result<f64, Refusal> {
    quantity::parse(text, dim)
        .map(|quantity| quantity.si)
        .map_err(|wrong| Refusal::misuse(format!("--{flag}: {}", wrong.message)).with_help(wrong.help))
}

fn within(value: f64, flag: &str, dim: Dim, low: f64, high: f64) -> Result<f64, Refusal> {
    let range = low..=high;
    if range.contains(&value) {
        return Ok(value);
    }
    let accepted = quantity::range_text(dim, &range, None);
    let near = if value >= high { high } else { low };
    let near = quantity::range_text(dim, &(near..=f64::INFINITY), None);
    let near = near.trim_end_matches(" or more");
    Err(Refusal::misuse(format!("--{flag} is outside the tables"))
        .with_help(format!("accepted range: {accepted}; nearest valid value: {near}")))
}

/// Answers a property question.
pub fn fluid(args: &FluidArgs, global: Global) -> Result<Exit, Refusal> {
    let kind: FluidKind =
        args.fluid.parse().map_err(|wrong: crate::fluid::FluidError| Refusal::misuse(wrong.to_string()))?;
    let fluid = Fluid::get(kind);
    let temperature =
        args.temperature.as_deref().map(|text| number(text, "temperature", Dim::Temperature)).transpose()?;
    let density = args.density.as_deref().map(|text| number(text, "density", Dim::Density)).transpose()?;
    let energy =
        args.internal_energy.as_deref().map(|text| number(text, "internal-energy", Dim::SpecificEnergy)).transpose()?;
    let pressure = args.pressure.as_deref().map(|text| number(text, "pressure", Dim::Pressure)).transpose()?;
    match (temperature, density, energy, pressure) {
        (Some(t), None, None, None) => {
            let t = within(t, "temperature", Dim::Temperature, fluid.t_min(), fluid.t_sat_max())?;
            saturation(kind, &fluid.sat(t), global)
        }
        (None, None, None, Some(p)) => {
            let (low, high) = (fluid.p_sat(fluid.t_min()), fluid.p_sat(fluid.t_sat_max()));
            let p = within(p, "pressure", Dim::Pressure, low, high)?;
            saturation(kind, &fluid.sat(fluid.t_sat(p)), global)
        }
        (Some(t), Some(rho), None, None) => {
            let rho = within(rho, "density", Dim::Density, 1e-9, DENSEST)?;
            let t = within(t, "temperature", Dim::Temperature, fluid.t_min(), fluid.t_max())?;
            state(fluid, &fluid.at(rho, t), global)
        }
        (None, Some(rho), Some(u), None) => {
            let rho = within(rho, "density", Dim::Density, 1e-9, DENSEST)?;
            let (low, high) = (fluid.at(rho, fluid.t_min()).u, fluid.at(rho, fluid.t_max()).u);
            let u = within(u, "internal-energy", Dim::SpecificEnergy, low, high)?;
            state(fluid, &solved(fluid, rho, u)?, global)
        }
        _ => Err(Refusal::misuse("this is no state of a fluid").with_help(
            "give --temperature, or --pressure, or --density with --temperature, or --density with --internal-energy",
        )),
    }
}

/// The solver starts from several temperatures, for a question asked cold may lie far from any one guess.
fn solved(fluid: &Fluid, rho: f64, u: f64) -> Result<State, Refusal> {
    let good = |state: &State| (state.u - u).abs() <= 1e-6 * u.abs().max(1e3);
    let guesses = [KELVIN + 20.0, KELVIN + 80.0, KELVIN - 40.0, KELVIN + 120.0, fluid.t_min()];
    let found = guesses.into_iter().map(|guess| fluid.at_rho_u(rho, u, guess)).find(good);
    found.ok_or_else(|| {
        Refusal::ours(format!("no state was found for {rho} kg/m3 and {u} J/kg, though one should exist"))
    })
}

fn saturation(kind: FluidKind, sat: &Sat, global: Global) -> Result<Exit, Refusal> {
    let [liquid, vapour] = both(sat);
    if global.json {
        print_json(&SaturationAnswer { fluid: kind.label(), t: sat.t, p: sat.p, liquid, vapour, units: UNITS })?;
        return Ok(Exit::Held);
    }
    let head = format!(
        "{} on the saturation line at {:.3} degC ({:.3} K), {:.3} kPa\n",
        kind.label(),
        sat.t - KELVIN,
        sat.t,
        sat.p / 1e3
    );
    let rows = [("liquid", &liquid), ("vapour", &vapour)];
    print(&(head + &table(&rows)))?;
    Ok(Exit::Held)
}

fn both(sat: &Sat) -> [Properties; 2] {
    [
        Properties { p: sat.p, rho: sat.rho_l, h: sat.h_l, u: sat.u_l, s: sat.s_l },
        Properties { p: sat.p, rho: sat.rho_v, h: sat.h_v, u: sat.u_v, s: sat.s_v },
    ]
}

fn state(fluid: &Fluid, state: &State, global: Global) -> Result<Exit, Refusal> {
    let phase = match state.phase {
        Phase::TwoPhase => "two-phase",
        Phase::Vapour => "vapour",
        Phase::Liquid => "liquid",
    };
    let properties = Properties { p: state.p, rho: state.rho, h: state.h, u: state.u, s: state.s };
    let sides = (state.phase == Phase::TwoPhase).then(|| both(&fluid.sat(state.t)));
    let label = fluid.kind().label();
    if global.json {
        let (liquid, vapour) = sides.map_or((None, None), |[liquid, vapour]| (Some(liquid), Some(vapour)));
        print_json(&StateAnswer {
            fluid: label,
            phase,
            t: state.t,
            properties,
            quality: state.quality,
            liquid,
            vapour,
            units: UNITS,
        })?;
        return Ok(Exit::Held);
    }
    let quality = format!("{phase}, {} vapour by mass", significant(state.quality, 4));
    let head =
        format!("{label} at {:.3} degC ({:.3} K), {:.3} kPa: {quality}\n", state.t - KELVIN, state.t, state.p / 1e3);
    let mut rows = vec![("bulk", &properties)];
    if let Some([liquid, vapour]) = &sides {
        rows.extend([("liquid", liquid), ("vapour", vapour)]);
    }
    print(&(head + &table(&rows)))?;
    Ok(Exit::Held)
}

fn table(rows: &[(&str, &Properties)]) -> String {
    let mut text = format!("{:<8}{:>14}{:>14}{:>14}{:>14}\n", "", "rho kg/m3", "h kJ/kg", "u kJ/kg", "s kJ/(kg K)");
    for (name, one) in rows {
        text += &format!("{name:<8}{:>14.4}{:>14.4}{:>14.4}{:>14.6}\n", one.rho, one.h / 1e3, one.u / 1e3, one.s / 1e3);
    }
    text
}
