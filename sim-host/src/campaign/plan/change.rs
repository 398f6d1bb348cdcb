//! What a plan changes about a scenario: keys of its file and the values that they take, written into its text and read like any other file.

use toml_edit::{DocumentMut, Item, Table, Value};

use crate::scenario::diagnostic::Source;

/// A key that sets what the station is built for and what is on the vehicle's label and in its circuit, at once.
pub(super) const REFRIGERANT: &str = "refrigerant";
/// Digits of a value that is drawn between two.
const DIGITS: usize = 4;

/// A key of the scenario that takes several values.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// The key with its table, such as `site.ambient`.
    pub key: String,
    /// What it takes.
    pub values: Values,
}

/// What a key takes.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// These, as they are written.
    Each(Vec<String>),
    /// Anything between two figures of one unit.
    Between {
        /// The first figure.
        from: f64,
        /// The last figure.
        to: f64,
        /// Their unit; empty for a plain number.
        unit: String,
    },
}

impl Values {
    /// How many levels it has; none where it has no levels but a span.
    pub const fn levels(&self) -> Option<usize> {
        match self {
            Self::Each(list) => Some(list.len()),
            Self::Between { .. } => None,
        }
    }

    /// The value at `share` (0 to below 1) of its levels or its span.
    pub fn at(&self, share: f64) -> String {
        match self {
            Self::Each(list) => list.get(level(share, list.len())).cloned().unwrap_or_default(),
            Self::Between { from, to, unit } => figure(from + (to - from) * share, unit),
        }
    }

    /// Values that say whether all of it fits: each level, or both ends.
    pub(super) fn samples(&self) -> Vec<String> {
        match self {
            Self::Each(list) => list.clone(),
            Self::Between { from, to, unit } => vec![figure(*from, unit), figure(*to, unit)],
        }
    }
}

/// The level at this share of so many.
pub(in crate::campaign) fn level(share: f64, levels: usize) -> usize {
    ((share * levels as f64) as usize).min(levels.saturating_sub(1))
}

/// To some digits, so that what is printed is what is meant.
fn figure(value: f64, unit: &str) -> String {
    let rounded: f64 = format!("{value:.*e}", DIGITS - 1).parse().unwrap_or(value);
    if unit.is_empty() { format!("{rounded}") } else { format!("{rounded} {unit}") }
}

/// A figure and its unit out of a text such as `0.3 mm`.
pub(super) fn split(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).unwrap_or(text.len());
    // An `e` that begins the unit is no exponent.
    let number = text[..end].trim_end_matches(['e', 'E']);
    Some((number.parse().ok().filter(|value: &f64| value.is_finite())?, text[number.len()..].trim()))
}

/// The text with these keys set.
///
/// # Errors
/// A key goes through something that is no table.
pub fn changed(source: &Source, changes: &[(String, String)]) -> Result<Source, String> {
    if changes.is_empty() {
        return Ok(source.clone());
    }
    let broken = |why: toml_edit::TomlError| format!("{} is no TOML: {}", source.name, why.message());
    let mut document: DocumentMut = source.text.parse().map_err(broken)?;
    for (key, value) in changes {
        if key == REFRIGERANT {
            for one in ["station.refrigerant", "vehicle.refrigerant"] {
                set(document.as_table_mut(), one, value)?;
            }
        } else {
            set(document.as_table_mut(), key, value)?;
        }
    }
    Ok(Source::new(source.name.clone(), document.to_string()))
}

fn set(root: &mut Table, key: &str, value: &str) -> Result<(), String> {
    let mut path: Vec<&str> = key.split('.').collect();
    let last = path.pop().unwrap_or_default();
    let mut table: &mut dyn toml_edit::TableLike = root;
    for part in path {
        let item = table.entry(part).or_insert_with(|| Item::Table(Table::new()));
        table = item.as_table_like_mut().ok_or_else(|| format!("`{part}` of `{key}` is no table"))?;
    }
    if table.get(last).is_some_and(|item| !item.is_value()) {
        return Err(format!("`{key}` is a table, not a value"));
    }
    table.insert(last, Item::Value(value_of(value)));
    Ok(())
}

/// `true`, `false` and plain numbers are what they look like; all else is text.
fn value_of(text: &str) -> Value {
    if let Ok(flag) = text.parse::<bool>() {
        return flag.into();
    }
    if let Ok(whole) = text.parse::<i64>() {
        return whole.into();
    }
    match text.parse::<f64>().ok().filter(|number| number.is_finite()) {
        Some(number) => number.into(),
        None => text.into(),
    }
}
