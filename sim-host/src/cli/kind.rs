//! Which kind of file a text is, told by its keys.

use super::Kind;
use crate::scenario::diagnostic::{Diagnostic, Source};
use crate::scenario::reader;

/// A file with a vehicle or an order is a scenario, one that speaks to a controller a station, one with steps a rig, one with a
/// vehicle's circuit beside a vessel a station too, any other a network.
pub fn kind_of(source: &Source) -> Result<Kind, Diagnostic> {
    let document = reader::parse(source)?;
    let root = document.root();
    let any = |keys: &[&str]| keys.iter().any(|key| root.has(key));
    Ok(if any(&["vehicle", "order", "station", "site"]) {
        Kind::Scenario
    } else if any(&["controller"]) {
        Kind::Station
    } else if any(&["step", "sweep"]) {
        Kind::Rig
    } else if document.root().opt_node("volume").ok().flatten().is_some_and(|v| v.has("vessel") && v.has("vehicle_low"))
    {
        Kind::Station
    } else {
        Kind::Network
    })
}
