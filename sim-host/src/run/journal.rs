//! Writes what a workshop keeps: each service, what happened, hours. It hears what the station tells, as the part of a board that keeps records would.
//!
//! Promises: a service that runs is in the store from its begin on, and in the log once when it has ended or when the next start closes it; nothing is
//! taken from the truth. What the station forgot with its power stays as it was told before, and unsaid where it was not.

use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::kept::{BRIDGES, Boot, Memory, OWED, PROOF_COUNT, Proof};
use valvewright_core::order::PhaseKind;
use valvewright_core::record::Refusal;
use valvewright_core::record::event::{Event, Reading, What};
use valvewright_core::record::meter::Meter;
use valvewright_core::record::service::{Ending, Mass, PhaseEnd, Service};
use valvewright_core::record::workshop::{Item, key};
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::Milligram;
use valvewright_core::verdict::Outcome;

use super::store::Store;

/// Hours are kept so often, s (own choice: what power takes away is less).
const METER_EVERY: u32 = 600;
/// The longest time of a phase that its record holds, s.
const PHASE_MOST: f64 = 65_535.0;

/// The books of a run.
#[derive(Debug, Clone, Default)]
pub(super) struct Journal {
    /// The service that runs.
    running: Option<Service>,
    /// The phase that runs, and when it began, s.
    phase: Option<(PhaseKind, f64)>,
    /// Dates of proof tests and gains of bridges when a procedure of upkeep began.
    before: Option<([u32; PROOF_COUNT], [i32; BRIDGES])>,
    /// Vessel by its scale when the service began.
    weight: Option<Milligram>,
    meter: Meter,
    /// Fractions of a second of the counters, ms: powered, compressor, pump, fan, heater.
    rest: [u32; 5],
    /// Since the counters were kept, s.
    unkept: u32,
    /// Records that the store did not take.
    pub(super) not_kept: u32,
}

impl Journal {
    /// The store did or did not take something; what it did not is counted, and told where it can be.
    fn done<T>(&mut self, store: &mut Store, clock: u32, done: Result<T, Refusal>) {
        if done.is_err() {
            self.not_kept += 1;
            // The same store may not take this either: the count says so.
            let _may_fail = store.records(|all| all.note_event(&Event { clock, what: What::NotStored }));
        }
    }

    fn event(&mut self, store: &mut Store, clock: u32, what: What) {
        if store.records(|all| all.note_event(&Event { clock, what })).is_err() {
            self.not_kept += 1;
        }
    }

    /// A start: what ran when power went is closed, and what was found is noted.
    pub(super) fn starts(&mut self, store: &mut Store, clock: u32, boot: Boot, memory: &Memory) {
        *self = Self { not_kept: self.not_kept, ..Self::default() };
        let found = store.look(|all| all.found());
        self.meter = store.look(|all| all.meter()).map(|item| item.or(Meter::default()).0).unwrap_or_default();
        self.meter.starts = self.meter.starts.saturating_add(1);
        self.event(store, clock, What::Started(boot, *memory == Memory::Lost, found));
        self.keep_meter(store, clock);
        self.close_left(store, clock, memory);
    }

    /// What still runs by the store goes into the log as it is: nobody will end it any more.
    fn close_left(&mut self, store: &mut Store, clock: u32, memory: &Memory) {
        let Ok(Item::Sound(mut left)) = store.look(|all| all.running()) else { return };
        if let Memory::Sound(kept) = memory
            && kept.order == left.order
            && kept.charged > left.mass(Mass::Charged).unwrap_or_default()
        {
            left.say(Mass::Charged, kept.charged);
        }
        if left.ending == Ending::Running {
            left.ending = Ending::Interrupted;
        }
        let closed = store.records(|all| all.close_service(&left));
        self.done(store, clock, closed);
    }

    /// What an order is for: told when it begins.
    pub(super) fn order(&mut self, store: &mut Store, clock: u32, mut service: Service, core: &Station) {
        // One whose record was not taken when it ended.
        self.close_left(store, clock, &Memory::Lost);
        let number = store.look(|all| all.next_service());
        match number {
            Ok(number) => (service.number, service.begun, service.ended) = (number, clock, clock),
            Err(why) => return self.done::<()>(store, clock, Err(why)),
        }
        self.weight = core.readings().wt1.mass.usable();
        self.running = Some(service);
        self.keep_running(store, clock);
    }

    fn keep_running(&mut self, store: &mut Store, clock: u32) {
        let Some(service) = &mut self.running else { return };
        service.ended = clock;
        let kept = service.clone();
        let done = store.records(|all| all.keep_running(&kept));
        self.done(store, clock, done);
    }

    /// Hears a notice at `t` s.
    pub(super) fn hears(&mut self, store: &mut Store, clock: u32, t: f64, notice: &Notice, core: Option<&Station>) {
        match *notice {
            Notice::Tripped(row, first) => {
                let first = first.map(|first| Reading { watch: first.watch as u8, value: first.value, bad: first.bad });
                if let Some(service) = &mut self.running {
                    service.trip = service.trip.or(Some(row));
                    service.trips = service.trips.saturating_add(1);
                }
                self.event(store, clock, What::Tripped(row, first));
            }
            Notice::Interrupted(order, charged) => self.event(store, clock, What::Interrupted(order, charged)),
            Notice::Exchanged(part, release) => self.event(store, clock, What::Exchanged(part, release)),
            Notice::CodeRefused(part, fault) => self.event(store, clock, What::CodeRefused(part, fault)),
            Notice::NotStored => self.event(store, clock, What::NotStored),
            Notice::PhaseStarted(kind) => {
                self.phase = Some((kind, t));
                self.before =
                    core.filter(|_| kind == PhaseKind::Upkeep).map(|core| (core.kept().due, core.kept().span));
                self.phase_is(kind, PhaseEnd::Open, 0.0);
                self.keep_running(store, clock);
            }
            Notice::PhaseEnded(kind, outcome) => {
                let end = match outcome {
                    Outcome::Done => PhaseEnd::Done,
                    Outcome::Skipped(_) => PhaseEnd::Skipped,
                    Outcome::Failed(_) => PhaseEnd::Failed,
                    Outcome::Aborted => PhaseEnd::Aborted,
                };
                let began = self.phase.take().filter(|(of, _)| *of == kind).map(|(_, at)| at);
                self.phase_is(kind, end, began.map_or(0.0, |at| t - at));
                self.figures(core);
                self.keep_running(store, clock);
                self.upkeep_left(store, clock, core);
            }
            Notice::OrderEnded(well) => self.order_ends(store, clock, well, core),
            ref other => self.finding(other),
        }
    }

    /// What a procedure has dated or set: tests that were passed, spans that were adjusted. One that is owed was not passed.
    fn upkeep_left(&mut self, store: &mut Store, clock: u32, core: Option<&Station>) {
        let (Some((due, span)), Some(core)) = (self.before.take(), core) else { return };
        let kept = core.kept();
        for (proof, (was, now)) in Proof::ALL.into_iter().zip(due.into_iter().zip(kept.due)) {
            if was != now && now != OWED {
                self.event(store, clock, What::Proved(proof, now));
            }
        }
        for (scale, (was, now)) in (0..).zip(span.into_iter().zip(kept.span)) {
            if was != now {
                self.event(store, clock, What::Calibrated(scale, now));
            }
        }
    }

    fn phase_is(&mut self, kind: PhaseKind, end: PhaseEnd, seconds: f64) {
        let Some(note) = self.running.as_mut().and_then(|service| service.phases.get_mut(kind as usize)) else {
            return;
        };
        note.end = end;
        // A phase that is judged anew at the end keeps its time.
        if seconds > 0.0 {
            note.seconds = seconds.min(PHASE_MOST) as u16;
        }
    }

    fn finding(&mut self, notice: &Notice) {
        let Some(service) = &mut self.running else { return };
        match *notice {
            Notice::Gas(verdict) => service.gas = verdict,
            Notice::Leak(found) => service.leak = found,
            Notice::Vacuum(pressure) => service.vacuum = Some(pressure),
            Notice::HosesCleared(_) => service.say(Mass::Hoses, Milligram(0)),
            Notice::HosesHold(mass) => service.say(Mass::Hoses, mass),
            _ => {}
        }
    }

    /// The figures of the station's own ledger.
    fn figures(&mut self, core: Option<&Station>) {
        let (Some(service), Some(core)) = (&mut self.running, core) else { return };
        let ledger = core.job().ledger;
        service.say(Mass::Recovered, ledger.recovered);
        service.say(Mass::Charged, ledger.charged());
        service.say(Mass::Vented, ledger.vented);
        service.say(Mass::OilDrained, ledger.oil_drained);
        service.say(Mass::OilInjected, ledger.oil_injected);
    }

    fn order_ends(&mut self, store: &mut Store, clock: u32, well: bool, core: Option<&Station>) {
        self.figures(core);
        let weight = core.and_then(|core| core.readings().wt1.mass.usable());
        let Some(mut service) = self.running.take() else { return };
        service.ending = if well { Ending::Met } else { Ending::NotMet };
        service.ended = clock;
        if let (Some(before), Some(now), Some(core)) = (self.weight.take(), weight, core) {
            let ledger = core.job().ledger;
            let booked = before.plus(ledger.recovered).minus(ledger.dispensed).minus(ledger.vented);
            service.say(Mass::Unknown, booked.minus(now));
        }
        let kept = service.clone();
        // As it ended, before it goes into the log: power that goes in between changes nothing of it.
        let closed = store.records(|all| all.keep_running(&kept).and_then(|()| all.close_service(&kept)));
        self.done(store, clock, closed);
        self.keep_meter(store, clock);
    }

    /// Counts `ms` of a scan with this on.
    #[inline]
    pub(super) fn counts(&mut self, store: &mut Store, clock: u32, ms: u32, on: Actuators) {
        let heats = on.has(Actuator::H1) && on.has(Actuator::H2);
        let which = [true, on.has(Actuator::C1), on.has(Actuator::P1), on.has(Actuator::K1), heats];
        let meter = &mut self.meter;
        let all = [&mut meter.powered, &mut meter.compressor, &mut meter.pump, &mut meter.fan, &mut meter.heater];
        for ((runs, rest), seconds) in which.into_iter().zip(&mut self.rest).zip(all) {
            *rest += if runs { ms } else { 0 };
            *seconds = seconds.saturating_add(*rest / 1_000);
            *rest %= 1_000;
        }
        self.unkept += ms;
        if self.unkept >= METER_EVERY * 1_000 {
            self.keep_meter(store, clock);
        }
    }

    /// Keeps the counters.
    pub(super) fn keep_meter(&mut self, store: &mut Store, clock: u32) {
        self.unkept = 0;
        let bytes = self.meter.encode();
        let done = store.records(|all| all.put(key::METER, &bytes));
        self.done(store, clock, done);
    }
}
