//! What board is started or what port is opened, and what can be wrong with it.

use std::fmt;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::time::Duration;

use valvewright_core::units::Millis;

use super::fault::Fault;

/// A board that says nothing for this long while it is waited for is stopped. A scan takes some 100 us.
pub const MUTE: Duration = Duration::from_secs(20);

/// How an emulated board is joined to the host.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// The emulator's standard streams: many round trips.
    Semihosting,
    /// The board's serial port, byte by byte, with the board's own clock running: true to life.
    Uart,
}

impl Line {
    /// As on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Semihosting => "semihosting",
            Self::Uart => "uart",
        }
    }

    /// The firmware that speaks this line, where `tests/target/build.sh` puts it.
    pub fn shipped_firmware(self) -> PathBuf {
        Path::new("target/firmware").join(format!("loop_{}", self.name()))
    }
}

/// What to start.
#[derive(Debug, Clone)]
pub struct BoardSpec {
    /// The line.
    pub line: Line,
    /// The image (ELF).
    pub firmware: PathBuf,
    /// Longest step and silence that is not a fault.
    pub patience: Millis,
    /// Count instructions: the emulator then runs at one instruction per 1 024 ns of the board's time.
    pub count: bool,
}

impl BoardSpec {
    /// The shipped firmware of a line. On the serial line the patience is that of a busy machine, not of a plant.
    pub fn shipped(line: Line) -> Self {
        let patience = if line == Line::Uart { Millis(5_000) } else { Millis(500) };
        Self { line, firmware: line.shipped_firmware(), patience, count: false }
    }
}

/// A serial port: `/dev/ttyUSB0`, or with another speed `/dev/ttyUSB0@921600`; 8 bits, no parity, one stop bit.
///
/// ```
/// use valvewright_sim::board::Port;
/// let port: Port = "/dev/ttyACM0@921600".parse().unwrap();
/// assert_eq!((port.path.as_str(), port.baud), ("/dev/ttyACM0", 921_600));
/// assert!("/dev/ttyACM0@fast".parse::<Port>().is_err());
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Port {
    /// Its path.
    pub path: String,
    /// Bits a second.
    pub baud: u32,
}

impl Port {
    /// What stands before a port on the command line.
    pub const PREFIX: &str = "serial:";
    /// Bits a second where nothing else is said.
    pub const BAUD: u32 = 115_200;
}

impl FromStr for Port {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (path, baud) = match text.rsplit_once('@') {
            None => (text, Self::BAUD),
            Some((path, baud)) => {
                let baud = baud.parse().ok().filter(|baud| (300..=12_000_000).contains(baud));
                let wrong =
                    || format!("`{text}` names no speed behind the @: write 300 to 12000000, such as {path}@921600");
                (path, baud.ok_or_else(wrong)?)
            }
        };
        if path.is_empty() {
            return Err("it names no port: write serial:/dev/ttyUSB0, or serial:/dev/ttyUSB0@921600".to_owned());
        }
        Ok(Self { path: path.to_owned(), baud })
    }
}

/// Where a board is to be found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Joined {
    /// In the emulator, joined by this line.
    Emulated(Line),
    /// On a serial port.
    Serial(Port),
}

impl FromStr for Joined {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "semihosting" => Ok(Self::Emulated(Line::Semihosting)),
            "uart" => Ok(Self::Emulated(Line::Uart)),
            _ => match text.strip_prefix(Port::PREFIX) {
                Some(port) => port.parse().map(Self::Serial),
                None => Err(format!(
                    "`{text}` is no line to a board: use semihosting, uart, or serial:PORT such as serial:/dev/ttyUSB0"
                )),
            },
        }
    }
}

/// Why the board cannot be used.
#[derive(Debug)]
pub enum BoardError {
    /// The image is not there.
    NoFirmware(PathBuf),
    /// The emulator does not start.
    NoEmulator(std::io::Error),
    /// The board went away: the exit code and what it said last.
    Gone(Option<i32>, String),
    /// The board did not answer in time and was stopped.
    Mute,
    /// The board sent what is no packet, or not what was asked for.
    Garbled(String),
    /// The program does not start.
    NoProgram {
        /// As it was asked for.
        command: String,
        /// Why.
        why: String,
    },
    /// The port does not open.
    NoPort {
        /// Its path.
        path: String,
        /// Why.
        why: String,
    },
    /// The far end of the line did not do what it has to.
    Line(Fault),
}

impl BoardError {
    /// Whether there is nothing to speak to: what was asked for is not there or does not start.
    pub const fn never_was(&self) -> bool {
        matches!(self, Self::NoFirmware(_) | Self::NoEmulator(_) | Self::NoProgram { .. } | Self::NoPort { .. })
    }
}

impl fmt::Display for BoardError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoFirmware(path) => write!(
                f,
                "there is no firmware at {}: build it with tests/target/build.sh, or name an image with --firmware",
                path.display()
            ),
            Self::NoEmulator(why) => write!(
                f,
                "qemu-system-arm does not start ({why}): tests/target/setup.sh installs it on Debian 12 (version 7.2 was tried)"
            ),
            Self::Gone(code, said) => {
                let code = code.map_or("a signal".to_owned(), |code| format!("exit code {code}"));
                let said = if said.is_empty() { "nothing" } else { said };
                write!(f, "the board left with {code}; it said: {said}")
            }
            Self::NoProgram { command, why } => {
                write!(f, "the controller `{command}` does not start ({why}): name a program and its arguments")
            }
            Self::NoPort { path, why } => write!(
                f,
                "the port {path} does not open ({why}): look at its name, whether you may use it, and whether another program has it open"
            ),
            Self::Line(fault) => write!(f, "{fault}"),
            Self::Mute => write!(f, "the board did not answer within {} s and was stopped", MUTE.as_secs()),
            Self::Garbled(what) => {
                write!(f, "the board sent {what}: is the firmware of the same state as this program?")
            }
        }
    }
}

impl std::error::Error for BoardError {}

/// What a board said when it left.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Parting {
    /// Exit code.
    pub code: Option<i32>,
    /// Lines of its standard error.
    pub said: String,
}

impl Parting {
    /// A number the board told by this name.
    pub fn number(&self, name: &str) -> Option<u32> {
        let line = self.said.lines().find_map(|line| line.strip_prefix(name))?;
        u32::from_str_radix(line.trim(), 16).ok()
    }
}
