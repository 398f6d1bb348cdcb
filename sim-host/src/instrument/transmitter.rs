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

/// What is wrong with a loop. Values are in the unit of the truth (Pa, K, share, A, rpm, V); the loop's own limits stay.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
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
    /// The sensor stands at a value and still rustles with this standard deviation, so that it looks alive.
    Stuck {
        /// The value.
        at: f64,
        /// Standard deviation around it.
        noise: f64,
    },
    /// So much is shown that is not there.
    Offset(f64),
    /// The truth is shown times this factor.
    Gain(f64),
    /// The reading walks by so much per second, from when it is set on.
    Drift(f64),
}

/// Added to a number of less than 52 bits, leaves it rounded to a whole one in the lowest bits: a conversion that vector units
/// without one for unsigned numbers can do.
const WHOLE: f64 = (1_u64 << 52) as f64;

/// Added and taken off again, leaves zero of what is less than it: a value that dies away ends there and not among the numbers
/// below the normal ones, where a sum costs a dozen others. No count knows of either.
const NOTHING: f64 = 1e-200;

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
    /// How far a drift has come.
    strayed: [f64; ANALOG_COUNT],
    step_s: f64,
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
            strayed: [0.0; ANALOG_COUNT],
            step_s: 0.0,
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
        self.step_s = dt_s;
    }

    /// Breaks or mends one loop; a drift begins anew.
    pub(super) fn set_health(&mut self, at: usize, health: LoopHealth) {
        if let (Some(one), Some(strayed)) = (self.health.get_mut(at), self.strayed.get_mut(at)) {
            (*one, *strayed) = (health, 0.0);
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
            let held = self.held[k] + self.alpha[k] * (truth[k] - self.held[k]);
            self.held[k] = (held + NOTHING) - NOTHING;
            let counts = self.zero[k] + self.gain[k] * self.held[k] + self.noise[k] * deviates[k];
            fresh[k] = driven(counts);
        }
        if self.healthy {
            self.counts.copy_from_slice(&fresh[..ANALOG_COUNT]);
        } else {
            self.ailing(&fresh, &deviates);
        }
        self.counts
    }

    #[cold]
    fn ailing(&mut self, fresh: &[u16; LANES], deviates: &[f64; LANES]) {
        for k in 0..ANALOG_COUNT {
            let (held, rustle) = (self.held[k], self.noise[k] * deviates[k]);
            let of = |value: f64, rustle: f64| driven(self.zero[k] + self.gain[k] * value + rustle);
            self.counts[k] = match self.health[k] {
                LoopHealth::Good => fresh[k],
                LoopHealth::Open => 0,
                LoopHealth::Short => SHORT,
                LoopHealth::Frozen => self.counts[k],
                LoopHealth::Stuck { at, noise } => of(at, self.gain[k] * noise * deviates[k]),
                LoopHealth::Offset(more) => of(held + more, rustle),
                LoopHealth::Gain(factor) => of(held * factor, rustle),
                LoopHealth::Drift(per_second) => {
                    self.strayed[k] += per_second * self.step_s;
                    of(held + self.strayed[k], rustle)
                }
            };
        }
    }
}

/// What a transmitter can drive of so many counts, rounded.
#[inline(always)]
fn driven(counts: f64) -> u16 {
    let inside = (if counts > LEAST { counts } else { LEAST }).min(MOST);
    (inside + WHOLE).to_bits() as u16
}

/// Exact for an input that is constant over the step; 1 where the lag is nil.
pub(super) fn share_covered(dt_s: f64, lag_s: f64) -> f64 {
    if lag_s > 0.0 { -(-dt_s / lag_s).exp_m1() } else { 1.0 }
}
