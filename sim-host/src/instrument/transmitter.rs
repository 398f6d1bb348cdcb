//! 4-20 mA transmitters: lag, class errors, noise, and the current they can still drive (NAMUR NE 43).

use valvewright_core::frame::{ANALOG_COUNT, COUNTS_AT_24_MA};

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

/// Added to a number of less than 52 bits, leaves it rounded to a whole one in the lowest bits: a conversion that vector units
/// without one for unsigned numbers can do.
const WHOLE: f64 = (1_u64 << 52) as f64;

/// Inputs, filled up to whole vector registers.
pub(super) const LANES: usize = 16;

/// All loops from process to counts, one array a quantity, so that a scan is a few vector instructions.
#[derive(Clone, Debug)]
pub(super) struct Transmitters {
    lag_s: [f64; LANES],
    /// Counts per unit of the truth.
    gain: [f64; LANES],
    /// Counts at a truth of zero.
    zero: [f64; LANES],
    /// Standard deviation in counts.
    noise: [f64; LANES],
    /// Share of the distance to the truth covered in one tick.
    alpha: [f64; LANES],
    /// The lagged truth.
    held: [f64; LANES],
    counts: [u16; ANALOG_COUNT],
    health: [LoopHealth; ANALOG_COUNT],
    /// No loop is broken.
    healthy: bool,
}

impl Transmitters {
    /// Draws each transmitter's own errors inside its class.
    pub(super) fn new(specs: &[TransmitterSpec; ANALOG_COUNT], noise: &mut Noise) -> Self {
        let mut made = Self {
            lag_s: [0.0; LANES],
            gain: [0.0; LANES],
            zero: [LEAST; LANES],
            noise: [0.0; LANES],
            alpha: [1.0; LANES],
            held: [0.0; LANES],
            counts: [0; ANALOG_COUNT],
            health: [LoopHealth::Good; ANALOG_COUNT],
            healthy: true,
        };
        for (k, spec) in specs.iter().enumerate() {
            let per_unit = 16.0 * COUNTS_PER_MA / (spec.high - spec.low);
            let gain_error = noise.within(spec.gain_class);
            let offset = noise.within(spec.offset_class);
            made.lag_s[k] = spec.lag_s;
            made.gain[k] = per_unit * (1.0 + gain_error);
            made.zero[k] = 4.0 * COUNTS_PER_MA + per_unit * (offset - spec.low);
            made.noise[k] = per_unit * spec.noise;
        }
        made
    }

    /// The devices have stood in this state for long.
    pub(super) fn settle(&mut self, truth: &[f64; LANES]) {
        self.held = *truth;
    }

    pub(super) fn set_step(&mut self, dt_s: f64) {
        self.alpha = self.lag_s.map(|lag| share_covered(dt_s, lag));
    }

    /// Breaks or mends one loop.
    pub(super) fn set_health(&mut self, at: usize, health: LoopHealth) {
        if let Some(one) = self.health.get_mut(at) {
            *one = health;
        }
        self.healthy = self.health.iter().all(|one| *one == LoopHealth::Good);
    }

    #[inline]
    pub(super) fn sample(&mut self, truth: &[f64; LANES], noise: &mut Noise) -> [u16; ANALOG_COUNT] {
        let mut deviates = [0.0; LANES];
        for deviate in &mut deviates[..ANALOG_COUNT] {
            *deviate = noise.gauss();
        }
        let mut fresh = [0u16; LANES];
        for k in 0..LANES {
            self.held[k] += self.alpha[k] * (truth[k] - self.held[k]);
            let counts = self.zero[k] + self.gain[k] * self.held[k] + self.noise[k] * deviates[k];
            let inside = (if counts > LEAST { counts } else { LEAST }).min(MOST);
            fresh[k] = (inside + WHOLE).to_bits() as u16;
        }
        if self.healthy {
            self.counts.copy_from_slice(&fresh[..ANALOG_COUNT]);
        } else {
            self.ailing(&fresh);
        }
        self.counts
    }

    #[cold]
    fn ailing(&mut self, fresh: &[u16; LANES]) {
        for ((counts, health), fresh) in self.counts.iter_mut().zip(&self.health).zip(fresh) {
            match health {
                LoopHealth::Good => *counts = *fresh,
                LoopHealth::Open => *counts = 0,
                LoopHealth::Short => *counts = SHORT,
                LoopHealth::Frozen => {}
            }
        }
    }
}

/// Exact for an input that is constant over the step; 1 where the lag is nil.
pub(super) fn share_covered(dt_s: f64, lag_s: f64) -> f64 {
    if lag_s > 0.0 { -(-dt_s / lag_s).exp_m1() } else { 1.0 }
}
