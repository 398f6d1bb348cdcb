//! Bounds and words that several tables of a scenario share.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;

use super::diagnostic::Diagnostic;
use super::reader::Node;

/// 0 degC, K.
pub(super) const KELVIN: f64 = 273.15;
/// A minute, s.
pub(super) const MINUTE: f64 = 60.0;
/// What the controller leaves in the vessel so that liquid is drawn, kg.
pub const VESSEL_HEEL: f64 = StationConfig::reference(Refrigerant::R1234yf).vessel_heel.0 as f64 * 1e-6;
/// Most refrigerant in the reference vessel, kg: its nominal filling.
pub(super) const VESSEL_MOST: f64 = 10.0;

/// The member of `all` whose word stands at `key`, or `default`.
pub(super) fn choice<T: Copy>(
    node: &mut Node,
    key: &str,
    words: &[&str],
    all: &[T],
    default: T,
) -> Result<T, Diagnostic> {
    let word = node.opt_one_of(key, words)?;
    let at = word.and_then(|word| words.iter().position(|one| *one == word));
    Ok(at.and_then(|at| all.get(at).copied()).unwrap_or(default))
}

/// A `name` becomes a folder, so it holds nothing that means something to a file system.
pub(super) fn plain_name(node: &mut Node) -> Result<String, Diagnostic> {
    let name = node.string("name")?;
    let plain = name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if plain && (1..=64).contains(&name.len()) {
        return Ok(name);
    }
    let wrong = node.error_at("name", format!("{}: `{name}` cannot name a folder", node.full_name("name")));
    Err(wrong.with_help("1 to 64 letters, digits, `_` and `-`"))
}
