//! Who is to drive the plant of a `run`: found and started before anything is written.

use valvewright_core::units::Millis;

use super::output::Refusal;
use super::run_args::RunArgs;
use crate::board::disturb::Kind;
use crate::board::{Board, BoardError, BoardSpec, Compared, Joined, Line, Outside, Port, SerialBoard};
use crate::run::RunError;

/// Who drives.
pub enum Driver {
    /// The core in this process.
    BuiltIn,
    /// The core on an emulated board.
    Emulated(Compared<Board>),
    /// The core on a board at a serial port.
    Serial(Compared<SerialBoard>),
    /// Any other controller.
    Outside(Outside),
}

/// The driver that was asked for, started.
pub fn find(args: &RunArgs) -> Result<Driver, Refusal> {
    let patience = |usual: Millis| args.patience.map_or(usual, Millis);
    let broken = |wrong| refusal(RunError::Board(wrong));
    match (&args.board, &args.controller) {
        (Some(Joined::Emulated(line)), _) => emulated(args, *line).map(|board| Driver::Emulated(Compared::new(board))),
        (Some(Joined::Serial(port)), _) => {
            if args.firmware.is_some() || args.disturb.is_some() {
                return Err(Refusal::misuse("--firmware and --disturb are for boards in the emulator")
                    .with_help("leave them out, or use --board semihosting or --board uart"));
            }
            let board = SerialBoard::open(port, patience(SerialBoard::PATIENCE)).map_err(broken)?;
            Ok(Driver::Serial(Compared::new(board)))
        }
        (None, Some(command)) => match command.strip_prefix(Port::PREFIX) {
            Some(port) => {
                let port: Port =
                    port.parse().map_err(|why| Refusal::misuse(format!("--controller {command}: {why}")))?;
                Outside::port(&port, patience(SerialBoard::PATIENCE)).map(Driver::Outside).map_err(broken)
            }
            None => Outside::program(command, patience(Outside::PATIENCE)).map(Driver::Outside).map_err(broken),
        },
        (None, None) => Ok(Driver::BuiltIn),
    }
}

fn emulated(args: &RunArgs, line: Line) -> Result<Board, Refusal> {
    let mut spec = BoardSpec::shipped(line);
    if let Some(firmware) = &args.firmware {
        spec.firmware.clone_from(firmware);
    }
    if let Some(patience) = args.patience {
        spec.patience = Millis(patience);
    }
    if line == Line::Semihosting && args.disturb.is_some_and(|d| d.kind == Kind::Silent) {
        return Err(Refusal::misuse("a board joined by semihosting waits for each packet and cannot tell a silence")
            .with_help("use --board uart, or --disturb late@TIME or unplugged@TIME"));
    }
    Board::start(&spec, args.disturb).map_err(|wrong| refusal(RunError::Board(wrong)))
}

/// A run that did not come about, as the command says it.
pub fn refusal(wrong: RunError) -> Refusal {
    match wrong {
        RunError::Differs(_) => Refusal::ours(wrong.to_string()),
        RunError::Board(BoardError::Mute | BoardError::Gone(..) | BoardError::Line(_)) => {
            Refusal::unfinished(wrong.to_string())
        }
        other => Refusal::misuse(other.to_string()),
    }
}
