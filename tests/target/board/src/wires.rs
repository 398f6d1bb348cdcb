//! The wiring of this board: which device is which part, and what the far end of a line may do with them.

use valvewright_core::frame::{ACTUATOR_COUNT, ANALOG_COUNT, Actuators, Analog, Outputs, RawFrame, SCALE_COUNT};
use valvewright_core::port::board::{Board, Event, Inbox, Parts};
use valvewright_core::port::bridge::BridgeAdc;
use valvewright_core::port::link::Took;
use valvewright_core::port::loops::{Code, SpiLayout, SpiLoops};
use valvewright_core::port::pins::{ActuatorPins, CLOSE_SAMPLES, ContactPins, IndicatorPins, Polarity};
use valvewright_core::port::remote::Wires;
use valvewright_core::port::serial::SerialLine;
use valvewright_core::station::Station;
use valvewright_core::units::Instant;

use crate::clock;
use crate::devices::{Bench, Bridge, Converter, Dog, Pin, Port, Ready, Told};

/// The board's type: every part named.
pub type EmulatedBoard<'a> = Board<
    'a,
    SpiLoops<Converter<'a>, 3, ANALOG_COUNT>,
    ContactPins<Pin<'a>>,
    [BridgeAdc<Bridge<'a>, Ready<'a>>; SCALE_COUNT],
    SerialLine<Port<'a>>,
    ActuatorPins<Pin<'a>>,
    IndicatorPins<Pin<'a>>,
    Dog<'a>,
    Told<'a>,
>;

/// Puts the board together.
pub fn board<'a>(bench: &'a Bench, inbox: &'a Inbox) -> EmulatedBoard<'a> {
    const HIGH: Polarity = Polarity::ActiveHigh;
    let layout = SpiLayout {
        first: Analog::Pt1,
        requests: core::array::from_fn(|channel| [channel as u8, 0, 0]),
        delayed: false,
        code: Code::COUNTS,
    };
    let parts = Parts {
        loops: SpiLoops::new(bench.converter(), layout),
        contacts: ContactPins::new(core::array::from_fn(|at| bench.contact(at)), [HIGH; 9]),
        scales: core::array::from_fn(|at| {
            let (device, ready) = bench.bridge(at);
            BridgeAdc::new(device, ready, Polarity::ActiveLow)
        }),
        identifier: SerialLine::new(bench.port()),
        actuators: ActuatorPins::new(
            core::array::from_fn(|at| bench.output(at)),
            [HIGH; ACTUATOR_COUNT],
            core::array::from_fn(|at| (bench.relay(at), HIGH)),
        ),
        indicators: IndicatorPins::new(core::array::from_fn(|at| bench.indicator(at)), [HIGH; 6]),
        watchdog: bench.watchdog(),
        monitor: bench.monitor(),
    };
    Board::new(parts, inbox)
}

/// The board with its bench, for the far end of a line.
pub struct Wired<'a> {
    bench: &'a Bench,
    inbox: &'a Inbox,
    board: EmulatedBoard<'a>,
}

impl<'a> Wired<'a> {
    /// Puts it together.
    pub fn new(bench: &'a Bench, inbox: &'a Inbox) -> Self {
        Self { bench, inbox, board: board(bench, inbox) }
    }
}

impl Wires for Wired<'_> {
    fn begin(&mut self) {
        self.bench.power_on();
        self.board = board(self.bench, self.inbox);
    }

    fn load(&mut self, frame: &RawFrame) {
        self.bench.load(frame);
        if let Some(command) = &frame.command {
            // The queue is empty: each scan takes what the one before was given.
            let _taken = self.inbox.post(Event::Command(command.clone()));
        }
        // As many looks as a closing contact needs; the scan itself takes one more.
        for _ in 1..CLOSE_SAMPLES {
            self.board.sample();
        }
    }

    fn scan(&mut self, station: &mut Station, now: Instant) -> (Outputs, Took) {
        let begun = clock::ticks();
        let mut frame = self.board.read();
        let read = clock::ticks();
        self.bench.harm(&mut frame);
        let before = clock::ticks();
        let outputs = station.tick(now, &frame);
        let after = clock::ticks();
        self.board.judged(now);
        // A fault shows at the pins, which are read back.
        let _shown = self.board.apply(&outputs);
        self.board.finish();
        let took = Took { tick: clock::between(before, after), whole: clock::between(begun, read).wrapping_add(clock::between(before, clock::ticks())) };
        (outputs, took)
    }

    fn pins(&self) -> Actuators {
        self.bench.on()
    }

    fn make_safe(&mut self) {
        self.board.make_safe();
    }
}
