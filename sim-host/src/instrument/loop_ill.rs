//! What can be wrong with a loop, and what it makes of the value on its way from the process to the converter's counts.
//!
//! Several ills of one loop act along that way, each on what the one before leaves: sensor, electronics, transport, span, cable, input. Of
//! two that set the same thing outright the later one wins; what adds, adds.

use std::collections::VecDeque;

use valvewright_core::frame::Analog;

use super::Noise;
use super::lag::share_covered;

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
    /// It walks by so much per second until it is so much off, and stays there.
    Walk {
        /// Per second.
        rate: f64,
        /// In the end, with the same sign.
        most: f64,
    },
    /// The value stood still where it was, rustle and all, since the ill began.
    Held,
    /// White noise of this standard deviation on top.
    Noise(f64),
    /// The same in bursts: half a second in every two (own choice).
    Bursts(f64),
    /// The value comes so many seconds late.
    Delay(f64),
    /// Nothing above this value is shown.
    Clip(f64),
    /// The value follows with this time constant, s, besides its own.
    Slow(f64),
    /// The sensor hangs in the air: it goes to the ambient's temperature with this time constant, s.
    Detached(f64),
    /// Its cable and that of the other loop are exchanged.
    Crossed(Analog),
    /// The input shows these counts, which no current makes: what stands for a number that is none.
    Counts(u16),
}

/// Length of a burst of noise and of the time from one to the next, s.
const BURST: (f64, f64) = (0.5, 2.0);

/// Where on its way an ill takes hold of the value.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Stage {
    Sensor,
    Electronics,
    Transport,
    Span,
    Cable,
    Input,
}

impl LoopHealth {
    pub(super) const fn stage(self) -> Stage {
        match self {
            Self::Detached(_) | Self::Slow(_) | Self::Stuck { .. } | Self::Held => Stage::Sensor,
            Self::Good
            | Self::Offset(_)
            | Self::Gain(_)
            | Self::Drift(_)
            | Self::Walk { .. }
            | Self::Noise(_)
            | Self::Bursts(_) => Stage::Electronics,
            Self::Delay(_) => Stage::Transport,
            Self::Clip(_) => Stage::Span,
            Self::Crossed(_) => Stage::Cable,
            Self::Open | Self::Short | Self::Frozen | Self::Counts(_) => Stage::Input,
        }
    }
}

/// A value on its way.
pub(super) struct Passing {
    /// In the unit of the truth.
    pub(super) value: f64,
    /// Noise of the healthy loop, in counts.
    pub(super) rustle: f64,
}

/// What the loop is, as far as an ill must know.
pub(super) struct Around {
    pub(super) step_s: f64,
    /// Counts per unit.
    pub(super) gain: f64,
    /// This scan's deviate of the healthy loop.
    pub(super) deviate: f64,
    /// What the air around has, K.
    pub(super) ambient: f64,
}

/// One ill of one loop.
#[derive(Clone, Debug)]
pub(super) struct LoopIll {
    /// Whose it is.
    pub(super) key: u32,
    /// Which loop.
    pub(super) at: usize,
    pub(super) health: LoopHealth,
    /// Time since it began, s, and how far it has come.
    since: f64,
    strayed: f64,
    kept: Option<f64>,
    line: VecDeque<f64>,
    noise: Noise,
}

impl LoopIll {
    pub(super) fn new(key: u32, seed: u64, at: usize, health: LoopHealth) -> Self {
        let noise = Noise::new(seed);
        Self { key, at, health, since: 0.0, strayed: 0.0, kept: None, line: VecDeque::new(), noise }
    }

    /// What it does to a value that passes, up to the transmitter's output.
    pub(super) fn pass(&mut self, one: &mut Passing, around: &Around) {
        match self.health {
            LoopHealth::Stuck { at, noise } => {
                (one.value, one.rustle) = (at, around.gain * noise * around.deviate);
            }
            LoopHealth::Held => one.value = *self.kept.get_or_insert(one.value),
            LoopHealth::Slow(tau) => one.value = self.follow(one.value, one.value, tau, around),
            LoopHealth::Detached(tau) => one.value = self.follow(one.value, around.ambient, tau, around),
            LoopHealth::Offset(more) => one.value += more,
            LoopHealth::Gain(factor) => one.value *= factor,
            LoopHealth::Drift(per_second) => {
                self.strayed += per_second * around.step_s;
                one.value += self.strayed;
            }
            LoopHealth::Walk { rate, most } => {
                let size = (self.strayed + rate * around.step_s).abs().min(most.abs());
                self.strayed = size.copysign(most);
                one.value += self.strayed;
            }
            LoopHealth::Noise(sigma) => one.value += sigma * self.noise.gauss(),
            LoopHealth::Bursts(sigma) => {
                let deviate = self.noise.gauss();
                one.value += if self.since % BURST.1 < BURST.0 { sigma * deviate } else { 0.0 };
            }
            LoopHealth::Delay(seconds) => {
                self.line.push_back(one.value);
                let scans = (seconds / around.step_s).round().max(0.0) as usize;
                if self.line.len() > scans + 1 {
                    self.line.pop_front();
                }
                one.value = self.line.front().copied().unwrap_or(one.value);
            }
            LoopHealth::Clip(most) => one.value = one.value.min(most),
            LoopHealth::Good
            | LoopHealth::Crossed(_)
            | LoopHealth::Open
            | LoopHealth::Short
            | LoopHealth::Frozen
            | LoopHealth::Counts(_) => {}
        }
        self.since += around.step_s;
    }

    fn follow(&mut self, begins: f64, to: f64, tau: f64, around: &Around) -> f64 {
        let kept = self.kept.get_or_insert(begins);
        *kept += share_covered(around.step_s, tau) * (to - *kept);
        *kept
    }
}
