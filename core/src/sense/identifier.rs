//! The gas identifier's serial line: a report gets in only whole, unharmed, asked for, and plausible.
//!
//! Protocol of our own. A frame is COBS-coded (S. Cheshire, M. Baker, "Consistent Overhead Byte Stuffing", 1999) and ends
//! with a zero byte; a zero also opens it, so that noise before a frame cannot eat it. Inside, little-endian:
//!
//! | frame | bytes |
//! | --- | --- |
//! | request, station to device | kind 0x01, sample id u16, CRC u16 |
//! | report, device to station | kind 0x81, sample id u16, R-134a, R-1234yf, other, hydrocarbon, air (u16 each, parts per thousand), flags u8, CRC u16 |
//!
//! The CRC is CRC-16/IBM-3740, also called CCITT-FALSE (polynomial 0x1021, start 0xFFFF, nothing reflected, check value
//! 0x29B1), over everything before it.

use super::cobs::{self, Deframer, LONGEST, Unframed};
use super::reading::GasReport;
use crate::frame::SerialChunk;
use crate::units::Permille;
use crc::{CRC_16_IBM_3740, Crc, NoTable};

/// Bit by bit: a report is 14 bytes long and comes once a minute, a table would cost 512 bytes of flash.
const CRC: Crc<u16, NoTable> = Crc::<u16, NoTable>::new(&CRC_16_IBM_3740);
/// Kind of a frame to the identifier.
const REQUEST: u8 = 0x01;
/// Kind of a frame from it.
const REPORT: u8 = 0x81;
/// How far the four shares of the refrigerant part may miss a thousand, each being rounded.
const SUM_TOLERANCE: u16 = 3;
/// Air share from which a sample may have no refrigerant part at all.
const ALL_AIR: u16 = 980;

/// Flags of a report.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Flags(pub u8);

impl Flags {
    /// Sample flow and self-check inside their bands.
    pub const HEALTHY: u8 = 1 << 0;
    /// Analysis not finished: the shares mean nothing yet.
    pub const BUSY: u8 = 1 << 1;
    /// First frame since the device started: what was under analysis is lost (F038).
    pub const BOOTED: u8 = 1 << 2;
}

/// Why a frame was refused.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Reject {
    /// Broken stuffing, or longer than any frame of ours.
    Framing,
    /// Not as long as its kind says.
    Length,
    /// Check does not fit: bytes were harmed on the line.
    Crc,
    /// No report: an echo of ours, or another protocol.
    Kind,
    /// Not the sample that was asked for last, or answered already (F033).
    Stale,
    /// The device says it is not finished. Ask again.
    Busy,
    /// The device started anew. Ask for a new sample.
    Booted,
    /// Shares past a thousand or not adding up to one.
    Implausible,
}

/// How many reasons there are.
pub const REJECT_COUNT: usize = 8;

/// The check of a frame body.
pub fn crc(body: &[u8]) -> u16 {
    CRC.checksum(body)
}

/// Appends the CRC, stuffs, and delimits. Frames of ours are 16 bytes at most and take 19 on the line.
fn enframe(body: &[u8]) -> SerialChunk {
    let mut frame = heapless::Vec::<u8, LONGEST>::new();
    // These cannot fail for bodies of 14 bytes or less, the only ones there are; a longer one would go out cut, and its
    // CRC would refuse it.
    let _ = frame.extend_from_slice(body);
    let _ = frame.extend_from_slice(&crc(body).to_le_bytes());
    cobs::stuff(&frame)
}

/// Splits off and tests the CRC.
fn checked(frame: &[u8]) -> Result<&[u8], Reject> {
    match frame {
        [body @ .., low, high] if !body.is_empty() => {
            if crc(body) == u16::from_le_bytes([*low, *high]) {
                Ok(body)
            } else {
                Err(Reject::Crc)
            }
        }
        _ => Err(Reject::Length),
    }
}

/// The request for a fresh sample.
pub fn request(sample_id: u16) -> SerialChunk {
    let [low, high] = sample_id.to_le_bytes();
    enframe(&[REQUEST, low, high])
}

/// A report as the device sends it: for simulators and for the firmware of a device. `healthy` is taken from the report,
/// [`Flags::BUSY`] and [`Flags::BOOTED`] from `flags`; shares outside 0-65 535 are cut off there.
pub fn encode_report(report: &GasReport, flags: Flags) -> SerialChunk {
    let share = |p: Permille| (p.0.max(0).min(u16::MAX as i32) as u16).to_le_bytes();
    let [id0, id1] = report.sample_id.to_le_bytes();
    let [a0, a1] = share(report.r134a);
    let [y0, y1] = share(report.r1234yf);
    let [o0, o1] = share(report.other);
    let [h0, h1] = share(report.hydrocarbon);
    let [air0, air1] = share(report.air);
    let healthy = if report.healthy { Flags::HEALTHY } else { 0 };
    let bits = (flags.0 & !Flags::HEALTHY) | healthy;
    enframe(&[REPORT, id0, id1, a0, a1, y0, y1, o0, o1, h0, h1, air0, air1, bits])
}

/// The device's end of the line: gives the sample id of each sound request.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RequestListener {
    deframer: Deframer,
}

impl RequestListener {
    /// Nothing heard yet.
    pub const fn new() -> Self {
        Self { deframer: Deframer::new() }
    }
    /// Takes in bytes; the id of the last sound request among them.
    pub fn feed(&mut self, bytes: &[u8]) -> Option<u16> {
        let mut id = None;
        for byte in bytes {
            if let Unframed::Frame(frame) = self.deframer.feed(*byte)
                && let Ok([REQUEST, low, high]) = checked(&frame)
            {
                id = Some(u16::from_le_bytes([*low, *high]));
            }
        }
        id
    }
}

/// The station's end of the line.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SampleLine {
    deframer: Deframer,
    expected: Option<u16>,
    refused: [u16; REJECT_COUNT],
    last: Option<Reject>,
}

impl SampleLine {
    /// Nothing heard, nothing expected.
    pub const fn new() -> Self {
        Self { deframer: Deframer::new(), expected: None, refused: [0; REJECT_COUNT], last: None }
    }
    /// Only a report with this id is believed from now on, and only once.
    pub fn expect(&mut self, sample_id: u16) {
        self.expected = Some(sample_id);
    }
    /// A report that is still to come counts as stale.
    pub fn expect_nothing(&mut self) {
        self.expected = None;
    }
    /// Frames refused for this reason since power-on; stops counting at 65 535.
    pub fn refused(&self, reason: Reject) -> u16 {
        self.refused.get(reason as usize).copied().unwrap_or(0)
    }
    /// Why the latest refused frame was refused.
    pub const fn last_refusal(&self) -> Option<Reject> {
        self.last
    }

    /// Takes in the bytes of one scan. At most one report is expected at a time, so at most one comes out.
    pub fn feed(&mut self, bytes: &[u8]) -> Option<GasReport> {
        let mut report = None;
        for byte in bytes {
            let judged = match self.deframer.feed(*byte) {
                Unframed::Nothing => continue,
                Unframed::Spoilt => Err(Reject::Framing),
                Unframed::Frame(frame) => self.judge(&frame),
            };
            match judged {
                Ok(good) => {
                    self.expected = None;
                    report = Some(good);
                }
                Err(reason) => {
                    self.last = Some(reason);
                    if let Some(count) = self.refused.get_mut(reason as usize) {
                        *count = count.saturating_add(1);
                    }
                }
            }
        }
        report
    }

    fn judge(&self, frame: &[u8]) -> Result<GasReport, Reject> {
        let [kind, rest @ ..] = checked(frame)? else {
            return Err(Reject::Length);
        };
        if *kind != REPORT {
            return Err(Reject::Kind);
        }
        let [id0, id1, a0, a1, y0, y1, o0, o1, h0, h1, air0, air1, bits] = rest else {
            return Err(Reject::Length);
        };
        let sample_id = u16::from_le_bytes([*id0, *id1]);
        if bits & Flags::BOOTED != 0 {
            return Err(Reject::Booted);
        }
        if self.expected != Some(sample_id) {
            return Err(Reject::Stale);
        }
        if bits & Flags::BUSY != 0 {
            return Err(Reject::Busy);
        }
        let word = |low: &u8, high: &u8| u16::from_le_bytes([*low, *high]);
        let shares = [word(a0, a1), word(y0, y1), word(o0, o1), word(h0, h1)];
        let air = word(air0, air1);
        if !plausible(shares, air) {
            return Err(Reject::Implausible);
        }
        let [r134a, r1234yf, other, hydrocarbon] = shares.map(|share| Permille(share as i32));
        let healthy = bits & Flags::HEALTHY != 0;
        Ok(GasReport { sample_id, r134a, r1234yf, other, hydrocarbon, air: Permille(air as i32), healthy })
    }
}

/// The shares of the refrigerant part add up to a thousand, or there is no refrigerant part and the sample is all air.
fn plausible(shares: [u16; 4], air: u16) -> bool {
    let sum = shares.iter().fold(0u16, |sum, share| sum.saturating_add(*share));
    air <= 1_000 && (sum.abs_diff(1_000) <= SUM_TOLERANCE || (sum == 0 && air >= ALL_AIR))
}
