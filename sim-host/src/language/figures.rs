//! Figures in the writing of each language: the display says the number and the unit, the language its comma and the unit's words.

use std::borrow::Cow;

use super::catalogue::formatted;
use crate::display::{Amount, Display, Language};

/// Units that are words, or not written alike in all languages, with the ids of their texts. All others are signs that are the same
/// everywhere: bar, kPa, g, kg, oz, psi.
pub const UNITS: &[(&str, &str)] = &[
    ("bar abs", "unit-bar_abs"),
    ("bar gauge", "unit-bar_gauge"),
    ("mbar abs", "unit-mbar_abs"),
    ("mbar over the barometer", "unit-mbar_over"),
    ("psi abs", "unit-psi_abs"),
    ("psi gauge", "unit-psi_gauge"),
    ("psi over the barometer", "unit-psi_over"),
    ("degC", "unit-celsius"),
    ("degF", "unit-fahrenheit"),
    ("g/year", "unit-gram_year"),
    ("oz/year", "unit-ounce_year"),
];

/// The number with the decimal sign of the language. No language of ours groups digits here: a thin blank would be lost on terminals.
pub fn number(language: Language, english: String) -> String {
    match language {
        Language::En => english,
        Language::De | Language::Es | Language::Fr => english.replace('.', ","),
    }
}

/// An amount in words, in units and language of the display.
pub fn words(display: &Display, amount: Amount) -> String {
    let (language, english) = (display.language, display.words(amount));
    if language == Language::En {
        return english;
    }
    let unit = display.figure(amount).unit;
    let told = UNITS.iter().find(|(name, _)| *name == unit).and_then(|(_, id)| formatted(language, id, None));
    // The unit stands behind the first number, and more than one number only where it is a sign: `211.6 oz (13.23 lb)`.
    let (first, rest) = english.split_once(unit).unwrap_or((&english, ""));
    let rest = number(language, rest.to_owned());
    format!("{}{}{rest}", number(language, first.to_owned()), told.unwrap_or(Cow::Borrowed(unit)))
}
