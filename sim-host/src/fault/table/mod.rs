//! The injections of all faults, in the order of the catalogue and by the rooms that it has.

mod actuators;
mod bridges;
mod conditions;
mod detectors;
mod loops;
mod machine;
mod people;
mod supply;

use super::injection::Injection;

/// All of them, by number.
pub(super) const ALL: &[&[Injection]] = &[
    loops::ALL,
    bridges::ALL,
    detectors::ALL,
    actuators::ALL,
    supply::ALL,
    machine::ALL,
    people::ALL,
    conditions::ALL,
];
