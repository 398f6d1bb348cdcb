//! Which codes of parts a station has taken, by what was typed and by its own word, over all restarts: for hazard H17.

use valvewright_core::talk::{Command, Notice};
use valvewright_core::token::Typed;

/// What was typed and taken.
#[derive(Debug, Clone, Default)]
pub(super) struct Codes {
    /// Typed last, and not yet taken.
    typed: Option<Typed>,
    /// The numbers of those that were taken.
    taken: Vec<Option<u128>>,
    /// Codes taken again, and lives begun without one.
    again: u32,
}

impl Codes {
    /// A command goes to the controller.
    pub(super) fn see(&mut self, command: &Command) {
        if let Command::Exchanged { code, .. } = command {
            self.typed = Some(*code);
        }
    }

    /// The controller says something. Returns the count of what must not be, where it is a word of codes.
    pub(super) fn hear(&mut self, notice: &Notice) -> Option<u32> {
        if !matches!(notice, Notice::Exchanged(..)) {
            return None;
        }
        // A code whose check symbol does not fit is none.
        let number = self.typed.take().map(Typed::number);
        if number.is_none_or(|number| number.is_none() || self.taken.contains(&number)) {
            self.again += 1;
        }
        self.taken.extend(number);
        Some(self.again)
    }
}
