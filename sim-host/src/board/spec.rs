//! What board is started, and what can be wrong with it.

use std::fmt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use valvewright_core::units::Millis;

/// A board that says nothing for this long while it is waited for is stopped. A scan takes some 100 us.
pub const MUTE: Duration = Duration::from_secs(20);

/// How the board is joined to the host.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
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
