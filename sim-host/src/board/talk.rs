//! Questions and answers over a line: each question has its number, each answer is due in time, and nothing else may come.

use std::time::{Duration, Instant};

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::link::{Answer, Down, FORMAT, LinkFault, PACKET, Receiver, Setup, Up, encode};
use valvewright_core::units::{Instant as Tick, Millis};

use super::far::FarEnd;
use super::fault::Fault;
use super::spec::BoardError;

/// How long a far end may take to answer a setup.
pub const READY: Duration = Duration::from_secs(10);
/// A board that starts when its port is opened hears nothing at first: it is told again this often.
const AGAIN: Duration = Duration::from_secs(2);
/// Bytes without the end of a packet that are waited for; an answer has no more than [`PACKET`].
const ENDLESS: usize = 4_096;
/// So many times the patience is waited for an answer, to tell a late one from none.
const SILENT: u32 = 4;
/// Letters that make a text of what is no packet, at least and at most.
const TEXT: std::ops::RangeInclusive<usize> = 4..=40;

/// One end of a line: who is at the other, and what was asked.
#[derive(Debug)]
pub struct Talk {
    far: FarEnd,
    receiver: Receiver,
    /// What came and was not looked at yet, and up to where it was.
    fresh: Vec<u8>,
    seen: usize,
    /// How the packet that comes in begins.
    head: Vec<u8>,
    /// Bytes of the packet that comes in.
    bytes: usize,
    sequence: u32,
    patience: Duration,
    /// Scans may lie so far apart, where that is more.
    apart: Millis,
}

/// What came: a number and a message, or what is wrong with it.
type Came = Result<(u32, Up), Fault>;

impl Talk {
    /// With this far end, which may take so long for an answer.
    pub fn new(far: FarEnd, patience: Millis) -> Self {
        Self {
            far,
            receiver: Receiver::new(),
            fresh: Vec::new(),
            seen: 0,
            head: Vec::new(),
            bytes: 0,
            sequence: 0,
            patience: Duration::from_millis(patience.0.into()),
            apart: patience,
        }
    }

    /// From the next setup on the far end bears this between two scans, if that is more than its patience.
    pub fn bear(&mut self, apart: Millis) {
        self.apart = Millis(self.apart.0.max(apart.0));
    }

    /// The far end.
    pub const fn far(&self) -> &FarEnd {
        &self.far
    }

    /// Sends a message under the next number, and says which.
    fn send(&mut self, message: &Down) -> Result<u32, Fault> {
        let (number, mut buffer) = (self.sequence, [0; PACKET]);
        self.sequence = number.wrapping_add(1);
        let packet = encode(number, message, &mut buffer).ok_or(Fault::Unasked("a question too long for a packet"))?;
        self.far.send(packet)?;
        Ok(number)
    }

    /// Looks at what came and was not looked at yet.
    fn look(&mut self) -> Option<Came> {
        while let Some(&byte) = self.fresh.get(self.seen) {
            self.seen += 1;
            if byte != 0 {
                self.bytes += 1;
                if self.head.len() < *TEXT.end() {
                    self.head.push(byte);
                }
            }
            if let Some(came) = self.receiver.feed(byte) {
                let head = std::mem::take(&mut self.head);
                self.bytes = 0;
                return Some(came.map_err(|why| match why {
                    LinkFault::Format { came, .. } => Fault::OtherFormat(came),
                    _ => Fault::Garbage(text(&head)),
                }));
            }
        }
        None
    }

    /// The next packet, or `None` where none came until then.
    fn next(&mut self, until: Instant, limit: usize) -> Result<Option<Came>, Fault> {
        loop {
            if let Some(came) = self.look() {
                return Ok(Some(came));
            }
            if self.bytes > limit {
                return Err(Fault::Endless { bytes: self.bytes });
            }
            let Some(bytes) = self.far.wait(until)? else { return Ok(None) };
            (self.fresh, self.seen) = (bytes, 0);
        }
    }

    /// Nothing may wait when a question is asked, but ends of packets without a packet, and the word of a board that has given
    /// its line up in the meantime.
    fn quiet(&mut self) -> Result<(), Fault> {
        let mut all = self.fresh.len() - self.seen;
        loop {
            match self.look() {
                Some(Ok((_, Up::Safe { why, .. }))) => return Err(Fault::Distrusts(why)),
                Some(_) => return Err(Fault::Flood { bytes: all }),
                None if all > ENDLESS => return Err(Fault::Flood { bytes: all }),
                None => {}
            }
            let Some(bytes) = self.far.waiting()? else { break };
            all += bytes.len();
            (self.fresh, self.seen) = (bytes, 0);
        }
        if self.bytes > 0 { Err(Fault::Flood { bytes: self.bytes }) } else { Ok(()) }
    }

    /// Asks, and waits for the answer.
    ///
    /// # Errors
    /// There is none in time, or not the one to this question.
    fn ask(&mut self, message: &Down) -> Result<Up, Fault> {
        self.quiet()?;
        let question = self.send(message)?;
        let asked = Instant::now();
        let came = match self.next(asked + self.patience, ENDLESS)? {
            Some(came) => came,
            None => {
                let came = self.next(asked + self.patience * SILENT, ENDLESS)?;
                let (waited, patience) = (self.patience * SILENT, self.patience);
                return Err(match came {
                    Some(_) => Fault::Late { question, took: asked.elapsed(), patience },
                    None if self.bytes > 0 => Fault::Cut { question, bytes: self.bytes, waited },
                    None => Fault::Silent { question, waited },
                });
            }
        };
        let (number, up) = came?;
        // A far end that does not trust its line may have missed the question.
        if number != question && !matches!(up, Up::Safe { .. }) {
            return Err(Fault::OtherScan { due: question, came: number });
        }
        Ok(up)
    }

    /// Tells the far end what station it is, and hears its name.
    ///
    /// # Errors
    /// It does not answer, or speaks another format.
    pub fn set_up(&mut self, config: &StationConfig, start: &Start) -> Result<String, BoardError> {
        let (config, start) = (config.clone(), start.clone());
        let setup = Down::Setup(Setup { format: FORMAT, config, start, patience: self.apart });
        let up = if self.far.may_lose() { self.greet(&setup) } else { self.introduce(&setup) };
        match up.map_err(BoardError::Line)? {
            Up::Ready { format: FORMAT, name } => Ok(name.chars().filter(|letter| !letter.is_control()).collect()),
            Up::Ready { format, .. } => Err(BoardError::Line(Fault::OtherFormat(format))),
            Up::Safe { why, .. } => Err(BoardError::Line(Fault::Distrusts(why))),
            other => Err(BoardError::Line(unasked(&other))),
        }
    }

    /// The first question over a line that loses nothing.
    fn introduce(&mut self, setup: &Down) -> Result<Up, Fault> {
        let question = self.send(setup)?;
        let (number, up) = match self.next(Instant::now() + READY, ENDLESS)? {
            Some(came) => came?,
            None if self.bytes > 0 => return Err(Fault::Cut { question, bytes: self.bytes, waited: READY }),
            None => return Err(Fault::Silent { question, waited: READY }),
        };
        if number != question && !matches!(up, Up::Safe { .. }) {
            return Err(Fault::OtherScan { due: question, came: number });
        }
        Ok(up)
    }

    /// The first question over a line on which the far end may still be starting, or may hold half a packet of before: it is
    /// asked again, and what does not answer the last one is passed over.
    fn greet(&mut self, setup: &Down) -> Result<Up, Fault> {
        let begun = Instant::now();
        let mut last = Fault::Silent { question: self.sequence, waited: READY };
        while begun.elapsed() < READY {
            // Ends what the far end has of before.
            self.far.send(&[0])?;
            let question = self.send(setup)?;
            let until = Instant::now() + AGAIN;
            while let Some(came) = self.next(until, usize::MAX)? {
                match came {
                    Ok((_, up @ Up::Safe { why: LinkFault::Format { .. }, .. })) => return Ok(up),
                    Ok((number, up @ Up::Ready { .. })) if number == question => return Ok(up),
                    Ok((_, Up::Safe { why, .. })) => last = Fault::Distrusts(why),
                    Ok(_) => {}
                    Err(format @ Fault::OtherFormat(_)) => return Err(format),
                    Err(other) => last = other,
                }
            }
        }
        Err(last)
    }

    /// One scan at the far end.
    ///
    /// # Errors
    /// Any fault, [`Fault::Distrusts`] too.
    pub fn scan(&mut self, now: Tick, frame: &RawFrame) -> Result<Result<Box<Answer>, (Fault, Actuators)>, Fault> {
        match self.ask(&Down::Scan { now, frame: frame.clone() })? {
            Up::Scan(answer) if !answer.outputs.on.without(Actuators::ALL).is_empty() => {
                Err(Fault::NoSuchOutput(answer.outputs.on.0))
            }
            Up::Scan(answer) => Ok(Ok(Box::new(answer))),
            Up::Safe { why, on } => Ok(Err((Fault::Distrusts(why), on.and(Actuators::ALL)))),
            other => Err(unasked(&other)),
        }
    }

    /// Says goodbye; a far end that has gone already does not hear it.
    pub fn part(&mut self) {
        let _gone = self.send(&Down::Bye);
        self.far.hang_up();
    }
}

impl Drop for Talk {
    fn drop(&mut self) {
        self.part();
    }
}

fn unasked(up: &Up) -> Fault {
    Fault::Unasked(match up {
        Up::Ready { .. } => "`Ready`",
        Up::Scan(_) => "an answer to a scan",
        Up::Safe { .. } => "`Safe`",
        Up::Text(_) => "`Text`",
    })
}

/// The text that it begins with, where it does.
fn text(head: &[u8]) -> Option<String> {
    let line = head.split(|byte| *byte == b'\n').next().unwrap_or(head);
    let letters: String =
        line.iter().take_while(|byte| (b' '..=b'~').contains(*byte)).map(|byte| char::from(*byte)).collect();
    TEXT.contains(&letters.len()).then_some(letters)
}
