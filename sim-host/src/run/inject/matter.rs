//! What faults bring into the plant and the ways they open in it: the network is made anew around all that stands in it.

use std::collections::BTreeSet;

use valvewright_core::frame::Actuators;

use super::super::bind::VEHICLE;
use super::super::error::{NetworkFault, RunError};
use super::super::simulation::Simulation;
use super::super::visit::network_for;
use super::slot::Slot;
use super::{Injector, reference};
use crate::controller::Controller;
use crate::fault::{Draws, Effect, Matter, Person, Size, Way};
use crate::fluid::FluidKind;
use crate::plant::spec::{ActuatorSpec, Amount, Draw, ElementSpec, LawSpec, Nozzle, OrificeSpec, PoolSpec};
use crate::plant::{Gain, Holding, NetworkSpec};
use crate::scenario::model::Sides;

/// Discharge coefficient of a hole and of a pipe end (common practice for sharp edges, no source), and how far liquid is from
/// equilibrium in it: as the charge valve of the workshop's network.
const DISCHARGE: f64 = 0.65;
const LATE: f64 = 1.4;
/// Pressure difference below which the flow through a hole turns linear, Pa.
const SMOOTH: f64 = 3e3;
/// A hose that is pulled off stands open by this, m (hazard analysis of H25: 1 mm gap).
const PULLED: f64 = 1e-3;
/// Volume of the vehicle in which water lies, and how it lies there: as in a scenario with water.
const WATER_LIES: &str = "accumulator";
/// The volume of V-1.
const VESSEL: &str = "vessel";
/// Gas constant of air, J/(kg K): 8.314 J/(mol K) over 28.965 g/mol.
const R_AIR: f64 = 287.05;
/// Water passes a drier in portions, one in so many seconds: small against what dries or wets anything.
const PORTION: f64 = 30.0;

impl<C: Controller> Simulation<C> {
    /// The network of the job at hand, without what faults added.
    pub(super) fn bare_network(&self) -> Result<NetworkSpec, NetworkFault> {
        network_for(&self.scenario, self.job)
    }

    /// Opens and shuts the ways that are wanted now, and brings in what comes with the faults that `begin`.
    pub(super) fn bring(&mut self, injector: &mut Injector, begin: &[usize]) -> Result<(), RunError> {
        let fluid = FluidKind::from(self.present.station.refrigerant);
        let wanted = self.wanted_ways(injector, fluid);
        let names: Vec<String> = wanted.iter().map(|(element, _)| element.name.clone()).collect();
        let matter: Vec<Matter> = begin
            .iter()
            .filter_map(|at| injector.slots.get(*at))
            .flat_map(|slot| &slot.effects)
            .filter_map(|effect| if let Effect::Brings(matter) = effect { Some(*matter) } else { None })
            .collect();
        if names == injector.ways && matter.is_empty() {
            return Ok(());
        }
        let mut next = self.bare_network().map_err(RunError::Network)?;
        next.elements.extend(wanted.iter().map(|(element, _)| element.clone()));
        let mut gains = Vec::new();
        for one in matter {
            self.gains(one, &mut next, &mut gains);
        }
        self.alter(&next, injector, names, &gains)?;
        for (element, behind) in wanted {
            if let (Some(behind), Some(found)) = (behind, self.plant.element(&element.name)) {
                self.plant.set(found, self.holds.opening(Actuators::of(&[behind]), self.coils));
            }
        }
        Ok(())
    }

    /// The plant goes on in the network `next` with `names` for its ways, and with what comes in.
    fn alter(
        &mut self,
        next: &NetworkSpec,
        injector: &mut Injector,
        names: Vec<String>,
        gains: &[Gain<'_>],
    ) -> Result<(), RunError> {
        let old: BTreeSet<String> = injector.ways.iter().cloned().collect();
        let new: BTreeSet<String> = names.iter().cloned().collect();
        let differ = |name: &str| old.contains(name) != new.contains(name);
        if let Some(hazards) = &mut self.hazards {
            hazards.parts_change(&self.plant);
        }
        let done = self.plant.alter(next, &differ, gains);
        done.map_err(|why| RunError::Fault(format!("the plant cannot take what a fault brings: {why}")))?;
        injector.ways = names;
        injector.found_anew(&self.plant);
        self.found_anew(next)
    }

    /// Another vessel is put in the place of this one, with nothing in it but what a vacuum leaves; what faults opened stays as it is.
    pub(in crate::run) fn change_vessel(&mut self) -> Result<(), RunError> {
        /// What an evacuated vessel is left with, Pa, and one that comes unevacuated, full of air.
        const LEFT: f64 = 50.0;
        let mut injector = std::mem::take(&mut self.injector);
        let mut next = self.bare_network().map_err(RunError::Network)?;
        let fluid = FluidKind::from(self.present.station.refrigerant);
        next.elements.extend(self.wanted_ways(&injector, fluid).into_iter().map(|(element, _)| element));
        let (ambient, barometer) = (self.present.site.ambient, self.present.site.barometer);
        let air = if self.present.operator.vessel_of_air { barometer } else { LEFT };
        if let Some(vessel) = next.volume_mut(VESSEL) {
            vessel.fill.temperature = ambient;
            (vessel.fill.refrigerant, vessel.fill.second) = (Amount::Pressure(LEFT), 0.0);
            vessel.fill.air = Amount::Pressure(air);
        }
        if let Some(hazards) = &mut self.hazards {
            hazards.parts_change(&self.plant);
        }
        let made = self.plant.alter(&next, &|name| name == VESSEL, &[]);
        let made = made.map_err(|why| RunError::Plant(why.to_string()))?;
        let both = |of: &Holding| of.refrigerant_kg + of.second_kg;
        self.account.exchanged += both(&made.arrived) - both(&made.left);
        injector.found_anew(&self.plant);
        self.injector = injector;
        self.found_anew(&next)?;
        // What the instruments see in this scan is the new one.
        self.signals.fill(&self.plant, self.holds.acting(self.coils), &mut self.truth);
        Ok(())
    }

    /// Takes all ways of faults out of the plant, or lays those that are wanted.
    pub(in crate::run) fn lift_ways(&mut self) -> Result<(), RunError> {
        let mut injector = std::mem::take(&mut self.injector);
        let done = if injector.ways.is_empty() {
            Ok(())
        } else {
            let bare = self.bare_network().map_err(RunError::Network);
            bare.and_then(|bare| self.alter(&bare, &mut injector, Vec::new(), &[]))
        };
        self.injector = injector;
        done
    }

    /// The same the other way round.
    pub(in crate::run) fn lay_ways(&mut self) -> Result<(), RunError> {
        let mut injector = std::mem::take(&mut self.injector);
        let done = self.bring(&mut injector, &[]);
        self.injector = injector;
        done
    }

    /// Elements of all ways that should stand, oldest first, each with the valve that it is behind.
    fn wanted_ways(
        &self,
        injector: &Injector,
        fluid: FluidKind,
    ) -> Vec<(ElementSpec, Option<valvewright_core::frame::Actuator>)> {
        let mut ways = Vec::new();
        for (slot, effect) in injector.acting() {
            match effect {
                Effect::Way(way) => ways.push((element(slot, "", way, fluid), way.behind)),
                Effect::Person(Person::Uncouples(_)) if slot.mark.is_finite() => {
                    let sides: &[&str] = match self.present.order.sides {
                        Sides::Both => &["hose_low", "hose_high"],
                        Sides::Low => &["hose_low"],
                        Sides::High => &["hose_high"],
                    };
                    for hose in sides {
                        let way = Way {
                            from: hose,
                            to: "ambient",
                            draws: Draws::Liquid,
                            size: Size::Bore(PULLED),
                            one_way: false,
                            behind: None,
                            of_vehicle: false,
                        };
                        ways.push((element(slot, &format!(" {hose}"), &way, fluid), None));
                    }
                }
                _ => {}
            }
        }
        ways
    }

    /// What comes into which volumes.
    fn gains(&self, matter: Matter, next: &mut NetworkSpec, gains: &mut Vec<Gain<'static>>) {
        match matter {
            Matter::OtherRefrigerant(share) => {
                next.second.get_or_insert(match next.fluid {
                    FluidKind::R1234yf => FluidKind::R134a,
                    FluidKind::R134a => FluidKind::R1234yf,
                });
                for volume in VEHICLE {
                    let mass = share * self.signal(&format!("{volume}.m")).unwrap_or(0.0);
                    gains.push(Gain { masses: [-mass, 0.0, 0.0, mass], ..Gain::of(volume) });
                }
            }
            Matter::AirInVehicle(share) => {
                for volume in VEHICLE {
                    let refrigerant = self.signal(&format!("{volume}.p_ref")).unwrap_or(0.0);
                    gains.extend(self.air(volume, share / (1.0 - share) * refrigerant.max(1e3)));
                }
            }
            Matter::AirInVessel(pressure) => gains.extend(self.air("vessel", pressure)),
            Matter::WaterInVehicle(mass) => {
                if let Some(volume) = next.volume_mut(WATER_LIES) {
                    volume.pool.get_or_insert(PoolSpec { mass: 0.0, to_wall: 0.8, evaporation: 2e-8, half_mass: 5e-5 });
                }
                gains.push(Gain { puddle: mass, ..Gain::of(WATER_LIES) });
            }
            Matter::Hydrocarbon(_) => {}
        }
    }

    /// Air into a volume to this partial pressure, Pa; nothing where it has as much.
    fn air(&self, volume: &'static str, pressure: f64) -> Option<Gain<'static>> {
        let read = |what: &str| self.signal(&format!("{volume}.{what}"));
        let more = pressure - read("p_air")?;
        let mass = more * read("gas_volume")? / (R_AIR * read("t")?);
        (mass > 0.0).then_some(Gain { masses: [0.0, mass, 0.0, 0.0], ..Gain::of(volume) })
    }

    /// Water goes into the vessel with what C-1 moves, in portions.
    pub(super) fn carry_water(&mut self, injector: &mut Injector, t: f64) -> Result<(), RunError> {
        let mut water = 0.0;
        for slot in injector.slots.iter_mut().filter(|slot| slot.acts()) {
            let Some(Effect::Carries(share)) = slot.effects.first() else { continue };
            if slot.mark.is_nan() {
                slot.mark = t;
            } else if t - slot.mark >= PORTION {
                let flow = self.plant.signal("C-1.flow").map_or(0.0, |flow| self.plant.read(flow));
                water += share * flow.max(0.0) * (t - slot.mark);
                slot.mark = t;
            }
        }
        if water <= 0.0 {
            return Ok(());
        }
        let mut next = self.bare_network().map_err(RunError::Network)?;
        let fluid = FluidKind::from(self.present.station.refrigerant);
        next.elements.extend(self.wanted_ways(injector, fluid).into_iter().map(|(element, _)| element));
        let names = injector.ways.clone();
        self.alter(&next, injector, names, &[Gain { masses: [0.0, 0.0, water, 0.0], ..Gain::of("vessel") }])
    }

    /// What is around volumes gets warmer, or is as it was.
    pub(super) fn warm(&mut self, injector: &mut Injector) {
        let mut wanted: Vec<(&'static str, f64, f64)> = Vec::new();
        for (_, effect) in injector.acting() {
            if let Effect::Warms(volumes, rate, most) = effect {
                for volume in *volumes {
                    wanted.retain(|one| one.0 != *volume);
                    wanted.push((volume, *rate, *most));
                }
            }
        }
        let before: Vec<&'static str> = injector.warmed.keys().copied().collect();
        for volume in before.into_iter().filter(|volume| !wanted.iter().any(|one| one.0 == *volume)) {
            if let Some((was, ..)) = injector.warmed.remove(volume) {
                self.plant.put_back(volume, was);
            }
        }
        for (volume, rate, most) in wanted {
            let Some((now, kelvin)) = self.plant.surroundings(volume) else { continue };
            let (was, cool, known) = *injector.warmed.entry(volume).or_insert((now, kelvin, 0.0));
            if known != rate {
                injector.warmed.insert(volume, (was, cool, rate));
                // It has a wall: that was just read.
                let _known =
                    self.plant.ramp(&format!("{volume}.surroundings"), cool + most, (cool + most - kelvin) / rate);
            }
        }
    }

    /// Shares of the gas that a sample draws, where hydrocarbons came into it.
    pub(in crate::run) fn foreign_gas(&mut self) {
        let acting = self.injector.acting().filter_map(|(_, effect)| match effect {
            Effect::Brings(Matter::Hydrocarbon(share)) => Some(*share),
            _ => None,
        });
        let Some(share) = acting.reduce(f64::max) else { return };
        let gas = &mut self.truth.gas;
        let rest = (1.0 - share) / (gas.r134a + gas.r1234yf + gas.other).max(1e-9);
        (gas.r134a, gas.r1234yf, gas.other) = (gas.r134a * rest, gas.r1234yf * rest, gas.other * rest);
        gas.hydrocarbon = share;
    }
}

/// The element of a way: a round hole.
fn element(slot: &Slot, more: &str, way: &Way, fluid: FluidKind) -> ElementSpec {
    let draw = match way.draws {
        Draws::Vapour => Draw::Vapour,
        Draws::Liquid => Draw::Liquid,
    };
    let hole = |diameter: f64| OrificeSpec {
        diameter,
        discharge: DISCHARGE,
        nozzle: Nozzle::Real { k: 0.0 },
        draw: [draw; 2],
        nonequilibrium: LATE,
        one_way: way.one_way,
        cracking: 0.0,
        regular: SMOOTH,
    };
    let name = format!("{}#{}{more}", slot.planned.id, slot.key);
    let name = way.behind.map_or(name.clone(), |one| format!("{}/{name}", one.tag()));
    let start = if way.behind.is_some() { 0.0 } else { 1.0 };
    let with = |diameter: f64| ElementSpec {
        name: name.clone(),
        from: way.from.to_owned(),
        to: way.to.to_owned(),
        law: LawSpec::Orifice(hole(diameter)),
        actuator: ActuatorSpec { start, ..ActuatorSpec::default() },
    };
    match way.size {
        Size::Bore(diameter) => with(diameter),
        Size::Flow(flow) => {
            /// A hole to measure by, m.
            const UNIT: f64 = 1e-3;
            let full = reference::flow(&with(UNIT), fluid);
            // Flow goes with the area.
            with(UNIT * (flow / full.max(1e-12)).sqrt())
        }
    }
}
