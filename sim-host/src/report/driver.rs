//! Who drove the station, in words for text and page.

use super::axis::clock;
use super::data::RunResult;

/// Whether rows of the interlock table can be spoken of: they are the core's, or were told.
pub fn has_rows(result: &RunResult) -> bool {
    result.controller.core || !result.interlocks.is_empty()
}

/// The verdict in words, and whose word it is.
pub fn verdict(result: &RunResult, word: &str) -> String {
    if result.controller.core { word.to_owned() } else { format!("{word}, by its own word") }
}

/// Why a run is only a part.
pub fn cut_off(result: &RunResult) -> &'static str {
    if result.plant_fault.is_some() {
        "the plant could not go on"
    } else if result.controller.fault.is_some() {
        "the controller was lost"
    } else {
        "the run was interrupted"
    }
}

/// Who drove the station, where it was not the built-in core; how it was lost, and what the result then cannot say.
pub fn driven(result: &RunResult) -> Option<String> {
    let who = &result.controller;
    let lost = who.fault.as_ref().map(|fault| {
        let on = if fault.on.is_empty() { "nothing".to_owned() } else { fault.on.join(", ") };
        format!("lost at {}: {}; then on: {on}", clock(fault.t_s), fault.why)
    });
    match (who.core, who.joined.as_str()) {
        (_, "built in" | "") => None,
        (true, line) => Some(match lost {
            None => format!("on the board by {line}: the same as on the host in every scan"),
            Some(lost) => format!("on the board by {line}, {lost}"),
        }),
        (false, joined) => {
            let lost = lost.map(|lost| format!(", {lost}")).unwrap_or_default();
            let word = "verdict and what is marked as shown are its own word; no row of the interlock table stands behind it, and none is expected";
            Some(format!("by {}, another controller, joined by {joined}{lost}; {word}", who.name))
        }
    }
}
