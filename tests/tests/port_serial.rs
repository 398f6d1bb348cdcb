//! The identifier's line on a scripted port: nothing waits, nothing is torn, errors are silence.

use std::collections::VecDeque;

use embedded_io::{ErrorKind, ErrorType, Read, ReadReady, Write, WriteReady};
use proptest::prelude::*;
use valvewright_core::port::contract::IdentifierLine;
use valvewright_core::port::serial::SerialLine;

/// A port that panics where a real one would block.
#[derive(Clone, Debug, Default)]
struct Port {
    /// Bytes received, in the bursts in which one `read` gives them; an empty burst is a line error.
    incoming: VecDeque<Vec<u8>>,
    sent: Vec<u8>,
    /// How many bytes the transmitter takes; `None` fails.
    room: Option<usize>,
}

impl Port {
    fn receiving(bursts: &[&[u8]]) -> Self {
        Self { incoming: bursts.iter().map(|burst| burst.to_vec()).collect(), room: Some(100), ..Self::default() }
    }
    fn sending(room: usize) -> Self {
        Self { room: Some(room), ..Self::default() }
    }
}

impl ErrorType for Port {
    type Error = ErrorKind;
}
impl ReadReady for Port {
    fn read_ready(&mut self) -> Result<bool, ErrorKind> {
        Ok(!self.incoming.is_empty())
    }
}
impl Read for Port {
    fn read(&mut self, buf: &mut [u8]) -> Result<usize, ErrorKind> {
        assert!(!buf.is_empty(), "asked for nothing");
        let burst = self.incoming.front_mut().expect("a read that would block");
        if burst.is_empty() {
            self.incoming.pop_front();
            return Err(ErrorKind::InvalidData);
        }
        let count = burst.len().min(buf.len());
        buf[..count].copy_from_slice(&burst[..count]);
        burst.drain(..count);
        if burst.is_empty() {
            self.incoming.pop_front();
        }
        Ok(count)
    }
}
impl WriteReady for Port {
    fn write_ready(&mut self) -> Result<bool, ErrorKind> {
        self.room.map(|room| room > 0).ok_or(ErrorKind::NotConnected)
    }
}
impl Write for Port {
    fn write(&mut self, buf: &[u8]) -> Result<usize, ErrorKind> {
        let room = self.room.as_mut().ok_or(ErrorKind::NotConnected)?;
        assert!(*room > 0, "a write that would block");
        let count = buf.len().min(*room);
        *room -= count;
        self.sent.extend_from_slice(&buf[..count]);
        Ok(count)
    }
    fn flush(&mut self) -> Result<(), ErrorKind> {
        panic!("a flush blocks")
    }
}

#[test]
fn a_long_burst_arrives_over_several_scans() {
    let bytes: Vec<u8> = (0..70).collect();
    let mut line = SerialLine::new(Port::receiving(&[&bytes[..5], &bytes[5..45], &bytes[45..]]));
    assert_eq!(line.receive(), bytes[..32]);
    assert_eq!(line.receive(), bytes[32..64]);
    assert_eq!(line.receive(), bytes[64..]);
    assert!(line.receive().is_empty());
}

#[test]
fn a_line_error_is_no_bytes_and_ends_the_chunk() {
    let mut line = SerialLine::new(Port::receiving(&[b"ab", b"", b"cd", b""]));
    assert_eq!(line.receive(), b"ab");
    assert_eq!(line.receive(), b"cd");
    assert!(line.receive().is_empty());
}

#[test]
fn a_request_goes_out_whole_even_through_a_narrow_transmitter() {
    let mut line = SerialLine::new(Port::sending(100));
    assert!(line.send(b"whole"));
    assert_eq!(line.port_mut().sent, b"whole");

    let mut line = SerialLine::new(Port::sending(3));
    assert!(line.send(b"request"));
    assert_eq!(line.port_mut().sent, b"req");
    line.port_mut().room = Some(2);
    line.receive();
    assert_eq!(line.port_mut().sent, b"reque");
    line.port_mut().room = Some(9);
    assert!(line.send(b"+"));
    assert_eq!(line.port_mut().sent, b"request+", "in order");
}

#[test]
fn what_does_not_fit_is_refused_whole() {
    let mut line = SerialLine::new(Port::sending(0));
    assert!(line.send(&[1; 30]));
    assert!(!line.send(&[2; 3]), "three do not fit behind thirty");
    line.port_mut().room = Some(100);
    line.receive();
    assert_eq!(line.port_mut().sent, [1; 30]);
    assert!(!line.send(&[3; 33]), "longer than a chunk");
    assert_eq!(line.port_mut().sent.len(), 30);
}

#[test]
fn a_transmitter_that_fails_loses_the_request_and_not_the_next() {
    let mut line = SerialLine::new(Port::sending(4));
    assert!(line.send(b"torn off"));
    line.port_mut().room = None;
    assert!(!line.send(b"refused"));
    line.port_mut().room = Some(100);
    assert!(line.send(b"/next"));
    assert_eq!(line.port_mut().sent, b"torn/next");
}

proptest! {
    #[test]
    fn bytes_arrive_in_order_at_most_32_a_scan(bursts in prop::collection::vec(prop::collection::vec(any::<u8>(), 1..60), 0..12)) {
        let all: Vec<u8> = bursts.concat();
        let slices: Vec<&[u8]> = bursts.iter().map(Vec::as_slice).collect();
        let mut line = SerialLine::new(Port::receiving(&slices));
        let mut got = Vec::new();
        for left in (0..all.len().div_ceil(32)).rev() {
            let chunk = line.receive();
            prop_assert!(chunk.len() == 32 || left == 0, "a scan takes all there is, up to 32");
            got.extend_from_slice(&chunk);
        }
        prop_assert_eq!(got, all);
    }
}
