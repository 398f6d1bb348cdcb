//! Tells the texts of a ticket in its language, and a name with what belongs to it.

use serde::Serialize;

use crate::display::{Display, Language, STANDARD};
use crate::language::Message;

/// A name on the paper and what belongs to it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// Which, for programs.
    pub id: &'static str,
    /// Its name on the paper.
    pub name: String,
    /// What belongs to it.
    pub text: String,
}

/// Tells texts in the language of the ticket.
pub struct Teller(Display);

impl Teller {
    /// In a language; figures are metric, pressures absolute.
    pub const fn new(language: Language) -> Self {
        Self(Display { language, ..STANDARD })
    }

    /// A text without arguments.
    pub fn word(&self, id: &'static str) -> String {
        self.tell(&id.into())
    }

    /// A message.
    pub fn tell(&self, message: &Message) -> String {
        message.on(&self.0)
    }

    /// Its display.
    pub const fn display(&self) -> &Display {
        &self.0
    }
}

/// The id of a text without its room.
pub fn short(id: &'static str) -> &'static str {
    id.strip_prefix("paper-").unwrap_or(id)
}

/// With a capital letter: the texts of phases are parts of sentences.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
