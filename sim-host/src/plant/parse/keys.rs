//! Reads one table key by key and goes on after a wrong value, so that each wrong value is told once and nothing else is.

use std::ops::RangeInclusive;

use crate::scenario::diagnostic::{Diagnostic, Problems};
use crate::scenario::quantity::Dim;
use crate::scenario::reader::Node;

/// A table being read. A wrong value is kept as a problem and replaced: with the usual value, or with NaN where the key must be
/// there. NaN lies outside every range, so a limit drawn from another value must fall back to a fixed one (`f64::min` does).
pub(super) struct Keys<'k, 'n> {
    node: &'k mut Node<'n>,
    problems: &'k mut Problems,
    whole: bool,
}

impl<'k, 'n> Keys<'k, 'n> {
    pub(super) fn new(node: &'k mut Node<'n>, problems: &'k mut Problems) -> Self {
        Self { node, problems, whole: true }
    }

    fn take<T>(&mut self, read: Result<T, Diagnostic>) -> Option<T> {
        self.whole &= read.is_ok();
        self.problems.take(read)
    }

    /// A quantity that must be there.
    pub(super) fn need(&mut self, key: &str, dim: Dim, range: RangeInclusive<f64>) -> f64 {
        let read = self.node.quantity(key, dim, range);
        self.take(read).unwrap_or(f64::NAN)
    }

    /// A quantity that may be left out.
    pub(super) fn get(&mut self, key: &str, dim: Dim, range: RangeInclusive<f64>) -> Option<f64> {
        let read = self.node.opt_quantity(key, dim, range);
        self.take(read).flatten()
    }

    /// A quantity with a usual value.
    pub(super) fn or(&mut self, key: &str, dim: Dim, range: RangeInclusive<f64>, usual: f64) -> f64 {
        self.get(key, dim, range).unwrap_or(usual)
    }

    /// `true` or `false`.
    pub(super) fn flag(&mut self, key: &str, usual: bool) -> bool {
        let read = self.node.bool_or(key, usual);
        self.take(read).unwrap_or(usual)
    }

    /// One of `words`, which may be left out.
    pub(super) fn word<'o>(&mut self, key: &str, words: &[&'o str]) -> Option<&'o str> {
        let read = self.node.opt_one_of(key, words);
        self.take(read).flatten()
    }

    /// One of `words`, which must be there.
    pub(super) fn need_word<'o>(&mut self, key: &str, words: &[&'o str]) -> Option<&'o str> {
        let read = self.node.one_of(key, words);
        self.take(read)
    }

    /// Whether the key is given.
    pub(super) fn has(&self, key: &str) -> bool {
        self.node.has(key)
    }

    /// A table below this one, read by `read` and then searched for unknown keys.
    pub(super) fn part<T>(&mut self, key: &str, read: impl FnOnce(&mut Keys) -> T) -> Option<T> {
        let found = self.node.opt_node(key);
        let mut node = self.take(found).flatten()?;
        let mut keys = Keys::new(&mut node, self.problems);
        let made = read(&mut keys);
        let whole = keys.whole;
        node.finish_into(self.problems);
        self.whole &= whole;
        whole.then_some(made)
    }

    /// Takes these keys whatever they hold: what stands beside them is wrong, and has been told.
    pub(super) fn any(&mut self, keys: &[&str]) {
        for key in keys {
            let _told_elsewhere = self.node.misplaced(key, "");
        }
    }

    /// Refuses those of `keys` that are given, with one word why.
    pub(super) fn out_of_place(&mut self, keys: &[&str], why: &str) {
        for key in keys {
            if let Some(one) = self.node.misplaced(key, why) {
                self.refuse(one);
            }
        }
    }

    /// Refuses the value of `key`.
    pub(super) fn refuse_at(&mut self, key: &str, message: impl Into<String>, help: impl Into<String>) {
        let one = self.node.error_at(key, message).with_help(help);
        self.refuse(one);
    }

    /// Refuses the table.
    pub(super) fn refuse_here(&mut self, message: impl Into<String>, help: impl Into<String>) {
        let one = self.node.error_here(message).with_help(help);
        self.refuse(one);
    }

    fn refuse(&mut self, one: Diagnostic) {
        self.problems.push(one);
        self.whole = false;
    }

    /// Nothing was wrong with what was read so far.
    pub(super) fn whole(&self) -> bool {
        self.whole
    }
}
