//! `fluid`: properties of a refrigerant on the saturation line, of one state, or of many from a file or a pipe;
//! and what flows from a state.

mod answer;
pub(super) mod flow;
mod flow_answer;
mod flow_input;
mod property;
mod states;

use super::output::{Exit, Refusal};
use super::{FluidArgs, Global};
use crate::fluid::{Fluid, FluidError, FluidKind, Found, Pair, Property, State};
use property::{Given, KINDS, Kind};

/// Answers a property question.
pub fn fluid(args: &FluidArgs, global: Global) -> Result<Exit, Refusal> {
    let kind: FluidKind = args.fluid.parse().map_err(|wrong: FluidError| Refusal::misuse(wrong.to_string()))?;
    let fluid = Fluid::get(kind);
    if let Some(flow::Ask::Flow(element)) = &args.ask {
        if args.states.is_some() {
            return Err(Refusal::misuse("--states and `flow` do not go together")
                .with_help("ask for one flow at a time, by flags; or leave `flow` out"));
        }
        return flow::flow(fluid, &inlet(fluid, args)?, element, global);
    }
    if let Some(path) = &args.states {
        return states::states(fluid, path, global);
    }
    let given = given(args)?;
    let refuse = |wrong: FluidError| refusal(fluid, &given, &wrong);
    match given.as_slice() {
        [one] if one.kind.property == Property::Temperature => {
            fluid.check_sat_range(one.si).map_err(refuse)?;
            answer::saturation(fluid, &fluid.sat(one.si), global)
        }
        [one] if one.kind.property == Property::Pressure => {
            fluid.check_sat_pressure(one.si).map_err(refuse)?;
            answer::saturation(fluid, &fluid.sat(fluid.t_sat(one.si)), global)
        }
        [one, other] => {
            let pair = Pair::of((one.kind.property, one.si), (other.kind.property, other.si)).ok_or_else(no_state)?;
            match fluid.find(pair).map_err(refuse)? {
                Found::Single(state) => answer::state(fluid, &state, global),
                Found::Saturated(sat) => answer::saturation(fluid, &sat, global),
            }
        }
        _ => Err(no_state()),
    }
}

/// The one state that a flow starts from.
fn inlet(fluid: &Fluid, args: &FluidArgs) -> Result<State, Refusal> {
    const SHARE: &str = "add --quality with --temperature or --pressure: 0 is saturated liquid, 1 saturated vapour";
    let given = given(args)?;
    let [one, other] = given.as_slice() else {
        return Err(match given.as_slice() {
            [one] if matches!(one.kind.property, Property::Temperature | Property::Pressure) => {
                Refusal::misuse(format!("--{} alone does not say how much of the inlet is vapour", one.kind.flag))
                    .with_help(format!("{SHARE}; or give both --pressure and --temperature"))
            }
            _ => no_state(),
        });
    };
    let pair = Pair::of((one.kind.property, one.si), (other.kind.property, other.si)).ok_or_else(no_state)?;
    match fluid.find(pair).map_err(|wrong| refusal(fluid, &given, &wrong))? {
        Found::Single(state) => Ok(state),
        Found::Saturated(_) => Err(Refusal::misuse(format!(
            "--{} and --{} lie on the saturation line and leave open how much of the inlet is vapour",
            one.kind.flag, other.kind.flag
        ))
        .with_help(format!("{SHARE}, and leave the other out"))),
    }
}

fn no_state() -> Refusal {
    Refusal::misuse("this is no state of a fluid").with_help(
        "give --temperature or --pressure for the saturation line; for a state --pressure with --temperature, --enthalpy, --entropy \
         or --quality, --temperature with --quality, --density with --temperature or --internal-energy; for many of them --states",
    )
}

/// What the flags say, in the order of the table.
fn given(args: &FluidArgs) -> Result<Vec<Given>, Refusal> {
    let text = |kind: &Kind| match kind.property {
        Property::Quality => args.quality.as_deref(),
        Property::Temperature => args.temperature.as_deref(),
        Property::Pressure => args.pressure.as_deref(),
        Property::Density => args.density.as_deref(),
        Property::Enthalpy => args.enthalpy.as_deref(),
        Property::InternalEnergy => args.internal_energy.as_deref(),
        Property::Entropy => args.entropy.as_deref(),
    };
    let read = |(kind, text): (&'static Kind, &str)| {
        Given::read(kind, text)
            .map_err(|wrong| Refusal::misuse(format!("--{}: {}", kind.flag, wrong.message)).with_help(wrong.help))
    };
    KINDS.iter().filter_map(|kind| Some((kind, text(kind)?))).map(read).collect()
}

fn refusal(fluid: &Fluid, given: &[Given], wrong: &FluidError) -> Refusal {
    match property::outside(fluid, given, wrong, |kind| format!("--{}", kind.flag)) {
        Some(outside) => {
            let error = format!("--{}: {} is outside the tables", outside.kind.flag, outside.value);
            Refusal::misuse(error).with_help(outside.help)
        }
        None => Refusal::misuse(wrong.to_string()),
    }
}
