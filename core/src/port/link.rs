//! Packets of a line between a board and whatever plays its inputs and outputs: a simulator, a test stand.
//!
//! A packet is a sequence number and a message in postcard's form, closed by a CRC-32 (ISO-HDLC), stuffed with COBS and
//! ended by a zero. Either end tells a lost packet from a broken one. What it all means for the board is in
//! [`crate::port::remote`].

use crc::{CRC_32_ISO_HDLC, Crc};
use postcard::ser_flavors::crc::CrcModifier;
use postcard::ser_flavors::{Cobs, Slice};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::config::StationConfig;
use crate::frame::{Actuators, LAYOUT, Outputs, RawFrame};
use crate::kept::Start;
use crate::talk::{NOTICE_DEPTH, Notice};
use crate::units::{Instant, Millis};

/// Changes with every change of a message, and with [`LAYOUT`] of the frame; both ends must agree on it.
pub const FORMAT: u16 = LAYOUT << 8 | 12;
/// Longest packet with stuffing and delimiter.
pub const PACKET: usize = 512;
/// What a board with this core calls itself in [`Up::Ready`].
pub const NAME: &str = "valvewright-core";

static CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// What the far end tells the board.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
// A message lives for one call; a pointer to the larger variant would need a heap.
#[allow(clippy::large_enum_variant)]
pub enum Down {
    /// Begin anew, as after power-on. Sequence numbers count from here.
    Setup(Setup),
    /// The inputs of one scan.
    Scan {
        /// When it is, at the far end.
        now: Instant,
        /// What the board is to see.
        frame: RawFrame,
    },
    /// Tell the whole state as text, where the board's image can.
    Explain,
    /// The far end has finished.
    Bye,
}

/// What the board is to be.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Setup {
    /// [`FORMAT`] of the sender.
    pub format: u16,
    /// The station.
    pub config: StationConfig,
    /// What outlived power, why it starts, and how long the vessel has been left alone.
    pub start: Start,
    /// The longest step between two scans, and the longest silence by the board's own clock, that is not a fault.
    /// [`Outputs`] must be renewed every 0.5 s; a line that shares a busy machine may need more.
    pub patience: Millis,
}

/// What the board answers.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[allow(clippy::large_enum_variant)]
pub enum Up {
    /// Set up; nothing is on but the fan. No format may change its place among the answers.
    Ready {
        /// [`FORMAT`] of who answers; first, as in the setup.
        format: u16,
        /// What it calls itself; a board with this core is [`NAME`].
        name: heapless::String<32>,
    },
    /// One scan is done.
    Scan(Answer),
    /// The line cannot be trusted: the board is in the safe state and stays there until it is set up anew.
    Safe {
        /// Why.
        why: LinkFault,
        /// What is on at the pins.
        on: Actuators,
    },
    /// A piece of the answer to [`Down::Explain`]; an empty one ends it.
    Text(heapless::String<128>),
}

/// What one scan led to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Answer {
    /// The outputs; what is on was read back from the pins.
    pub outputs: Outputs,
    /// The notices that waited, oldest first; what does not fit comes with the next scan.
    pub notices: heapless::Vec<Notice, NOTICE_DEPTH>,
    /// [`crate::port::digest::Digest`] of the whole station after the scan.
    pub state: u64,
    /// What the scan took.
    pub took: Took,
}

/// Length of a scan in ticks of the board's own counter; 0 where it has none.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Took {
    /// The station's tick alone.
    pub tick: u32,
    /// Inputs, tick and outputs.
    pub whole: u32,
}

/// Why a line cannot be trusted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LinkFault {
    /// A packet with a wrong CRC, too long, or with no message in it. Engineer: look at wiring, speed, and formats.
    Broken,
    /// Packets are missing, or came twice. Engineer: the line or the sender's buffers are overrun.
    Lost {
        /// Sequence number that was due.
        due: u32,
        /// Sequence number that came.
        came: u32,
    },
    /// The step to this scan was longer than the line's patience. Engineer: the sender is too slow.
    Late(Millis),
    /// Nothing came for longer than the line's patience. Engineer: the cable is off, or the sender has stopped.
    Silent(Millis),
    /// The line was closed.
    Closed,
    /// A scan came before the board was set up. Engineer: send the setup first.
    NotSetUp,
    /// The two ends are of different [`FORMAT`]. Engineer: build both from the same state.
    Format {
        /// That of the end that says so.
        due: u16,
        /// That of the setup that came.
        came: u16,
    },
}

/// Writes one packet into `buffer` and returns its part that counts, delimiter included; `None` if it does not fit.
///
/// ```
/// use valvewright_core::port::link::*;
/// let mut buffer = [0; PACKET];
/// let packet = encode(7, &Down::Bye, &mut buffer).unwrap();
/// assert_eq!(packet.last(), Some(&0));
/// let mut stuffed = packet[..packet.len() - 1].to_vec();
/// assert_eq!(decode(&mut stuffed), Ok((7, Down::Bye)));
/// stuffed[1] ^= 1;
/// assert_eq!(decode::<Down>(&mut stuffed), Err(LinkFault::Broken));
/// ```
pub fn encode<'a, T: Serialize>(sequence: u32, message: &T, buffer: &'a mut [u8]) -> Option<&'a mut [u8]> {
    let stuffed = Cobs::try_new(Slice::new(buffer)).ok()?;
    postcard::serialize_with_flavor(&(sequence, message), CrcModifier::new(stuffed, CRC.digest())).ok()
}

/// Reads one packet, without its delimiter, in place.
pub fn decode<T: DeserializeOwned>(stuffed: &mut [u8]) -> Result<(u32, T), LinkFault> {
    let length = cobs::decode_in_place(stuffed).map_err(|_| LinkFault::Broken)?;
    let plain = stuffed.get(..length).ok_or(LinkFault::Broken)?;
    match postcard::take_from_bytes_crc32(plain, CRC.digest()) {
        // What is left over would be a second packet that ran into this one, its delimiter lost.
        Ok((packet, [])) => Ok(packet),
        _ => Err(other_format(plain).map_or(LinkFault::Broken, |came| LinkFault::Format { due: FORMAT, came })),
    }
}

/// The format of a whole setup or [`Up::Ready`] of another format: what follows it there can't be read here. Either is the
/// first of its kind, and its format stands first in it, in every format.
fn other_format(plain: &[u8]) -> Option<u16> {
    /// Place of the setup among the messages and of its answer among the answers, which no format may change.
    const FIRST: u8 = 0;
    let (body, crc) = plain.split_last_chunk::<4>()?;
    if CRC.checksum(body) != u32::from_le_bytes(*crc) {
        return None;
    }
    let ((_, message, format), _) = postcard::take_from_bytes::<(u32, u8, u16)>(body).ok()?;
    (message == FIRST && format != FORMAT).then_some(format)
}

/// Collects bytes to packets.
#[derive(Clone, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Receiver {
    bytes: heapless::Vec<u8, PACKET>,
    spoilt: bool,
}

impl Receiver {
    /// Nothing received.
    pub const fn new() -> Self {
        Self { bytes: heapless::Vec::new(), spoilt: false }
    }

    /// Takes in one byte; at the end of a packet says what was in it. Delimiters without a packet between them are nothing.
    pub fn feed<T: DeserializeOwned>(&mut self, byte: u8) -> Option<Result<(u32, T), LinkFault>> {
        if byte != 0 {
            self.spoilt |= self.bytes.push(byte).is_err();
            return None;
        }
        if self.bytes.is_empty() {
            return None;
        }
        let message = if self.spoilt { Err(LinkFault::Broken) } else { decode(&mut self.bytes) };
        self.bytes.clear();
        self.spoilt = false;
        Some(message)
    }
}
