//! A board whose inputs and outputs are at the far end of a line: set up, scanned and watched over it.
//!
//! The board trusts the line only as far as it can check it. A packet that is lost, late, broken or out of order, a silence, a
//! closed line: each puts the outputs into the safe state, and they stay there until the board is set up anew. What was known
//! of the plant is then old, and an old reading must not hold a valve open.

use crate::frame::{Actuators, Outputs, RawFrame};
use crate::port::digest::Digest;
use crate::port::link::{Answer, Down, FORMAT, LinkFault, NAME, PACKET, Receiver, Setup, Took, Up, encode};
use crate::station::Station;
use crate::units::{Instant, Millis};

/// What a board must be able to do for the far end.
pub trait Wires {
    /// Makes the board anew, as after power-on: nothing is on but the fan.
    fn begin(&mut self);
    /// Puts a frame on the inputs, where the next scan finds it.
    fn load(&mut self, frame: &RawFrame);
    /// One scan of the board: read the inputs, tick the station, set the outputs. What was asked for, and what it took.
    fn scan(&mut self, station: &mut Station, now: Instant) -> (Outputs, Took);
    /// What is on, read back from the pins.
    fn pins(&self) -> Actuators;
    /// Puts the outputs into the safe state.
    fn make_safe(&mut self);
}

/// What the board's main loop has to do after a byte.
#[derive(Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Step<'a> {
    /// Nothing; go on.
    Nothing,
    /// Send these bytes.
    Send(&'a [u8]),
    /// Tell the whole state in packets of [`Up::Text`]; an image that cannot sends an empty one.
    Explain,
    /// The far end has finished.
    Leave,
}

/// The board's end of the line.
#[derive(Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Session {
    receiver: Receiver,
    station: Option<Station>,
    patience: Millis,
    due: u32,
    last: Option<Instant>,
    /// When the last packet came, whole or broken, by the board's own clock.
    heard: Instant,
    fault: Option<LinkFault>,
    answer: [u8; PACKET],
}

impl Default for Session {
    fn default() -> Self {
        Self::new()
    }
}

impl Session {
    /// Nobody has spoken yet.
    pub const fn new() -> Self {
        Self {
            receiver: Receiver::new(),
            station: None,
            patience: Millis(500),
            due: 0,
            last: None,
            heard: Instant(0),
            fault: None,
            answer: [0; PACKET],
        }
    }

    /// The station, once the board was set up.
    pub const fn station(&self) -> Option<&Station> {
        self.station.as_ref()
    }

    /// Why the board keeps the safe state, if it does.
    pub const fn fault(&self) -> Option<LinkFault> {
        self.fault
    }

    /// Takes in one byte of the line; `clock` is the board's own.
    pub fn take(&mut self, byte: u8, clock: Instant, wires: &mut impl Wires) -> Step<'_> {
        let Some(message) = self.receiver.feed(byte) else { return Step::Nothing };
        self.heard = clock;
        let reply = match message.and_then(|(sequence, message)| self.follow(sequence, message)) {
            Ok(Down::Setup(setup)) => {
                self.begin(setup, wires);
                Up::Ready { format: FORMAT, name: heapless::String::try_from(NAME).unwrap_or_default() }
            }
            Ok(Down::Scan { now, frame }) => match self.scan(now, &frame, wires) {
                Ok(answer) => Up::Scan(answer),
                Err(why) => return self.distrust(why, wires),
            },
            Ok(Down::Explain) => return Step::Explain,
            Ok(Down::Bye) => return Step::Leave,
            Err(why) => return self.distrust(why, wires),
        };
        self.say(&reply)
    }

    /// To be called from time to time while nothing comes: silence is a fault too.
    pub fn idle(&mut self, clock: Instant, wires: &mut impl Wires) -> Step<'_> {
        let silence = clock.since(self.heard);
        if self.station.is_none() || self.fault.is_some() || silence <= self.patience {
            return Step::Nothing;
        }
        self.distrust(LinkFault::Silent(silence), wires)
    }

    /// The line is gone.
    pub fn closed(&mut self, wires: &mut impl Wires) {
        let _nobody_hears_it = self.distrust(LinkFault::Closed, wires);
    }

    /// Whether this message may follow the last one.
    fn follow(&mut self, came: u32, message: Down) -> Result<Down, LinkFault> {
        match &message {
            Down::Bye => return Ok(message),
            Down::Setup(setup) if setup.format != FORMAT => {
                return Err(LinkFault::Format { due: FORMAT, came: setup.format });
            }
            Down::Setup(_) => self.due = came,
            _ => {}
        }
        if let Some(why) = self.fault
            && !matches!(message, Down::Setup(_))
        {
            return Err(why);
        }
        if came != self.due {
            return Err(LinkFault::Lost { due: self.due, came });
        }
        self.due = self.due.wrapping_add(1);
        Ok(message)
    }

    // Apart from the scan, so that the stack of one never holds the fresh station of the other.
    #[cold]
    #[inline(never)]
    fn begin(&mut self, setup: Setup, wires: &mut impl Wires) {
        wires.begin();
        self.patience = setup.patience;
        self.fault = None;
        self.last = None;
        self.station = Some(Station::wake(setup.config, &setup.start));
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, wires: &mut impl Wires) -> Result<Answer, LinkFault> {
        let station = self.station.as_mut().ok_or(LinkFault::NotSetUp)?;
        let step = self.last.map_or(Millis(0), |last| now.since(last));
        if step > self.patience {
            return Err(LinkFault::Late(step));
        }
        self.last = Some(now);
        wires.load(frame);
        let (outputs, took) = wires.scan(station, now);
        let outputs = Outputs { on: wires.pins(), ..outputs };
        let mut notices = heapless::Vec::new();
        while !notices.is_full()
            && let Some(notice) = station.take_notice()
        {
            let _fits = notices.push(notice);
        }
        Ok(Answer { outputs, notices, state: Digest::of(station), took })
    }

    fn distrust(&mut self, why: LinkFault, wires: &mut impl Wires) -> Step<'_> {
        let why = *self.fault.get_or_insert(why);
        wires.make_safe();
        self.say(&Up::Safe { why, on: wires.pins() })
    }

    /// Answers bear the number of the packet they answer.
    fn say(&mut self, reply: &Up) -> Step<'_> {
        encode(self.due.wrapping_sub(1), reply, &mut self.answer).map_or(Step::Nothing, |bytes| Step::Send(bytes))
    }
}
