//! Everything over time: channels of samples, spans of actuators and phases.

use serde::Serialize;

use super::{HazardBand, Outcome};

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
    /// Margins of the hazards that ever moved.
    pub hazards: Vec<HazardBand>,
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
