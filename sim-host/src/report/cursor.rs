//! Samples for the cursor of the page: the trace thinned to what a pointer can tell apart, as compact JSON.

use std::fmt::Write;

use super::data::Trace;

/// At most this many samples per channel; the plot is some 1000 px wide.
const MOST: usize = 1000;

/// `{"t":[..],"v":{"index":[..]},"n":{..}}`: times in s, values with four digits, `null` where a value is missing.
/// Holds digits and punctuation only, so it is safe inside a script element.
pub fn samples(trace: &Trace) -> String {
    let count = trace.time_s.len();
    let step = count.div_ceil(MOST).max(1);
    let mut json = String::from("{\"t\":[");
    list(&mut json, trace.time_s.iter().step_by(step).map(|t| Some((t * 10.0).round() / 10.0)));
    json.push_str("],\"v\":[");
    for (at, channel) in trace.channels.iter().enumerate() {
        json.push_str(if at == 0 { "[" } else { ",[" });
        let values = channel.values.iter().step_by(step).map(|value| value.is_finite().then_some(f64::from(*value)));
        list(&mut json, values.map(|value| value.map(four_digits)));
        json.push(']');
    }
    json.push_str("]}");
    json
}

fn list(json: &mut String, values: impl Iterator<Item = Option<f64>>) {
    for (at, value) in values.enumerate() {
        if at > 0 {
            json.push(',');
        }
        // Writing to a String cannot fail.
        let _ = match value {
            Some(value) => write!(json, "{value}"),
            None => write!(json, "null"),
        };
    }
}

fn four_digits(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}
