//! Controllers outside this process, all joined by the packets of `valvewright_core::port::link`.
//!
//! [`Board`] is an emulated microcontroller with a firmware, and can disturb its line on purpose; [`SerialBoard`] is a board at
//! a real port. Either runs the core, and [`Compared`] holds it against the core on the host while it drives the plant;
//! [`replay`] does so with recorded frames. [`Outside`] is any other controller: a program, or whatever answers on a port.

pub mod bridges;
pub mod compare;
mod compared;
pub mod disturb;
mod emulator;
mod far;
pub mod fault;
pub mod noise;
mod outside;
mod own;
mod remote;
pub mod replay;
mod serial;
pub mod spec;
mod talk;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::link::{Down, FORMAT, LinkFault, PACKET, Setup, Up, encode};
use valvewright_core::units::{Instant, Millis};

pub use compared::Compared;
use disturb::{Disturbance, Kind};
use emulator::Emulator;
pub use fault::{Fault, fault_words};
pub use outside::Outside;
pub use remote::{Remote, Reply};
pub use serial::SerialBoard;
pub use spec::{BoardError, BoardSpec, Joined, Line, Parting, Port};

/// A board that runs.
#[derive(Debug)]
pub struct Board {
    spec: BoardSpec,
    emulator: Emulator,
    sequence: u32,
    disturbance: Option<Disturbance>,
    /// What the board had on at its last answer, and when.
    last: (Actuators, Instant),
}

impl Board {
    /// Starts the emulator; `disturbance` spoils the line when its time comes.
    pub fn start(spec: &BoardSpec, disturbance: Option<Disturbance>) -> Result<Self, BoardError> {
        if !spec.firmware.is_file() {
            return Err(BoardError::NoFirmware(spec.firmware.clone()));
        }
        let emulator = Emulator::start(spec)?;
        let last = (Actuators::SAFE, Instant(0));
        Ok(Self { spec: spec.clone(), emulator, sequence: 0, disturbance, last })
    }

    fn packet<'a>(&mut self, message: &Down, buffer: &'a mut [u8; PACKET]) -> Result<&'a mut [u8], BoardError> {
        let packet = encode(self.sequence, message, buffer);
        self.sequence = self.sequence.wrapping_add(1);
        packet.ok_or_else(|| BoardError::Garbled("no packet, because ours is too long".to_owned()))
    }

    fn send(&mut self, message: &Down) -> Result<(), BoardError> {
        let mut buffer = [0; PACKET];
        let packet = self.packet(message, &mut buffer)?;
        self.emulator.send(packet)
    }

    /// Tells the board what station it is.
    pub fn set_up(&mut self, config: &StationConfig, start: &Start) -> Result<(), BoardError> {
        self.send(&setup(config, start, self.spec.patience))?;
        self.is_ready()
    }

    /// Hears the answer to a setup.
    fn is_ready(&mut self) -> Result<(), BoardError> {
        match self.emulator.receive()?.1 {
            Up::Ready { format: FORMAT, .. } => Ok(()),
            Up::Ready { format, .. } => Err(BoardError::Line(Fault::OtherFormat(format))),
            Up::Safe { why: why @ LinkFault::Format { .. }, .. } => Err(BoardError::Line(Fault::Distrusts(why))),
            other => Err(unexpected(&other)),
        }
    }

    /// One scan on the board.
    pub fn scan(&mut self, now: Instant, frame: &RawFrame) -> Result<Reply, BoardError> {
        if let Some(disturbance) = self.disturbance
            && now.0 >= disturbance.at.0
        {
            if disturbance.kind == Kind::Late && now.since(self.last.1) <= self.spec.patience {
                return Ok(Reply::Held(self.last.0));
            }
            self.disturbance = None;
            return self.disturb(disturbance.kind, now, frame);
        }
        self.send(&Down::Scan { now, frame: frame.clone() })?;
        self.reply(now)
    }

    fn reply(&mut self, now: Instant) -> Result<Reply, BoardError> {
        match self.emulator.receive()?.1 {
            Up::Scan(answer) => {
                self.last = (answer.outputs.on, now);
                Ok(Reply::Answer(Box::new(answer)))
            }
            Up::Safe { why, on } => Ok(Reply::Safe(why, on)),
            other => Err(unexpected(&other)),
        }
    }

    fn disturb(&mut self, kind: Kind, now: Instant, frame: &RawFrame) -> Result<Reply, BoardError> {
        let message = Down::Scan { now, frame: frame.clone() };
        match kind {
            Kind::Lost => self.sequence = self.sequence.wrapping_add(1),
            Kind::Repeated => self.sequence = self.sequence.wrapping_sub(1),
            Kind::Late => {}
            Kind::Broken => {
                let mut buffer = [0; PACKET];
                let packet = self.packet(&message, &mut buffer)?;
                if let Some(byte) = packet.get_mut(9) {
                    // A zero would end the packet here.
                    *byte = if *byte == 1 { 2 } else { *byte ^ 1 };
                }
                self.emulator.send(packet)?;
                return self.reply(now);
            }
            // Nothing is sent; the board's own clock must tell it.
            Kind::Silent => return self.reply(now),
            Kind::Unplugged => {
                self.emulator.unplug();
                if self.spec.line == Line::Uart {
                    return self.reply(now);
                }
                let parting = self.emulator.leave();
                return match parting.number("closed, outputs") {
                    Some(on) => Ok(Reply::Safe(LinkFault::Closed, Actuators(on as u16))),
                    None => Err(BoardError::Gone(parting.code, parting.said)),
                };
            }
        }
        self.send(&message)?;
        self.reply(now)
    }

    /// The board's whole state as text, where its image can tell it; empty where it cannot.
    pub fn explain(&mut self) -> Result<String, BoardError> {
        self.send(&Down::Explain)?;
        let mut text = String::new();
        loop {
            match self.emulator.receive()?.1 {
                Up::Text(piece) if piece.is_empty() => return Ok(text),
                Up::Text(piece) => text.push_str(&piece),
                other => return Err(unexpected(&other)),
            }
        }
    }

    /// Says goodbye and hears the board's last words.
    pub fn part(mut self) -> Parting {
        // A board that is gone already hears nothing, and says why below.
        let _gone = self.send(&Down::Bye);
        self.emulator.leave()
    }
}

fn setup(config: &StationConfig, start: &Start, patience: Millis) -> Down {
    Down::Setup(Setup { format: FORMAT, config: config.clone(), start: start.clone(), patience })
}

fn unexpected(up: &Up) -> BoardError {
    BoardError::Garbled(match up {
        Up::Ready { .. } => "`ready` at the wrong time".to_owned(),
        Up::Scan(_) => "an answer to a scan at the wrong time".to_owned(),
        Up::Text(_) => "text at the wrong time".to_owned(),
        Up::Safe { why, .. } => format!("that it went into the safe state ({})", fault_words(*why)),
    })
}

impl Remote for Board {
    fn name(&self) -> &'static str {
        self.spec.line.name()
    }
    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), BoardError> {
        self.set_up(config, start)
    }
    fn bear(&mut self, apart: Millis) {
        self.spec.patience = Millis(self.spec.patience.0.max(apart.0));
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame) -> Result<Reply, BoardError> {
        Self::scan(self, now, frame)
    }
}
