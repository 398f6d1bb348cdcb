//! Any controller from outside, as a program or on a serial port: taken at its word, not compared with anything.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::talk::Notice;
use valvewright_core::units::{Instant, Millis};

use super::far::FarEnd;
use super::spec::{BoardError, Port};
use super::talk::Talk;
use crate::controller::{Controller, Loss, Scan, Trouble, Who};

/// A controller from outside.
///
/// It has to answer every question in time and in order, and to send nothing else. Whatever is wrong with it ends it: the
/// station goes into the safe state, as its hardware would do, and stays there.
#[derive(Debug)]
pub struct Outside {
    talk: Talk,
    who: Who,
    lost: Option<Loss>,
}

impl Outside {
    /// How long a program may take for an answer where nothing else is asked for, ms of the wall clock.
    pub const PATIENCE: Millis = Millis(1_000);

    /// A program, started by `command`: its name and arguments, split as a shell would, without a shell.
    ///
    /// # Errors
    /// It cannot be started.
    pub fn program(command: &str, patience: Millis) -> Result<Self, BoardError> {
        Ok(Self::at(FarEnd::program(command)?, command, patience))
    }

    /// Whatever answers on a serial port.
    ///
    /// # Errors
    /// It cannot be opened.
    pub fn port(port: &Port, patience: Millis) -> Result<Self, BoardError> {
        Ok(Self::at(FarEnd::port(port)?, &port.path, patience))
    }

    fn at(far: FarEnd, name: &str, patience: Millis) -> Self {
        let who = Who { name: name.to_owned(), joined: far.joined() };
        Self { talk: Talk::new(far, patience), who, lost: None }
    }

    fn lose(&mut self, why: String, on: Actuators) -> Scan {
        let loss = Loss { why, on };
        self.lost = Some(loss.clone());
        Scan::Lost(loss)
    }
}

impl Controller for Outside {
    fn who(&self) -> Who {
        self.who.clone()
    }

    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble> {
        self.lost = None;
        let name = self.talk.set_up(config, start)?;
        if !name.trim().is_empty() {
            self.who.name = name.trim().to_owned();
        }
        Ok(())
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if let Some(loss) = &self.lost {
            return Ok(Scan::Lost(loss.clone()));
        }
        Ok(match self.talk.scan(now, frame) {
            Ok(Ok(answer)) => {
                notices.extend(answer.notices);
                Scan::Done(answer.outputs)
            }
            Ok(Err((why, on))) => self.lose(why.to_string(), on),
            Err(why) => self.lose(why.to_string(), Actuators::SAFE),
        })
    }
}
