//! Flags of a flow question: each wrong one is told with its range, the nearest value that is accepted, and what to do.

use std::ops::RangeInclusive;

use crate::cli::output::Refusal;
use crate::scenario::quantity::{self, Dim};

/// The value of a flag within `range` (SI).
pub fn read(flag: &str, text: &str, dim: Dim, range: RangeInclusive<f64>) -> Result<f64, Refusal> {
    read_or(flag, text, dim, &range, "")
}

/// The pressure behind; at most that before, `p` Pa.
pub fn back(text: &str, p: f64) -> Result<f64, Refusal> {
    read_or("back", text, Dim::Pressure, &(0.0..=p), "; it flows from the inlet only: swap the two for the other way")
}

fn read_or(flag: &str, text: &str, dim: Dim, range: &RangeInclusive<f64>, more: &str) -> Result<f64, Refusal> {
    let refuse =
        |message: String, help: String| Err(Refusal::misuse(format!("--{flag}: {message}")).with_help(help + more));
    let one = match quantity::parse(text, dim) {
        Ok(one) => one,
        Err(wrong) => return refuse(wrong.message, wrong.help),
    };
    match one.within(dim, range) {
        Ok(si) => Ok(si),
        Err(accepted) => refuse(
            format!("{} is outside what is accepted", quantity::text(dim, one.si, one.unit())),
            format!("accepted range: {accepted}; nearest valid value: {}", nearest(one, dim, range)),
        ),
    }
}

/// The bound that was passed, as text that is itself accepted: six digits may round it out of the range.
fn nearest(one: quantity::Quantity, dim: Dim, range: &RangeInclusive<f64>) -> String {
    let (start, end) = (*range.start(), *range.end());
    let inwards = 1e-5 * (end - start);
    let (bound, step) = if one.si < start { (start, inwards) } else { (end, -inwards) };
    let written = |si: f64| quantity::text(dim, si, one.unit());
    let fits = |text: &String| quantity::parse(text, dim).is_ok_and(|again| again.within(dim, range).is_ok());
    [bound, bound + step].map(written).into_iter().find(fits).unwrap_or_else(|| written(bound))
}
