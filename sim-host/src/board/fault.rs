//! What can be wrong with a controller at the far end of a line, in words that name what was seen and what to do.

use std::fmt;
use std::time::Duration;

use valvewright_core::port::link::{FORMAT, LinkFault};

/// Why the far end of a line is not used any further.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// The answer came, but too late.
    Late {
        /// Number of the question.
        question: u32,
        /// How long it took.
        took: Duration,
        /// How long it may take.
        patience: Duration,
    },
    /// Nothing came at all.
    Silent {
        /// Number of the question.
        question: u32,
        /// How long was waited.
        waited: Duration,
    },
    /// Bytes came, but no end of a packet.
    Cut {
        /// Number of the question.
        question: u32,
        /// How many bytes.
        bytes: usize,
        /// How long was waited.
        waited: Duration,
    },
    /// The program has gone, or has shut its standard output.
    Ended {
        /// How.
        how: Ending,
        /// The last lines of its standard error.
        said: String,
    },
    /// The port has gone.
    Unplugged {
        /// Its path.
        port: String,
        /// What the system says.
        why: String,
    },
    /// An answer to another question.
    OtherScan {
        /// Number of the question.
        due: u32,
        /// Number of the answer.
        came: u32,
    },
    /// An answer of another packet format.
    OtherFormat(u16),
    /// Bytes while no answer was due.
    Flood {
        /// How many were looked at.
        bytes: usize,
    },
    /// More bytes than any answer has, without the end of a packet.
    Endless {
        /// How many.
        bytes: usize,
    },
    /// What is no packet; the text that it begins with, if it does.
    Garbage(Option<String>),
    /// A packet that does not answer the question.
    Unasked(&'static str),
    /// An answer with bits for outputs that there are not.
    NoSuchOutput(u16),
    /// The far end does not trust the line.
    Distrusts(LinkFault),
}

/// How a program ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// With an exit code.
    Code(i32),
    /// By a signal.
    Signal(i32),
    /// It runs on, but its standard output or input is shut.
    RunsOn,
}

impl fmt::Display for Ending {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Code(code) => write!(f, "the program ended with exit code {code}"),
            Self::Signal(number) => write!(f, "the program was ended by signal {number}"),
            Self::RunsOn => f.write_str("the program shut its standard input or output and runs on"),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Late { question, took, patience } => write!(
                f,
                "the answer to question {question} came after {} ms, where {} ms are allowed: answer sooner, or raise --patience",
                took.as_millis(),
                patience.as_millis()
            ),
            Self::Silent { question, waited } => write!(
                f,
                "nothing came in answer to question {question} for {} ms: answer every question, and flush what is written",
                waited.as_millis()
            ),
            Self::Cut { question, bytes, waited } => write!(
                f,
                "{bytes} bytes and no end of a packet came in answer to question {question} for {} ms: end each packet with a zero, and flush it",
                waited.as_millis()
            ),
            Self::Ended { how, said } if said.is_empty() => {
                write!(f, "{how} and said nothing on its standard error: stay until `Bye` comes")
            }
            Self::Ended { how, said } => write!(f, "{how}; it said: {said}"),
            Self::Unplugged { port, why } => {
                write!(f, "the port {port} has gone ({why}): look at the cable and at the board's supply")
            }
            Self::OtherScan { due, came } => write!(
                f,
                "an answer with number {came} came where {due} was due: give each answer the number of its question"
            ),
            Self::OtherFormat(theirs) => write!(
                f,
                "the far end speaks packet format {theirs}, and this program {FORMAT}: build both from the same state"
            ),
            Self::Flood { bytes } => write!(
                f,
                "{bytes} bytes came that nobody had asked for: send one packet for each question, and nothing else"
            ),
            Self::Endless { bytes } => write!(
                f,
                "{bytes} bytes came without the end of a packet: end each packet with a zero, and write messages for people to standard error"
            ),
            Self::Garbage(None) => f.write_str("a packet came that is broken: look at stuffing, CRC and field order; a name has at most 32 bytes, an answer at most 16 notices"),
            Self::Garbage(Some(text)) => write!(
                f,
                "what came is no packet, it begins with the text `{text}`: write messages for people to standard error"
            ),
            Self::Unasked(what) => write!(f, "{what} came at the wrong time: `Ready` answers a setup, `Scan` a scan"),
            Self::NoSuchOutput(bits) => {
                write!(f, "an answer came with outputs 0x{bits:04x}, where only bits 0 to 14 stand for an actuator")
            }
            Self::Distrusts(why) => f.write_str(&fault_words(*why)),
        }
    }
}

/// What a far end says of its line, in English.
pub fn fault_words(why: LinkFault) -> String {
    match why {
        LinkFault::Broken => "a broken packet came".to_owned(),
        LinkFault::Lost { due, came } => format!("packet {came} came where {due} was due"),
        LinkFault::Late(step) => format!("{} ms lay between two scans", step.0),
        LinkFault::Silent(silence) => format!("nothing came for {} ms", silence.0),
        LinkFault::Closed => "the line was closed".to_owned(),
        LinkFault::NotSetUp => "a scan came before the setup".to_owned(),
        LinkFault::Format { due, came } => format!(
            "the far end speaks packet format {due}, and this program sent {came}: build both from the same state"
        ),
    }
}
