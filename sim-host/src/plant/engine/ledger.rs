//! What never changes: weighted sums of the unknowns that, with the ledger of what went out, stay as they were.

use super::Engine;
use crate::plant::layout::{DISSOLVED_AIR, ENERGY_IN, LEDGER, NONE, OIL, POOL, WALL};
use crate::plant::node::ENERGY;
use crate::plant::spec::{LawSpec, PlaceKind};
use crate::plant::system::System;

/// For each line of the ledger (unknown, weight): weighted sums of unknowns that, with the ledger, never change.
pub(super) fn invariants(system: &System) -> [Vec<(usize, f64)>; LEDGER] {
    let mut all: [Vec<(usize, f64)>; LEDGER] = std::array::from_fn(|_| Vec::new());
    let mut add = |line: usize, at: Option<usize>, weight: f64| all[line].extend(at.map(|at| (at, weight)));
    for (place, seat) in system.parts.places.iter().zip(&system.layout.seats) {
        match place.kind {
            PlaceKind::Closed => {
                // The energy line counts inwards, hence the minus.
                add(5, seat.get(ENERGY), -1.0);
                (0..4).for_each(|k| add(k, seat.get(k + 1), 1.0));
            }
            PlaceKind::Cabinet { .. } => add(0, Some(seat.base), 1.0),
            PlaceKind::Bottle => {}
        }
        for first in WALL {
            add(5, seat.get(first), -1.0);
            add(2, seat.get(first + 1), 1.0);
        }
        add(4, seat.get(OIL), 1.0);
        add(0, seat.get(OIL + 1), 1.0);
        add(5, seat.get(OIL + 2), -1.0);
        add(2, seat.get(POOL), 1.0);
        add(5, seat.get(POOL + 1), -1.0);
        add(1, seat.get(DISSOLVED_AIR), 1.0);
    }
    for (element, joint) in system.parts.elements.iter().zip(&system.layout.joints) {
        let own = (joint.own != NONE).then_some(joint.own as usize);
        match &element.law {
            LawSpec::Heater(spec) => add(5, own, -spec.capacity),
            LawSpec::VacuumPump(_) => add(2, own, 1.0),
            _ => {}
        }
    }
    all
}

/// Nothing leads out of the network, so that no mass can cross its edge.
pub(super) fn sealed(system: &System) -> bool {
    let places = &system.parts.places;
    places.iter().all(|place| place.closed())
        && system.layout.joints.iter().all(|joint| joint.ends.iter().all(|end| *end < places.len()))
}

/// For each mass of a sealed network the unknown that holds most of it: what rounding of the linear solves would pass through the
/// edge stays there.
pub(super) fn largest(weights: &[Vec<(usize, f64)>; LEDGER], y: &[f64]) -> [usize; LEDGER - 1] {
    std::array::from_fn(|line| {
        let held = weights[line].iter().map(|&(at, weight)| (at, weight * y[at]));
        held.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(usize::MAX, |(at, _)| at)
    })
}

/// Puts back into the keepers what a stage of a sealed network would pass through its edge.
#[cold]
pub(super) fn keep(keepers: &[usize; LEDGER - 1], now: &mut [f64], ledger: &mut [f64]) {
    for (keeper, passed) in keepers.iter().zip(ledger) {
        if let Some(value) = now.get_mut(*keeper) {
            *value += std::mem::take(passed);
        }
    }
}

/// Sums of the ledger lines' unknowns, of those that `counts` says count, without the ledger itself; kg and J.
pub fn inventories(engine: &Engine, y: &[f64], counts: &dyn Fn(usize) -> bool) -> [f64; LEDGER] {
    std::array::from_fn(|line| {
        let sign = if line == ENERGY_IN { -1.0 } else { 1.0 };
        engine.weights[line].iter().filter(|(at, _)| counts(*at)).map(|&(at, weight)| sign * weight * y[at]).sum()
    })
}
