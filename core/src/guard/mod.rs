//! What no single reading shows, watched over many scans for the interlock table: hoses, charge line, vessel and identifier.
//!
//! It finds and never decides: each finding is a condition of a row, and what it does is the row's affair. It looks at what was really
//! energised in the last scan. What protects by being long counts only scans that were watched; what a valve lets out counts in full.

mod hoses;
mod vessel;

use crate::config::StationConfig;
use crate::frame::{Actuators, Switches};
use crate::row::{Watch, WatchSet};
use crate::sense::Readings;
use crate::units::Millis;
use hoses::Hoses;
use vessel::Vessel;

/// Sound samples in a row after which the identifier is believed again: as many as a verdict on a gas takes (I16).
const SOUND: u8 = 2;

/// All of them.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Guards {
    hoses: Hoses,
    vessel: Vessel,
    /// Reports in a row whose flow and self-check were inside their bands; none since power-on is none known.
    sound: u8,
}

impl Guards {
    /// One scan. `on` is what was energised in the last one; a step longer than five scans was not watched. `stirred` while the
    /// vehicle's own compressor runs, as far as the operator said.
    pub fn step(&mut self, dt: Millis, r: &Readings, on: Actuators, stirred: bool, cfg: &StationConfig) {
        let longest = Millis(cfg.scan.0.saturating_mul(5));
        let watched = if dt > longest { Millis(0) } else { dt };
        self.hoses.step(dt, watched, r, on, stirred);
        self.hoses.empty(watched, r, on, cfg.recovery_end);
        self.vessel.step(dt, watched, r, on);
        if let Some(report) = &r.gas {
            self.sound = if report.healthy { self.sound.saturating_add(1).min(SOUND) } else { 0 };
        }
    }

    /// Looks at ZS-2. `touched` is what was on or wanted; `busy` while an order is under way.
    pub fn couplers(&mut self, r: &Readings, touched: Actuators, busy: bool) {
        self.hoses.couplers(r, r.switches.closed(Switches::ZS2_COUPLED), touched, busy);
    }

    /// Whether the hoses were emptied and have stood so long that the couplers may come off (I31).
    pub fn may_come_off(&self) -> bool {
        self.hoses.may_come_off()
    }

    /// The conditions that are seen not to stand.
    pub fn well(&self) -> WatchSet {
        let (hoses, vessel) = (self.hoses.well(), self.vessel.well());
        let sound = if self.sound >= SOUND { WatchSet::of(&[Watch::IdentifierUnsound]) } else { WatchSet::NONE };
        hoses.or(vessel).or(sound)
    }
}
