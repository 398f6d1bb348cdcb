//! Temporal logic over what a run shows: formulas in text, their value while a run goes on, and what came of them.
//!
//! The value is that of signal temporal logic in discrete time with quantitative semantics (Donze and Maler 2010): how far a formula
//! holds, or fails. docs/properties.md has the language and the rules.

pub mod condition;
pub mod degree;
mod explain;
pub mod formula;
pub mod monitor;
pub mod names;
pub mod parse;
mod parse_atom;
pub mod property;
mod runs;
mod segment;
pub mod stream;
mod text;
pub mod watch;
mod wedge;
pub mod window;

pub use condition::{Condition, Standing};
pub use property::{Property, Times};
pub use text::Wrong;
pub use watch::{View, Watch};
