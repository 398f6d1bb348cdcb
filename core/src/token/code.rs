//! What a code says: version, kind of part, serial number, and the digest that proves it.

use super::seal::{CodeKey, SEAL, Seal, Sealing, same};
use super::symbols::Typed;
use super::{CodeFault, Kind};

/// The version that this program makes and reads.
pub const VERSION: u8 = 1;
/// The highest serial number; 0 is none.
pub const LAST_SERIAL: u32 = (1 << 20) - 1;
/// Bits of the digest at the low end of the number.
const SEAL_BITS: u32 = SEAL as u32 * 8;

/// A code whose maker is proven.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Code {
    /// What it is for.
    pub kind: Kind,
    /// Which one of its kind, from 1.
    pub serial: u32,
}

/// A code as it was typed, taken apart and not proven.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Draft {
    version: u8,
    kind: u8,
    serial: u32,
    seal: Seal,
}

impl Draft {
    /// Takes apart what was typed.
    ///
    /// # Errors
    /// [`CodeFault::Mistyped`].
    pub fn read(typed: Typed) -> Result<Self, CodeFault> {
        let number = typed.number().ok_or(CodeFault::Mistyped)?;
        let mut seal = [0; SEAL];
        let low = number.to_be_bytes();
        for (to, from) in seal.iter_mut().zip(low.iter().skip(low.len().saturating_sub(SEAL))) {
            *to = *from;
        }
        let head = (number >> SEAL_BITS) as u32;
        Ok(Self { version: (head >> 24) as u8 & 7, kind: (head >> 20) as u8 & 15, serial: head & LAST_SERIAL, seal })
    }

    /// Whether this station's supplier made it, at once.
    ///
    /// # Errors
    /// [`CodeFault::OtherVersion`], [`CodeFault::NotOurs`].
    pub fn prove(self, key: &CodeKey) -> Result<Code, CodeFault> {
        let mut sealing = Sealing::default();
        loop {
            if let Some(proven) = self.proving(key, &mut sealing) {
                return proven;
            }
        }
    }

    /// The same a turn at a time, for a scan: it is known when something comes. A code that was not made for this station takes as many turns as one that was.
    ///
    /// # Errors
    /// As [`Draft::prove`].
    pub fn proving(self, key: &CodeKey, sealing: &mut Sealing) -> Option<Result<Code, CodeFault>> {
        if self.version != VERSION {
            return Some(Err(CodeFault::OtherVersion));
        }
        let seal = sealing.turn(key, self.version, self.kind, self.serial)?;
        if !same(&seal, &self.seal) || self.serial == 0 {
            return Some(Err(CodeFault::NotOurs));
        }
        let kind = Kind::from_number(self.kind);
        Some(kind.map_or(Err(CodeFault::OtherVersion), |kind| Ok(Code { kind, serial: self.serial })))
    }
}

impl Code {
    /// What is printed and typed for it; `None` for a serial number outside 1 to [`LAST_SERIAL`].
    ///
    /// ```
    /// use valvewright_core::token::{Code, CodeKey, Draft, Kind};
    /// let code = Code { kind: Kind::FilterDrier, serial: 7 };
    /// let typed = code.mint(&CodeKey::DEMO).unwrap();
    /// assert_eq!(Draft::read(typed).and_then(|draft| draft.prove(&CodeKey::DEMO)), Ok(code));
    /// ```
    pub fn mint(self, key: &CodeKey) -> Option<Typed> {
        if self.serial == 0 || self.serial > LAST_SERIAL {
            return None;
        }
        let head = u128::from(VERSION) << 24 | u128::from(self.kind as u8) << 20 | u128::from(self.serial);
        let seal = key.seal(VERSION, self.kind as u8, self.serial);
        Some(Typed::of_number(seal.iter().fold(head, |number, byte| number << 8 | u128::from(*byte))))
    }
}
