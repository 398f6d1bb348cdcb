//! The assembled board: safe from construction on, frames in the right order, and what a fault does to outputs and watchdog.

use std::collections::VecDeque;

use embedded_hal_mock::eh1::digital::{Mock as PinMock, State, Transaction as Pin};
use embedded_hal_mock::eh1::i2c::{Mock as I2cMock, Transaction as I2c};
use embedded_hal_mock::eh1::spi::{Mock as SpiMock, Transaction as Spi};
use embedded_io::{ErrorKind, ErrorType, Read, ReadReady, Write, WriteReady};
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{
    ACTUATOR_COUNT, Actuator, Actuators, Analog, FEED_COUNT, Feed, Feeds, Lamp, Machine, Outputs, RawFrame,
    SCALE_COUNT, ScaleSample, SerialChunk, Switches,
};
use valvewright_core::port::board::*;
use valvewright_core::port::bridge::BridgeAdc;
use valvewright_core::port::loops::{Code, I2cLayout, I2cLoops, Pair, SpiLayout, SpiLoops};
use valvewright_core::port::pins::*;
use valvewright_core::port::serial::SerialLine;
use valvewright_core::station::Station;
use valvewright_core::talk::Command;
use valvewright_core::units::{Instant, Millis};

use crate::port_bench::{End, WiredBoard, calm, parts};

fn station() -> Station {
    Station::new(StationConfig::reference(Refrigerant::R1234yf), Millis(0))
}

fn asked(list: &[Actuator]) -> Outputs {
    Outputs { on: Actuators::of(list), lamp: Lamp::Green, ..Outputs::default() }
}

/// Shows LC2.
#[test]
fn outputs_are_safe_before_anything_else() {
    let (end, inbox) = (End::default(), Inbox::new());
    let board = WiredBoard::new(parts(&end), &inbox);
    assert_eq!(end.0.borrow().set, [Actuators::SAFE]);
    assert_eq!((end.0.borrow().samples, end.0.borrow().fed), (0, 0));
    assert_eq!(board.fault(), None);
}

#[test]
fn the_frame_is_what_the_wires_say_less_what_was_posted() {
    let (end, inbox) = (End::default(), Inbox::new());
    let mut board = WiredBoard::new(parts(&end), &inbox);
    let mut due = RawFrame::default();
    calm(&mut due, Actuators::SAFE, 1_234);
    due.analog.iter_mut().zip(7u16..).for_each(|(counts, add)| *counts += add);
    due.identifier = SerialChunk::from_slice(&[1, 2, 3]).unwrap();
    end.0.borrow_mut().frame = due.clone();
    inbox.post(Event::EmergencyStop);
    inbox.post(Event::Command(Command::Pause));
    inbox.post(Event::Command(Command::Abort));
    due.command = Some(Command::Pause);
    due.switches.0 &= !(Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED);
    assert_eq!(board.read(), due);
    due.command = Some(Command::Abort);
    due.identifier.clear();
    assert_eq!(board.read(), due);
    due.command = None;
    due.switches = Switches(Switches::ALL);
    assert_eq!(board.read(), due);
    assert_eq!(end.0.borrow().samples, 3, "each frame has fresh contacts");
}

#[test]
fn what_is_asked_is_set_shown_and_sent() {
    let (end, inbox) = (End::default(), Inbox::new());
    let mut board = WiredBoard::new(parts(&end), &inbox);
    let outputs = Outputs {
        lamp: Lamp::Blue,
        buzzer: true,
        identifier: SerialChunk::from_slice(b"?").unwrap(),
        ..asked(&[Actuator::P1, Actuator::K1])
    };
    assert_eq!(board.apply(&outputs), Ok(()));
    let wires = end.0.borrow();
    assert_eq!(wires.on(), Some(outputs.on));
    assert_eq!((wires.lamp, wires.buzzer, wires.sent.as_slice()), (Lamp::Blue, true, b"?".as_slice()));
}

#[test]
fn an_output_that_does_not_follow_is_safe_latched_and_starves_the_watchdog() {
    let (end, inbox) = (End::default(), Inbox::new());
    let mut board = WiredBoard::new(parts(&end), &inbox);
    let mut station = station();
    for scan in 1..=10 {
        calm(&mut end.0.borrow_mut().frame, Actuators::SAFE, scan * 50);
        board.scan(&mut station, Instant(scan * 50));
    }
    assert_eq!((board.fault(), end.0.borrow().fed), (None, 10));

    board.read();
    board.judged(Instant(550));
    end.0.borrow_mut().stuck = Some(Actuator::Xv5);
    let fault = BoardFault::Output(PinFault::Off(Actuator::Xv5));
    assert_eq!(board.apply(&asked(&[Actuator::Xv1, Actuator::K1])), Err(fault));
    assert!(!board.finish());
    assert_eq!(end.0.borrow().on(), Some(Actuators::SAFE));
    assert_eq!(end.0.borrow().lamp, Lamp::Red, "and says so");

    // The output follows again: nothing is known of it any more than before.
    end.0.borrow_mut().stuck = None;
    for scan in 12..=20 {
        board.scan(&mut station, Instant(scan * 50));
        assert_eq!(board.apply(&asked(&[Actuator::Xv1])), Err(fault));
        assert_eq!(end.0.borrow().on(), Some(Actuators::SAFE), "tried again each scan");
    }
    assert_eq!((board.fault(), end.0.borrow().fed), (Some(fault), 10));
}

#[test]
fn an_output_that_fails_at_construction_is_told() {
    let (end, inbox) = (End::default(), Inbox::new());
    end.0.borrow_mut().stuck = Some(Actuator::C1);
    let mut board = WiredBoard::new(parts(&end), &inbox);
    assert_eq!(board.fault(), Some(BoardFault::Output(PinFault::Off(Actuator::C1))));
    board.scan(&mut station(), Instant(50));
    assert_eq!(end.0.borrow().fed, 0);
}

#[test]
fn the_gravest_fault_stays() {
    let (end, inbox) = (End::default(), Inbox::new());
    let mut board = WiredBoard::new(parts(&end), &inbox);
    inbox.post(Event::PowerFail);
    board.sample();
    assert_eq!(board.fault(), Some(BoardFault::PowerFail));
    assert!(!board.finish(), "no stage was passed");
    assert_eq!(board.fault(), Some(BoardFault::Flow));
    end.0.borrow_mut().stuck = Some(Actuator::H1);
    board.make_safe();
    let heater = Some(BoardFault::Output(PinFault::Off(Actuator::H1)));
    assert_eq!(board.fault(), heater);
    end.0.borrow_mut().stuck = Some(Actuator::C1);
    board.make_safe();
    assert_eq!(board.fault(), heater, "the first of a kind");
}

#[test]
fn safe_can_be_asked_for_at_any_time() {
    let (end, inbox) = (End::default(), Inbox::new());
    let mut board = WiredBoard::new(parts(&end), &inbox);
    assert_eq!(board.apply(&asked(&[Actuator::Xv1])), Ok(()));
    board.make_safe();
    assert_eq!(end.0.borrow().on(), Some(Actuators::SAFE));
    assert_eq!(board.apply(&asked(&[Actuator::Xv1])), Ok(()), "no fault, so the next scan goes on");
    board.parts_mut().indicators.show(Lamp::Yellow, false);
    assert_eq!(board.parts().contacts.0.borrow().lamp, Lamp::Yellow);
}

/// A serial port that always has room, with bytes to read.
#[derive(Clone, Debug, Default)]
struct Port {
    incoming: VecDeque<u8>,
    sent: Vec<u8>,
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
        let count = buf.len().min(self.incoming.len());
        buf.iter_mut().zip(self.incoming.drain(..count)).for_each(|(to, from)| *to = from);
        Ok(count)
    }
}
impl WriteReady for Port {
    fn write_ready(&mut self) -> Result<bool, ErrorKind> {
        Ok(true)
    }
}
impl Write for Port {
    fn write(&mut self, buf: &[u8]) -> Result<usize, ErrorKind> {
        self.sent.extend_from_slice(buf);
        Ok(buf.len())
    }
    fn flush(&mut self) -> Result<(), ErrorKind> {
        Ok(())
    }
}

struct Fed(u32);

impl Watchdog for Fed {
    fn feed(&mut self) {
        self.0 += 1;
    }
}

/// Tells of the machine what stands in the frames of a story.
struct Retold(VecDeque<Machine>);

impl Monitor for Retold {
    fn machine(&mut self) -> Machine {
        self.0.pop_front().unwrap_or_default()
    }
}

/// How many inputs are on the SPI; the others are on I2C.
const ON_SPI: usize = 9;
/// Scans of the test below.
const SCANS: u32 = 12;

/// What goes over the wires in the scans of the test below: the frames, and what a station makes of them.
fn story() -> (Vec<RawFrame>, Vec<Outputs>) {
    let (mut twin, mut frames, mut outputs) = (station(), Vec::new(), Vec::new());
    for scan in 1..=SCANS {
        let mut frame = RawFrame::default();
        calm(&mut frame, Actuators::SAFE, scan * 50);
        // The bridges number their conversions themselves, from one on.
        frame.scales = frame.scales.map(|sample| ScaleSample { sequence: scan as u8, ..sample });
        if scan == 3 {
            frame.identifier = SerialChunk::from_slice(b"noise").unwrap();
        }
        if scan == 6 {
            frame.command = Some(Command::Reset);
        }
        if scan > 8 {
            frame.switches.0 &= !Switches::ZS1_DOOR_SHUT;
        }
        outputs.push(twin.tick(Instant(scan * 50), &frame));
        frames.push(frame);
    }
    (frames, outputs)
}

fn driven(active: bool) -> Pin {
    Pin::set(if active { State::High } else { State::Low })
}

/// Mocks of every line of the board, expecting exactly that story.
struct Lines {
    spi: SpiMock<u8>,
    i2c: I2cMock,
    contacts: [PinMock; CONTACT_COUNT],
    bridges: [(SpiMock<u8>, PinMock); SCALE_COUNT],
    actuators: [PinMock; ACTUATOR_COUNT],
    indicators: [PinMock; INDICATOR_COUNT],
    relays: [PinMock; FEED_COUNT],
}

impl Lines {
    fn expecting(frames: &[RawFrame], outputs: &[Outputs]) -> Self {
        let spi: Vec<_> = frames
            .iter()
            .flat_map(|frame| frame.analog.iter().take(ON_SPI).enumerate())
            .flat_map(|(at, counts)| {
                let answer = [[0xFF].as_slice(), &counts.to_be_bytes()].concat();
                [Spi::transaction_start(), Spi::transfer_in_place(vec![at as u8, 0, 0], answer), Spi::transaction_end()]
            })
            .collect();
        let i2c: Vec<_> = frames
            .iter()
            .flat_map(|frame| frame.analog.iter().skip(ON_SPI).zip(0x20u8..))
            .map(|(counts, register)| I2c::write_read(0x48, vec![register], counts.to_be_bytes().to_vec()))
            .collect();
        // Four samples before the first scan and one in each: closed contacts read low.
        let contacts = std::array::from_fn(|bit| {
            let levels = frames.iter().map(|frame| frame.switches.closed(1 << bit));
            let samples = [true; 4].into_iter().chain(levels);
            let pins = samples.map(|closed| Pin::get(if closed { State::Low } else { State::High }));
            PinMock::new(&pins.collect::<Vec<_>>())
        });
        let bridges = std::array::from_fn(|at| {
            let reads: Vec<_> = frames
                .iter()
                .flat_map(|frame| {
                    let bytes = frame.scales[at].code.to_be_bytes()[1..].to_vec();
                    [Spi::transaction_start(), Spi::read_vec(bytes), Spi::transaction_end()]
                })
                .collect();
            (SpiMock::new(&reads), PinMock::new(&vec![Pin::get(State::Low); frames.len()]))
        });
        let actuators = Actuator::ALL.map(|one| {
            let sets = [Actuators::SAFE].into_iter().chain(outputs.iter().map(|out| out.on));
            PinMock::new(&sets.map(|on| driven(on.has(one))).collect::<Vec<_>>())
        });
        let lamps = [Lamp::White, Lamp::Green, Lamp::Blue, Lamp::Yellow, Lamp::Red];
        let indicators = std::array::from_fn(|at| {
            let lit = outputs.iter().map(|out| lamps.get(at).map_or(out.buzzer, |lamp| out.lamp == *lamp));
            PinMock::new(&lit.map(driven).collect::<Vec<_>>())
        });
        let relays = Feed::ALL.map(|feed| {
            let sets = [Feeds::ALL].into_iter().chain(outputs.iter().map(|out| out.dropped));
            PinMock::new(&sets.map(|dropped| driven(!dropped.has(feed))).collect::<Vec<_>>())
        });
        Self { spi: SpiMock::new(&spi), i2c: I2cMock::new(&i2c), contacts, bridges, actuators, indicators, relays }
    }

    fn done(&mut self) {
        self.spi.done();
        self.i2c.done();
        let bridges = self.bridges.iter_mut().map(|(spi, pin)| {
            spi.done();
            pin
        });
        let pins =
            self.contacts.iter_mut().chain(&mut self.actuators).chain(&mut self.indicators).chain(&mut self.relays);
        pins.chain(bridges).for_each(PinMock::done);
    }
}

#[test]
fn a_board_of_pins_and_converters_does_what_the_bare_station_does() {
    let (frames, outputs) = story();
    assert!(
        outputs.iter().any(|out| out.buzzer) && outputs.iter().any(|out| out.lamp != Lamp::White),
        "a story with turns"
    );
    let mut lines = Lines::expecting(&frames, &outputs);
    let inbox = Inbox::new();
    let spi_layout = SpiLayout {
        first: Analog::Pt1,
        requests: std::array::from_fn::<_, ON_SPI, _>(|at| [at as u8, 0, 0]),
        delayed: false,
        code: Code::COUNTS,
    };
    let i2c_layout =
        I2cLayout { first: Analog::At2, address: 0x48, registers: [0x20, 0x21, 0x22, 0x23, 0x24], code: Code::COUNTS };
    let bridges = lines.bridges.clone().map(|(spi, pin)| BridgeAdc::new(spi, pin, Polarity::ActiveLow));
    let parts = Parts {
        loops: Pair {
            low: SpiLoops::new(lines.spi.clone(), spi_layout),
            split: Analog::At2,
            high: I2cLoops::new(lines.i2c.clone(), i2c_layout),
        },
        contacts: ContactPins::new(lines.contacts.clone(), [Polarity::ActiveLow; CONTACT_COUNT]),
        scales: bridges,
        identifier: SerialLine::new(Port::default()),
        actuators: ActuatorPins::new(
            lines.actuators.clone(),
            [Polarity::ActiveHigh; ACTUATOR_COUNT],
            lines.relays.clone().map(|pin| (pin, Polarity::ActiveHigh)),
        ),
        indicators: IndicatorPins::new(lines.indicators.clone(), [Polarity::ActiveHigh; INDICATOR_COUNT]),
        watchdog: Fed(0),
        monitor: Retold(frames.iter().map(|frame| frame.machine).collect()),
    };
    let mut board = Board::new(parts, &inbox);
    let mut station = station();
    for _ in 0..4 {
        board.sample();
    }
    for ((now, frame), due) in (1..).map(|scan| scan * 50).zip(&frames).zip(&outputs) {
        board.parts_mut().identifier.port_mut().incoming.extend(&frame.identifier);
        if let Some(command) = frame.command.clone() {
            assert!(inbox.post(Event::Command(command)));
        }
        assert_eq!(board.scan(&mut station, Instant(now)), *due, "at {now} ms");
    }
    assert_eq!(board.fault(), None);
    assert_eq!(board.parts().watchdog.0, SCANS);
    lines.done();
}
