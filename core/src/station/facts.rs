//! What job and loop tell the interlocks, and what is said of the rows that tripped or cleared.

use super::{RAIL_RISES, Station};
use crate::frame::Actuators;
use crate::interlock::Facts;
use crate::job::flow::JobState;
use crate::job::purge;
use crate::kept::Left;
use crate::order::{PhaseKind, Procedure};
use crate::row::{RowId, RowSet};
use crate::talk::Notice;
use crate::units::{Instant, Milligram, Millis};

impl Station {
    pub(super) fn facts(&self, scan_late: bool) -> Facts {
        let known = &self.connection;
        let own_pipes = self.job.phase() == Some(PhaseKind::Upkeep) && self.job.at_own_pipes();
        // A reference weight is no refrigerant: nothing moves while it lies there.
        let weight_on = self.weight_on();
        // What began on a fresh verdict may go on past its age.
        let (identity_pass, leak_pass) = match self.job.phase() {
            Some(PhaseKind::Recover) => (known.pure(), known.freshly_tight()),
            // What the station's own pipes hold came through the identifier, or out of the vessel.
            // What it lets out of the vessel goes into no vehicle.
            Some(PhaseKind::Upkeep) => (known.pure() || own_pipes, true),
            // After a charge the hoses hold what came out of the vessel.
            Some(PhaseKind::ClearHoses) => (known.pure() || known.charged(), known.freshly_tight()),
            Some(PhaseKind::Charge) => (known.may_recover(), known.tight()),
            _ => (known.may_recover(), known.freshly_tight()),
        };
        Facts {
            identity_pass,
            circuit_empty: known.circuit_empty() || own_pipes,
            hoses_stand: self.hose_rest.stands(),
            barometer: self.cfg.barometer,
            leak_pass,
            purge_permitted: self.job.phase() == Some(PhaseKind::Purge)
                && purge::permitted(&self.readings, self.vessel_rest),
            charge_flow_wrong: self.effects.flow_wrong(),
            effect_mismatch: self.effects.mismatch(),
            scale_creep: self.effects.creeping(),
            heats_nothing: self.effects.heats_nothing(),
            heater_welded: self.effects.heater_welded(),
            no_heater: !self.cfg.heats(),
            well: self.guards.well().or(known.well()).or(self.job.well(known)),
            scan_late,
            air_proven: self.air.proven(),
            air_test: self.air.testing(),
            fill_limit: if weight_on { Milligram::MAX } else { self.fill_limit },
            weight_on,
            applied: self.on,
            wanted: self.wanted,
            rail_dead: self.rail_for < RAIL_RISES,
            self_test_failed: self.test.failed(),
            machine: *self.machine.facts(),
            kept: *self.keeper.facts(),
        }
    }

    /// What upkeep leaves acts at once, and the step that waits for it goes on when it is stored.
    pub(super) fn leave(&mut self, left: Left) {
        self.keeper.leave(left, self.machine.clock());
        if let Left::Spans(gains) = left {
            let fresh = self.cfg.sense.scales.iter_mut().zip(gains).filter(|(_, gain)| *gain != 0);
            fresh.for_each(|(scale, gain)| scale.cal = scale.cal.with_gain(gain));
        }
    }

    /// Whether something else than the vessel's content moves its scale: a reference weight, in a procedure about it, or a vessel that is changed.
    pub(super) fn weight_on(&self) -> bool {
        let about_it = matches!(self.job.procedure(), Some(Procedure::VesselScale | Procedure::CheckWeight));
        about_it && self.job.phase().is_some() || self.job.vessel_off()
    }

    /// What a person loads or changes tells nothing of what the vessel did before.
    pub(super) fn loads_by_hand(&mut self) {
        if self.weight_on() {
            self.effects.load_moved_by_hand();
        }
        if self.job.vessel_off() {
            self.cross.vessel_changes();
            self.vessel_rest = Millis(0);
        }
    }

    /// Says what tripped and what cleared; a latched trip holds the job.
    pub(super) fn announce(&mut self, now: Instant, facts: &Facts) {
        for row in self.interlocks.newly_tripped().iter() {
            let cause = self.interlocks.cause(now, row, &self.readings, facts);
            self.notices.push(Notice::Tripped(row, cause));
        }
        for row in self.interlocks.newly_cleared().iter() {
            self.notices.push(Notice::Cleared(row));
        }
        let goes_on = matches!(self.job.state(), JobState::Starting | JobState::Running);
        if goes_on && self.stops(self.job.needs()).is_some() {
            // Refused only when nothing runs, which was just checked.
            let _running = self.hold();
        }
    }

    /// The first latched row that must be reset before what needs these outputs starts or goes on; with `None`, before anything does. A separator that is full (I10) empties through C-1
    /// alone, with XV-3 shut: work goes on until it has, for a reset is refused as long as LS-2 is open.
    pub(super) fn stops(&self, needs: Option<Actuators>) -> Option<RowId> {
        let full = self.readings.pt5.usable().is_some_and(|p| p > self.cfg.recovery_end);
        self.interlocks.blocking(needs, if full { RowSet::one(RowId::I10) } else { RowSet::NONE })
    }
}
