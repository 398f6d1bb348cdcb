//! Bench questions: what passes an orifice or a hose from one state of a refrigerant, by the very laws of the plant's elements.
//!
//! The inlet is pure refrigerant; air, oil and a second refrigerant need a rig. The plant blends the laws where less than 2 % of a
//! stream is liquid and bends their root near zero pressure difference; here each law stands alone.

use std::f64::consts::PI;

use clap::{Args, Subcommand};

use super::flow_answer::{self, Answer, Details, Law, Through};
use super::flow_input::{back, read};
use crate::cli::Global;
use crate::cli::output::{Exit, Refusal};
use crate::fluid::{Fluid, Phase, State};
use crate::plant::laws::{Rate, flash, hose, nozzle, wet};
use crate::plant::parse::range;
use crate::scenario::quantity::Dim;

/// Accuracy of a hose's iteration.
const CLOSE: f64 = 1e-9;
/// Halvings of the search for the choking pressure: to 1e-9 of the inlet's.
const HALVINGS: usize = 30;

/// What is asked beside properties.
#[derive(Debug, Subcommand)]
pub enum Ask {
    /// What passes an orifice or a hose from this state.
    #[command(subcommand)]
    Flow(Element),
}

/// What it flows through.
#[derive(Debug, Subcommand)]
pub enum Element {
    /// An orifice, a valve seat, a leak: vapour nozzle, flashing liquid, or liquid that stays so.
    #[command(after_help = ORIFICE_HELP, override_usage = "valvewright fluid <FLUID> flow orifice --diameter <D> [OPTIONS] <INLET>")]
    Orifice(OrificeArgs),
    /// A hose or pipe with friction: gas down to molecular flow, liquid, or both.
    #[command(after_help = HOSE_HELP, override_usage = "valvewright fluid <FLUID> flow hose --diameter <D> --length <L> [OPTIONS] <INLET>")]
    Hose(HoseArgs),
}

const ORIFICE_HELP: &str = "\
Examples:
  valvewright fluid R1234yf flow orifice --diameter 1.2mm --discharge 0.7 --temperature 25degC --quality 0
  valvewright fluid R134a flow orifice --diameter 0.6mm --pressure 5bar --temperature 30degC --back 1bar

The inlet is a state as `valvewright fluid -h` has it: two of --pressure, --temperature, --quality, ...";

const HOSE_HELP: &str = "\
Examples:
  valvewright fluid R1234yf flow hose --diameter 4.8mm --length 3m --pressure 1bar --temperature 25degC
  valvewright fluid R134a flow hose --diameter 4.8mm --length 3m --fittings 8 --temperature 25degC --quality 0 --back 3bar

The inlet's pressure is static, at the entry; for a vessel before it add 1.5 to --fittings: 1 for the speed, 0.5 for a sharp edge.
It is a state as `valvewright fluid -h` has it: two of --pressure, --temperature, --quality, ...";

/// An orifice and what stands behind it.
#[derive(Debug, Args)]
pub struct OrificeArgs {
    /// Bore, such as 1.2mm.
    #[arg(long, allow_hyphen_values = true, value_name = "D")]
    diameter: String,
    /// Discharge coefficient, 0 to 1.
    #[arg(long, allow_hyphen_values = true, value_name = "CD", default_value = "0.8")]
    discharge: String,
    /// Absolute pressure behind it, such as 1bar.
    #[arg(long, allow_hyphen_values = true, value_name = "P", default_value = "0kPa")]
    back: String,
    /// Factor on saturated liquid that has no time to boil: 1 (equilibrium; long bores) to 2.4 (thin plates). It fades with subcooling
    /// and with the share of vapour.
    #[arg(long, allow_hyphen_values = true, value_name = "N", default_value = "1")]
    nonequilibrium: String,
}

/// A hose and what stands behind it.
#[derive(Debug, Args)]
pub struct HoseArgs {
    /// Bore, such as 4.8mm.
    #[arg(long, allow_hyphen_values = true, value_name = "D")]
    diameter: String,
    /// Length, such as 3m.
    #[arg(long, allow_hyphen_values = true, value_name = "L")]
    length: String,
    /// Roughness of the bore, such as 50um; at most a twentieth of it.
    #[arg(long, allow_hyphen_values = true, value_name = "EPS", default_value = "0mm")]
    roughness: String,
    /// Sum of the loss coefficients of entry, couplings and valve cores.
    #[arg(long, allow_hyphen_values = true, value_name = "K", default_value = "0")]
    fittings: String,
    /// Absolute pressure behind it, such as 1bar.
    #[arg(long, allow_hyphen_values = true, value_name = "P", default_value = "0kPa")]
    back: String,
}

/// Answers for `inlet`.
pub fn flow(fluid: &Fluid, inlet: &State, element: &Element, global: Global) -> Result<Exit, Refusal> {
    covered(fluid, inlet)?;
    let answer = match element {
        Element::Orifice(args) => orifice(fluid, inlet, args)?,
        Element::Hose(args) => pipe(fluid, inlet, args)?,
    };
    flow_answer::say(fluid, inlet, &answer, global)
}

/// Refuses states that no law here is made for.
fn covered(fluid: &Fluid, inlet: &State) -> Result<(), Refusal> {
    let hot = inlet.t > fluid.t_sat_max();
    let dense = inlet.p >= fluid.p_crit();
    if hot && (dense || !vapour(inlet)) {
        let (t, p) = (fluid.t_sat_max() - 273.15, fluid.p_crit() / 1e5);
        return Err(Refusal::misuse("no flow law covers dense fluid beyond the critical point")
            .with_help(format!("take --temperature to at most {t:.2} degC, or --pressure below {p:.2} bar")));
    }
    Ok(())
}

fn vapour(inlet: &State) -> bool {
    inlet.phase == Phase::Vapour || inlet.quality >= 1.0
}

fn orifice(fluid: &Fluid, inlet: &State, args: &OrificeArgs) -> Result<Answer, Refusal> {
    let diameter = read("diameter", &args.diameter, Dim::Length, range::PIPE_BORES)?;
    let discharge = read("discharge", &args.discharge, Dim::Fraction, range::SHARES)?;
    let factor = read("nonequilibrium", &args.nonequilibrium, Dim::Number, range::NONEQUILIBRIUM)?;
    let back = back(&args.back, inlet.p)?;
    let through = Through { element: "orifice", diameter, discharge: Some(discharge), ..Through::default() };
    let area = 0.25 * PI * diameter * diameter * discharge;
    if vapour(inlet) {
        let k = exponent(fluid, inlet);
        let at = |back: f64| nozzle::ideal_flux(inlet.p, inlet.rho, back, k, 0.0);
        let up = nozzle::Upstream { p: inlet.p, h: inlet.h, s: inlet.s, guess: inlet.t - 15.0 };
        let real = nozzle::real_flux(fluid, up, back, &mut 0.58, 0.0);
        let details = Details { k: Some(k), real_flow: Some(real * area), ..Details::default() };
        return Ok(made(Law::Vapour, through, area, back, inlet.p, at, details));
    }
    let sat = fluid.sat(inlet.t);
    let before = flash::Inlet { p: inlet.p, t: inlet.t, sat, x: inlet.quality, full: false };
    let lagging = |back: f64, factor: f64| flash::flux(fluid, &before, back, factor, &mut 0.0);
    let at = |back: f64| lagging(back, factor);
    // Liquid cools on its way and boils a little below its saturation pressure; a flow that a lag of boiling leaves as it is does not boil.
    let still = inlet.quality <= 0.0 && lagging(back, 2.4).value == lagging(back, 1.0).value;
    let law = if still { Law::Liquid } else { Law::Flashing };
    let nonequilibrium = (law == Law::Flashing).then_some(factor);
    Ok(made(law, through, area, back, inlet.p, at, Details { nonequilibrium, ..Details::default() }))
}

/// Isentropic exponent k = rho a^2/p of vapour by its sound speed a.
fn exponent(fluid: &Fluid, inlet: &State) -> f64 {
    if inlet.phase != Phase::Vapour {
        return fluid.sound_exponent_saturated(inlet.t);
    }
    let by_heat = inlet.t * inlet.dp_dt * inlet.dp_dt / (inlet.rho * inlet.rho * inlet.cv);
    inlet.rho * (inlet.dp_drho + by_heat) / inlet.p
}

fn pipe(fluid: &Fluid, inlet: &State, args: &HoseArgs) -> Result<Answer, Refusal> {
    let diameter = read("diameter", &args.diameter, Dim::Length, range::PIPE_BORES)?;
    let length = read("length", &args.length, Dim::Length, range::LENGTHS)?;
    // Friction laws are fitted up to a twentieth of the bore (Moody's chart).
    let roughness = read("roughness", &args.roughness, Dim::Length, 0.0..=range::ROUGHEST * diameter)?;
    let fittings = read("fittings", &args.fittings, Dim::Number, range::LOSSES)?;
    let back = back(&args.back, inlet.p)?;
    let bore = hose::Bore { diameter, length, roughness, fittings };
    let hose = [length, roughness, fittings].map(Some);
    let through =
        Through { element: "hose", diameter, length: hose[0], roughness: hose[1], fittings: hose[2], discharge: None };
    let area = 0.25 * PI * diameter * diameter;
    if vapour(inlet) {
        return Ok(gas(fluid, inlet, &bore, (through, area, back)));
    }
    let wet = wet::Wet { p: inlet.p, t: inlet.t, x: inlet.quality };
    let at = |back: f64| wet::wet_flux(fluid, &bore, &wet, back, CLOSE, &mut hose::Start::default(), false);
    let sat = fluid.sat(inlet.t);
    if inlet.quality <= 0.0 && back >= sat.p {
        let reynolds = Some(at(back).value * diameter / fluid.viscosity_liquid(inlet.t));
        let details = Details { reynolds, ..Details::default() };
        return Ok(made(Law::HoseLiquid, through, area, back, inlet.p, at, details));
    }
    Ok(made(Law::HoseWet, through, area, back, inlet.p, at, Details::default()))
}

fn gas(fluid: &Fluid, inlet: &State, bore: &hose::Bore, (through, area, back): (Through, f64, f64)) -> Answer {
    let thin = 8.314_462_618 / fluid.molar_mass() * inlet.t;
    let viscosity = fluid.viscosity_vapour(inlet.rho, inlet.t);
    let gas = hose::Gas { p: inlet.p, rho: inlet.rho, thin, viscosity };
    let slip = |back: f64| hose::molecular(bore, &gas, back) * (inlet.p - back);
    let at = |back: f64| {
        let viscous = hose::gas_flux(bore, &gas, back, CLOSE, &mut hose::Start::default());
        Rate { value: viscous.value + slip(back), ..viscous }
    };
    let all = at(back).value;
    let details = Details {
        reynolds: Some(all * bore.diameter / viscosity),
        molecular_share: Some(if all > 0.0 { slip(back) / all } else { 0.0 }),
        ..Details::default()
    };
    made(Law::HoseGas, through, area, back, inlet.p, at, details)
}

/// The answer at `back`, and the highest back pressure at which the flow is choked, found by halving.
fn made(
    law: Law,
    through: Through,
    area: f64,
    back: f64,
    p: f64,
    at: impl Fn(f64) -> Rate,
    details: Details,
) -> Answer {
    let rate = at(back);
    let chokes_below = at(0.0).choked.then(|| {
        let (mut low, mut high) = (0.0, p);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if at(middle).choked { low = middle } else { high = middle }
        }
        low
    });
    let flow = rate.value * area;
    let flux = flow / (0.25 * PI * through.diameter * through.diameter);
    Answer { law, through, back, flow, flux, choked: rate.choked, chokes_below, details }
}
