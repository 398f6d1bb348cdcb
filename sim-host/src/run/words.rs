//! English words for what the core says, for files and for all that is told in English alone. The texts stand in the room of languages.

use valvewright_core::input::Broken;
use valvewright_core::interlock::table::Side;
use valvewright_core::interlock::{FirstOut, RowId};
use valvewright_core::job::{LeakVerdict, Outcome};
use valvewright_core::talk::{Notice, Question, Refusal};
use valvewright_core::token::CodeFault;

pub use super::reasons::{gas, phase, reason};
use crate::display::Sentence;
use crate::language;
pub use crate::language::{condition, notice_id, read};
use crate::matrix::words as table;
use crate::say;

/// Word of a leak verdict in results.
pub const fn leak(verdict: LeakVerdict) -> &'static str {
    match verdict {
        LeakVerdict::Unknown => "not_checked",
        LeakVerdict::Tight => "pass",
        LeakVerdict::Leak => "leak",
        LeakVerdict::Moisture => "moisture",
    }
}

/// Why a command was refused.
pub fn refusal(why: Refusal) -> Sentence {
    language::refusal(why).sentence()
}

/// A question in words.
pub fn question(q: Question) -> &'static str {
    language::text(language::question(q))
}

/// Stable id of a question, for scenario files.
pub const fn question_id(q: Question) -> &'static str {
    language::question(q)
}

/// An outcome in words.
pub fn outcome(o: Outcome) -> Sentence {
    language::outcome(o).sentence()
}

/// What made a row trip: the reading with its unit, its set point and its quality, or the condition that stands.
pub fn first_reading(first: Option<FirstOut>) -> Sentence {
    language::reading(first).sentence()
}

/// What a tripped row waits for: the end of its cause, and a press of reset where it latches.
pub fn waits_for(row: RowId, first: Option<FirstOut>) -> Sentence {
    let Some(latch) = row.row().map(|row| row.latch) else { return Sentence::default() };
    match first.and_then(|first| condition(row, first.watch)) {
        None => "a fresh press of reset".into(),
        Some(one) if one.watch.side() == Side::State => {
            say!["the end of this", table::hold(one.clear_hold), table::then(latch)]
        }
        Some(one) => say![table::watch(one.watch), " ", table::clears(one), table::then(latch)],
    }
}

/// Every id a notice can have.
pub const IDS: &[&str] = &[
    "order_started",
    "interrupted",
    "refused",
    "proving_air",
    "air_proven",
    "air_not_proven",
    "phase_started",
    "phase_ended",
    "order_ended",
    "paused",
    "resumed",
    "ask_purge",
    "ask_sample_filter",
    "ask_circuit_opened",
    "ask_fill_nitrogen",
    "ask_release_by_hand",
    "ask_vehicle_compressor",
    "ask_draw_in",
    "ask_shut_couplers",
    "ask_unusual_charge",
    "unusual_charge",
    "drawn_in",
    "tripped",
    "cleared",
    "low_sample_pressure",
    "sampled",
    "gas",
    "recovery_hold",
    "recovery_restart",
    "recovered",
    "air_taken",
    "oil_drained",
    "pressure_test",
    "nitrogen_left",
    "moisture_plateau",
    "vacuum",
    "leak",
    "drying_again",
    "oil_injected",
    "warming_vessel",
    "charge_stall",
    "charged",
    "vessel_excess",
    "purge_costs",
    "purged",
    "static_pressure",
    "hoses_cleared",
    "hoses_hold",
    "vehicle_holds",
    "release",
    "late_scan",
    "unsound",
    "sound",
    "code_refused",
    "exchanged",
    "not_stored",
    "ask_park_couplers",
    "ask_change_drier",
    "ask_change_pump_oil",
    "ask_free_platform",
    "ask_put_weight",
    "ask_take_weight",
    "ask_shut_cylinder",
    "ask_change_sample_filter",
    "ask_give_test_gas",
    "ask_take_test_gas",
    "ask_pump_up_switch",
    "ask_ease_switch",
    "ask_change_relief_valve",
    "ask_accept_loss",
    "ask_change_vessel",
    "ask_hang_cylinder",
    "ask_shut_mixed",
    "vessel_holds",
    "line_stands",
    "code_awaited",
    "weight_off",
    "filled",
    "given_away",
    "worn",
];

/// Why a reading is bad, as the rest of a sentence.
pub fn broken(why: Broken) -> &'static str {
    language::text(language::broken(why))
}

/// Why a code is not taken, as the rest of a sentence.
pub fn code(why: CodeFault) -> String {
    language::code(why).sentence().to_string()
}

/// Id and English text of a notice.
pub fn notice(n: &Notice) -> (&'static str, Sentence) {
    (notice_id(n), language::notice(n).sentence())
}
