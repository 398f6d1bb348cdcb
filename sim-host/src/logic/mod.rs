//! Temporal logic over what a run shows: formulas in text, their value while a run goes on, and what came of them.
//!
//! The value is that of signal temporal logic in discrete time with quantitative semantics (Donze and Maler 2010): how far a formula
//! holds, or fails. docs/properties.md has the language and the rules.

pub mod degree;
pub mod formula;
pub mod monitor;
mod runs;
mod segment;
pub mod stream;
mod wedge;
pub mod window;
