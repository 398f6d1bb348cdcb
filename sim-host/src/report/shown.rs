//! A trace as a display shows it: the same samples in other units, for pictures only.

use super::data::{Channel, ChannelSpec, Trace};
use crate::display::Display;

/// The trace with every channel in the units of the display; files are written from the original.
pub fn shown(trace: &Trace, display: &Display) -> Trace {
    let channel = |one: &Channel| {
        let (factor, offset, unit) = display.channel(&one.spec.unit);
        let value = |value: &f32| f64::from(*value).mul_add(factor, offset) as f32;
        Channel {
            spec: ChannelSpec { unit: unit.to_owned(), ..one.spec.clone() },
            values: one.values.iter().map(value).collect(),
        }
    };
    Trace {
        time_s: trace.time_s.clone(),
        channels: trace.channels.iter().map(channel).collect(),
        actuators: trace.actuators.clone(),
        phases: trace.phases.clone(),
        hazards: trace.hazards.clone(),
        partial: trace.partial,
    }
}
