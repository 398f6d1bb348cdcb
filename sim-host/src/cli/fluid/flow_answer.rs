//! The answer to a flow question, for a person or as JSON: how much, choked or not, by which law, from which state.

use serde::Serialize;

use crate::cli::Global;
use crate::cli::output::{Exit, Refusal, print, print_json};
use crate::fluid::{Fluid, State};
use crate::scenario::quantity::short;

const KELVIN: f64 = 273.15;

/// Which law answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    Vapour,
    Flashing,
    Liquid,
    HoseGas,
    HoseWet,
    HoseLiquid,
}

impl Law {
    const fn words(self) -> &'static str {
        match self {
            Self::Vapour => "vapour nozzle: ideal-gas formula with the real density and k = rho a^2/p",
            Self::Flashing => "flashing nozzle: homogeneous equilibrium along the isentrope",
            Self::Liquid => "liquid that does not boil: Bernoulli",
            Self::HoseGas => "gas: isothermal with inertia, Churchill's friction, molecular term added",
            Self::HoseWet => "liquid and vapour: homogeneous equilibrium, friction of Mueller-Steinhagen and Heck",
            Self::HoseLiquid => "liquid that does not boil: Churchill's friction",
        }
    }
}

/// What it flows through, m and 1.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Through {
    pub element: &'static str,
    pub diameter: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub discharge: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub roughness: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fittings: Option<f64>,
}

/// What only some laws know.
#[derive(Debug, Default, Serialize)]
pub struct Details {
    /// Isentropic exponent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub k: Option<f64>,
    /// Flow of the real isentropic nozzle (`flow = "real"` of a rig), kg/s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub real_flow: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nonequilibrium: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reynolds: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub molecular_share: Option<f64>,
}

/// All that is answered, SI.
#[derive(Debug)]
pub struct Answer {
    pub law: Law,
    pub through: Through,
    pub back: f64,
    /// kg/s.
    pub flow: f64,
    /// Over the whole bore, kg/(m2 s).
    pub flux: f64,
    pub choked: bool,
    /// Highest back pressure that still chokes it; none: it does not choke at all.
    pub chokes_below: Option<f64>,
    pub details: Details,
}

#[derive(Serialize)]
struct Inlet {
    phase: &'static str,
    t: f64,
    p: f64,
    quality: f64,
    rho: f64,
    h: f64,
    s: f64,
}

#[derive(Serialize)]
struct Units {
    flow: &'static str,
    flux: &'static str,
    length: &'static str,
    t: &'static str,
    p: &'static str,
    rho: &'static str,
    h: &'static str,
    s: &'static str,
    quality: &'static str,
}

const UNITS: Units = Units {
    flow: "kg/s",
    flux: "kg/(m2 s)",
    length: "m",
    t: "K",
    p: "Pa",
    rho: "kg/m3",
    h: "J/kg",
    s: "J/(kg K)",
    quality: "kg vapour per kg",
};

#[derive(Serialize)]
struct Told<'a> {
    fluid: &'static str,
    #[serde(flatten)]
    through: &'a Through,
    law: Law,
    flow: f64,
    flux: f64,
    choked: bool,
    chokes_below: Option<f64>,
    #[serde(flatten)]
    details: &'a Details,
    back: f64,
    inlet: Inlet,
    units: Units,
}

/// Prints it.
pub fn say(fluid: &Fluid, inlet: &State, answer: &Answer, global: Global) -> Result<Exit, Refusal> {
    let label = fluid.kind().label();
    if global.json {
        let State { t, p, quality, rho, h, s, .. } = *inlet;
        print_json(&Told {
            fluid: label,
            through: &answer.through,
            law: answer.law,
            flow: answer.flow,
            flux: answer.flux,
            choked: answer.choked,
            chokes_below: answer.chokes_below,
            details: &answer.details,
            back: answer.back,
            inlet: Inlet { phase: inlet.phase.name(), t, p, quality, rho, h, s },
            units: UNITS,
        })?;
        return Ok(Exit::Held);
    }
    let mut text = format!("{label} through {}, into {}\n", place(&answer.through), kilopascal(answer.back));
    for (name, value) in lines(inlet, answer) {
        text += &format!("{name:<8}{value}\n");
    }
    print(&text)?;
    Ok(Exit::Held)
}

fn kilopascal(p: f64) -> String {
    if p > 0.0 { format!("{} kPa abs", short(p / 1e3)) } else { "vacuum".to_owned() }
}

fn place(through: &Through) -> String {
    let millimetres = |m: f64| format!("{} mm", short(m * 1e3));
    let bore = millimetres(through.diameter);
    match (through.length, through.roughness, through.fittings) {
        (Some(length), Some(roughness), Some(fittings)) => format!(
            "a hose of {bore} x {} m, roughness {}, fittings {}",
            short(length),
            millimetres(roughness),
            short(fittings)
        ),
        _ => format!("an orifice of {bore}, discharge {}", short(through.discharge.unwrap_or(1.0))),
    }
}

fn lines(inlet: &State, answer: &Answer) -> Vec<(&'static str, String)> {
    let Answer { flow, flux, details, .. } = answer;
    let mut all = vec![
        ("flow", format!("{} g/s, {} kg/(m2 s) of the bore", short(flow * 1e3), short(*flux))),
        (
            "choked",
            match answer.chokes_below {
                Some(p) if answer.choked => format!("yes, as at any back pressure up to {}", kilopascal(p)),
                Some(p) => format!("no; it would be from {} down", kilopascal(p)),
                None => "no, at no back pressure".to_owned(),
            },
        ),
        ("law", answer.law.words().to_owned()),
    ];
    if let (Some(k), Some(real)) = (details.k, details.real_flow) {
        let real = short(real * 1e3);
        all.push(("", format!("k = {}; real isentropic expansion: {real} g/s", short(k))));
    }
    if let Some(factor) = details.nonequilibrium.filter(|factor| *factor > 1.0) {
        all.push(("", format!("times up to {} for liquid that has no time to boil", short(factor))));
    }
    if let Some(reynolds) = details.reynolds {
        let molecular = details.molecular_share.map(|share| format!(", molecular share {} %", short(100.0 * share)));
        all.push(("", format!("Reynolds number {reynolds:.0}{}", molecular.unwrap_or_default())));
    }
    let (t, p) = (short(inlet.t - KELVIN), short(inlet.p / 1e3));
    let share = format!("{}, {} vapour by mass", inlet.phase.name(), short(inlet.quality));
    let state = format!("{share}, {t} degC, {p} kPa abs, {} kg/m3, {} kJ/kg", short(inlet.rho), short(inlet.h / 1e3));
    all.push(("inlet", state));
    all
}
