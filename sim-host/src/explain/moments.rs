//! What is done and told about a stop, in words.

use valvewright_core::talk::{Command, Notice, Question};

use crate::display::Sentence;
use crate::run::words;
use crate::say;

/// Who did or told something.
pub const OPERATOR: &str = "operator";
/// The controller and what it drives.
pub const STATION: &str = "station";
/// A reading that came to be doubted, or is believed again.
pub const INPUT: &str = "input";

/// What was pressed, and what became of it; nothing for an order that was taken.
pub fn command(command: &Command, told: &[Notice]) -> Option<Sentence> {
    let refused = told.iter().find_map(|one| if let Notice::Refused(why) = one { Some(*why) } else { None });
    let pressed = match command {
        Command::Start { .. } if refused.is_none() => return None,
        Command::Start { .. } => "gave an order",
        Command::Pause => "pressed pause",
        Command::Resume => "pressed go on",
        Command::Abort => "ended the order",
        Command::Reset => "pressed reset",
        Command::Exchanged { .. } => "typed the code of a new part",
        Command::Confirm(_) | Command::Decline(_) => return None,
    };
    let cleared: Vec<String> =
        told.iter().filter_map(|one| if let Notice::Cleared(id) = one { Some(id.to_string()) } else { None }).collect();
    Some(match (refused, command) {
        (Some(why), _) => say![pressed, ": refused, ", words::refusal(why)],
        (None, Command::Reset) if !cleared.is_empty() => {
            say![pressed, format!(": taken, {} let go", cleared.join(", "))]
        }
        (None, _) => say![pressed],
    })
}

/// An answer to a question.
pub fn answered(command: &Command, asked: Question) -> Sentence {
    let yes = if matches!(command, Command::Confirm(_)) { "said yes to: " } else { "said no to: " };
    say![yes, words::question(asked)]
}

/// What a phase found, so that its end can be told by it.
pub const fn is_finding(notice: &Notice) -> bool {
    matches!(
        notice,
        Notice::LowSamplePressure(_)
            | Notice::Sampled(..)
            | Notice::Gas(_)
            | Notice::RecoveryHold(_)
            | Notice::RecoveryRestart(_)
            | Notice::Recovered(_)
            | Notice::AirTaken(_)
            | Notice::OilDrained(_)
            | Notice::MoisturePlateau(_)
            | Notice::PressureTest(..)
            | Notice::Vacuum(_)
            | Notice::Leak(_)
            | Notice::WarmingVessel
            | Notice::ChargeStall(_)
            | Notice::Charged(_)
            | Notice::VesselExcess(_)
            | Notice::Purged(_)
            | Notice::StaticPressure(..)
            | Notice::LateScan(_)
    ) || of_the_end(notice)
}

/// What is told on the way to the end of an order that did not go well.
pub const fn of_the_end(notice: &Notice) -> bool {
    matches!(
        notice,
        Notice::NitrogenLeft
            | Notice::HosesHold(_)
            | Notice::HosesCleared(_)
            | Notice::VehicleHolds(..)
            | Notice::DryingAgain
            | Notice::Release
    )
}
