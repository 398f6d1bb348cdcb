//! Bounds and words that several tables of a scenario share.

use super::diagnostic::Diagnostic;
use super::reader::Node;
use crate::station::{self, Rating};

/// 0 degC, K.
pub(super) const KELVIN: f64 = 273.15;
/// A minute, s.
pub(super) const MINUTE: f64 = 60.0;
/// What is taken of a station whose file cannot be used: `check` and `run` tell what is wrong with it.
const UNKNOWN: Rating = Rating { rated: 100.0, heel: 0.0 };

/// What the vessel of a scenario's station may hold.
pub(super) fn rating(network: Option<&str>) -> Rating {
    station::rating(network).unwrap_or(UNKNOWN)
}

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
pub fn plain_name(node: &mut Node) -> Result<String, Diagnostic> {
    let name = node.string_like("name", "^[A-Za-z0-9_-]{1,64}$")?;
    let plain = name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if plain && (1..=64).contains(&name.len()) {
        return Ok(name);
    }
    let wrong = node.error_at("name", format!("{}: `{name}` cannot name a folder", node.full_name("name")));
    Err(wrong.with_help("1 to 64 letters, digits, `_` and `-`"))
}
