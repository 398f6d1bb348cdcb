//! A part of a running network goes and another comes in its place: all else goes on as it stands, and what went and came is booked.

use super::PlantError;
use super::engine::{Engine, inventories};
use super::gain::{self, Gain};
use super::holding::{Exchanged, Holding};
use super::layout::{LOCALS, Layout, NONE};
use super::network::Plant;
use super::node::Fluids;
use super::parts::Parts;
use super::spec::{NetworkSpec, Tolerance};
use super::start;
use super::system::System;
use crate::fluid::Fluid;

/// Where something stood, and where it stands now.
struct Kept {
    places: Vec<(usize, usize)>,
    elements: Vec<(usize, usize)>,
}

impl Plant {
    /// At the present time the places and elements for which `theirs` holds go, with all that is in them, and those of `next` come,
    /// as freshly started there. All others go on exactly as they stand: contents, walls, oil, heater skins, a pump's oil, strokes and
    /// commands, a relief's latch, drifts, parameters that were set, the air around, the clock; what `next` says of them counts for
    /// nothing. Returns what went and came; [`Plant::balance`] takes all of it into account.
    ///
    /// The two networks may differ in all that is theirs. A second refrigerant, or water, that was ever known stays known, so that
    /// what an earlier part left in the others goes on to be reckoned.
    ///
    /// Every [`super::Signal`], [`super::VolumeId`] and [`super::ElementId`] found before is void: find them anew.
    ///
    /// # Errors
    /// The refrigerants do not go together, one of the others is missing in either network or joins other places there, what comes does
    /// not fit into its volume, or the plant has come to an end. The plant is then as it was before, to the last bit.
    pub fn exchange(&mut self, next: &NetworkSpec, theirs: &dyn Fn(&str) -> bool) -> Result<Exchanged, PlantError> {
        self.alter(next, theirs, &[])
    }

    /// Goes on with another tolerance.
    pub const fn reckon(&mut self, tolerance: Tolerance) {
        self.engine.tolerance = tolerance;
        (self.engine.system.relative, self.engine.system.eager) = (tolerance.relative, tolerance.eager);
    }

    /// As [`Plant::exchange`], and something comes into volumes that stay, from outside the network and at their temperature. A volume
    /// that gets a puddle takes that of `next`.
    ///
    /// # Errors
    /// As [`Plant::exchange`], and where a volume cannot take what comes.
    pub fn alter(
        &mut self,
        next: &NetworkSpec,
        theirs: &dyn Fn(&str) -> bool,
        gains: &[Gain<'_>],
    ) -> Result<Exchanged, PlantError> {
        let mut before = self.engine.clone();
        before.land(self.now);
        if let Some(fault) = &before.fault {
            return Err(PlantError::new(format!("nothing can be exchanged any more: {fault}")));
        }
        let old = &before.system;
        let fluids = fluids_of(&old.fluids, next)?;
        let mut next = NetworkSpec { second: fluids.second.map(Fluid::kind), ..next.clone() };
        let mut parts = Parts::new(&next)?;
        let kept = keep(old, &mut next, &mut parts, theirs)?;
        gain::puddles(&next, &mut parts, gains);
        let wet = gains.iter().any(Gain::is_wet);
        let layout = Layout::of(&next, &parts, old.layout.moist || wet)?;
        let (mut y, mut nodes) = start::content(&next, &parts, &layout, &fluids, theirs)?;
        let (seats, joints) = (&old.layout.seats, &old.layout.joints);
        let stood = &before.start;
        for &(was, is) in &kept.places {
            for local in 0..LOCALS {
                if let (Some(from), Some(to)) = (seats[was].get(local), layout.seats[is].get(local)) {
                    y[to] = stood.y[from];
                }
            }
            nodes[is] = stood.nodes[was];
        }
        for &(was, is) in &kept.elements {
            let (from, to) = (joints[was].own, layout.joints[is].own);
            if from != NONE && to != NONE {
                y[to as usize] = stood.y[from as usize];
            }
        }
        y[layout.unknowns..].copy_from_slice(&stood.y[old.layout.unknowns..]);
        gain::add(gains, &parts, &layout, &fluids, &nodes, &mut y)?;
        let mut system = System::new(parts, layout, fluids, old.ambient, &before.tolerance);
        system.evaluations = old.evaluations;
        kept.places.iter().for_each(|&(was, is)| system.oils[is] = old.oils[was]);
        let mut engine = Engine::new(system, y, nodes, before.tolerance, self.now);
        (engine.count, engine.notes) = (before.count, std::mem::take(&mut before.notes));
        let made = Exchanged { times: 1, left: held(&before, theirs), arrived: held(&engine, theirs) };
        self.engine = engine;
        self.sharp = None;
        self.exchanged.times += 1;
        self.exchanged.left.add(&made.left);
        self.exchanged.arrived.add(&made.arrived);
        Ok(made)
    }

    /// What went and came in all exchanges so far.
    pub fn exchanged(&self) -> Exchanged {
        self.exchanged
    }
}

/// The refrigerants of both networks.
fn fluids_of(old: &Fluids, next: &NetworkSpec) -> Result<Fluids, PlantError> {
    if next.fluid != old.main.kind() {
        let (has, comes) = (old.main.kind(), next.fluid);
        return Err(PlantError::new(format!("the network runs on {has}; a part made for {comes} cannot come to it")));
    }
    match (old.second, next.second) {
        (Some(known), Some(comes)) if known.kind() != comes => Err(PlantError::new(format!(
            "the network knows {} beside {}; a third refrigerant, {}, cannot come to it",
            known.kind(),
            old.main.kind(),
            comes
        ))),
        (Some(_), _) => Ok(*old),
        (None, comes) => Ok(Fluids { main: old.main, second: comes.map(Fluid::get), mixing: next.mixing }),
    }
}

/// Puts the others of `old` as they stand into `next` and its `parts`.
fn keep(
    old: &System,
    next: &mut NetworkSpec,
    parts: &mut Parts,
    theirs: &dyn Fn(&str) -> bool,
) -> Result<Kept, PlantError> {
    let (places, elements) = (&old.parts.places, &old.parts.elements);
    let mut kept = Kept { places: Vec::new(), elements: Vec::new() };
    for (is, place) in parts.places.iter_mut().enumerate().filter(|(_, place)| !theirs(&place.name)) {
        let was = places.iter().position(|one| one.name == place.name).ok_or_else(|| new_here(&place.name))?;
        *place = places[was].clone();
        kept.places.push((was, is));
    }
    for (is, element) in parts.elements.iter_mut().enumerate().filter(|(_, element)| !theirs(&element.name)) {
        let was = elements.iter().position(|one| one.name == element.name).ok_or_else(|| new_here(&element.name))?;
        let spec = &mut next.elements[is];
        let end = |side: usize| match old.layout.joints[was].ends[side] {
            node if node == old.layout.ambient() => "ambient",
            node if node == old.layout.vacuum() => "vacuum",
            node => places[node].name.as_str(),
        };
        if (end(0), end(1)) != (&*spec.from, &*spec.to) {
            return Err(PlantError::new(format!(
                "`{}` stays, but joins `{}` and `{}` in the next network, not `{}` and `{}`; leave its ends as they are",
                spec.name,
                spec.from,
                spec.to,
                end(0),
                end(1)
            )));
        }
        *element = elements[was].clone();
        spec.law = element.law.clone();
        kept.elements.push((was, is));
    }
    let stays = |(at, name): (usize, &String), kept: &[(usize, usize)]| {
        (!theirs(name) && !kept.iter().any(|(was, _)| *was == at)).then(|| name.clone())
    };
    let place = places.iter().map(|place| &place.name).enumerate().find_map(|one| stays(one, &kept.places));
    let element = elements.iter().map(|element| &element.name).enumerate().find_map(|one| stays(one, &kept.elements));
    match place.or(element) {
        Some(name) => {
            Err(PlantError::new(format!("`{name}` stays, but the next network has none of that name; add it")))
        }
        None => Ok(kept),
    }
}

fn new_here(name: &str) -> PlantError {
    PlantError::new(format!(
        "`{name}` of the next network is not there, and does not come with what is exchanged; let it be theirs, or take it out"
    ))
}

/// What is in the parts of those names at the start of the step.
fn held(engine: &Engine, of: &dyn Fn(&str) -> bool) -> Holding {
    let System { parts, layout, .. } = &engine.system;
    let mut counts = vec![false; layout.unknowns];
    let seats = parts.places.iter().zip(&layout.seats).filter(|(place, _)| of(&place.name));
    let owns = parts.elements.iter().zip(&layout.joints).filter(|(element, _)| of(&element.name));
    let unknowns = seats.flat_map(|(_, seat)| seat.at).chain(owns.map(|(_, joint)| joint.own));
    for at in unknowns.filter(|at| *at != NONE) {
        counts[at as usize] = true;
    }
    Holding::of(inventories(engine, &engine.start.y, &|at| counts[at]))
}
