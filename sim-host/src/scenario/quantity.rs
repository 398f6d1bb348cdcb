//! Numbers with units, as a technician writes them: `"23.5 degC"`, `"480 g"`, `"70 L/min"`. Everything comes out in SI.

use std::fmt;
use std::ops::RangeInclusive;

use super::diagnostic::nearest;

/// What kind of quantity a key holds. The SI unit that the reader returns stands beside each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dim {
    /// Plain number, 1.
    Number,
    /// Share of a whole, 1 (also `%`, `ppm`).
    Fraction,
    /// Temperature, K.
    Temperature,
    /// Temperature difference, K.
    TemperatureDifference,
    /// Absolute pressure, Pa.
    Pressure,
    /// Pressure difference, Pa.
    PressureDifference,
    /// Mass, kg.
    Mass,
    /// Volume, m3.
    Volume,
    /// Length, m.
    Length,
    /// Area, m2.
    Area,
    /// Time, s.
    Time,
    /// Rotational speed, 1/s.
    Speed,
    /// Mass flow, kg/s.
    MassFlow,
    /// Volume flow, m3/s.
    VolumeFlow,
    /// Leak rate, Pa m3/s.
    LeakRate,
    /// Energy, J.
    Energy,
    /// Power, W.
    Power,
    /// Heat capacity, J/K.
    HeatCapacity,
    /// Heat conductance, W/K.
    Conductance,
    /// Specific energy, J/kg.
    SpecificEnergy,
    /// Specific heat, J/(kg K).
    SpecificHeat,
    /// Specific entropy, J/(kg K).
    SpecificEntropy,
    /// Density, kg/m3.
    Density,
    /// Molar mass, kg/mol.
    MolarMass,
    /// Dynamic viscosity, Pa s.
    Viscosity,
    /// Volume strain per pressure, 1/Pa.
    Compliance,
    /// Mass flow per pressure, kg/(s Pa).
    Permeance,
    /// Rate, 1/s.
    Rate,
    /// Electric current, A.
    Current,
    /// Voltage, V.
    Voltage,
}

/// A unit: what many values of one column are read and written in.
#[derive(Debug)]
pub struct Unit {
    dim: Dim,
    name: &'static str,
    factor: f64,
    offset: f64,
}

impl Unit {
    /// The name as it is written behind a number.
    pub const fn name(&self) -> &'static str {
        self.name
    }

    /// The SI value of a number in this unit.
    pub fn to_si(&self, number: f64) -> f64 {
        number * self.factor + self.offset
    }

    /// The number that an SI value is in this unit.
    pub fn of_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }
}

const fn unit(dim: Dim, name: &'static str, factor: f64) -> Unit {
    Unit { dim, name, factor, offset: 0.0 }
}

/// Units by dimension; the first of a dimension is the one used in help texts. Conversions are exact by definition (SI brochure),
/// bar 1e5 Pa, litre 1e-3 m3, inHg and psi after NIST SP 811 (from memory).
const UNITS: &[Unit] = &[
    unit(Dim::Fraction, "%", 1e-2),
    unit(Dim::Fraction, "ppm", 1e-6),
    unit(Dim::Fraction, "permille", 1e-3),
    Unit { dim: Dim::Temperature, name: "degC", factor: 1.0, offset: 273.15 },
    Unit { dim: Dim::Temperature, name: "°C", factor: 1.0, offset: 273.15 },
    unit(Dim::Temperature, "K", 1.0),
    Unit { dim: Dim::Temperature, name: "degF", factor: 5.0 / 9.0, offset: 459.67 * 5.0 / 9.0 },
    unit(Dim::TemperatureDifference, "K", 1.0),
    unit(Dim::Pressure, "kPa", 1e3),
    unit(Dim::Pressure, "Pa", 1.0),
    unit(Dim::Pressure, "MPa", 1e6),
    unit(Dim::Pressure, "hPa", 100.0),
    unit(Dim::Pressure, "bar", 1e5),
    unit(Dim::Pressure, "mbar", 100.0),
    unit(Dim::Pressure, "psi", 6_894.757_293_168),
    unit(Dim::Pressure, "inHg", 3_386.389),
    unit(Dim::PressureDifference, "kPa", 1e3),
    unit(Dim::PressureDifference, "Pa", 1.0),
    unit(Dim::PressureDifference, "MPa", 1e6),
    unit(Dim::PressureDifference, "hPa", 100.0),
    unit(Dim::PressureDifference, "bar", 1e5),
    unit(Dim::PressureDifference, "mbar", 100.0),
    unit(Dim::PressureDifference, "psi", 6_894.757_293_168),
    unit(Dim::Mass, "g", 1e-3),
    unit(Dim::Mass, "kg", 1.0),
    unit(Dim::Mass, "mg", 1e-6),
    unit(Dim::Volume, "L", 1e-3),
    unit(Dim::Volume, "l", 1e-3),
    unit(Dim::Volume, "mL", 1e-6),
    unit(Dim::Volume, "ml", 1e-6),
    unit(Dim::Volume, "cm3", 1e-6),
    unit(Dim::Volume, "m3", 1.0),
    unit(Dim::Length, "mm", 1e-3),
    unit(Dim::Length, "um", 1e-6),
    unit(Dim::Length, "cm", 1e-2),
    unit(Dim::Length, "m", 1.0),
    unit(Dim::Area, "mm2", 1e-6),
    unit(Dim::Area, "cm2", 1e-4),
    unit(Dim::Area, "m2", 1.0),
    unit(Dim::Time, "s", 1.0),
    unit(Dim::Time, "min", 60.0),
    unit(Dim::Time, "h", 3600.0),
    unit(Dim::Time, "ms", 1e-3),
    unit(Dim::Time, "d", 86_400.0),
    unit(Dim::Speed, "rpm", 1.0 / 60.0),
    unit(Dim::Speed, "1/min", 1.0 / 60.0),
    unit(Dim::Speed, "1/s", 1.0),
    unit(Dim::Speed, "Hz", 1.0),
    unit(Dim::MassFlow, "g/s", 1e-3),
    unit(Dim::MassFlow, "kg/s", 1.0),
    unit(Dim::MassFlow, "g/min", 1e-3 / 60.0),
    unit(Dim::MassFlow, "kg/h", 1.0 / 3600.0),
    unit(Dim::VolumeFlow, "L/min", 1e-3 / 60.0),
    unit(Dim::VolumeFlow, "L/s", 1e-3),
    unit(Dim::VolumeFlow, "mL/min", 1e-6 / 60.0),
    unit(Dim::VolumeFlow, "m3/h", 1.0 / 3600.0),
    unit(Dim::VolumeFlow, "m3/s", 1.0),
    unit(Dim::VolumeFlow, "cm3/s", 1e-6),
    unit(Dim::LeakRate, "Pa m3/s", 1.0),
    unit(Dim::LeakRate, "mbar L/s", 0.1),
    unit(Dim::Energy, "J", 1.0),
    unit(Dim::Energy, "kJ", 1e3),
    unit(Dim::Power, "W", 1.0),
    unit(Dim::Power, "kW", 1e3),
    unit(Dim::HeatCapacity, "J/K", 1.0),
    unit(Dim::HeatCapacity, "kJ/K", 1e3),
    unit(Dim::Conductance, "W/K", 1.0),
    unit(Dim::Conductance, "kW/K", 1e3),
    unit(Dim::SpecificEnergy, "kJ/kg", 1e3),
    unit(Dim::SpecificEnergy, "J/kg", 1.0),
    unit(Dim::SpecificEnergy, "J/g", 1e3),
    unit(Dim::SpecificHeat, "J/kg/K", 1.0),
    unit(Dim::SpecificHeat, "J/(kg K)", 1.0),
    unit(Dim::SpecificHeat, "kJ/kg/K", 1e3),
    unit(Dim::SpecificEntropy, "kJ/(kg K)", 1e3),
    unit(Dim::SpecificEntropy, "kJ/kg/K", 1e3),
    unit(Dim::SpecificEntropy, "J/(kg K)", 1.0),
    unit(Dim::SpecificEntropy, "J/kg/K", 1.0),
    unit(Dim::Density, "kg/m3", 1.0),
    unit(Dim::Density, "g/L", 1.0),
    unit(Dim::Density, "kg/L", 1e3),
    unit(Dim::Density, "g/cm3", 1e3),
    unit(Dim::MolarMass, "g/mol", 1e-3),
    unit(Dim::MolarMass, "kg/mol", 1.0),
    unit(Dim::Viscosity, "Pa s", 1.0),
    unit(Dim::Viscosity, "uPa s", 1e-6),
    unit(Dim::Viscosity, "mPa s", 1e-3),
    unit(Dim::Compliance, "1/Pa", 1.0),
    unit(Dim::Compliance, "1/bar", 1e-5),
    unit(Dim::Compliance, "1/MPa", 1e-6),
    unit(Dim::Permeance, "kg/s/Pa", 1.0),
    unit(Dim::Permeance, "kg/(s Pa)", 1.0),
    unit(Dim::Permeance, "g/s/Pa", 1e-3),
    unit(Dim::Permeance, "g/s/kPa", 1e-6),
    unit(Dim::Permeance, "g/s/bar", 1e-8),
    unit(Dim::Rate, "1/s", 1.0),
    unit(Dim::Rate, "1/min", 1.0 / 60.0),
    unit(Dim::Rate, "1/h", 1.0 / 3600.0),
    unit(Dim::Current, "A", 1.0),
    unit(Dim::Current, "mA", 1e-3),
    unit(Dim::Voltage, "V", 1.0),
    unit(Dim::Voltage, "mV", 1e-3),
];

impl Dim {
    /// What the dimension is called in a sentence.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Number => "a plain number",
            Self::Fraction => "a share",
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Pressure => "an absolute pressure",
            Self::PressureDifference => "a pressure difference",
            Self::Mass => "a mass",
            Self::Volume => "a volume",
            Self::Length => "a length",
            Self::Area => "an area",
            Self::Time => "a time",
            Self::Speed => "a rotational speed",
            Self::MassFlow => "a mass flow",
            Self::VolumeFlow => "a volume flow",
            Self::LeakRate => "a leak rate",
            Self::Energy => "an energy",
            Self::Power => "a power",
            Self::HeatCapacity => "a heat capacity",
            Self::Conductance => "a heat conductance",
            Self::SpecificEnergy => "a specific energy",
            Self::SpecificHeat => "a specific heat",
            Self::SpecificEntropy => "a specific entropy",
            Self::Density => "a density",
            Self::MolarMass => "a molar mass",
            Self::Viscosity => "a viscosity",
            Self::Compliance => "a compliance",
            Self::Permeance => "a mass flow per pressure",
            Self::Rate => "a rate",
            Self::Current => "a current",
            Self::Voltage => "a voltage",
        }
    }

    /// The names of the units that a value of this dimension may carry; empty for plain numbers.
    pub fn units(self) -> impl Iterator<Item = &'static str> {
        UNITS.iter().filter(move |u| u.dim == self).map(|u| u.name)
    }

    /// Whether a bare number stands for a value of this dimension: plain numbers and shares (0.5 is 50 %).
    pub const fn takes_bare_number(self) -> bool {
        matches!(self, Self::Number | Self::Fraction)
    }

    /// The unit of this dimension that `text` names, in any of the accepted spellings.
    ///
    /// # Errors
    /// No such unit, with the ones there are.
    pub fn unit(self, text: &str) -> Result<&'static Unit, QuantityError> {
        let name = plain_spelling(text);
        self.find(&name).ok_or_else(|| wrong_unit(text, &name, self))
    }

    fn find(self, name: &str) -> Option<&'static Unit> {
        UNITS.iter().find(|u| u.dim == self && u.name == name)
    }
}

/// A quantity as written: its SI value and the unit, kept to print ranges in the writer's own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// Value in SI.
    pub si: f64,
    unit: Option<&'static str>,
}

/// Why a text is no quantity of the wanted dimension.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.help)
    }
}

impl std::error::Error for QuantityError {}

/// Splits `"23.5 degC"` into its number and its unit. An exponent counts only with digits behind it.
fn split(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let mut at = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    at += digits(at);
    if bytes.get(at) == Some(&b'.') {
        at += 1 + digits(at + 1);
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let signed = at + 1 + usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        if signed <= bytes.len() && digits(signed) > 0 {
            at = signed + digits(signed);
        }
    }
    (&text[..at], text[at..].trim())
}

/// Spelling of a unit brought to the one of the table: one blank between words, superscripts and carets as digits, micro as `u`.
fn plain_spelling(unit: &str) -> String {
    let swapped: String = unit
        .chars()
        .filter(|c| *c != '^')
        .map(|c| match c {
            '²' => '2',
            '³' => '3',
            'µ' | 'μ' => 'u',
            '·' | '*' => ' ',
            '‰' => 'ᵖ',
            other => other,
        })
        .collect();
    let words: Vec<&str> = swapped.split_whitespace().collect();
    words.join(" ").replace('ᵖ', "permille")
}

/// Reads a quantity of dimension `dim`.
///
/// ```
/// use valvewright_sim::scenario::quantity::{Dim, parse};
/// assert_eq!(parse("70 L/min", Dim::VolumeFlow).unwrap().si, 70e-3 / 60.0);
/// assert!(parse("70 L", Dim::VolumeFlow).is_err());
/// ```
pub fn parse(text: &str, dim: Dim) -> Result<Quantity, QuantityError> {
    let text = text.trim();
    let (number, unit) = split(text);
    let Ok(value) = number.parse::<f64>() else {
        let message = format!("`{text}` does not begin with a number");
        return Err(QuantityError { message, help: format!("write {}, such as {}", dim.noun(), example(dim)) });
    };
    if unit.starts_with(',') {
        let message = format!("`{text}` has a decimal comma");
        return Err(QuantityError { message, help: format!("write a decimal point, such as {}", example(dim)) });
    }
    if unit.is_empty() && dim.takes_bare_number() {
        return in_unit(value, None, text);
    }
    let unit = plain_spelling(unit);
    match dim.find(&unit) {
        Some(found) => in_unit(value, Some(found), text),
        None => Err(wrong_unit(text, &unit, dim)),
    }
}

/// A bare number, as TOML integers and floats are.
pub fn bare(value: f64, dim: Dim) -> Result<Quantity, QuantityError> {
    if dim.takes_bare_number() {
        return in_unit(value, None, &value.to_string());
    }
    Err(QuantityError {
        message: format!("{value} has no unit"),
        help: format!(
            "{} is written with its unit in quotes, such as {}; {}",
            dim.noun(),
            example(dim),
            unit_list(dim)
        ),
    })
}

fn in_unit(value: f64, unit: Option<&'static Unit>, text: &str) -> Result<Quantity, QuantityError> {
    let si = unit.map_or(value, |u| u.to_si(value));
    if si.is_finite() {
        return Ok(Quantity { si, unit: unit.map(|u| u.name) });
    }
    Err(QuantityError {
        message: format!("`{text}` is too large to be a number"),
        help: "write a finite number".to_owned(),
    })
}

fn wrong_unit(text: &str, unit: &str, dim: Dim) -> QuantityError {
    let gauge = matches!(unit, "bar g" | "barg" | "bar(g)" | "psig" | "kPa g" | "bar a" | "bara");
    let message = match UNITS.iter().find(|u| u.name == unit) {
        _ if unit.is_empty() => format!("`{text}` has no unit"),
        Some(other) => format!("wrong unit: `{text}` is {}, {} is needed", other.dim.noun(), dim.noun()),
        None => format!("unknown unit `{unit}` in `{text}`"),
    };
    let meant = meant_degree(unit, dim);
    let mut help = match meant.or_else(|| nearest(unit, dim.units())) {
        Some(near) if !unit.is_empty() && UNITS.iter().all(|u| u.name != unit) => {
            format!("nearest valid unit: `{near}`; {}", unit_list(dim))
        }
        _ => format!("{}, such as {}", unit_list(dim), example(dim)),
    };
    if gauge && dim == Dim::Pressure {
        help = format!(
            "pressures are absolute here (a gauge reading needs the day's barometer): add about 1 bar to a gauge value; {}",
            unit_list(dim)
        );
    }
    QuantityError { message, help }
}

/// The unit that a degree written otherwise stands for: by letters `C` is as near to `K` as to `degC`.
fn meant_degree(unit: &str, dim: Dim) -> Option<&'static str> {
    let plain: String = unit.to_lowercase().chars().filter(char::is_ascii_alphabetic).collect();
    let scale = plain.strip_prefix("degrees").or(plain.strip_prefix("deg")).unwrap_or(&plain);
    match (dim, scale) {
        (Dim::Temperature, "c" | "celsius" | "centigrade") => Some("degC"),
        (Dim::Temperature, "f" | "fahrenheit") => Some("degF"),
        (Dim::Temperature | Dim::TemperatureDifference, "k" | "kelvin") => Some("K"),
        (Dim::TemperatureDifference, "c" | "celsius") => Some("K"),
        _ => None,
    }
}

fn unit_list(dim: Dim) -> String {
    let names: Vec<&str> = dim.units().collect();
    match names.as_slice() {
        [] => "no unit".to_owned(),
        [one] => format!("accepted unit: {one}"),
        many => format!("accepted units: {}", many.join(", ")),
    }
}

fn example(dim: Dim) -> String {
    match (dim, dim.units().next()) {
        (Dim::Temperature, _) => "\"23.5 degC\"".to_owned(),
        (Dim::Mass, _) => "\"480 g\"".to_owned(),
        (_, Some(unit)) => format!("\"4 {unit}\""),
        (_, None) => "1.5".to_owned(),
    }
}

/// How far beyond a bound a value may lie and still be taken for it: what reading it in another unit costs in rounding.
const ROUNDING: f64 = 1e-12;

impl Quantity {
    /// Name of the unit that it was written in; `None` for a bare number.
    pub const fn unit(self) -> Option<&'static str> {
        self.unit
    }

    /// The value if it lies in `range` (SI), and the bound where only rounding parts it from that; if not, the accepted range in the
    /// writer's own unit, with as many digits as it takes to see that the value lies outside.
    pub fn within(self, dim: Dim, range: &RangeInclusive<f64>) -> Result<f64, String> {
        if range.contains(&self.si) {
            return Ok(self.si);
        }
        let meant = |bound: f64| (self.si - bound).abs() <= ROUNDING * bound.abs();
        match [*range.start(), *range.end()].into_iter().find(|bound| meant(*bound)) {
            Some(bound) => Ok(bound),
            None => Err(range_words(dim, range, self.unit, Some(self.si))),
        }
    }
}

/// An accepted range as text, `1 g to 20000 g`, in `unit` or the usual unit of the dimension.
pub fn range_text(dim: Dim, range: &RangeInclusive<f64>, unit: Option<&str>) -> String {
    range_words(dim, range, unit, None)
}

fn range_words(dim: Dim, range: &RangeInclusive<f64>, unit: Option<&str>, outside: Option<f64>) -> String {
    let unit = usual(dim, unit);
    let show = |si: f64| {
        let unit = if dim == Dim::Time { round_time(si, unit) } else { unit };
        let written = |si: f64| unit.map_or(si, |u| u.of_si(si));
        let number = match outside {
            Some(value) => apart(written(si), written(value)),
            None => short(written(si)),
        };
        unit.map_or_else(|| number.clone(), |u| format!("{number} {}", u.name))
    };
    match (range.start().is_finite(), range.end().is_finite()) {
        (true, true) => format!("{} to {}", show(*range.start()), show(*range.end())),
        (true, false) => format!("{} or more", show(*range.start())),
        (false, true) => format!("{} or less", show(*range.end())),
        (false, false) => "any value".to_owned(),
    }
}

/// The unit for a bound of time: the writer's where it gives a round number, or the largest that does; a minute is no `0.0166667 h`.
fn round_time(si: f64, unit: Option<&'static Unit>) -> Option<&'static Unit> {
    let round = |u: &&'static Unit| {
        let hundredths = u.of_si(si) * 100.0;
        (hundredths - hundredths.round()).abs() < 1e-6
    };
    let others = ["h", "min", "s", "ms"].into_iter().filter_map(|name| Dim::Time.find(name));
    unit.into_iter().chain(others).find(round).or(unit)
}

/// An SI value as text with six digits, `480 g`, in `unit` or the usual unit of the dimension.
pub fn text(dim: Dim, si: f64, unit: Option<&str>) -> String {
    match usual(dim, unit) {
        Some(u) => format!("{} {}", short(u.of_si(si)), u.name),
        None => short(si),
    }
}

/// The unit of that name, or the usual one of the dimension; none for a bare number.
fn usual(dim: Dim, unit: Option<&str>) -> Option<&'static Unit> {
    match unit {
        Some(name) => dim.find(name),
        None if dim.takes_bare_number() => None,
        None => UNITS.iter().find(|u| u.dim == dim),
    }
}

/// A bound with six digits, or as many more as it takes to stay on its side of `value`.
fn apart(bound: f64, value: f64) -> String {
    (6..=17)
        .map(|digits| rounded(bound, digits))
        .find(|text| text.parse::<f64>().is_ok_and(|shown| shown.total_cmp(&value) == bound.total_cmp(&value)))
        .unwrap_or_else(|| bound.to_string())
}

/// Six significant digits without trailing zeros; powers of ten where plain digits would be long.
pub fn short(value: f64) -> String {
    rounded(value, 6)
}

fn rounded(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { value.to_string() };
    }
    let rounded: f64 = format!("{value:.*e}", digits - 1).parse().unwrap_or(value);
    let size = rounded.abs();
    if (1e-4..1e9).contains(&size) { format!("{rounded}") } else { format!("{rounded:e}") }
}
