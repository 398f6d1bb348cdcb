//! What never changes: weighted sums of the unknowns that, with the ledger of what went out, stay as they were.

use super::Engine;
use crate::plant::layout::{DISSOLVED_AIR, NONE, OIL, POOL, WALL};
use crate::plant::node::ENERGY;
use crate::plant::spec::{LawSpec, PlaceKind};
use crate::plant::system::{LEDGER, System};

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

/// Sum of one ledger line's unknowns, without the ledger itself.
pub fn inventory(engine: &Engine, y: &[f64], line: usize) -> f64 {
    let sign = if line == 5 { -1.0 } else { 1.0 };
    engine.weights[line].iter().map(|&(index, weight)| sign * weight * y[index]).sum()
}
