//! The texts of a ticket: their ids, what they are given, and a sample of each for the tests of languages.

use valvewright_core::interlock::table::ROWS;

use crate::language::{Arg, Message};
use crate::report::data::{Outcome, Verdict};

/// Texts without arguments: a constant with the id of each, and a list of them all.
macro_rules! texts {
    ($($name:ident = $id:literal;)+) => {
        $(#[doc = concat!("Id of the text `", $id, "`.")] pub const $name: &str = $id;)+
        /// Every text of a ticket that has no arguments.
        pub const ALL: &[&str] = &[$($id),+];
    };
}

texts! {
    TITLE = "paper-title";
    UNCERTIFIED = "paper-uncertified";
    PASS = "paper-headline_pass";
    REFUSED = "paper-headline_refused";
    FAILED = "paper-headline_failed";
    ABORTED = "paper-headline_aborted";
    UNFINISHED = "paper-headline_unfinished";
    CUT_OFF = "paper-cut_off";
    WHAT_IF = "paper-what_if";
    OWN_WORD = "paper-own_word";
    REASON = "paper-reason";
    NO_REASON = "paper-no_reason";
    RECORD = "paper-record";
    JOB = "paper-job";
    BEGUN = "paper-begun";
    ENDED = "paper-ended";
    STATION = "paper-station";
    OPERATOR = "paper-operator";
    NOT_NAMED = "paper-not_named";
    VEHICLE = "paper-vehicle";
    VEHICLE_ID = "paper-vehicle_id";
    REFRIGERANT = "paper-refrigerant";
    LABEL = "paper-label";
    HIGH_VOLTAGE = "paper-high_voltage";
    MASSES = "paper-masses";
    RECOVERED = "paper-recovered";
    OIL_DRAINED = "paper-oil_drained";
    OIL_NEW = "paper-oil_new";
    OIL_KIND = "paper-oil_kind";
    ORDERED = "paper-ordered";
    CHARGED = "paper-charged";
    PURGED = "paper-purged";
    FINDINGS = "paper-findings";
    GAS_FOUND = "paper-gas";
    VACUUM = "paper-vacuum";
    LEAK = "paper-leak";
    HOSES = "paper-hoses";
    NONE = "paper-none";
    NOT_SAID = "paper-not_said";
    NOT_ORDERED = "paper-not_ordered";
    NOT_CHECKED = "paper-not_checked";
    LAPSED = "paper-lapsed";
    PHASES = "paper-phases";
    WARNINGS = "paper-warnings";
    TRIPS = "paper-trips";
    CAUTIONS = "paper-cautions";
    GAS = "paper-caution_gas";
    PRESSURE = "paper-caution_pressure";
    LICENCE = "paper-caution_licence";
    HOLD = "paper-caution_hold";
    DONE = "paper-outcome_pass";
    BAD = "paper-outcome_failed";
    DECLINED = "paper-outcome_refused";
    STOPPED = "paper-outcome_aborted";
    SKIPPED = "paper-outcome_skipped";
    OPEN = "paper-outcome_unfinished";
    REPRINT = "paper-reprint";
    NOT_KEPT = "paper-not_kept";
}

/// The head of a ticket.
pub const fn headline(of: Verdict) -> &'static str {
    match of {
        Verdict::Pass => PASS,
        Verdict::Refused => REFUSED,
        Verdict::Failed => FAILED,
        Verdict::Aborted => ABORTED,
        Verdict::Unfinished => UNFINISHED,
    }
}

/// How a phase ended, in a word.
pub const fn outcome(of: Outcome) -> &'static str {
    match of {
        Outcome::Pass => DONE,
        Outcome::Failed => BAD,
        Outcome::Refused => DECLINED,
        Outcome::Aborted => STOPPED,
        Outcome::Skipped => SKIPPED,
        Outcome::Unfinished => OPEN,
    }
}

/// What the times of a ticket count from.
pub fn clock() -> Message {
    Message::from("paper-clock")
}

/// A trip that had let go when the job ended, so many seconds after it came.
pub fn released(seconds: i64) -> Message {
    Message::from("paper-released").with("time", Arg::Whole(seconds))
}

/// A trip that stood when the job ended, and what clears it.
pub fn stands(row: &str, clear: &'static str) -> Message {
    Message::from("paper-stands").with("clear", Arg::Core(format!("row-{row}"), clear))
}

/// One of each, for the tests of languages.
pub fn samples() -> Vec<Message> {
    let bare = ALL.iter().map(|id| Message::from(*id));
    let rows = ROWS.iter().take(1).map(|row| stands(row.id.as_str(), row.reset.text()));
    bare.chain([clock(), released(95)]).chain(rows).collect()
}
