//! Readings held against each other: one that others contradict is bad, with all that needs it tripped, however alive it looks.
//!
//! What physics says of two readings at once is asked only where it must hold: gauges that open valves join show one pressure, a
//! vessel at rest stands at saturation or above, one that is filled moves its gauge, a compressor that runs warms its discharge. Each check keeps its limit well
//! outside the classes of both instruments, and its time well outside what valves, hoses and filters need. Where nothing says which
//! of two is wrong, both are bad.
//!
//! The checks take turns, one a scan: their times are those of whole laps, eight scans, and a lap is counted once it is over. A late
//! scan counts as no more than five scans. A verdict goes when the readings have agreed again for a while in the same
//! circumstances, or with the power.
//!
//! Not promised: two that are wrong alike, and what nothing contradicts. A vessel gauge that reads too high looks like air in the
//! vessel unless it began to in a rest (F004, F005); hose gauges that are exchanged do no harm while both valves open together, for
//! then the higher counts, and are found where one opens alone (F010).

mod hoses;
mod machine;
mod roll;
mod vessel;

use crate::config::StationConfig;
use crate::frame::Actuators;
use crate::sense::{Broken, Quality, Reading, Readings};
use crate::talk::Notice;
use crate::units::{Milligram, Millis};
pub use machine::FAN_TURNS;

/// Two bridges that part by so much have lost a cell (F028): a knock is 500 g at most (F025), a quarter of 4 kg is this much. What parts
/// them by less I20 finds in its two seconds.
const SPLIT: Milligram = Milligram::from_grams(1_000);
/// How long they must: F028 leaves a second, of which the filters take 0.2 s (own choice).
const SPLIT_HELD: Millis = Millis(500);
/// How many turns make a lap.
const TURNS: u8 = 8;

/// A contradiction that must last to be believed, and an agreement that must last to end it.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Verdict {
    /// How long the readings have said the opposite of what stands.
    spent: Millis,
    stands: bool,
}

impl Verdict {
    /// The readings can be held against each other now, and contradict or agree.
    fn weigh(&mut self, dt: Millis, against: bool, holds: Millis, clears: Millis) {
        if against == self.stands {
            self.spent = Millis(0);
            return;
        }
        self.spent = self.spent.plus(dt);
        if self.spent >= if self.stands { clears } else { holds } {
            *self = Self { spent: Millis(0), stands: against };
        }
    }
    /// They cannot: what stands stays, what was on its way begins anew.
    fn idle(&mut self) {
        self.spent = Millis(0);
    }
}

/// State of the checks.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Cross {
    turn: u8,
    /// Time of the lap under way, and of the last whole one.
    lap: Millis,
    took: Millis,
    hoses: hoses::Hoses,
    vessel: vessel::Vessel,
    machine: machine::Machine,
    /// Some verdict stands.
    any: bool,
    /// How long the bridges of the vessel scale have been a kilogram apart.
    split: Millis,
    roll: roll::Roll,
}

/// What a check looks at, beside its own state.
struct Seen<'a> {
    /// Time since this check's last turn.
    dt: Millis,
    r: &'a Readings,
    on: Actuators,
    cfg: &'a StationConfig,
}

impl Cross {
    /// One scan: `r` as sensing judged it, with the outputs of the last scan and how long the vessel has been left alone. Tells of an
    /// input that has turned bad or sound.
    #[inline]
    pub fn step(
        &mut self,
        dt: Millis,
        r: &mut Readings,
        on: Actuators,
        vessel_rest: Millis,
        cfg: &StationConfig,
    ) -> Option<Notice> {
        self.lap = self.lap.plus(dt.or_less(Millis(cfg.scan.0.saturating_mul(5))));
        let seen = Seen { dt: self.took, r, on, cfg };
        match self.turn {
            0 => self.hoses.apart(&seen),
            1 => self.hoses.swapped(&seen),
            2 => self.hoses.separator(&seen),
            3 => self.hoses.vacuum(&seen),
            4 => self.machine.discharge(&seen),
            5 => self.machine.skin(&seen, vessel_rest),
            6 => self.vessel.step(&seen, vessel_rest),
            _ => self.machine.fan(&seen),
        }
        self.turn = self.turn.wrapping_add(1);
        if self.turn >= TURNS {
            (self.turn, self.took, self.lap) = (0, self.lap, Millis(0));
            self.any = self.hoses.any() | self.vessel.doubted() | self.vessel.gauge_doubted() | self.machine.any();
        }
        self.split = if r.bridges_apart() >= SPLIT { self.split.plus(dt.or_less(SPLIT_HELD)) } else { Millis(0) };
        if self.any | (self.split > SPLIT_HELD) {
            self.mark(r);
        }
        self.roll.call(r)
    }

    /// Another vessel comes: what PT-1 and TT-1 showed of the last one says nothing of it.
    pub fn vessel_changes(&mut self) {
        self.vessel = vessel::Vessel::default();
    }

    /// Takes the worth from what is contradicted.
    #[cold]
    fn mark(&self, r: &mut Readings) {
        if self.hoses.doubted() {
            contradicted(&mut r.pt2);
            contradicted(&mut r.pt3);
        }
        if self.hoses.separator_doubted() {
            contradicted(&mut r.pt5);
        }
        if self.hoses.vacuum_doubted() {
            contradicted(&mut r.pt4);
        }
        if self.vessel.doubted() {
            contradicted(&mut r.pt1);
            contradicted(&mut r.tt1);
        }
        if self.vessel.gauge_doubted() {
            contradicted(&mut r.pt1);
        }
        self.machine.mark(r);
        if self.split > SPLIT_HELD {
            contradicted(&mut r.wt1.mass);
            contradicted(&mut r.wt1a.mass);
            contradicted(&mut r.wt1b.mass);
        }
    }
}

/// Bad, unless it is bad already for a reason of its own.
fn contradicted<T: Copy>(reading: &mut Reading<T>) {
    if !reading.is_bad() {
        reading.quality = Quality::Bad(Broken::Contradicted);
    }
}
