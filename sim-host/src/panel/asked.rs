//! What a page may ask for, as it comes in: one JSON object with `do` and what belongs to it, of the run or of a campaign. Unknown words are refused by the reader.

use serde::Deserialize;

/// Up to what the run goes by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Until {
    /// A phase begins or ends.
    Phase,
    /// A row trips.
    Trip,
    /// Anything is told.
    Notice,
    /// The order is over.
    End,
}

/// One wish of a page.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum Asked {
    /// Go on.
    Run,
    /// Stand still.
    Pause,
    /// One scan.
    Scan,
    /// So many times as fast as life, 0 as fast as it goes.
    Speed {
        /// 0 to 10 000.
        x: f64,
    },
    /// As fast as it goes up to the next of these, then stand still.
    Jump {
        /// Which.
        to: Until,
    },
    /// The operator does something.
    Act {
        /// A word of `[[operator.act]]`.
        act: String,
    },
    /// A new part was put in, and its code is typed.
    Exchange {
        /// `filter_drier` or `pump_oil`.
        part: String,
        /// Sixteen symbols, with or without dashes.
        code: String,
    },
    /// Something breaks now.
    Break {
        /// Such as F023.
        id: String,
        /// Its way, empty for the usual one.
        #[serde(default)]
        mode: String,
        /// The device, empty for the usual one.
        #[serde(default)]
        tag: String,
        /// How severe, with its unit, empty for the usual one.
        #[serde(default)]
        severity: String,
    },
    /// A fault ends now.
    Heal {
        /// Its place in the list, from 0.
        place: usize,
    },
    /// A row of the interlock table is taken to be not there, or there again.
    Without {
        /// Such as I03.
        row: String,
        /// Not there.
        off: bool,
    },
    /// A set point of the interlock table comes to lie elsewhere.
    SetPoint {
        /// Which, such as `vessel_pressure`.
        watch: String,
        /// At this figure, in the unit in which the frame gives it.
        to: f64,
    },
    /// Back to this time; what was done later is undone.
    Back {
        /// s.
        t: f64,
    },
    /// A run from time 0.
    Restart {
        /// A shipped scenario or random:SEED; the one at hand where none is named.
        #[serde(default)]
        scenario: Option<String>,
        /// Questions of the station are left to whoever sits at the page; nothing said: as it was.
        #[serde(default)]
        by_hand: Option<bool>,
    },
    /// Another order.
    Order {
        /// The text of its `[order]`.
        text: String,
        /// The run begins anew with it; else it is only checked.
        begin: bool,
    },
    /// A shipped lesson from its beginning.
    Lesson {
        /// Which.
        name: String,
    },
    /// The next hint of the lesson.
    Hint,
    /// An answer to the lesson's question.
    Answer {
        /// In words.
        text: String,
    },
    /// Notices are told in this language: en, de, es, fr.
    Language {
        /// Which.
        to: String,
    },
}

/// What a page wants of a small campaign.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum Wanted {
    /// How many runs it would be.
    Plan {
        /// This row left out alone, empty for the table at hand.
        #[serde(default)]
        row: String,
        /// `rows`, `all`, or one such as F056.
        faults: String,
    },
    /// That it begins.
    Start {
        /// As above.
        #[serde(default)]
        row: String,
        /// As above.
        faults: String,
    },
    /// That the one under way stops.
    Stop,
}
