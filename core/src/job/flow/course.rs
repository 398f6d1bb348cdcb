//! What follows what: how a phase begins and ends, what its end leaves in record and ledger, and how the order ends.
//!
//! Whatever way a phase ends, what it moved is booked and said, and what the vehicle then holds is held against the order.

use super::{Job, JobState, LEFT_WATCHED, MAX_EVACUATIONS, PhaseRecord};
use crate::connection::Connection;
use crate::frame::{Actuator, Actuators};
use crate::job::context::Progress;
use crate::job::phase::{self, Phase};
use crate::job::witness::TOLERANCE;
use crate::kept::Left;
use crate::order::{PhaseKind, PhaseSet, Procedure, Sides, WorkOrder};
use crate::sense::Readings;
use crate::talk::{Notice, Notices};
use crate::token::Part;
use crate::units::*;
use crate::verdict::{GiveUp, Outcome};

impl Job {
    /// Air flow could not be proven.
    pub fn no_air(&mut self, say: &mut Notices) {
        if self.state == JobState::Starting {
            self.end(false, say);
        }
    }
    /// Air flow is proven: the first phase may begin. True where a phase began.
    pub fn air_proven(&mut self, say: &mut Notices) -> bool {
        if self.state != JobState::Starting {
            return false;
        }
        self.next_phase(None, say);
        true
    }

    /// The procedure of upkeep that is ordered and under way.
    pub fn procedure(&self) -> Option<Procedure> {
        let of = |order: &WorkOrder| (order.phases == PhaseSet::UPKEEP).then_some(order.procedure);
        self.order.as_ref().filter(|_| self.busy()).and_then(of)
    }
    /// Whether its upkeep works on the station's own pipes, with no vehicle and no cylinder on the hoses.
    pub fn at_own_pipes(&self) -> bool {
        self.procedure().is_some_and(|of| !of.takes_gas())
    }
    /// The part whose code the running procedure waits for.
    pub fn awaits_code(&self) -> Option<Part> {
        match &self.phase {
            Some(Phase::Upkeep(upkeep)) => upkeep.awaits(self.procedure()?),
            _ => None,
        }
    }
    /// Whether the vessel may be off its platform.
    pub fn vessel_off(&self) -> bool {
        match (&self.phase, self.procedure()) {
            (Some(Phase::Upkeep(upkeep)), Some(of)) => upkeep.vessel_off(of),
            _ => false,
        }
    }
    /// What upkeep left in this scan to be kept.
    pub(crate) fn take_kept(&mut self) -> Option<Left> {
        self.kept.take()
    }

    /// See [`phase::needs`], for the phase that runs or comes first.
    pub fn needs(&self) -> Option<Actuators> {
        let order = self.order.as_ref()?;
        phase::needs(self.phase().or_else(|| order.phases.next(None))?, order)
    }

    /// The service valve of the hose that this order leaves in its holder.
    pub fn hanging(&self) -> Actuators {
        let sides = self.order.as_ref().filter(|_| self.busy()).map_or(Sides::Both, |order| order.sides);
        match sides {
            Sides::Both => Actuators::NONE,
            Sides::High => Actuators::of(&[Actuator::Xv1]),
            Sides::Low => Actuators::of(&[Actuator::Xv2]),
        }
    }

    pub(super) fn end(&mut self, well: bool, say: &mut Notices) {
        (self.phase, self.question) = (None, None);
        let well = self.judge_charge(say) && well;
        if self.ledger.nitrogen {
            say.push(Notice::NitrogenLeft);
        }
        if self.ledger.charge_begun && self.ledger.hoses_most > Milligram(0) {
            say.push(Notice::HosesHold(self.ledger.hoses_most));
        }
        self.state = JobState::Ended(well);
        say.push(Notice::OrderEnded(well));
    }

    /// Whether hoses are still to be cleared after this phase: a charge filled them.
    pub(super) fn hoses_due(&self, after: PhaseKind) -> bool {
        let ordered = self.order.as_ref().is_some_and(|o| o.phases.has(PhaseKind::ClearHoses));
        self.ledger.charge_begun && ordered && after < PhaseKind::ClearHoses
    }

    /// Holds what the vehicle got against the order, now that nothing changes it any more. True where no charge was begun or the
    /// vehicle holds what was ordered. A charge that had met its plan is a failed one after all where what the hoses gave back, or
    /// what went on moving, leaves the vehicle with too much or too little.
    pub(super) fn judge_charge(&mut self, say: &mut Notices) -> bool {
        let (true, Some(order)) = (self.ledger.charge_begun, &self.order) else { return true };
        let record = self.records.iter_mut().rev().find(|r| r.kind == PhaseKind::Charge);
        if record.as_ref().is_some_and(|r| r.outcome == Outcome::Failed(GiveUp::ScaleDisagrees)) {
            // A figure of a scale that is not to be believed would be believed.
            return false;
        }
        let off = self.ledger.charged().minus(order.charge);
        say.push(Notice::VehicleHolds(self.ledger.charged(), off));
        let outcome = match off {
            off if off > TOLERANCE => Outcome::Failed(GiveUp::Overcharged(off)),
            off if off < Milligram(0).minus(TOLERANCE) => {
                Outcome::Failed(GiveUp::Undercharged(Milligram(0).minus(off)))
            }
            _ => return true,
        };
        if let Some(record) = record.filter(|r| r.outcome == Outcome::Done) {
            record.outcome = outcome;
            say.push(Notice::PhaseEnded(PhaseKind::Charge, outcome));
        }
        false
    }

    /// A phase ends short of its plan: says what it has moved.
    pub(super) fn leave(&mut self, say: &mut Notices) {
        if let Some(Phase::Charge(charge)) = &mut self.phase {
            charge.left(&mut self.ledger);
        }
        let (now, found) = (self.ledger, self.found);
        let moved = [
            (now.vented, found.vented, Notice::Purged(now.vented)),
            (now.recovered, found.recovered, Notice::Recovered(now.recovered)),
            (now.filled, found.filled, Notice::Filled(now.filled)),
            (now.oil_drained, found.oil_drained, Notice::OilDrained(now.oil_drained.minus(found.oil_drained))),
            (now.oil_injected, found.oil_injected, Notice::OilInjected(now.oil_injected.minus(found.oil_injected))),
        ];
        for (now, found, notice) in moved {
            if now != found {
                say.push(notice);
            }
        }
        self.left = self.phase.take().map(|phase| (phase, Millis(0)));
    }

    /// Books what moved, every scan, so that whatever ends a phase finds it in the ledger.
    pub(super) fn book(&mut self, r: &Readings, dt: Millis) {
        if let Some((phase, since)) = &mut self.left {
            *since = since.plus(dt);
            if *since > LEFT_WATCHED {
                self.left = None;
            } else {
                phase.book(r, &mut self.ledger);
            }
        }
        if let Some(phase) = &self.phase {
            phase.book(r, &mut self.ledger);
        }
    }

    pub(super) fn record(&mut self, kind: PhaseKind, outcome: Outcome, say: &mut Notices) {
        let lasted = self.lasted;
        // A full list keeps the earlier records; the notice is given all the same.
        let _full = self.records.push(PhaseRecord { kind, outcome, lasted });
        say.push(Notice::PhaseEnded(kind, outcome));
    }

    pub(super) fn begin(&mut self, kind: PhaseKind, say: &mut Notices) {
        self.phase = Some(Phase::new(kind));
        (self.clock, self.lasted, self.blocked, self.trips) = (Millis(0), Millis(0), Millis(0), 0);
        self.progress = Progress::default();
        (self.found, self.question) = (self.ledger, None);
        self.state = JobState::Running;
        self.identified |= kind == PhaseKind::Identify;
        say.push(Notice::PhaseStarted(kind));
    }

    pub(super) fn next_phase(&mut self, done: Option<PhaseKind>, say: &mut Notices) {
        let next = self.order.as_ref().and_then(|o| o.phases.next(done));
        match next {
            Some(kind) => self.begin(kind, say),
            None => self.end(self.all_well, say),
        }
    }

    /// A charge that was to follow the phase `kind` is refused, and the record says why.
    pub(super) fn refuse_charge(&mut self, kind: PhaseKind, why: GiveUp, say: &mut Notices) {
        if kind < PhaseKind::Charge && self.order.as_ref().is_some_and(|o| o.phases.has(PhaseKind::Charge)) {
            self.lasted = Millis(0);
            self.record(PhaseKind::Charge, Outcome::Failed(why), say);
        }
    }

    /// What follows a phase that ended.
    pub(super) fn after(&mut self, kind: PhaseKind, outcome: Outcome, link: &Connection, say: &mut Notices) {
        if !matches!(outcome, Outcome::Done | Outcome::Skipped(_)) {
            self.leave(say);
        }
        self.record(kind, outcome, say);
        self.phase = None;
        self.question = None;
        let phases = self.order.as_ref().map_or(PhaseSet::default(), |o| o.phases);
        let told = !matches!(outcome, Outcome::Failed(why) if !tells_nothing(why)) && outcome != Outcome::Aborted;
        if let Some(kind) = self.then.take_if(|_| told) {
            self.begin(kind, say);
            return;
        }
        match outcome {
            Outcome::Done | Outcome::Skipped(_) => {
                if kind == PhaseKind::Evacuate {
                    self.evacuations = self.evacuations.saturating_add(1);
                }
                self.next_phase(Some(kind), say);
            }
            Outcome::Failed(why @ (GiveUp::StillWet | GiveUp::TooShallow(_)))
                if phases.has(PhaseKind::Evacuate) && self.evacuations < MAX_EVACUATIONS =>
            {
                if why == GiveUp::StillWet {
                    say.push(Notice::DryingAgain);
                }
                self.begin(PhaseKind::Evacuate, say);
            }
            Outcome::Failed(_) | Outcome::Aborted => {
                self.all_well = false;
                if !link.tight() {
                    let why = match outcome {
                        Outcome::Failed(short @ GiveUp::VesselLow { .. }) => short,
                        _ => GiveUp::NotReached(kind),
                    };
                    self.refuse_charge(kind, why, say);
                }
                if self.hoses_due(kind) {
                    self.begin(PhaseKind::ClearHoses, say);
                } else {
                    self.end(false, say);
                }
            }
        }
    }
}

/// Whether an identification that failed so leaves the gas as unknown as it was: the phase that wanted it asks a person then.
const fn tells_nothing(why: GiveUp) -> bool {
    matches!(why, GiveUp::IdentifierUnsure | GiveUp::PressureTooLow)
}
