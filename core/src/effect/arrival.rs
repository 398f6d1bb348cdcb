//! What C-1 draws in arrives in the vessel: not less, or it goes elsewhere or the scale shows too little; not more, or it is liquid.
//!
//! By its displacement and the density of an ideal gas at PT-5, a sound compressor brought 0.87 to 1.34 of that sum in every window of
//! 15 g, in 26 shipped and 60 drawn jobs, while PT-5 stood above 1.5 bar and PT-1 below 3.5 times PT-5 (own figures). A scale that
//! lost half its gain (F028) shows 0.67 at most. Below that suction, or against more pressure, clearance and air leave no such bounds,
//! and only what goes astray in all is counted.

use crate::config::StationConfig;
use crate::frame::{Actuator, Actuators};
use crate::sense::Readings;
use crate::units::*;

/// I19: of the ideal gas so many tenths must arrive whatever the pressures: it delivers 0.6 to 1.3 of that sum as gas and more where
/// liquid comes along (own figures).
const ARRIVES_TENTHS: i32 = 3;
/// Below this suction air may come in, which weighs a quarter: then only what the vessel loses counts.
const AIR_BELOW: AbsPa = AbsPa(150_000);
/// What may be missing, microgram: vibration is 3 g, and a purge valve passes some 2 g/s (own figures).
const ASTRAY: i32 = 15_000_000;
/// The way to the vessel fills first, and the scale follows half a second late.
const DELIVERS_AFTER: Millis = Millis::from_secs(5);
/// Pressures even out along the way before a window may begin (own choice).
const WINDOW_AFTER: Millis = Millis::from_secs(8);
/// A window is over when so much was drawn in, microgram: five times what vibration hides.
const WINDOW: i32 = 20_000_000;
/// A window that takes longer than this is too thin to judge (own choice).
const WINDOW_MAX: Millis = Millis::from_secs(60);
/// Vessel pressure over suction up to which the clearance takes little, in tenths.
const RATIO_TENTHS: i64 = 35;
/// Least that must arrive, in hundredths of the ideal gas: between 0.87 and 0.67.
const LEAST: i64 = 75;
/// Most that gas alone can be, in hundredths.
const MOST: i64 = 170;
/// Windows in a row that must be short (own choice; a knock against the platform spoils one).
const SHORT: u8 = 2;
/// The separator has boiled off what it was given too much of by then (own choice).
const BOILS: Millis = Millis::from_secs(20);

/// State of the comparison.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Arrival {
    delivering: Millis,
    /// What should have arrived and did not, microgram.
    astray: i32,
    from: Option<Milligram>,
    /// How long the window has lasted, what was drawn in it, microgram, and how heavy the vessel was before.
    lasted: Millis,
    drawn: i32,
    before: Milligram,
    short: u8,
    wet: Millis,
}

impl Arrival {
    /// More arrives than gas can be: the separator is full, whatever LS-2 says (F049).
    pub(super) fn liquid(&self) -> bool {
        self.wet > Millis(0)
    }

    /// Whether what is drawn in does not arrive.
    pub(super) fn astray(&mut self, dt: Millis, r: &Readings, on: Actuators, cfg: &StationConfig) -> bool {
        self.wet = self.wet.minus(dt.or_less(self.wet));
        self.delivering = if on.has(Actuator::C1) { self.delivering.plus(dt) } else { Millis(0) };
        let (true, Some(mass), Some(p)) = (self.delivering > DELIVERS_AFTER, r.wt1.mass.usable(), r.pt5.usable())
        else {
            (self.astray, self.from, self.lasted, self.short) = (0, None, Millis(0), 0);
            return false;
        };
        // g/m3 x mL/s / 1000 is mg/s, and mg/s x ms is microgram.
        let rate = cfg.refrigerant.ideal_density(p).saturating_mul(cfg.compressor_draws) / 1_000;
        let ms = i32::try_from(dt.0).unwrap_or(i32::MAX);
        let drawn = if p > AIR_BELOW { rate.saturating_mul(ms) } else { 0 };
        let came = mass.minus(self.from.replace(mass).unwrap_or(mass)).0.saturating_mul(1_000);
        let due = (i64::from(drawn).saturating_mul(ARRIVES_TENTHS as i64) / 10) as i32;
        self.astray = self.astray.saturating_add(due).saturating_sub(came).max(0);
        let dense = drawn > 0 && r.pt1.usable().is_some_and(|v| i64::from(v.0) * 10 < i64::from(p.0) * RATIO_TENTHS);
        if dense && on.has(Actuator::Xv3) && self.delivering > WINDOW_AFTER {
            self.window(dt, mass, drawn);
        } else {
            self.lasted = Millis(0);
        }
        self.astray > ASTRAY || self.short >= SHORT
    }

    /// Holds what came in a window against what was drawn in it.
    fn window(&mut self, dt: Millis, mass: Milligram, drawn: i32) {
        if self.lasted == Millis(0) {
            (self.drawn, self.before) = (0, mass);
        }
        self.lasted = self.lasted.plus(dt);
        self.drawn = self.drawn.saturating_add(drawn);
        if self.drawn < WINDOW {
            if self.lasted > WINDOW_MAX {
                self.lasted = Millis(0);
            }
            return;
        }
        self.lasted = Millis(0);
        // milligram x 1000 in microgram, x 100 in hundredths
        let came = i64::from(mass.minus(self.before).0).saturating_mul(100_000);
        self.short = if came < i64::from(self.drawn) * LEAST { self.short.saturating_add(1) } else { 0 };
        if came > i64::from(self.drawn) * MOST {
            self.wet = BOILS;
        }
    }
}
