//! 4-20 mA transmitters: lag, class errors, noise, and the current they can still drive (NAMUR NE 43).

use valvewright_core::frame::{ANALOG_COUNT, Analog, COUNTS_AT_24_MA};

use super::Noise;
use super::lag::share_covered;
use super::loop_ill::{Around, LoopHealth, LoopIll, Passing, Stage};
use super::spec::TransmitterSpec;

/// Counts of one milliampere.
const COUNTS_PER_MA: f64 = COUNTS_AT_24_MA as f64 / 24.0;
/// A healthy transmitter never drives less than 3.8 mA nor more than 20.5 mA (NE 43); rounded into that band.
const LEAST: f64 = 10_377.0;
const MOST: f64 = 55_977.0;
/// Current of a loop shorted to its supply, held by the input's own limiter; own choice above the 21 mA of NE 43.
const SHORT: u16 = (22.5 * COUNTS_PER_MA) as u16;

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
    step_s: f64,
    /// By loop, and along the way of its value; none in a healthy station.
    ills: Vec<LoopIll>,
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
            step_s: 0.0,
            ills: Vec::new(),
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

    /// Adds an ill to its loop, behind those that take hold at the same place.
    pub(super) fn ail(&mut self, ill: LoopIll) {
        if ill.at < ANALOG_COUNT && ill.health != LoopHealth::Good {
            self.ills.push(ill);
            self.ills.sort_by_key(|one| (one.at, one.health.stage()));
        }
    }

    /// Takes away those for which `gone` holds.
    pub(super) fn mend(&mut self, gone: impl Fn(&LoopIll) -> bool) {
        self.ills.retain(|one| !gone(one));
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
        if self.ills.is_empty() {
            self.counts.copy_from_slice(&fresh[..ANALOG_COUNT]);
        } else {
            self.ailing(&fresh, &deviates);
        }
        self.counts
    }

    #[cold]
    fn ailing(&mut self, fresh: &[u16; LANES], deviates: &[f64; LANES]) {
        let Self { counts, ills, held, gain, zero, noise, step_s, .. } = self;
        let before = *counts;
        counts.copy_from_slice(&fresh[..ANALOG_COUNT]);
        for of_loop in ills.chunk_by_mut(|a, b| a.at == b.at) {
            let Some(k) = of_loop.first().map(|one| one.at) else { continue };
            let around =
                Around { step_s: *step_s, gain: gain[k], deviate: deviates[k], ambient: held[Analog::Tt4 as usize] };
            let mut passing = Passing { value: held[k], rustle: noise[k] * deviates[k] };
            of_loop.iter_mut().for_each(|one| one.pass(&mut passing, &around));
            counts[k] = driven(zero[k] + gain[k] * passing.value + passing.rustle);
        }
        for one in ills.iter() {
            if let LoopHealth::Crossed(other) = one.health {
                counts.swap(one.at, other as usize);
            }
        }
        for one in ills.iter().filter(|one| one.health.stage() == Stage::Input) {
            counts[one.at] = match one.health {
                LoopHealth::Short => SHORT,
                LoopHealth::Frozen => before[one.at],
                LoopHealth::Counts(counts) => counts,
                _ => 0,
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
