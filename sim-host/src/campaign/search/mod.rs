//! Searches over faults, where sweeping everything costs too much.
//!
//! Five of them. [`explore()`] branches a job at each mark that it comes to for the first time, so that accidents that need two faults in
//! order are found by chance added instead of multiplied. [`Aim`] looks for the moment, the severity and the
//! surroundings at which a hazard's margin is least. [`Question`] estimates how probable a rare hazard is under stated rates, by splitting runs that came near it.
//! [`reaches()`] asks how far each set
//! point of the interlock table can move before a hazard comes about, [`Tables`] what comes of a table that is altered.
//! Each answer is the same for the same seed, for any number of threads.

mod explore;
mod found;
mod ground;
mod looker;
mod mark;
mod moments;
mod near;
mod points;
mod rare;
mod recipe;
pub mod splitting;
mod stems;
mod tables;
mod trunk;

pub use explore::{Bounds, Explored, Round, Told, explore};
pub use found::{Accident, Against};
pub use ground::Ground;
pub use mark::Mark;
pub use near::{Aim, Choice, Nearest, Tried};
pub use points::{Reach, Reaches, Worse, reaches};
pub use rare::{Event, Question, Rare, Share};
pub use recipe::{Recipe, Replayed};
pub use splitting::Plain;
pub use stems::Came;
pub use tables::{Cell, Compared, Middle, Tables};
