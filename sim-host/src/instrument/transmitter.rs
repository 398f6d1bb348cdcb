//! A 4-20 mA transmitter: lag, class errors, noise, and the current it can still drive (NAMUR NE 43).

use valvewright_core::frame::COUNTS_AT_24_MA;

use super::Noise;
use super::spec::TransmitterSpec;

/// Counts of one milliampere.
const COUNTS_PER_MA: f64 = COUNTS_AT_24_MA as f64 / 24.0;
/// A healthy transmitter never drives less than 3.8 mA nor more than 20.5 mA (NE 43); rounded into that band.
const LEAST: f64 = 10_377.0;
const MOST: f64 = 55_977.0;
/// Current of a loop shorted to its supply, held by the input's own limiter; own choice above the 21 mA of NE 43.
const SHORT: u16 = (22.5 * COUNTS_PER_MA) as u16;

/// What is wrong with a loop.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum LoopHealth {
    /// Nothing.
    #[default]
    Good,
    /// Wire broken: no current.
    Open,
    /// Shorted to the supply: more than 21 mA.
    Short,
    /// The converter repeats its last counts.
    Frozen,
}

/// One loop from process to counts.
#[derive(Clone, Debug)]
pub(super) struct Transmitter {
    lag_s: f64,
    /// Counts per unit of the truth.
    gain: f64,
    /// Counts at a truth of zero.
    zero: f64,
    /// Standard deviation in counts.
    noise: f64,
    /// Share of the distance to the truth covered in one tick.
    alpha: f64,
    /// The lagged truth.
    held: f64,
    counts: u16,
    pub(super) health: LoopHealth,
}

impl Transmitter {
    /// Draws this transmitter's own errors inside its class.
    pub(super) fn new(spec: &TransmitterSpec, noise: &mut Noise) -> Self {
        let per_unit = 16.0 * COUNTS_PER_MA / (spec.high - spec.low);
        let gain_error = noise.within(spec.gain_class);
        let offset = noise.within(spec.offset_class);
        Self {
            lag_s: spec.lag_s,
            gain: per_unit * (1.0 + gain_error),
            zero: 4.0 * COUNTS_PER_MA + per_unit * (offset - spec.low),
            noise: per_unit * spec.noise,
            alpha: 1.0,
            held: 0.0,
            counts: 0,
            health: LoopHealth::Good,
        }
    }

    /// The device has stood in this state for long.
    pub(super) fn settle(&mut self, truth: f64) {
        self.held = truth;
    }

    pub(super) fn set_step(&mut self, dt_s: f64) {
        self.alpha = share_covered(dt_s, self.lag_s);
    }

    #[inline]
    pub(super) fn sample(&mut self, truth: f64, noise: &mut Noise) -> u16 {
        self.held += self.alpha * (truth - self.held);
        let counts = self.zero + self.gain * self.held + self.noise * noise.gauss();
        match self.health {
            LoopHealth::Good => self.counts = (counts.clamp(LEAST, MOST) + 0.5) as u16,
            LoopHealth::Open => self.counts = 0,
            LoopHealth::Short => self.counts = SHORT,
            LoopHealth::Frozen => {}
        }
        self.counts
    }
}

/// Exact for an input that is constant over the step; 1 where the lag is nil.
pub(super) fn share_covered(dt_s: f64, lag_s: f64) -> f64 {
    if lag_s > 0.0 { -(-dt_s / lag_s).exp_m1() } else { 1.0 }
}
