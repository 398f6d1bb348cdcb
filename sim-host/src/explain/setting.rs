//! What a phase of an order is set to, in words.

use super::plan::{gram, text, time};
use crate::scenario::model::{Order, Phase, Sides};
use crate::scenario::quantity::Dim;

/// What an order sets for one of its phases; empty where it sets nothing.
pub fn setting(of: &Order, phase: Phase) -> String {
    let volume = |m3: f64| text(Dim::Volume, m3, "mL");
    match phase {
        Phase::Evacuate => {
            format!("{} at least, to {} abs", time(of.evacuate_time), text(Dim::Pressure, of.evacuate_depth, "mbar"))
        }
        Phase::LeakCheck => format!("the vacuum held for {}", time(of.leak_hold)),
        Phase::PressureTest => {
            format!("{} over the barometer for {}", text(Dim::Pressure, of.test_over, "bar"), time(of.test_hold))
        }
        Phase::InjectOil if of.inject_oil > 0.0 => {
            format!("{} of new oil, beside what was drained", volume(of.inject_oil))
        }
        Phase::InjectOil => "what was drained".to_owned(),
        Phase::Charge => {
            let through = match of.sides {
                Sides::Both => "both couplers",
                Sides::Low => "the low-side coupler",
                Sides::High => "the high-side coupler",
            };
            format!("{} through {through}", gram(of.charge))
        }
        Phase::Upkeep => of.upkeep.map_or_else(String::new, |(procedure, mass)| {
            let by = if mass > 0.0 { format!(", {}", gram(mass)) } else { String::new() };
            procedure.name().replace('_', " ") + &by
        }),
        _ => String::new(),
    }
}
