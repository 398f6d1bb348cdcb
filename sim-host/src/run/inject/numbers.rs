//! Numbers of the plant that faults change: what each was before, so that it is put back to the last bit.

use std::collections::BTreeMap;

use crate::fault::{Of, Op};
use crate::plant::Plant;

/// Numbers that are not what they were.
#[derive(Clone, Default, Debug)]
pub(super) struct Numbers {
    was: BTreeMap<String, f64>,
}

/// Names of the elements that an effect means.
pub(super) fn elements(of: Of, plant: &Plant) -> Vec<String> {
    let mine = |name: &&str| match of {
        Of::Element(wanted) => *name == wanted,
        Of::Actuator(one) => {
            let tags = name.split('/').next().unwrap_or(name);
            tags.split('+').any(|tag| tag == one.tag())
        }
    };
    plant.element_names().filter(mine).map(str::to_owned).collect()
}

impl Numbers {
    /// What the number was before any fault, where one changed it.
    pub(super) fn before(&mut self, name: &str, value: f64) {
        self.was.entry(name.to_owned()).or_insert(value);
    }

    /// Sets all numbers to what `wanted` makes of them, in its order, and those that nobody wants any more to what they were.
    pub(super) fn set(&mut self, wanted: &[(String, Op)], plant: &mut Plant) {
        for (name, _) in wanted {
            if let Some(value) = plant.param(name) {
                self.before(name, value);
            }
        }
        let mut done = Vec::new();
        for (name, was) in &self.was {
            let mine = wanted.iter().filter(|one| one.0 == *name);
            let value = mine.clone().fold(*was, |value, (_, op)| match op {
                Op::Is(value) => *value,
                Op::Times(factor) => value * factor,
            });
            if plant.param(name).is_some_and(|now| now.to_bits() != value.to_bits()) {
                // It was read a moment ago: there is such a number.
                let _known = plant.set_param(name, value);
            }
            if mine.count() == 0 {
                done.push(name.clone());
            }
        }
        for name in done {
            self.was.remove(&name);
        }
    }
}
