//! The line: whatever comes, a board on it answers in whole packets, is safe once it distrusts the line, and stays so until it is set up anew.

use crc::{CRC_32_ISO_HDLC, Crc};
use valvewright_core::drive::FORBIDDEN;
use valvewright_core::frame::{Actuators, Outputs, RawFrame};
use valvewright_core::port::link::{PACKET, Receiver, Took, Up};
use valvewright_core::port::remote::{Session, Step, Wires};
use valvewright_core::station::Station;
use valvewright_core::units::Instant;

use super::take::Take;

static CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
/// Scans of one input: more would be slow, and say no more.
const MOST: usize = 64;

/// A board without adapters, which remembers what is on.
#[derive(Default)]
struct Plain {
    frame: RawFrame,
    on: Actuators,
    scans: usize,
}

impl Wires for Plain {
    fn begin(&mut self) {
        self.make_safe();
    }
    fn load(&mut self, frame: &RawFrame) {
        self.frame = frame.clone();
    }
    fn scan(&mut self, station: &mut Station, now: Instant) -> (Outputs, Took) {
        self.scans += 1;
        let outputs = station.tick(now, &self.frame);
        self.on = outputs.on;
        (outputs, Took::default())
    }
    fn pins(&self) -> Actuators {
        self.on
    }
    fn make_safe(&mut self) {
        self.on = Actuators::SAFE;
    }
}

struct Board {
    session: Session,
    wires: Plain,
}

impl Board {
    fn new() -> Self {
        Self { session: Session::new(), wires: Plain::default() }
    }

    fn take(&mut self, bytes: &[u8], clock: u32) {
        for byte in bytes {
            if let Step::Send(answer) = self.session.take(*byte, Instant(clock), &mut self.wires) {
                let mut ear = Receiver::new();
                let heard: Vec<_> = answer.iter().filter_map(|byte| ear.feed::<Up>(*byte)).collect();
                assert!(matches!(heard[..], [Ok(_)]), "an answer is one whole packet: {heard:?}");
            }
            self.look();
        }
    }

    fn look(&self) {
        let on = self.wires.on;
        if self.session.fault().is_some() {
            assert_eq!(on, Actuators::SAFE, "a line that is not trusted holds nothing on");
        }
        let pair = FORBIDDEN.iter().find(|(a, b, _)| on.has(*a) && on.has(*b));
        assert!(pair.is_none(), "{pair:?}");
        if let Some(station) = self.session.station()
            && self.session.fault().is_none()
        {
            let inhibits = station.interlocks().inhibits();
            assert!(on.and(inhibits.off).is_empty() || on == Actuators::SAFE, "{on:?} against {inhibits:?}");
        }
    }
}

/// One input: bytes as they come over a wire.
pub fn bytes(data: &[u8]) {
    let mut board = Board::new();
    board.take(data, 0);
    let mut ear = Receiver::new();
    for byte in data {
        let _heard = ear.feed::<Up>(*byte);
    }
    let _silence = board.session.idle(Instant(u32::from(data.last().copied().unwrap_or(0)) << 8), &mut board.wires);
    board.look();
    board.session.closed(&mut board.wires);
    board.look();
}

/// One input: bodies of packets, each with its length before it; the check and the stuffing are put to them, so that what is read is the message.
pub fn packets(data: &[u8]) {
    let (mut board, mut take, mut clock) = (Board::new(), Take(data), 0_u32);
    while !take.is_empty() && board.wires.scans < MOST {
        let head = take.half();
        let body = take.bytes(usize::from(head & 0x1FF));
        clock = clock.wrapping_add(u32::from(head >> 9) * 10);
        board.take(&sealed(body), clock);
    }
}

/// A packet with this body.
pub fn sealed(body: &[u8]) -> Vec<u8> {
    let mut plain = body.to_vec();
    plain.extend(CRC.checksum(body).to_le_bytes());
    let mut stuffed = vec![0; cobs::max_encoding_length(plain.len()) + 1];
    let length = cobs::encode(&plain, &mut stuffed);
    stuffed.truncate(length + 1);
    stuffed[length] = 0;
    stuffed.truncate(2 * PACKET);
    stuffed
}
