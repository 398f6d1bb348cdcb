//! Which serial numbers of a kind are gone: a window below the newest one, as replay protection of networks has it (RFC 4303, 3.4.3; from memory).
//!
//! It never fills and never forgets: what is below the window counts as used, because nobody can tell any more. Parts may be used in any
//! order as long as none is left on the shelf while [`Used::WINDOW`] later ones are used.

/// The serial numbers of one kind that were used.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Used {
    /// The highest that was used; 0 before the first.
    newest: u32,
    /// Bit n: the one n + 1 below it was used too.
    below: u32,
}

/// What is known of a serial number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Standing {
    /// It was not used.
    Fresh,
    /// It was.
    Used,
    /// It lies below what is remembered one by one.
    TooOld,
}

impl Used {
    /// None was used.
    pub const NONE: Self = Self { newest: 0, below: 0 };
    /// So many serial numbers below the newest are remembered one by one (own choice: years of parts of one kind for one station).
    pub const WINDOW: u32 = u32::BITS;

    /// Nothing is known but that every later one is fresh: all up to this one count as used.
    pub const fn up_to(serial: u32) -> Self {
        Self { newest: serial, below: u32::MAX }
    }

    /// What is known of this serial number.
    pub const fn look(self, serial: u32) -> Standing {
        let Some(under) = self.newest.checked_sub(serial) else { return Standing::Fresh };
        match under.checked_sub(1) {
            None => Standing::Used,
            Some(place) => match self.below.checked_shr(place) {
                None => Standing::TooOld,
                Some(bits) if bits & 1 == 1 => Standing::Used,
                Some(_) => Standing::Fresh,
            },
        }
    }

    /// With this one used.
    #[must_use]
    pub fn with(self, serial: u32) -> Self {
        match serial.checked_sub(self.newest) {
            None => {
                let place = self.newest.saturating_sub(serial).saturating_sub(1);
                Self { below: self.below | 1_u32.checked_shl(place).unwrap_or(0), ..self }
            }
            Some(0) => self,
            Some(ahead) => {
                let moved = self.below.checked_shl(ahead).unwrap_or(0);
                // Before the first one there is no newest to remember.
                let newest = if self.newest == 0 { 0 } else { 1_u32.checked_shl(ahead.saturating_sub(1)).unwrap_or(0) };
                Self { newest: serial, below: moved | newest }
            }
        }
    }

    /// As two words, to be stored.
    pub const fn to_words(self) -> [u32; 2] {
        [self.newest, self.below]
    }

    /// Back from them.
    pub const fn from_words([newest, below]: [u32; 2]) -> Self {
        Self { newest, below }
    }

    /// The highest that was used; 0 before the first.
    pub const fn newest(self) -> u32 {
        self.newest
    }
}
