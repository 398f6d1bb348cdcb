//! How to run, what is said on the way, and what a run leaves.

use valvewright_core::row::{RowSet, Watch};
use valvewright_core::station::Station;

use super::moves::Move;
use crate::controller::Tape;
use crate::flash::Image;
use crate::report::data::{RunResult, Trace};

/// How to run.
#[derive(Debug, Clone, Default)]
pub struct RunOptions {
    /// Seed in place of the scenario's.
    pub seed: Option<u64>,
    /// Keep every frame that went into the core and everything done to the plant, for replay.
    pub keep_frames: bool,
    /// Nobody will look at the trace: it gets its spans, but no samples. The hash is not of the trace and stays the same.
    pub no_samples: bool,
    /// No hazard is judged: for measuring what that takes.
    pub no_hazards: bool,
    /// The plant is integrated as for years of services ([`Tolerance::YEARS`](crate::plant::Tolerance::YEARS)): where sums of many runs are
    /// wanted.
    pub rough: bool,
    /// What if these rows of the core's table were not there.
    pub without: RowSet,
    /// What if these set points of it lay higher by so much, in the unit of their reading.
    pub moved: Vec<(Watch, i32)>,
}

impl RunOptions {
    /// Judged, and nothing kept that nobody looks at.
    pub const BARE: Self = Self {
        seed: None,
        keep_frames: false,
        no_samples: true,
        no_hazards: false,
        rough: false,
        without: RowSet::NONE,
        moved: Vec::new(),
    };
}

impl RunOptions {
    /// The interlock table of a station that begins a run is what was asked for.
    pub(super) fn alter(&self, station: &mut Station) {
        station.leave_out(self.without);
        for (watch, by) in &self.moved {
            station.move_set_point(*watch, *by);
        }
    }
}

/// Where a run stands.
#[derive(Debug, Clone, Copy)]
pub struct Progress<'a> {
    /// Simulated time, s.
    pub t_s: f64,
    /// Share of the order's phases that are behind, 0 to 1: an estimate.
    pub share: f64,
    /// The running phase.
    pub phase: Option<&'a str>,
}

/// What the caller wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Control {
    /// Go on.
    Continue,
    /// Stop here and hand over what there is.
    Stop,
}

/// What a run leaves.
#[derive(Debug)]
pub struct RunOutcome {
    /// Judged numbers.
    pub result: RunResult,
    /// Everything over time.
    pub trace: Trace,
    /// What the controller was given and what it answered, where frames are kept.
    pub tape: Tape,
    /// When each of what was broken down by the caller ([`super::Simulation::break_down`]) began, s.
    pub broke: Vec<Option<f64>>,
    /// Everything done to the plant and its tick in ms, where frames are kept.
    pub moves: Vec<(u32, Move)>,
    /// The part of the workshop, and how many records it did not take; none where the run is of no workshop.
    pub store: Option<(Image, u32)>,
}
