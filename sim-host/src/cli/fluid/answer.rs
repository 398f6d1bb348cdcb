//! One answer, for a person or as JSON: the saturation line, or a state with its phases.

use serde::Serialize;

use crate::cli::Global;
use crate::cli::output::{Exit, Refusal, print, print_json};
use crate::fluid::{Fluid, Phase, Sat, State};
use crate::report::axis::significant;

const KELVIN: f64 = 273.15;

/// Properties of one phase or of the whole, SI.
#[derive(Serialize)]
struct Properties {
    p: f64,
    rho: f64,
    h: f64,
    u: f64,
    s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    viscosity: Option<f64>,
}

#[derive(Serialize)]
struct Units {
    t: &'static str,
    p: &'static str,
    rho: &'static str,
    h: &'static str,
    u: &'static str,
    s: &'static str,
    viscosity: &'static str,
    quality: &'static str,
}

const UNITS: Units = Units {
    t: "K",
    p: "Pa",
    rho: "kg/m3",
    h: "J/kg",
    u: "J/kg",
    s: "J/(kg K)",
    viscosity: "Pa s",
    quality: "kg vapour per kg",
};

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

/// Both ends of the saturation line.
pub fn saturation(fluid: &Fluid, sat: &Sat, global: Global) -> Result<Exit, Refusal> {
    let [liquid, vapour] = both(fluid, sat);
    let label = fluid.kind().label();
    if global.json {
        print_json(&SaturationAnswer { fluid: label, t: sat.t, p: sat.p, liquid, vapour, units: UNITS })?;
        return Ok(Exit::Held);
    }
    let (celsius, kilopascal) = (sat.t - KELVIN, sat.p / 1e3);
    let head =
        format!("{label} on the saturation line at {celsius:.3} degC ({:.3} K), {kilopascal:.3} kPa abs\n", sat.t);
    let rows = [("liquid", &liquid), ("vapour", &vapour)];
    print(&(head + &table(&rows)))?;
    Ok(Exit::Held)
}

fn both(fluid: &Fluid, sat: &Sat) -> [Properties; 2] {
    let (liquid, vapour) = (fluid.viscosity_liquid(sat.t), fluid.viscosity_vapour(sat.rho_v, sat.t));
    [
        Properties { p: sat.p, rho: sat.rho_l, h: sat.h_l, u: sat.u_l, s: sat.s_l, viscosity: Some(liquid) },
        Properties { p: sat.p, rho: sat.rho_v, h: sat.h_v, u: sat.u_v, s: sat.s_v, viscosity: Some(vapour) },
    ]
}

/// A state, with the ends of the saturation line if it lies between them.
pub fn state(fluid: &Fluid, e: &State, global: Global) -> Result<Exit, Refusal> {
    let viscosity = fluid.viscosity(e);
    let properties = Properties { p: e.p, rho: e.rho, h: e.h, u: e.u, s: e.s, viscosity };
    let sides = (e.phase == Phase::TwoPhase).then(|| both(fluid, &fluid.sat(e.t)));
    let label = fluid.kind().label();
    if global.json {
        let (liquid, vapour) = sides.map_or((None, None), |[liquid, vapour]| (Some(liquid), Some(vapour)));
        print_json(&StateAnswer {
            fluid: label,
            phase: e.phase.name(),
            t: e.t,
            properties,
            quality: e.quality,
            liquid,
            vapour,
            units: UNITS,
        })?;
        return Ok(Exit::Held);
    }
    let quality = format!("{}, {} vapour by mass", e.phase.name(), significant(e.quality, 4));
    let head = format!("{label} at {:.3} degC ({:.3} K), {:.3} kPa abs: {quality}\n", e.t - KELVIN, e.t, e.p / 1e3);
    let mut rows = vec![("bulk", &properties)];
    if let Some([liquid, vapour]) = &sides {
        rows.extend([("liquid", liquid), ("vapour", vapour)]);
    }
    print(&(head + &table(&rows)))?;
    Ok(Exit::Held)
}

fn table(rows: &[(&str, &Properties)]) -> String {
    let heads = ["rho kg/m3", "h kJ/kg", "u kJ/kg", "s kJ/(kg K)", "mu uPa s"];
    let mut text = " ".repeat(8) + &heads.map(|head| format!("{head:>14}")).concat() + "\n";
    for (name, one) in rows {
        text += &format!("{name:<8}{:>14.4}{:>14.4}{:>14.4}{:>14.6}", one.rho, one.h / 1e3, one.u / 1e3, one.s / 1e3);
        text += &one.viscosity.map_or(format!("{:>14}\n", "-"), |mu| format!("{:>14.4}\n", mu * 1e6));
    }
    text
}
