//! The keyed digest of a code: HMAC-SHA-256 (FIPS 198-1, FIPS 180-4), its first 48 bits, compared without telling by time where they differ.
//!
//! Whoever has the key can make codes; one that is read out of a station's memory makes codes for that station only, since each has a key of its own.

use core::fmt;

use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

/// Bytes of the digest that a code has room for.
pub const SEAL: usize = 6;
/// The digest of a code.
pub type Seal = [u8; SEAL];

/// Told apart from whatever else a key might be used for.
const DOMAIN: &[u8] = b"valvewright part code";

/// The secret that a station shares with the supplier of its parts. It is never printed.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct CodeKey(pub [u8; 32]);

impl CodeKey {
    /// The key of demonstrations and tests. It stands in this file and so keeps nothing from anybody: a real station has a drawn one of its own.
    pub const DEMO: Self = Self(*b"valvewright demo key, not secret");

    /// The digest of these fields.
    pub fn seal(&self, version: u8, kind: u8, serial: u32) -> Seal {
        let whole = self.digest(version, kind, serial).finalize().into_bytes();
        let mut seal = [0; SEAL];
        for (to, from) in seal.iter_mut().zip(whole) {
            *to = from;
        }
        seal
    }

    /// Whether this is their digest. It takes as long for any wrong one.
    pub fn sealed(&self, version: u8, kind: u8, serial: u32, seal: &Seal) -> bool {
        self.digest(version, kind, serial).verify_truncated_left(seal).is_ok()
    }

    fn digest(&self, version: u8, kind: u8, serial: u32) -> Hmac<Sha256> {
        // A key of one block at most is taken as it is.
        let mut block = [0; 64];
        for (to, from) in block.iter_mut().zip(self.0) {
            *to = from;
        }
        let mut mac = Hmac::<Sha256>::new(&block.into());
        mac.update(DOMAIN);
        mac.update(&[version, kind]);
        mac.update(&serial.to_be_bytes());
        mac
    }
}

impl fmt::Debug for CodeKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("CodeKey(..)")
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for CodeKey {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "CodeKey(..)");
    }
}
