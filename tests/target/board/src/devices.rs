//! What a real board has around its processor, as far as the firmware can see: converters, contacts, outputs, a serial
//! line, a watchdog, each behind the trait a driver for it would have. [`Bench`] holds the values behind them all.

use core::cell::Cell;
use core::convert::Infallible;

use embedded_hal::digital::{self, InputPin, OutputPin};
use embedded_hal::spi::{self, Operation, SpiDevice};
use embedded_io::{Read, ReadReady, Write, WriteReady};
use valvewright_core::frame::{
    ANALOG_COUNT, Actuators, Feed, Feeds, Machine, RawFrame, SCALE_COUNT, ScaleSample, SerialChunk,
};
use valvewright_core::port::board::{Monitor, Watchdog};

/// The values at the terminals.
#[derive(Default)]
pub struct Bench {
    analog: [Cell<u16>; ANALOG_COUNT],
    scales: [Cell<ScaleSample>; SCALE_COUNT],
    /// A conversion waits to be read.
    ready: [Cell<bool>; SCALE_COUNT],
    contacts: Cell<u16>,
    machine: Cell<Machine>,
    line: Cell<SerialChunk>,
    outputs: Cell<u16>,
    lamps: Cell<u16>,
    relays: Cell<u16>,
    fed: Cell<u32>,
}

impl Bench {
    /// Puts a frame on the terminals; the command in it is not a terminal's.
    pub fn load(&self, frame: &RawFrame) {
        for (cell, counts) in self.analog.iter().zip(frame.analog) {
            cell.set(counts);
        }
        for ((cell, ready), sample) in self.scales.iter().zip(&self.ready).zip(frame.scales) {
            if cell.replace(sample).sequence != sample.sequence {
                ready.set(true);
            }
        }
        self.contacts.set(frame.switches.0);
        self.machine.set(frame.machine);
        self.line.set(frame.identifier.clone());
    }

    /// Power comes to the converters: each has a conversion ready.
    pub fn power_on(&self) {
        for ready in &self.ready {
            ready.set(true);
        }
    }

    /// What the memory behind the converters is harmed to: a code that no converter of 24 bits makes comes to nobody through one.
    pub fn harm(&self, frame: &mut RawFrame) {
        for (sample, cell) in frame.scales.iter_mut().zip(&self.scales) {
            let code = cell.get().code;
            if code << 8 >> 8 != code {
                sample.code = code;
            }
        }
    }

    /// What is on at the terminals.
    pub fn on(&self) -> Actuators {
        Actuators(self.outputs.get())
    }

    /// What is cut off by an open relay: each closes on a high level.
    pub fn dropped(&self) -> Feeds {
        let relays = self.relays.get();
        Feed::ALL.into_iter().filter(|one| relays >> *one as u16 & 1 == 0).fold(Feeds::NONE, |all, one| all.with(one))
    }

    /// How often the watchdog was fed.
    pub fn fed(&self) -> u32 {
        self.fed.get()
    }

    /// Output terminal `number`.
    pub const fn output(&self, number: usize) -> Pin<'_> {
        Pin { levels: &self.outputs, mask: 1 << number }
    }

    /// Relay terminal `number`.
    pub const fn relay(&self, number: usize) -> Pin<'_> {
        Pin { levels: &self.relays, mask: 1 << number }
    }

    /// What the board tells of itself.
    pub const fn monitor(&self) -> Told<'_> {
        Told(&self.machine)
    }

    /// Indicator terminal `number`.
    pub const fn indicator(&self, number: usize) -> Pin<'_> {
        Pin { levels: &self.lamps, mask: 1 << number }
    }

    /// Contact `number`.
    pub const fn contact(&self, number: usize) -> Pin<'_> {
        Pin { levels: &self.contacts, mask: 1 << number }
    }

    /// The loop converter.
    pub const fn converter(&self) -> Converter<'_> {
        Converter(&self.analog)
    }

    /// Bridge converter `number` and its ready pin.
    pub const fn bridge(&self, number: usize) -> (Bridge<'_>, Ready<'_>) {
        let [a, b, c, d] = &self.scales;
        let [ra, rb, rc, rd] = &self.ready;
        let (sample, ready) = match number {
            0 => (a, ra),
            1 => (b, rb),
            2 => (c, rc),
            _ => (d, rd),
        };
        (Bridge { sample, ready }, Ready(ready))
    }

    /// The identifier's port.
    pub const fn port(&self) -> Port<'_> {
        Port(&self.line)
    }

    /// The watchdog.
    pub const fn watchdog(&self) -> Dog<'_> {
        Dog(&self.fed)
    }
}

/// What the board tells of itself: oscillator, clock, coils and checks as they were put on its terminals.
#[derive(Debug)]
pub struct Told<'a>(&'a Cell<Machine>);

impl Monitor for Told<'_> {
    fn machine(&mut self) -> Machine {
        self.0.get()
    }
}

/// One bit of a port.
#[derive(Debug)]
pub struct Pin<'a> {
    levels: &'a Cell<u16>,
    mask: u16,
}

impl digital::ErrorType for Pin<'_> {
    type Error = Infallible;
}

impl OutputPin for Pin<'_> {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.levels.set(self.levels.get() & !self.mask);
        Ok(())
    }
    fn set_high(&mut self) -> Result<(), Infallible> {
        self.levels.set(self.levels.get() | self.mask);
        Ok(())
    }
}

impl InputPin for Pin<'_> {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(self.levels.get() & self.mask != 0)
    }
    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(self.levels.get() & self.mask == 0)
    }
}

/// A 16-bit loop converter on SPI, 24 mA full scale: the first byte names the channel, the next two are its result.
#[derive(Debug)]
pub struct Converter<'a>(&'a [Cell<u16>; ANALOG_COUNT]);

impl spi::ErrorType for Converter<'_> {
    type Error = Infallible;
}

impl SpiDevice for Converter<'_> {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), Infallible> {
        for operation in operations {
            if let Operation::TransferInPlace([channel, high, low]) = operation {
                let counts = self.0.get(usize::from(*channel)).map_or(0, Cell::get);
                [*high, *low] = counts.to_be_bytes();
            }
        }
        Ok(())
    }
}

/// A 24-bit bridge converter on SPI: three bytes, and then it is no longer ready.
#[derive(Debug)]
pub struct Bridge<'a> {
    sample: &'a Cell<ScaleSample>,
    ready: &'a Cell<bool>,
}

impl spi::ErrorType for Bridge<'_> {
    type Error = Infallible;
}

impl SpiDevice for Bridge<'_> {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), Infallible> {
        for operation in operations {
            if let Operation::Read([high, middle, low]) = operation {
                [_, *high, *middle, *low] = self.sample.get().code.to_be_bytes();
                self.ready.set(false);
            }
        }
        Ok(())
    }
}

/// The ready pin of a bridge converter: low while a conversion waits.
#[derive(Debug)]
pub struct Ready<'a>(&'a Cell<bool>);

impl digital::ErrorType for Ready<'_> {
    type Error = Infallible;
}

impl InputPin for Ready<'_> {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(!self.0.get())
    }
    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(self.0.get())
    }
}

/// The identifier's serial port. What is sent goes nowhere: the station says it in its outputs too.
pub struct Port<'a>(&'a Cell<SerialChunk>);

impl embedded_io::ErrorType for Port<'_> {
    type Error = Infallible;
}

impl Read for Port<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize, Infallible> {
        let bytes = self.0.take();
        let count = bytes.len().min(buffer.len());
        for (to, from) in buffer.iter_mut().zip(&bytes) {
            *to = *from;
        }
        self.0.set(bytes.get(count..).and_then(|rest| SerialChunk::from_slice(rest).ok()).unwrap_or_default());
        Ok(count)
    }
}

impl ReadReady for Port<'_> {
    fn read_ready(&mut self) -> Result<bool, Infallible> {
        let bytes = self.0.take();
        let ready = !bytes.is_empty();
        self.0.set(bytes);
        Ok(ready)
    }
}

impl Write for Port<'_> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize, Infallible> {
        Ok(bytes.len())
    }
    fn flush(&mut self) -> Result<(), Infallible> {
        Ok(())
    }
}

impl WriteReady for Port<'_> {
    fn write_ready(&mut self) -> Result<bool, Infallible> {
        Ok(true)
    }
}

/// A watchdog that counts.
#[derive(Debug)]
pub struct Dog<'a>(&'a Cell<u32>);

impl Watchdog for Dog<'_> {
    fn feed(&mut self) {
        self.0.set(self.0.get().wrapping_add(1));
    }
}
