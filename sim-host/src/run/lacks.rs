//! Signals that the properties of a scenario ask for and that the plants of its jobs do not have.

use super::visit::network_for;
use crate::logic::formula::{Atom, Signal};
use crate::plant::{Plant, Tolerance};
use crate::scenario::Scenario;

/// Each with the number of its job and of its property there, both from 0. Nothing where a network cannot be built: that is told by
/// whoever builds it.
pub fn missing_signals(scenario: &Scenario) -> Vec<(usize, usize, String)> {
    let mut list = Vec::new();
    for (job, view) in scenario.jobs().enumerate().filter(|(_, view)| !view.properties.is_empty()) {
        let Some(plant) = network_for(scenario, job).ok().and_then(|spec| Plant::new(&spec, Tolerance::STATION).ok())
        else {
            continue;
        };
        for (at, property) in view.properties.iter().enumerate() {
            let signals = property.parsed.atoms.iter().flat_map(|look| match &look.atom {
                Atom::Compare { terms, .. } => terms.as_slice(),
                Atom::Is(_) => &[],
            });
            let lacks = signals.filter_map(|(_, signal)| match signal {
                Signal::Plant(name) if plant.signal(name).is_none() => Some((job, at, name.clone())),
                _ => None,
            });
            list.extend(lacks);
        }
    }
    list
}
