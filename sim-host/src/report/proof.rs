//! What proves a run: balances, how far the plant came, the hash.

use maud::{Markup, html};

use super::axis::significant;
use super::data::RunResult;
use crate::display::{Amount, Display};

/// Factor and unit of a balance; only masses have another form.
pub fn balance_unit<'a>(unit: &'a str, display: &Display) -> (f64, &'a str) {
    match (unit, display.channel(unit)) {
        ("g", (by, _, shown)) => (by, shown),
        (other, _) => (1.0, other),
    }
}

/// How far the plant came, in one line.
pub fn reached(result: &RunResult, display: &Display) -> String {
    let reached = &result.reached;
    format!(
        "vessel with {} at most, {:.0} % full of liquid, and at {}; {} went into the air",
        display.words(Amount::Mass(reached.vessel_g * 1e-3)),
        reached.vessel_level * 100.0,
        display.words(Amount::Pressure(reached.vessel_bar * 1e5)),
        display.words(Amount::Mass(reached.escaped_g * 1e-3))
    )
}

/// All of it as a list.
pub fn list(result: &RunResult, display: &Display) -> Markup {
    html! {
        h2 { "Proof of the run" }
        dl {
            @for one in &result.balances {
                dt { "Balance: " (one.what) }
                @let (by, unit) = balance_unit(&one.unit, display);
                dd {
                    (significant(one.scale * by, 4)) " " (unit) ", of which " (significant(one.left * by, 3)) " " (unit)
                    " left; error " (significant(one.error * by, 2)) " " (unit)
                }
            }
            @if let Some(fault) = &result.plant_fault {
                dt { "Ended early" } dd { "The plant could not go on: " (fault) }
            }
            dt { "In truth" } dd { (reached(result, display)) }
            dt { "Controller scans" } dd { (result.ticks) }
            dt { "Trace hash" } dd.hash { (result.trace_hash) }
        }
    }
}
