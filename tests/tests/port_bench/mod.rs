//! A board whose every wire can be seen and set by a test, and drivers that fail when told to.

use std::cell::RefCell;
use std::rc::Rc;

use embedded_hal::digital::{self, InputPin, OutputPin};
use embedded_hal::spi::{self, SpiDevice};
use valvewright_core::frame::{
    Actuator, Actuators, Analog, Feeds, Lamp, Machine, RawFrame, Scale, ScaleSample, SerialChunk, Switches,
};
use valvewright_core::port::board::*;

/// Everything outside the processor.
#[derive(Clone, Debug, Default)]
pub struct Wires {
    pub frame: RawFrame,
    /// What was set, oldest first.
    pub set: Vec<Actuators>,
    /// Relays that were held open.
    pub dropped: Feeds,
    /// An output that does not follow from now on.
    pub stuck: Option<Actuator>,
    pub lamp: Lamp,
    pub buzzer: bool,
    pub sent: Vec<u8>,
    pub fed: u32,
    pub samples: u32,
}

impl Wires {
    /// What is energised.
    pub fn on(&self) -> Option<Actuators> {
        self.set.last().copied()
    }
}

/// One end of the wires, able to play any part.
#[derive(Clone, Default)]
pub struct End(pub Rc<RefCell<Wires>>);

impl Loops for End {
    fn counts(&mut self, input: Analog) -> u16 {
        self.0.borrow().frame.analog[input as usize]
    }
}
impl Contacts for End {
    fn sample(&mut self) {
        self.0.borrow_mut().samples += 1;
    }
    fn levels(&self) -> Switches {
        self.0.borrow().frame.switches
    }
}
impl Scales for End {
    fn convert(&mut self, which: Scale) -> ScaleSample {
        self.0.borrow().frame.scales[which as usize]
    }
}
impl IdentifierLine for End {
    fn receive(&mut self) -> SerialChunk {
        std::mem::take(&mut self.0.borrow_mut().frame.identifier)
    }
    fn send(&mut self, bytes: &[u8]) -> bool {
        self.0.borrow_mut().sent.extend_from_slice(bytes);
        true
    }
}
impl Actuate for End {
    fn set(&mut self, on: Actuators, dropped: Feeds) -> Result<(), PinFault> {
        let mut wires = self.0.borrow_mut();
        wires.set.push(on);
        wires.dropped = dropped;
        match wires.stuck {
            Some(one) if on.has(one) => Err(PinFault::On(one)),
            Some(one) => Err(PinFault::Off(one)),
            None => Ok(()),
        }
    }
}
impl Indicate for End {
    fn show(&mut self, lamp: Lamp, buzzer: bool) {
        let mut wires = self.0.borrow_mut();
        (wires.lamp, wires.buzzer) = (lamp, buzzer);
    }
}
impl Monitor for End {
    fn machine(&mut self) -> Machine {
        let mut wires = self.0.borrow_mut();
        wires.frame.machine.sequence = wires.frame.machine.sequence.wrapping_add(1);
        wires.frame.machine
    }
}
impl Watchdog for End {
    fn feed(&mut self) {
        self.0.borrow_mut().fed += 1;
    }
}

pub type WiredBoard<'a> = Board<'a, End, End, End, End, End, End, End, End>;

/// Parts that all end in the same wires.
pub fn parts(end: &End) -> Parts<End, End, End, End, End, End, End, End> {
    Parts {
        loops: end.clone(),
        contacts: end.clone(),
        scales: end.clone(),
        identifier: end.clone(),
        actuators: end.clone(),
        indicators: end.clone(),
        watchdog: end.clone(),
        monitor: end.clone(),
    }
}

/// A driver whose every call fails, and how often it was called: the mocks of the SPI and of the pins can't all do that.
#[derive(Clone, Copy, Debug, Default)]
pub struct Dead {
    pub calls: u32,
}

#[derive(Clone, Copy, Debug)]
pub struct Gone;

impl digital::Error for Gone {
    fn kind(&self) -> digital::ErrorKind {
        digital::ErrorKind::Other
    }
}
impl spi::Error for Gone {
    fn kind(&self) -> spi::ErrorKind {
        spi::ErrorKind::ModeFault
    }
}
impl digital::ErrorType for Dead {
    type Error = Gone;
}
impl InputPin for Dead {
    fn is_high(&mut self) -> Result<bool, Gone> {
        self.calls += 1;
        Err(Gone)
    }
    fn is_low(&mut self) -> Result<bool, Gone> {
        self.is_high()
    }
}
impl OutputPin for Dead {
    fn set_high(&mut self) -> Result<(), Gone> {
        self.calls += 1;
        Err(Gone)
    }
    fn set_low(&mut self) -> Result<(), Gone> {
        self.set_high()
    }
}
impl spi::ErrorType for Dead {
    type Error = Gone;
}
impl SpiDevice for Dead {
    fn transaction(&mut self, _operations: &mut [spi::Operation<'_, u8>]) -> Result<(), Gone> {
        self.calls += 1;
        Err(Gone)
    }
}

/// A converter that gives one sample and is gone then.
#[derive(Clone, Copy, Debug)]
pub struct Dying {
    pub sample: [u8; 3],
    pub calls: u32,
}

impl spi::ErrorType for Dying {
    type Error = Gone;
}
impl SpiDevice for Dying {
    fn transaction(&mut self, operations: &mut [spi::Operation<'_, u8>]) -> Result<(), Gone> {
        self.calls += 1;
        if self.calls > 1 {
            return Err(Gone);
        }
        for operation in operations {
            if let spi::Operation::Read(bytes) = operation {
                bytes.copy_from_slice(&self.sample[..bytes.len()]);
            }
        }
        Ok(())
    }
}

/// Puts a healthy, coupled station onto the wires: hoses at 60 kPa, a tenth of a bar above the vacuum gauge's range, and air
/// flowing where the fan has run for three seconds.
pub fn calm(frame: &mut RawFrame, on: Actuators, now: u32) {
    let loop_counts = |share: f64| ((4.0 + 16.0 * share) / 24.0 * 65_535.0).round() as u16;
    let (hose, warm) = (loop_counts(0.6 / 35.0), loop_counts(61.0 / 200.0));
    frame.analog = [
        loop_counts(6.1 / 35.0),
        hose,
        hose,
        loop_counts(1.02),
        hose,
        warm,
        warm,
        warm,
        warm,
        loop_counts(0.0),
        loop_counts(0.0),
        loop_counts(if on.has(Actuator::K1) { 2_800.0 / 6_000.0 } else { 0.0 }),
        loop_counts(0.6),
        loop_counts(0.6),
    ];
    // A live loop rustles: one count once a second.
    if (now / 50).is_multiple_of(20) {
        frame.analog.iter_mut().for_each(|counts| *counts += 1);
    }
    // 6 kg in the vessel, an empty and a half full bottle, in the reference calibration.
    let sequence = (now / 50) as u8;
    frame.scales = [1_300_000, 1_300_000, 100_000, 600_000].map(|code| ScaleSample { code, sequence });
    frame.machine = Machine { sequence, beat: now as u16, clock: 0, coils: on, ..Machine::default() };
    frame.switches = Switches(Switches::ALL);
    if !on.has(Actuator::K1) {
        frame.switches.0 &= !Switches::FSL1_FLOW;
    }
}
