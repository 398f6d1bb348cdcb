//! What faults make the operator do: at the panel, at the couplers, at the door and the stop.

use valvewright_core::order::{PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::talk::Command;
use valvewright_core::token::Typed;
use valvewright_core::units::Milligram;

use super::super::operator::Hand;
use super::super::simulation::Simulation;
use super::super::turn::Turn;
use super::Injector;
use super::slot::{Slot, Stand};
use crate::controller::Controller;
use crate::fault::{Effect, Person};

/// Time from one press of start to the next, scans: ten in less than a second.
const PRESSES: u32 = 1;

/// A button that is tied down is taken for a fresh press once in so many seconds (own choice).
const TIED: f64 = 0.5;

/// Time from one typing of the same code to the next, s (own choice).
const RETYPED: f64 = 5.0;

fn of(slot: &Slot) -> Option<Person> {
    slot.effects.iter().find_map(|one| if let Effect::Person(person) = one { Some(*person) } else { None })
}

impl<C: Controller> Simulation<C> {
    /// What is done by hand when faults of the operator's begin and end.
    pub(super) fn people(&mut self, injector: &mut Injector, t: f64, begin: &[usize], end: &[usize]) {
        for at in begin {
            let Some(slot) = injector.slots.get_mut(*at) else { continue };
            match of(slot) {
                Some(Person::OpensDoor) => self.by_hand(Hand::Door(true)),
                Some(Person::StopsWithResetHeld(seconds)) => {
                    slot.mark = t + seconds;
                    self.by_hand(Hand::Stop(true));
                }
                _ => {}
            }
        }
        for at in end {
            let person = injector.slots.get(*at).and_then(of);
            let again = |wanted: fn(Person) -> bool| {
                injector.slots.iter().any(|other| other.acts() && of(other).is_some_and(wanted))
            };
            match person {
                Some(Person::OpensDoor) if !again(|one| one == Person::OpensDoor) => self.by_hand(Hand::Door(false)),
                Some(Person::StopsWithResetHeld(_)) if !again(|one| matches!(one, Person::StopsWithResetHeld(_))) => {
                    self.by_hand(Hand::Stop(false));
                }
                // A vehicle that has gone cannot be coupled again.
                Some(Person::Uncouples(_))
                    if self.turn == Turn::Served && !again(|one| matches!(one, Person::Uncouples(_))) =>
                {
                    self.by_hand(Hand::Coupled(true));
                }
                _ => {}
            }
        }
    }

    /// What is pressed in this scan, and what an order that is given says. Returns whether the couplers were pulled off.
    pub(super) fn obey(&mut self, injector: &mut Injector, t: f64, command: &mut Option<Command>) -> bool {
        let mut pulled = false;
        for slot in injector.slots.iter_mut().filter(|slot| slot.acts()) {
            let Some(person) = of(slot) else { continue };
            let first = slot.stand == Stand::Acting(t);
            match person {
                Person::Aborts if first => *command = Some(Command::Abort),
                Person::StopsWithResetHeld(_) => {
                    if t >= slot.mark {
                        slot.mark = f64::INFINITY;
                        self.by_hand(Hand::Stop(false));
                    }
                    if first || t >= slot.pressed + TIED {
                        slot.pressed = t;
                        command.get_or_insert(Command::Reset);
                    }
                }
                Person::Uncouples(pressure) => {
                    let held = self.truth.p_low.max(self.truth.p_high) >= pressure;
                    if self.truth.coupled && slot.mark.is_nan() && held {
                        slot.mark = t;
                        self.by_hand(Hand::Coupled(false));
                        pulled = true;
                    }
                }
                Person::SkipsIdentify => change(command, |order| {
                    order.phases = PhaseSet(order.phases.0 & !PhaseSet::of(&[PhaseKind::Identify]).0);
                }),
                Person::OrdersCharge(times) => change(command, |order| {
                    let mass = (f64::from(order.charge.0) * times).round().min(f64::from(i32::MAX));
                    order.charge = Milligram(mass as i32);
                }),
                Person::HidesHighVoltage => change(command, |order| order.high_voltage = false),
                Person::StartsTwice(times) => self.press_again(slot, times, command),
                Person::MistypesCode(symbols) => {
                    if let Some(Command::Exchanged { code, .. }) = command {
                        mistype(slot, symbols, code);
                    }
                }
                Person::TypesCodeAgain(times) => {
                    if let (Some((part, code)), None) = (self.operator.typed(), &*command)
                        && f64::from(slot.wait) < times
                        && (slot.pressed.is_infinite() || t >= slot.pressed + RETYPED)
                    {
                        (slot.pressed, slot.wait) = (t, slot.wait + 1);
                        *command = Some(Command::Exchanged { part, code });
                    }
                }
                Person::Aborts | Person::OpensDoor => {}
            }
        }
        pulled
    }

    /// The start that was given once is given again, scan after scan.
    fn press_again(&self, slot: &mut Slot, times: f64, command: &mut Option<Command>) {
        if matches!(command, Some(Command::Start { .. })) && slot.mark.is_nan() {
            slot.mark = times - 1.0;
            slot.wait = PRESSES;
        } else if slot.mark >= 1.0 {
            slot.mark -= 1.0;
            let order = super::super::setup::work_order(&self.present);
            let id = u16::try_from(self.job + 1).unwrap_or(u16::MAX);
            *command = Some(Command::Start { id, order });
        }
    }
}

/// Other symbols in the place of some: a wrong one, and none of those that are read as the right one.
fn mistype(slot: &mut Slot, symbols: f64, code: &mut Typed) {
    const KNOWN: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    let mut wrong: Vec<usize> = Vec::new();
    while wrong.len() < (symbols as usize).min(code.0.len()) {
        let at = ((slot.dice.share() * code.0.len() as f64) as usize).min(code.0.len() - 1);
        if !wrong.contains(&at) {
            wrong.push(at);
            let here = KNOWN.iter().position(|one| *one == code.0[at]).unwrap_or(0);
            let on = 1 + (slot.dice.share() * 31.0) as usize;
            code.0[at] = KNOWN[(here + on.min(31)) % KNOWN.len()];
        }
    }
}

fn change(command: &mut Option<Command>, with: impl Fn(&mut WorkOrder)) {
    if let Some(Command::Start { order, .. }) = command {
        with(order);
    }
}
