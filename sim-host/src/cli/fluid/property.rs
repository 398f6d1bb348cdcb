//! What can be asked by: names, units and how a value outside of the tables is refused in the words of the one who asks.

use crate::fluid::{Fluid, FluidError, Pair, Property};
use crate::scenario::quantity::{self, Dim, Quantity, QuantityError};

/// How a property is named and written.
#[derive(Debug)]
pub struct Kind {
    pub property: Property,
    /// Short name: the key in JSON and in headings.
    pub symbol: &'static str,
    /// Long name: the flag, and allowed in headings.
    pub flag: &'static str,
    pub dim: Dim,
    /// Unit of answers to a person; empty for a share.
    pub unit: &'static str,
}

const fn kind(property: Property, symbol: &'static str, flag: &'static str, dim: Dim, unit: &'static str) -> Kind {
    Kind { property, symbol, flag, dim, unit }
}

/// All of them, in the order of an answer.
pub const KINDS: [Kind; 7] = [
    kind(Property::Quality, "x", "quality", Dim::Fraction, ""),
    kind(Property::Temperature, "t", "temperature", Dim::Temperature, "degC"),
    kind(Property::Pressure, "p", "pressure", Dim::Pressure, "bar"),
    kind(Property::Density, "rho", "density", Dim::Density, "kg/m3"),
    kind(Property::Enthalpy, "h", "enthalpy", Dim::SpecificEnergy, "kJ/kg"),
    kind(Property::InternalEnergy, "u", "internal-energy", Dim::SpecificEnergy, "kJ/kg"),
    kind(Property::Entropy, "s", "entropy", Dim::SpecificEntropy, "kJ/(kg K)"),
];

/// A property with its value in SI and the unit that it was written in.
#[derive(Clone, Copy, Debug)]
pub struct Given {
    pub kind: &'static Kind,
    pub si: f64,
    pub unit: Option<&'static str>,
}

impl Given {
    /// Reads a quantity with its unit.
    pub fn read(kind: &'static Kind, text: &str) -> Result<Self, QuantityError> {
        let quantity: Quantity = quantity::parse(text, kind.dim)?;
        Ok(Self { kind, si: quantity.si, unit: quantity.unit() })
    }

    fn part(&self) -> (Property, f64) {
        (self.kind.property, self.si)
    }

    /// Another value of the same property in the same unit.
    fn text(&self, si: f64) -> String {
        quantity::text(self.kind.dim, si, self.unit)
    }
}

/// Why there is no state: which input, and what would be right.
#[derive(Debug)]
pub struct Outside {
    pub kind: &'static Kind,
    /// The value as it was understood, in the writer's unit.
    pub value: String,
    /// Range and nearest state.
    pub help: String,
}

/// Words for a refusal of the tables; `name` says how the writer calls a property.
pub fn outside(fluid: &Fluid, given: &[Given], wrong: &FluidError, name: impl Fn(&Kind) -> String) -> Option<Outside> {
    let FluidError::OutOfRange { input, value, low, high, gap, .. } = wrong else { return None };
    let one = given.iter().find(|one| one.kind.property == *input)?;
    let range = |from: f64, to: f64| quantity::range_text(one.kind.dim, &(from..=to), one.unit);
    let at = given.iter().find(|other| depends(*input, other.kind.property));
    let at = at.map_or(String::new(), |other| format!(" at {} {}", name(other.kind), other.text(other.si)));
    let mut help = match gap {
        None => format!("accepted range{at}: {}", range(*low, *high)),
        Some((from, to)) => format!("accepted range{at}: {} and {}", range(*low, *from), range(*to, *high)),
    };
    let changed = nearest(fluid, given, wrong.nearest()?);
    let text = |near: &(Given, f64)| near.0.text(near.1);
    match changed.as_slice() {
        [near] if near.0.kind.property == *input => help += &format!("; nearest valid value: {}", text(near)),
        list => {
            let list: Vec<String> = list.iter().map(|near| format!("{} {}", name(near.0.kind), text(near))).collect();
            help += &format!("; nearest state: {}", list.join(", "));
        }
    }
    Some(Outside { kind: one.kind, value: one.text(*value), help })
}

/// Whether the range of `input` hangs on the other property.
fn depends(input: Property, other: Property) -> bool {
    match input {
        Property::Enthalpy | Property::Entropy | Property::InternalEnergy => other != input,
        Property::Pressure | Property::Density => other == Property::Temperature,
        Property::Temperature | Property::Quality => false,
    }
}

/// The inputs that must change and their nearest values, as they are once printed with six digits and read again.
fn nearest(fluid: &Fluid, given: &[Given], near: f64) -> Vec<(Given, f64)> {
    let [one, other] = given else {
        let fits = |one: &Given, si: f64| match one.kind.property {
            Property::Temperature => fluid.check_sat_range(si).is_ok(),
            _ => fluid.check_sat_pressure(si).is_ok(),
        };
        let fitting = |one: &Given| printed(one, near).into_iter().find(|si| fits(one, *si)).unwrap_or(near);
        return given.iter().map(|one| (*one, fitting(one))).collect();
    };
    let Some(pair) = Pair::of(one.part(), other.part()) else { return Vec::new() };
    let parts = fluid.nearest(pair).parts();
    let of = |given: &Given| parts.iter().find(|part| part.0 == given.kind.property).map_or(given.si, |part| part.1);
    let (a, b) = (printed(one, of(one)), printed(other, of(other)));
    let fits = |&(a, b): &(f64, f64)| {
        Pair::of((one.kind.property, a), (other.kind.property, b)).is_some_and(|pair| fluid.find(pair).is_ok())
    };
    let found = a.iter().flat_map(|a| b.iter().map(move |b| (*a, *b))).find(fits);
    let (a, b) = found.unwrap_or((of(one), of(other)));
    [(*one, a), (*other, b)].into_iter().filter(|(given, si)| given.si != *si).collect()
}

/// An SI value as it comes back from its text, and what the neighbours in the last digit give.
fn printed(given: &Given, si: f64) -> Vec<f64> {
    if si == given.si {
        return vec![si];
    }
    let text = given.text(si);
    let (number, unit) = text.split_once(' ').unwrap_or((&text, ""));
    let number: f64 = number.parse().unwrap_or(0.0);
    let digit = 10f64.powf(number.abs().max(1e-300).log10().floor() - 5.0);
    let again = |number: f64| quantity::parse(&format!("{number} {unit}"), given.kind.dim).map_or(si, |one| one.si);
    [number, number - digit, number + digit].map(again).to_vec()
}
