//! What a run comes to on its way that is worth a branch, and who sees it scan by scan.

use valvewright_core::job::PhaseKind;
use valvewright_core::row::RowId;
use valvewright_core::talk::Notice;

use crate::campaign::moments::place;
use crate::hazard::{HAZARD_COUNT, Id};
use crate::run::{Simulation, words};

/// Margin between two marks of one hazard (own choice: ten of them from rest to the accident).
const NOTCH: f64 = 0.1;
/// The notch of the alert level.
pub const ALERT: u8 = 5;
/// The notch of the accident: what lies beyond is no other mark.
pub const LAST: u8 = 10;

/// A mark.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Power comes on: before the first scan.
    PowerOn,
    /// The last of the faults came, in this step.
    Came(Option<PhaseKind>, &'static str),
    /// A phase came to a step; none between phases.
    Step(Option<PhaseKind>, &'static str),
    /// A row tripped.
    Row(RowId),
    /// A notice of this id was told.
    Told(&'static str),
    /// The margin of a hazard, by its place, is this notch narrower than at rest.
    Margin(usize, u8),
}

impl Mark {
    /// For people: `row I11`, `H22 at margin 0.4`.
    pub fn words(&self) -> String {
        let step = |phase: &Option<PhaseKind>, step: &str| {
            let phase = phase.map_or("between phases", PhaseKind::name);
            format!("{phase} {step}").trim().to_owned()
        };
        match self {
            Self::PowerOn => "power-on".to_owned(),
            Self::Came(phase, word) => format!("the fault, in {}", step(phase, word)),
            Self::Step(phase, word) => format!("step {}", step(phase, word)),
            Self::Row(row) => format!("row {}", row.as_str()),
            Self::Told(id) => format!("notice {id}"),
            Self::Margin(hazard, notch) => {
                let id = Id::EVERY.get(*hazard).map_or("", |id| id.word());
                format!("{id} at margin {:.1}", 1.0 - f64::from(*notch) * NOTCH)
            }
        }
    }
}

/// The notch that a margin lies in: 0 at rest.
pub fn notch(margin: f64) -> u8 {
    // What lies just short of a notch by rounding is in it.
    (((1.0 - margin) / NOTCH + 1e-9).floor().max(0.0) as u8).min(LAST)
}

/// Who sees a run's marks.
#[derive(Clone)]
pub struct Seer {
    was: (Option<PhaseKind>, &'static str),
    told: usize,
    notches: [u8; HAZARD_COUNT],
}

impl Seer {
    /// At the begin of a run.
    pub fn new() -> Self {
        Self { was: (None, ""), told: 0, notches: [0; HAZARD_COUNT] }
    }

    /// Adds what the scan that was just made came to.
    pub fn see(&mut self, run: &Simulation, found: &mut Vec<Mark>) {
        let now = place(run);
        if now != self.was {
            self.was = now;
            found.push(Mark::Step(now.0, now.1));
        }
        for (_, notice) in run.told_since(self.told) {
            self.told += 1;
            found.push(match notice {
                Notice::Tripped(row, _) => Mark::Row(*row),
                other => Mark::Told(words::notice_id(other)),
            });
        }
        let Some(hazards) = run.hazards() else { return };
        for (at, id) in Id::EVERY.into_iter().enumerate() {
            let Some(margin) = hazards.worst(id) else { continue };
            let now = notch(margin);
            if now > self.notches[at] {
                if self.notches[at] < ALERT && now > ALERT {
                    found.push(Mark::Margin(at, ALERT));
                }
                self.notches[at] = now;
                found.push(Mark::Margin(at, now));
            }
        }
    }
}
