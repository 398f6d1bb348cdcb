//! The assembled board: parts in, one scan out, so that a board crate is only wiring.
//!
//! Promises: the outputs are in the safe state from construction on; what is energised is never more than the station
//! asked for, but for the fan; a fault keeps the safe state until a restart; the watchdog is fed only after a whole scan.
//!
//! Not promised: anything once the processor is wrong. For that a real machine needs the hardware the porting guide lists.

pub use super::contract::{Actuate, BoardFault, Contacts, IdentifierLine, Indicate, Loops, PinFault, Scales};
pub use super::inbox::{Event, Inbox};
pub use super::selfcheck::{ClassB, Monitor, SelfMonitor, Sources};
pub use super::watchdog::{Flow, Stage, Watchdog};

use crate::frame::{Actuators, Analog, Feeds, Lamp, Outputs, RawFrame, Scale, Switches};
use crate::station::Station;
use crate::units::Instant;

/// What a board is made of.
#[derive(Clone, Debug)]
pub struct Parts<L, C, S, I, A, N, W, M> {
    /// 4-20 mA converters.
    pub loops: L,
    /// Switches.
    pub contacts: C,
    /// Scale bridges.
    pub scales: S,
    /// Line of the gas identifier.
    pub identifier: I,
    /// Valves and motors.
    pub actuators: A,
    /// Lamps and sounder.
    pub indicators: N,
    /// Independent watchdog.
    pub watchdog: W,
    /// What the board knows of itself.
    pub monitor: M,
}

/// The board of one station.
///
/// Before the first [`Board::scan`], call [`Board::sample`] until the contacts have settled: until then they read open, and
/// an emergency stop that reads open trips, as it must.
pub struct Board<'a, L, C, S, I, A, N, W, M> {
    parts: Parts<L, C, S, I, A, N, W, M>,
    inbox: &'a Inbox,
    flow: Flow,
    fault: Option<BoardFault>,
    /// An emergency stop is being told to the station, which needs two frames to believe it; nothing waits for that.
    stopping: bool,
}

impl<'a, L, C, S, I, A, N, W, M> Board<'a, L, C, S, I, A, N, W, M>
where
    L: Loops,
    C: Contacts,
    S: Scales,
    I: IdentifierLine,
    A: Actuate,
    N: Indicate,
    W: Watchdog,
    M: Monitor,
{
    /// Puts the parts together and the outputs into the safe state, before anything else is done. An output that fails
    /// even then is told by [`Board::fault`].
    pub fn new(parts: Parts<L, C, S, I, A, N, W, M>, inbox: &'a Inbox) -> Self {
        let mut board = Self { parts, inbox, flow: Flow::new(), fault: None, stopping: false };
        board.make_safe();
        board
    }

    /// Between scans, every 1-5 ms: looks at the contacts, and acts on an emergency stop or a failing supply without
    /// waiting for the scan.
    pub fn sample(&mut self) {
        self.heed();
        self.parts.contacts.sample();
    }

    /// One frame: events first, then converters, contacts, line, and at most one command. The contacts are looked at once
    /// here, so that they are fresh even on a board that never calls [`Board::sample`].
    pub fn read(&mut self) -> RawFrame {
        self.heed();
        let taken = self.inbox.take();
        let parts = &mut self.parts;
        parts.contacts.sample();
        let frame = RawFrame {
            analog: Analog::ALL.map(|input| parts.loops.counts(input)),
            scales: Scale::ALL.map(|which| parts.scales.convert(which)),
            switches: Switches(parts.contacts.levels().0 & !taken.opened.0),
            identifier: parts.identifier.receive(),
            machine: parts.monitor.machine(),
            command: taken.command,
        };
        self.flow.pass(Stage::Read);
        frame
    }

    /// Notes that the station judged the frame, at this tick. Only for a board that calls [`Board::read`] and
    /// [`Board::apply`] itself; [`Board::scan`] does it.
    pub fn judged(&mut self, now: Instant) {
        self.flow.pass(Stage::Judged(now));
    }

    /// Sets the outputs; with a fault, the safe state instead.
    ///
    /// # Errors
    /// The latched fault, new or old. What the station asked for is then not what is on.
    pub fn apply(&mut self, outputs: &Outputs) -> Result<(), BoardFault> {
        self.heed();
        if self.fault.is_some() {
            self.make_safe();
        } else {
            let on = if self.stopping { outputs.on.and(Actuators::SAFE) } else { outputs.on };
            if let Err(pin) = self.parts.actuators.set(on, outputs.dropped) {
                self.latch(BoardFault::Output(pin));
            }
        }
        self.stopping = self.inbox.stop_waits();
        if !outputs.identifier.is_empty() {
            // A line that takes nothing shows in the station as a report that never comes.
            let _told_by_silence = self.parts.identifier.send(&outputs.identifier);
        }
        match self.fault {
            None => self.parts.indicators.show(outputs.lamp, outputs.buzzer),
            Some(_) => self.parts.indicators.show(Lamp::Red, outputs.buzzer),
        }
        if !matches!(self.fault, Some(BoardFault::Output(_))) {
            self.flow.pass(Stage::Applied);
        }
        self.fault.map_or(Ok(()), Err)
    }

    /// Ends the scan: feeds the watchdog if every stage was passed and no fault says otherwise; whether it did.
    pub fn finish(&mut self) -> bool {
        if !self.flow.complete() {
            self.latch(BoardFault::Flow);
        }
        let fed = matches!(self.fault, None | Some(BoardFault::PowerFail));
        if fed {
            self.parts.watchdog.feed();
        }
        fed
    }

    /// One whole scan, once a scan time: read, judge, set, and feed the watchdog if all of that was done. Returns what the
    /// station asked for, which is what is on unless [`Board::fault`] says otherwise.
    pub fn scan(&mut self, station: &mut Station, now: Instant) -> Outputs {
        let frame = self.read();
        let outputs = station.tick(now, &frame);
        self.judged(now);
        // Latched in the board, where `fault` tells it.
        let _latched = self.apply(&outputs);
        self.finish();
        outputs
    }

    /// The safe state now, whatever was asked: all off but the fan, behind open relays. The next [`Board::apply`] sets what it is told.
    pub fn make_safe(&mut self) {
        if let Err(pin) = self.parts.actuators.set(Actuators::SAFE, Feeds::ALL) {
            self.note(BoardFault::Output(pin));
        }
    }

    /// Why the board keeps the safe state; latched until it is made anew. With [`BoardFault::Output`] and
    /// [`BoardFault::Flow`] the watchdog is no longer fed.
    pub const fn fault(&self) -> Option<BoardFault> {
        self.fault
    }

    /// The parts.
    pub const fn parts(&self) -> &Parts<L, C, S, I, A, N, W, M> {
        &self.parts
    }

    /// The parts, to calibrate or to test them. What is set here is set without the station.
    pub const fn parts_mut(&mut self) -> &mut Parts<L, C, S, I, A, N, W, M> {
        &mut self.parts
    }

    /// What can't wait for the next scan.
    fn heed(&mut self) {
        if self.fault.is_none() && self.inbox.power_failed() {
            self.latch(BoardFault::PowerFail);
        }
        if !self.stopping && self.inbox.stop_waits() {
            self.stopping = true;
            self.make_safe();
        }
    }

    fn latch(&mut self, fault: BoardFault) {
        self.note(fault);
        self.make_safe();
    }

    /// The first of the gravest kind stays: an output in an unknown state outweighs a lost way, which outweighs the supply.
    fn note(&mut self, fault: BoardFault) {
        let weight = |fault: Option<BoardFault>| match fault {
            None => 0,
            Some(BoardFault::PowerFail) => 1,
            Some(BoardFault::Flow) => 2,
            Some(BoardFault::Output(_)) => 3,
        };
        if weight(Some(fault)) > weight(self.fault) {
            self.fault = Some(fault);
        }
    }
}
