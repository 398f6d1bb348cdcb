//! What a run leaves behind: [`RunResult`], the numbers that are judged, and [`Trace`], everything over time.
//!
//! Field names of the JSON form are part of the interface and are not renamed. `shown` is what the station's instruments say,
//! `true` is what the plant knows.

mod fault;
mod hazard;
mod job;
mod property;
mod stop;
mod trace;

use serde::{Deserialize, Serialize};
use valvewright_core::talk::Notice;

use crate::display::{Display, Language, Sentence};
use crate::language;
use crate::matrix::Measure;
pub use fault::FaultRecord;
pub use hazard::{HazardBand, HazardFigure, HazardLevel, HazardResult, Kind, What};
pub use job::{BoardFault, BoardResult, ControllerResult, JobResult, Reached, StationLedger, StationName};
pub use property::{ClosestResult, PropertyResult, PropertyVerdict};
pub use stop::{BrokenThing, Cause, CauseKind, HazardCame, InTruth, InputSeen, Moment, Places, Refrigerant, Stop};
pub use trace::{ActuatorTrack, Channel, ChannelSpec, Group, Interval, PhaseSpan, Trace, View};

/// Units of every figure and sentence in JSON, whatever the display was.
pub const UNITS: &str = "metric, pressures absolute";

/// How a run ended as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The order was done to its end and every phase passed.
    Pass,
    /// The station refused to go on for a reason that lies in the vehicle or its gas: a leak, a foreign gas.
    Refused,
    /// An interlock or a failed phase ended the order.
    Failed,
    /// The operator ended the order.
    Aborted,
    /// The run ended before the order did: simulated time ran out, or it was interrupted.
    Unfinished,
}

impl Verdict {
    /// Every verdict, in the order of this list.
    pub const ALL: [Self; 5] = [Self::Pass, Self::Refused, Self::Failed, Self::Aborted, Self::Unfinished];

    /// The word used in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Refused => "refused",
            Self::Failed => "failed",
            Self::Aborted => "aborted",
            Self::Unfinished => "unfinished",
        }
    }
}

/// How one phase ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Done, and found good.
    Pass,
    /// Done or given up, and found bad.
    Failed,
    /// Not entered: an entry condition did not hold.
    Refused,
    /// Ended by the operator.
    Aborted,
    /// Left out by the order.
    Skipped,
    /// Still running when the run ended.
    Unfinished,
}

impl Outcome {
    /// Every outcome, in the order of this list.
    pub const ALL: [Self; 6] =
        [Self::Pass, Self::Failed, Self::Refused, Self::Aborted, Self::Skipped, Self::Unfinished];

    /// The word used in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Failed => "failed",
            Self::Refused => "refused",
            Self::Aborted => "aborted",
            Self::Skipped => "skipped",
            Self::Unfinished => "unfinished",
        }
    }
}

/// One phase of the order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PhaseResult {
    /// Name of the phase as scenario files write it: `identify`, `recover`, ...
    pub name: String,
    /// How it ended.
    pub outcome: Outcome,
    /// Simulated time it took, s.
    pub seconds: f64,
    /// One sentence for the reader: what was found, or why it was refused.
    pub detail: Sentence,
}

/// A figure as the station shows it and as the plant knows it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct ShownTrue {
    /// By the controller; absent where another one than the core did not say.
    pub shown: Option<f64>,
    /// By the plant.
    #[serde(rename = "true")]
    pub truth: f64,
}

impl ShownTrue {
    /// What is shown too much, g; not a number where nothing is said.
    pub fn off(&self) -> f64 {
        self.shown.map_or(f64::NAN, |shown| shown - self.truth)
    }
}

impl Charged {
    /// What is shown too much, g; not a number where nothing is said.
    pub fn off(&self) -> f64 {
        self.shown.map_or(f64::NAN, |shown| shown - self.truth)
    }
}

/// Refrigerant charged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Charged {
    /// What was ordered, g; absent when the order does not charge.
    pub target: Option<f64>,
    /// By the controller's scale and hose ledger, g; absent where another one than the core did not say.
    pub shown: Option<f64>,
    /// Gained by the vehicle, g.
    #[serde(rename = "true")]
    pub truth: f64,
}

/// The leak check.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct LeakResult {
    /// `pass`, `leak`, `moisture`, `inconclusive` or `not_checked`.
    pub verdict: String,
    /// Measured leak rate, Pa m3/s; absent when not checked.
    pub pa_m3_per_s: Option<f64>,
    /// The same as refrigerant lost from a charged circuit, g/year; absent when not checked.
    pub g_per_year: Option<f64>,
    /// A pass says no more than "below this": air inflow under vacuum, Pa m3/s; absent without a pass.
    pub below_pa_m3_per_s: Option<f64>,
    /// The refrigerant loss that this inflow stands for, g/year; absent without a pass.
    pub below_g_per_year: Option<f64>,
    /// Smallest inflow that the hold could have told from noise and drift, Pa m3/s; absent when not checked.
    pub smallest_pa_m3_per_s: Option<f64>,
    /// The same as refrigerant, g/year; absent when not checked.
    pub smallest_g_per_year: Option<f64>,
}

/// Something the station told its operator.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NoticeRecord {
    /// Simulated time, s.
    pub t_s: f64,
    /// Id of the notice.
    pub id: String,
    /// The notice in English.
    pub text: Sentence,
    /// The notice as it was told, from which it is told in other languages.
    #[serde(rename = "told", skip_serializing_if = "Option::is_none")]
    pub notice: Option<Notice>,
}

impl NoticeRecord {
    /// The notice as a display tells it: in its language, units and zero.
    pub fn on(&self, display: &Display) -> String {
        match &self.notice {
            Some(notice) if display.language != Language::En => language::notice(notice).on(display),
            _ => self.text.on(display),
        }
    }
}

/// One trip of an interlock row.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct InterlockRecord {
    /// Simulated time of the trip, s.
    pub t_s: f64,
    /// Row id: `I01` ... or `HS-1`.
    pub id: String,
    /// Why the row is there, in words.
    pub cause: String,
    /// What tripped it: the reading with its unit and set point, or the condition that stood.
    pub reading: Sentence,
    /// Which of the row's causes, as `matrix` names it: `pump_inlet`; absent where only a latch from before held it.
    pub watch: Option<String>,
    /// Quality of that input: `good`, or `bad` where it counted as tripped; absent without a cause.
    pub quality: Option<&'static str>,
    /// The reading, or the last good one of a bad input; absent for a contact or a verdict.
    pub value: Option<Measure>,
    /// The set point; absent for a contact or a verdict.
    pub trip: Option<Measure>,
    /// What the row waits for until it lets go.
    pub waits_for: Sentence,
    /// What the operator does to clear it.
    pub to_clear: String,
    /// Simulated time at which it was released, s; absent while it stands.
    pub cleared_t_s: Option<f64>,
}

/// One expectation of the scenario and what became of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ExpectationResult {
    /// The expectation in the words of the scenario file, such as `recovered_within = 30 g`.
    pub name: String,
    /// Whether it held.
    pub held: bool,
    /// The figure it was judged by, and by how much it held or not.
    pub detail: Sentence,
}

/// What a run found. Figures of several jobs in a row are of them all; [`RunResult::jobs`] has each.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunResult {
    /// Name of the scenario.
    pub scenario: String,
    /// Seed of everything random.
    pub seed: u64,
    /// Rows of the interlock table that were left out: a what-if, and no word on the table as it is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub without: Vec<String>,
    /// Set points of the interlock table that lay elsewhere, each with where it lay and its unit: `vessel_pressure=18.2 bar`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub moved: Vec<String>,
    /// Units of the figures: [`UNITS`].
    pub units: &'static str,
    /// How the order ended.
    pub verdict: Verdict,
    /// Simulated time, s.
    pub sim_seconds: f64,
    /// Time the run took here, s. Not part of what two equal runs share.
    pub wall_seconds: f64,
    /// Controller scans.
    pub ticks: u64,
    /// Simulated over wall time.
    pub speed: f64,
    /// The phases in the order they ran.
    pub phases: Vec<PhaseResult>,
    /// Refrigerant taken from the vehicle, g.
    pub recovered_g: ShownTrue,
    /// Refrigerant given to the vehicle, g.
    pub charged_g: Charged,
    /// Oil drained from the separator by the station's scale, mL; absent where the controller did not say.
    pub oil_drained_ml: Option<f64>,
    /// Oil drained in truth, mL.
    pub oil_drained_ml_true: f64,
    /// The leak check.
    pub leak: LeakResult,
    /// Everything told to the operator.
    pub notices: Vec<NoticeRecord>,
    /// Every trip.
    pub interlocks: Vec<InterlockRecord>,
    /// Every planned fault, and when it came and went.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<FaultRecord>,
    /// Refrigerant that the plant lost or made up by rounding, g.
    pub mass_balance_error_g: f64,
    /// The same over the inventory, 1.
    pub mass_balance_rel: f64,
    /// Energy lost or made up over the energy scale of the plant, 1.
    pub energy_balance_error_rel: f64,
    /// Each quantity's account: refrigerant, air, water, oil, energy.
    pub balances: Vec<AccountLine>,
    /// Why the plant could not go on, where it could not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plant_fault: Option<String>,
    /// Hash over all truth and outputs, hexadecimal: same seed, same hash.
    pub trace_hash: String,
    /// The run was interrupted; figures stand for the part that ran.
    pub partial: bool,
    /// Who drove the station.
    pub controller: ControllerResult,
    /// The station that was driven.
    pub station: StationName,
    /// How far the plant came, in truth.
    pub reached: Reached,
    /// What became of each hazard, in truth; empty where the monitors were off.
    pub hazards: Vec<HazardResult>,
    /// Refrigerant in the station over the run.
    pub ledger: StationLedger,
    /// The orders in their turn. The figures beside this list are of the whole run: masses summed, the verdict of the first job that did
    /// not pass or was never begun, the leak check of the last that made one.
    pub jobs: Vec<JobResult>,
    /// How many jobs the scenario has; `jobs` has fewer where the run was cut off.
    pub jobs_in_all: usize,
    /// The board that drove the plant; absent where the built-in core did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board: Option<BoardResult>,
    /// The scenario's expectations.
    pub expectations: Vec<ExpectationResult>,
    /// Why it stopped, each time it did; empty where nobody looked on to explain it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stops: Vec<Stop>,
    /// The command that runs the same again; absent where no command ran it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replay: Option<String>,
}

/// One quantity's account in the plant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AccountLine {
    /// Which quantity.
    pub what: String,
    /// `g` or `J`.
    pub unit: String,
    /// Inside plus what crossed the edge; for energy what is held or moved, the larger.
    pub scale: f64,
    /// Left the network; negative: came in.
    pub left: f64,
    /// Unaccounted for.
    pub error: f64,
}

impl From<&crate::plant::Account> for AccountLine {
    fn from(one: &crate::plant::Account) -> Self {
        let (unit, by) = if one.unit == "kg" { ("g", 1e3) } else { (one.unit, 1.0) };
        Self {
            what: one.what.to_owned(),
            unit: unit.to_owned(),
            scale: one.scale * by,
            left: one.left * by,
            error: one.error * by,
        }
    }
}

impl RunResult {
    /// Exit code of the command: 0 all expectations held, 1 one failed, 2 the run did not finish and its file did not say that it would not.
    pub fn exit_code(&self) -> u8 {
        let cut = |job: &JobResult| job.verdict == Verdict::Unfinished && !job.may_stand;
        let cut = self.jobs.iter().any(cut) || self.jobs.is_empty() && self.verdict == Verdict::Unfinished;
        if self.partial || cut || self.controller.fault.is_some() {
            2
        } else {
            u8::from(self.expectations.iter().any(|one| !one.held))
        }
    }

    /// Real-time factor from its two times; 0 when no wall time was taken.
    pub fn speed_of(sim_seconds: f64, wall_seconds: f64) -> f64 {
        if wall_seconds > 0.0 { sim_seconds / wall_seconds } else { 0.0 }
    }
}
