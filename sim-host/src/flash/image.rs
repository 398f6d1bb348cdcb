//! A flash in a file: what it holds, how worn its pages are, and what is kept beside it, so that a later run goes on from there.
//!
//! Promises: a file that is cut short, changed or of another kind is told as that and not read. Bits that do not hold still are written as they are held:
//! a file has no dice.

use std::fmt;

use crc::{CRC_32_ISO_HDLC, Crc};

use super::chip::NorSim;

/// How a file begins.
const MAGIC: &[u8; 8] = b"VWCHIP\r\n";
/// The form that is written; another one is not read.
const FORM: u16 = 1;
/// Bytes before the wear of the pages.
const HEAD: usize = 28;
/// Bytes behind all: the check.
const CHECK: usize = 4;

/// A flash and what is kept beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Image {
    /// The count outside the part.
    pub register: u32,
    /// Seconds since 2000-01-01 when it was written, by the workshop's true time.
    pub now: u32,
    /// Bytes of a page.
    pub page: u32,
    /// Erases of each page.
    pub wear: Vec<u32>,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// Why a file is no image.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoImage {
    /// It does not begin as one.
    Other,
    /// Written in a form that this program does not know.
    Form(u16),
    /// It has so many bytes and should have so many.
    Length(usize, usize),
    /// Its check does not fit.
    Changed,
}

impl fmt::Display for NoImage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Other => write!(f, "is no image of a station's store"),
            Self::Form(form) => write!(f, "is an image of form {form}, and this program reads form {FORM}"),
            Self::Length(found, due) => write!(f, "is not whole: {found} bytes of {due}"),
            Self::Changed => write!(f, "was changed since it was written: its check does not fit"),
        }
    }
}

fn check(bytes: &[u8]) -> u32 {
    Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(bytes)
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..)?.first_chunk().map(|four| u32::from_le_bytes(*four))
}

impl Image {
    /// As a file.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut all = MAGIC.to_vec();
        all.extend(FORM.to_le_bytes());
        all.extend((self.wear.len() as u16).to_le_bytes());
        [self.page, self.register, self.now, 0].into_iter().for_each(|word| all.extend(word.to_le_bytes()));
        self.wear.iter().for_each(|wear| all.extend(wear.to_le_bytes()));
        all.extend(&self.bytes);
        all.extend(check(&all).to_le_bytes());
        all
    }

    /// From a file.
    ///
    /// # Errors
    /// What it is in place of an image.
    pub fn from_bytes(all: &[u8]) -> Result<Self, NoImage> {
        let half = |at: usize| all.get(at..).and_then(<[u8]>::first_chunk).map(|two| u16::from_le_bytes(*two));
        if all.len() < HEAD {
            return Err(if MAGIC.starts_with(all) || all.starts_with(MAGIC) {
                NoImage::Length(all.len(), HEAD)
            } else {
                NoImage::Other
            });
        }
        if !all.starts_with(MAGIC) {
            return Err(NoImage::Other);
        }
        let (form, pages) = (half(8).unwrap_or(0), usize::from(half(10).unwrap_or(0)));
        if form != FORM {
            return Err(NoImage::Form(form));
        }
        let [page, register, now] = [12, 16, 20].map(|at| word(all, at).unwrap_or(0));
        let due = HEAD + pages * (4 + page as usize) + CHECK;
        if all.len() != due {
            return Err(NoImage::Length(all.len(), due));
        }
        let (held, told) = all.split_at(all.len() - CHECK);
        if word(told, 0) != Some(check(held)) {
            return Err(NoImage::Changed);
        }
        let wear = (0..pages).filter_map(|at| word(all, HEAD + 4 * at)).collect();
        Ok(Self { register, now, page, wear, bytes: held[HEAD + 4 * pages..].to_vec() })
    }
}

impl<const WRITE: usize, const ERASE: usize> NorSim<WRITE, ERASE> {
    /// As it was left: what it holds, and the erases of each page. `None` where these are not the sizes of such a part.
    pub fn holding(bytes: &[u8], wear: &[u32], seed: u64) -> Option<Self> {
        let mut made = Self::new(wear.len(), seed);
        if bytes.len() != made.cells.held().len() {
            return None;
        }
        made.cells.held_mut().copy_from_slice(bytes);
        made.wear = wear.to_vec();
        Some(made)
    }
}
