//! Why a run stopped: each stop with its causes, what was done, what became of the work, and what was true.

use serde::Serialize;

use super::HazardLevel;
use crate::display::Sentence;
use crate::matrix::Measure;

/// One stop: from its first cause until the work goes on, the order has ended, or the run has.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Stop {
    /// Simulated time of the first cause, s.
    pub t_s: f64,
    /// The order it was in, from 1; 0 before any.
    pub job: usize,
    /// The phase it was in, for readers; absent between phases.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phase: Option<&'static str>,
    /// What stopped it, in the order of time.
    pub causes: Vec<Cause>,
    /// What was done and told about it, in the order of time; what led to it too.
    pub course: Vec<Moment>,
    /// When the work went on or the order had ended, s; absent where neither came.
    pub end_t_s: Option<f64>,
    /// What became of the work.
    pub fate: Sentence,
    /// Where the refrigerant is at the end of the stop.
    pub refrigerant: Option<Refrigerant>,
    /// What only the simulator knows.
    pub truth: InTruth,
}

/// What kind of cause stopped the work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CauseKind {
    /// A row of the interlock table tripped.
    #[default]
    Trip,
    /// A row that lets go by itself stays now until it is reset.
    Latch,
    /// A phase was given up.
    GiveUp,
    /// An order was not taken.
    Refusal,
    /// The operator stopped it.
    Operator,
    /// The controller was restarted or lost.
    Controller,
    /// The run ended before the work did.
    CutOff,
}

/// One cause with all that explains it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Cause {
    /// Simulated time, s.
    pub t_s: f64,
    /// When the same came again in this stop, s.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub again_t_s: Vec<f64>,
    /// What kind of cause it is.
    pub kind: CauseKind,
    /// The row; absent where no row acted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub row: Option<&'static str>,
    /// Which of the row's causes, as `matrix` names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub watch: Option<String>,
    /// The phase that was given up or ended; absent where it was no phase.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phase: Option<&'static str>,
    /// What happened, or why it was given up, in one line.
    pub what: Sentence,
    /// What was looked at, each with how far it was believed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inputs: Vec<InputSeen>,
    /// What was found on the way to it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub found: Vec<Moment>,
    /// When the row acts.
    #[serde(skip_serializing_if = "Sentence::is_empty")]
    pub acts: Sentence,
    /// Why the row is there.
    #[serde(skip_serializing_if = "Sentence::is_empty")]
    pub why: Sentence,
    /// The hazards it answers, by their ids.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hazards: Vec<String>,
    /// What it did to the outputs, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub did: Vec<Sentence>,
    /// Tags of what was on and went off in that scan.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub went_off: Vec<&'static str>,
    /// Whether it stays when its cause is gone.
    #[serde(skip_serializing_if = "Sentence::is_empty")]
    pub latch: Sentence,
    /// What clears it.
    #[serde(skip_serializing_if = "Sentence::is_empty")]
    pub to_clear: Sentence,
    /// When the row let go for the last time, s; absent where it stands or where no row acted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cleared_t_s: Option<f64>,
}

/// An input as the controller saw it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct InputSeen {
    /// Its tag.
    pub tag: &'static str,
    /// What it measures.
    pub name: &'static str,
    /// What it read, with its unit.
    pub reading: Sentence,
    /// The same as a number; absent for a contact.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<Measure>,
    /// `good`, `held`, `uncertain`, `bad` or `none`; absent for a contact.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quality: Option<&'static str>,
    /// Why it is believed, or is not.
    #[serde(skip_serializing_if = "Sentence::is_empty")]
    pub believed: Sentence,
    /// Since when it has been told not to be believed, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub doubted_since_s: Option<f64>,
    /// What was true where it sits; absent for a contact.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub truth: Option<Measure>,
    /// The same in words.
    #[serde(skip)]
    pub truth_words: Sentence,
}

/// Something that happened, by whom.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moment {
    /// Simulated time, s.
    pub t_s: f64,
    /// `operator`, `station` or `input`.
    pub who: &'static str,
    /// In words.
    pub text: Sentence,
}

/// Where the refrigerant is.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Refrigerant {
    /// When, s.
    pub t_s: f64,
    /// By the station's own book; absent where the controller is not the core.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub book: Option<Sentence>,
    /// In truth, g.
    #[serde(rename = "true")]
    pub truth: Places,
}

/// Where refrigerant is in truth, g.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Places {
    /// In the vessel.
    pub vessel_g: f64,
    /// In both hoses and the manifold.
    pub hoses_g: f64,
    /// In the vehicle and its oil.
    pub vehicle_g: f64,
    /// Elsewhere in the station: separator, compressor, condenser, pipes.
    pub elsewhere_g: f64,
    /// Gone into the air since the run began.
    pub air_g: f64,
}

/// What only the simulator knows of a stop.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct InTruth {
    /// What is not as usual about the vehicle: a hole, water, air, another gas.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub vehicle: Vec<String>,
    /// What was broken.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub broken: Vec<BrokenThing>,
    /// Hazards that came to a level about the stop.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hazards: Vec<HazardCame>,
}

/// A hazard that first came to a level about a stop.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HazardCame {
    /// Its id.
    pub id: &'static str,
    /// What it is.
    pub title: &'static str,
    /// How far it came.
    pub level: HazardLevel,
    /// When it first did, s.
    pub t_s: f64,
}

/// A fault that acted, or had acted, when the work stopped.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct BrokenThing {
    /// Its id in the catalogue.
    pub fault: String,
    /// In a few words.
    pub what: String,
    /// When it began, s.
    pub began_s: f64,
    /// When it ended, s; absent while it acts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_s: Option<f64>,
    /// Time from its begin to the first cause of the stop that came after it, s.
    pub seconds: f64,
    /// What the catalogue expects to find it.
    pub detection: String,
    /// What it expects of the station.
    pub reaction: String,
    /// Within what time.
    pub budget: String,
}
