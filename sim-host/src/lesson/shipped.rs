//! The lessons that come with the program, in the order in which they are best taken.

use super::{Lesson, read};
use crate::scenario::diagnostic::Source;

macro_rules! lessons {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../lessons/", $name, ".toml")))),*]
    };
}

/// Names and texts.
pub const LESSONS: &[(&str, &str)] = lessons![
    "door_opened",
    "say_no_first",
    "charge_refused",
    "press_the_stop",
    "blind_on_one_side",
    "no_room",
    "leak_or_water",
    "which_one_lies",
    "gas_in_the_cabinet",
    "pause_in_the_charge",
    "circuit_opened",
    "a_valve_that_stays",
    "what_a_row_is_for",
    "two_together",
];

/// A shipped lesson by its name; nothing where there is none. The shipped ones all read, which the tests hold.
pub fn shipped(name: &str) -> Option<Lesson> {
    let (name, text) = LESSONS.iter().find(|(one, _)| *one == name)?;
    read(&Source::new(format!("{name}.toml"), *text)).ok()
}
