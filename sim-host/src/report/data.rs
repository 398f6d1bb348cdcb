//! What a run leaves behind: [`RunResult`], the numbers that are judged, and [`Trace`], everything over time.
//!
//! Field names of the JSON form are part of the interface and are not renamed. `shown` is what the station's instruments say,
//! `true` is what the plant knows.

use serde::Serialize;

use crate::display::Sentence;
use crate::matrix::Measure;

/// Units of every figure and sentence in JSON, whatever the display was.
pub const UNITS: &str = "metric, pressures absolute";

/// How a run ended as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
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
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
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
    /// By the station's instruments.
    pub shown: f64,
    /// By the plant.
    #[serde(rename = "true")]
    pub truth: f64,
}

/// Refrigerant charged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Charged {
    /// What was ordered, g; absent when the order does not charge.
    pub target: Option<f64>,
    /// By the station's scale and hose ledger, g.
    pub shown: f64,
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

/// A board in place of the built-in core. Its outputs, notices and state were those of the host in every scan it answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardResult {
    /// How it was joined: `semihosting` or `uart`.
    pub line: String,
    /// How it was lost, where it was.
    pub fault: Option<BoardFault>,
}

/// The end of a board's line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardFault {
    /// Simulated time, s.
    pub t_s: f64,
    /// What was wrong, as the board says.
    pub why: String,
    /// Tags of what the board then had on.
    pub on: Vec<String>,
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

/// What a run found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunResult {
    /// Name of the scenario.
    pub scenario: String,
    /// Seed of everything random.
    pub seed: u64,
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
    /// Oil drained from the separator by the station's scale, mL.
    pub oil_drained_ml: f64,
    /// Oil drained in truth, mL.
    pub oil_drained_ml_true: f64,
    /// The leak check.
    pub leak: LeakResult,
    /// Everything told to the operator.
    pub notices: Vec<NoticeRecord>,
    /// Every trip.
    pub interlocks: Vec<InterlockRecord>,
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
    /// The board that drove the plant; absent where the built-in core did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board: Option<BoardResult>,
    /// The scenario's expectations.
    pub expectations: Vec<ExpectationResult>,
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
    /// Exit code of the command: 0 all expectations held, 1 one failed, 2 the run did not finish.
    pub fn exit_code(&self) -> u8 {
        if self.partial || self.verdict == Verdict::Unfinished {
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

/// Where a channel is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Pressures on a linear axis, bar absolute.
    Pressure,
    /// Low pressures on a logarithmic axis, mbar absolute. Values over some 200 mbar lie outside the lane.
    Vacuum,
    /// Temperatures, degC.
    Temperature,
    /// Masses, g.
    Mass,
    /// Mass flows, g/s.
    Flow,
    /// Shares and signal quality, 0 to 1 or %.
    Quality,
}

impl Group {
    /// Every group in the order of the lanes.
    pub const ALL: [Self; 6] = [Self::Pressure, Self::Vacuum, Self::Temperature, Self::Mass, Self::Flow, Self::Quality];
}

/// Whose word a channel is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// The station's instrument.
    Shown,
    /// The plant.
    True,
}

/// What a channel is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChannelSpec {
    /// Short unique name, used as a column head: `pt2`, `vehicle_low_p`.
    pub name: String,
    /// Name for readers: `PT-2 low side`.
    pub label: String,
    /// Unit of the values: `bar`, `mbar`, `degC`, `g`, `g/s`, `1`, `%`.
    pub unit: String,
    /// Lane.
    pub group: Group,
    /// Whose word it is.
    pub view: View,
}

impl ChannelSpec {
    /// A channel; text is copied.
    pub fn new(name: &str, label: &str, unit: &str, group: Group, view: View) -> Self {
        Self { name: name.to_owned(), label: label.to_owned(), unit: unit.to_owned(), group, view }
    }
}

/// A channel and its samples, as many as [`Trace::time_s`]. A missing value is NaN.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Channel {
    /// What it is.
    #[serde(flatten)]
    pub spec: ChannelSpec,
    /// Samples.
    pub values: Vec<f32>,
}

/// A span of simulated time, s.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    /// Begin, s.
    pub start_s: f64,
    /// End, s.
    pub end_s: f64,
}

/// When one actuator was on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ActuatorTrack {
    /// Tag: `XV-1` ... `K-1`.
    pub tag: String,
    /// Spans in which it was energised, in order and apart.
    pub on: Vec<Interval>,
}

/// When one phase ran.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PhaseSpan {
    /// Name of the phase.
    pub name: String,
    /// Begin and end.
    #[serde(flatten)]
    pub span: Interval,
    /// How it ended.
    pub outcome: Outcome,
}

/// Everything over time. Sampled about each 0.5 s and at events; columns, so that writers take them whole.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Trace {
    /// Time of each sample, s, never falling.
    pub time_s: Vec<f64>,
    /// Channels.
    pub channels: Vec<Channel>,
    /// Actuators in the order of their tags.
    pub actuators: Vec<ActuatorTrack>,
    /// Phases in time.
    pub phases: Vec<PhaseSpan>,
    /// The run was interrupted; the trace ends early.
    pub partial: bool,
}

impl Trace {
    /// An empty trace with these channels and actuators.
    pub fn new(channels: Vec<ChannelSpec>, tags: &[&str]) -> Self {
        let channels = channels.into_iter().map(|spec| Channel { spec, values: Vec::new() }).collect();
        let actuators = tags.iter().map(|tag| ActuatorTrack { tag: (*tag).to_owned(), on: Vec::new() }).collect();
        Self { channels, actuators, ..Self::default() }
    }

    /// Makes room for this many samples, so that recording does not stop to grow.
    pub fn reserve(&mut self, samples: usize) {
        self.time_s.reserve(samples);
        for channel in &mut self.channels {
            channel.values.reserve(samples);
        }
    }

    /// Adds one sample of every channel, in the order of [`Trace::channels`]; values that are not given become NaN.
    pub fn record(&mut self, t_s: f64, values: &[f32]) {
        self.time_s.push(t_s);
        for (at, channel) in self.channels.iter_mut().enumerate() {
            channel.values.push(values.get(at).copied().unwrap_or(f32::NAN));
        }
    }

    /// Notes that actuator number `index` (order of [`Trace::actuators`]) went on or off at `t_s`.
    /// A span still open when the run ends is closed by [`Trace::close`].
    pub fn switch(&mut self, index: usize, t_s: f64, on: bool) {
        let Some(track) = self.actuators.get_mut(index) else {
            return;
        };
        let open = track.on.last_mut().filter(|span| span.end_s == f64::INFINITY);
        match (open, on) {
            (Some(span), false) => span.end_s = t_s,
            (None, true) => track.on.push(Interval { start_s: t_s, end_s: f64::INFINITY }),
            _ => {}
        }
    }

    /// Ends every open span at `t_s`. Call it once when the run ends.
    pub fn close(&mut self, t_s: f64) {
        let spans = self.actuators.iter_mut().flat_map(|track| track.on.iter_mut());
        for span in spans.chain(self.phases.iter_mut().map(|phase| &mut phase.span)) {
            if span.end_s == f64::INFINITY {
                span.end_s = t_s;
            }
        }
    }

    /// Time of the last sample or span, s.
    pub fn end_s(&self) -> f64 {
        let spans = self.phases.iter().map(|phase| phase.span.end_s);
        spans.chain(self.time_s.last().copied()).filter(|t| t.is_finite()).fold(0.0, f64::max)
    }

    /// The channel of this name.
    pub fn channel(&self, name: &str) -> Option<&Channel> {
        self.channels.iter().find(|channel| channel.spec.name == name)
    }
}
