//! What can be wrong with a scale, from the platform to the converter.
//!
//! Several ills of one bridge act along that way, each on what the one before leaves: platform, bridge, amplifier, converter. What adds,
//! adds; of two that set the code outright the later one wins.

use super::lag::share_covered;

/// What is wrong with a scale.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum ScaleHealth {
    /// Nothing.
    #[default]
    Good,
    /// No new conversion: code and sequence stand still.
    Frozen,
    /// The code stands still, conversions go on: the sequence alone looks alive.
    Stuck,
    /// Bridge open: the code sits at the upper rail, conversions go on.
    Open,
    /// The code sits at the lower rail, conversions go on.
    LowRail,
    /// The code is this one, which no 24-bit converter makes, and conversions go on.
    Code(i32),
    /// The amplifier gives its code times this factor, that of the empty platform included.
    Gain(f64),
    /// The reading walks by so many gram per second, from when it is set on.
    Drift(f64),
    /// So many gram are shown that are not there.
    Step(f64),
    /// The load is shown wrong by this share of itself; the empty platform is shown right.
    Span(f64),
    /// The reading creeps away by this share of the load in the end, with this time constant, s.
    Creep {
        /// Share of the load.
        share: f64,
        /// Time constant, s.
        tau: f64,
    },
    /// The reading creeps away by so many gram in the end, with this time constant, s.
    CreepBy {
        /// In the end, g.
        grams: f64,
        /// Time constant, s.
        tau: f64,
    },
    /// So many gram more for each kelvin that the air is warmer than at calibration.
    PerKelvin(f64),
    /// Something that leans on the platform takes this share of every change of the load.
    Spring(f64),
    /// Something hits the platform: pulses up and down in turn.
    Shock {
        /// Height, g.
        grams: f64,
        /// Height as a share of the load, on top.
        share: f64,
        /// Length of a pulse, s.
        length: f64,
        /// From one to the next, s.
        every: f64,
    },
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Stage {
    Platform,
    Bridge,
    Amplifier,
    Converter,
}

impl ScaleHealth {
    pub(super) const fn stage(self) -> Stage {
        match self {
            Self::Spring(_) | Self::Shock { .. } => Stage::Platform,
            Self::Good
            | Self::Drift(_)
            | Self::Step(_)
            | Self::Span(_)
            | Self::Creep { .. }
            | Self::CreepBy { .. }
            | Self::PerKelvin(_) => Stage::Bridge,
            Self::Gain(_) => Stage::Amplifier,
            Self::Frozen | Self::Stuck | Self::Open | Self::LowRail | Self::Code(_) => Stage::Converter,
        }
    }
}

/// One ill of one scale.
#[derive(Clone, Debug)]
pub(super) struct ScaleIll {
    /// Whose it is.
    pub(super) key: u32,
    pub(super) health: ScaleHealth,
    /// Time since it began, s.
    since: f64,
    strayed_g: f64,
    /// The load when it began, g.
    began_g: Option<f64>,
}

impl ScaleIll {
    pub(super) fn new(key: u32, health: ScaleHealth) -> Self {
        Self { key, health, since: 0.0, strayed_g: 0.0, began_g: None }
    }

    /// What becomes of `grams` at a conversion `dt_s` after the last one; `load_g` is felt, the air `warmer_k` than at calibration.
    pub(super) fn weigh(&mut self, grams: f64, load_g: f64, warmer_k: f64, dt_s: f64) -> f64 {
        self.since += dt_s;
        match self.health {
            ScaleHealth::Drift(per_second) => {
                self.strayed_g += per_second * dt_s;
                grams + self.strayed_g
            }
            ScaleHealth::Step(more) => grams + more,
            ScaleHealth::Span(share) => grams * (1.0 + share),
            ScaleHealth::Creep { share, tau } => grams + self.creep(share * load_g, tau, dt_s),
            ScaleHealth::CreepBy { grams: most, tau } => grams + self.creep(most, tau, dt_s),
            ScaleHealth::PerKelvin(more) => grams + more * warmer_k,
            ScaleHealth::Spring(share) => {
                let began = *self.began_g.get_or_insert(load_g);
                grams - share * (load_g - began)
            }
            ScaleHealth::Shock { grams: height, share, length, every } => {
                let number = (self.since / every).floor();
                let into = self.since - number * every;
                let sign = if number % 2.0 == 0.0 { 1.0 } else { -1.0 };
                if into < length { grams + sign * (height + share * load_g) } else { grams }
            }
            _ => grams,
        }
    }

    fn creep(&mut self, most: f64, tau: f64, dt_s: f64) -> f64 {
        self.strayed_g += share_covered(dt_s, tau) * (most - self.strayed_g);
        self.strayed_g
    }
}
