//! Bounds and words that several tables of a scenario share.

use super::diagnostic::Diagnostic;
use super::reader::Node;
use crate::station::{self, Rating};

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
