//! What comes into a volume from outside the network, at once and at the volume's temperature, booked as having crossed the edge.

use super::PlantError;
use super::layout::{ENERGY_IN, Layout, POOL};
use super::node::{Company, Fluids, NodeState, SPECIES, content_at};
use super::parts::Parts;
use super::spec::{NetworkSpec, PlaceKind};
use super::wall;

/// What comes into one volume; negative goes out of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain<'a> {
    /// The volume, a closed one.
    pub volume: &'a str,
    /// Refrigerant, air, water vapour, second refrigerant, kg.
    pub masses: [f64; SPECIES],
    /// Liquid water into its puddle, kg.
    pub puddle: f64,
}

/// Line of the ledger that water stands in.
const WATER: usize = 2;

impl<'a> Gain<'a> {
    /// Nothing yet.
    pub const fn of(volume: &'a str) -> Self {
        Self { volume, masses: [0.0; SPECIES], puddle: 0.0 }
    }

    /// Water comes.
    pub fn is_wet(&self) -> bool {
        self.puddle > 0.0 || self.masses[WATER] > 0.0
    }
}

/// Volumes that get a puddle take that of `next` where they had none.
pub(super) fn puddles(next: &NetworkSpec, parts: &mut Parts, gains: &[Gain<'_>]) {
    for gain in gains.iter().filter(|gain| gain.puddle > 0.0) {
        let pool = next.volumes.iter().find(|volume| volume.name == gain.volume).and_then(|volume| volume.pool);
        if let Some(place) = parts.places.iter_mut().find(|place| place.name == gain.volume) {
            place.pool = place.pool.or(pool);
        }
    }
}

/// Puts the gains into the unknowns.
pub(super) fn add(
    gains: &[Gain<'_>],
    parts: &Parts,
    layout: &Layout,
    fluids: &Fluids,
    nodes: &[NodeState],
    y: &mut [f64],
) -> Result<(), PlantError> {
    for gain in gains {
        let cannot = |why: &str| PlantError::new(format!("`{}` {why}", gain.volume));
        let index = parts.places.iter().position(|place| place.name == gain.volume);
        let index = index.ok_or_else(|| cannot("is no volume of the network"))?;
        let (place, seat, node) = (&parts.places[index], &layout.seats[index], &nodes[index]);
        if place.kind != PlaceKind::Closed {
            return Err(cannot("is no closed volume: nothing can be put into it"));
        }
        let mut after = node.mass;
        for (k, more) in gain.masses.into_iter().enumerate().filter(|(_, more)| *more != 0.0) {
            let at = seat.get(k + 1).ok_or_else(|| cannot("cannot hold what comes: the network does not know it"))?;
            // What is taken out cannot be more than there is.
            let more = more.max(-y[at].max(0.0));
            after[k] = (node.mass[k] + more).max(0.0);
            y[at] += more;
            y[layout.unknowns + k] -= more;
        }
        let company = Company { oil: place.data.volume - node.volume, air: node.air_in_liquid * node.m_liq };
        let energy = |mass| content_at(fluids, place.data.volume, mass, company, node.t).0;
        let mut heat = energy(after) - energy(node.mass);
        y[seat.base] += heat;
        if gain.puddle > 0.0 {
            let at = seat.get(POOL).ok_or_else(|| cannot("has no place for a puddle"))?;
            let warm = wall::enthalpy(0.0, node.t, gain.puddle);
            y[at] += gain.puddle;
            y[at + 1] += warm;
            y[layout.unknowns + WATER] -= gain.puddle;
            heat += warm;
        }
        y[layout.unknowns + ENERGY_IN] += heat;
    }
    Ok(())
}
