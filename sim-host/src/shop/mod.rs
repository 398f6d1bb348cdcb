//! A workshop's side of a station: what its store keeps of services, events, settings, operators, presets and vehicles, shown and changed.
//!
//! Promises: nothing is taken from the truth of a simulation; what can't be believed is told as damaged with what holds in its place; a refusal says why
//! and what to do, and then nothing was changed.

pub mod book;
pub mod book_rows;
pub mod due;
pub mod due_page;
pub mod events;
pub mod history;
pub mod opened;
pub mod operators;
pub mod presets;
pub mod reprint;
pub mod settings;

use serde::Serialize;
use valvewright_core::record::Refusal;

/// Why something was not done, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Trouble {
    /// Why.
    pub why: String,
    /// What to do about it.
    pub help: String,
}

impl Trouble {
    /// With what to do about it.
    pub fn new(why: impl Into<String>, help: impl Into<String>) -> Self {
        Self { why: why.into(), help: help.into() }
    }

    /// What the store says, of what it was asked for.
    pub fn of_store(what: &str, why: Refusal) -> Self {
        let (because, help) = match why {
            Refusal::Full => {
                ("the store has no room for it", "take away what is not needed any more, or export services")
            }
            Refusal::NotStored => {
                ("it was tried in every way and is not there", "treat it as not done; the part may be failing")
            }
            Refusal::WornOut => {
                ("too few pages of the part still work", "exchange the part; what is stored can be read")
            }
            Refusal::Lost => {
                ("it was stored once and cannot be believed any more", "nothing was touched; begin a new store file")
            }
            Refusal::Blank => ("the part is blank", "begin a new store with `valvewright run SCENARIO --store FILE`"),
            Refusal::Plan | Refusal::Input | Refusal::TooNew(_) => {
                ("the part is laid out in another way", "use the program that wrote it")
            }
        };
        Self::new(format!("{what}: {because}"), help)
    }
}
