//! A run in a workshop's history: the part of a workshop goes in, its clock goes on, and what is kept of each service goes onto the part.
//!
//! Without it a run begins on a part of its own, at the usual time, and keeps no records.

use valvewright_core::kept::{Boot, Memory, Start};
use valvewright_core::record::service::{Mass, Service};
use valvewright_core::record::settings::Clock;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::Milligram;

use super::desk::{Desk, EPOCH, Workshop, opened};
use super::error::RunError;
use super::inject;
use super::network::network_of;
use super::options::RunOptions;
use super::setup::{kept, start, station_config, vessel_rest};
use super::simulation::Simulation;
use super::store::Store;
use crate::controller::Controller;
use crate::flash::Image;
use crate::plant::{Plant, Tolerance};
use crate::scenario::Scenario;

impl Simulation {
    /// At time 0 with the built-in controller on the part of a workshop. What the scenario says of the record counts only where the workshop begins.
    ///
    /// # Errors
    /// As [`Simulation::new`], and where the image is of another part.
    pub fn in_workshop(scenario: &Scenario, options: &RunOptions, workshop: &Workshop) -> Result<Self, RunError> {
        let (store, memory) = opened(kept(scenario), workshop.image.as_ref())?;
        let start = Start { memory, ..Start::first(vessel_rest(scenario)) };
        let mut controller = Station::wake(station_config(scenario).map_err(RunError::Network)?, &start);
        options.alter(&mut controller);
        let mut made = Self::on_store(scenario, options, controller, &start, store)?;
        made.desk = Some(Box::new(Desk::of(workshop)));
        made.desk_starts(Boot::PowerOn, &start.memory);
        Ok(made)
    }
}

impl Simulation {
    /// As [`Simulation::new`], keeping records on a small new part of its own: the same run, to the same hash.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn with_records(scenario: &Scenario, options: &RunOptions) -> Result<Self, RunError> {
        let (whole, start) = (Store::of_session(&kept(scenario)), start(scenario));
        let store = if scenario.station.record.lost { whole.spoilt() } else { whole };
        let mut controller = Station::wake(station_config(scenario).map_err(RunError::Network)?, &start);
        options.alter(&mut controller);
        let mut made = Self::on_store(scenario, options, controller, &start, store)?;
        let own = Workshop { image: None, now: EPOCH, clock: Clock::Offset(0), operator: 0, book: Vec::new() };
        made.desk = Some(Box::new(Desk::of(&own)));
        made.desk_starts(Boot::PowerOn, &start.memory);
        Ok(made)
    }
}

impl<C: Controller> Simulation<C> {
    /// As [`Simulation::with`] on a store that exists, and with what a start on it found.
    pub(super) fn on_store(
        scenario: &Scenario,
        options: &RunOptions,
        controller: C,
        start: &Start,
        store: Store,
    ) -> Result<Self, RunError> {
        let spec = network_of(&inject::prepared(scenario)).map_err(RunError::Network)?;
        let tolerance = if options.rough { Tolerance::YEARS } else { Tolerance::STATION };
        let plant = Plant::new(&spec, tolerance).map_err(|e| RunError::Plant(e.to_string()))?;
        Self::around(scenario, options, controller, start, store, (&spec, plant))
    }

    /// KT-1 at this tick, without what faults do to it.
    #[inline]
    pub(super) fn kt1(&self, ms: u32) -> u32 {
        self.desk.as_ref().map_or_else(|| self.clock(), |desk| desk.clock(ms / 1_000))
    }

    /// The station starts.
    pub(super) fn desk_starts(&mut self, boot: Boot, memory: &Memory) {
        let clock = self.kt1(self.now_ms());
        if let Some(desk) = &mut self.desk {
            desk.journal.starts(&mut self.store, clock, boot, memory);
        }
    }

    /// What the part holds, found as a start would find it, and true time by the run's own clock, s since 2000-01-01; none where the run keeps
    /// no records.
    pub fn records(&self) -> Option<(Store, Memory, u32)> {
        let now = self.desk.as_ref()?.now.wrapping_add(self.now_ms() / 1_000);
        let (store, memory) = self.store.found();
        Some((store, memory, now))
    }

    /// A scan was made.
    #[inline]
    pub(super) fn desk_scan(&mut self) {
        if self.desk.is_some() {
            self.desk_counts();
        }
    }

    #[cold]
    fn desk_counts(&mut self) {
        let (clock, ms, on) = (self.kt1(self.now_ms()), self.scan_time().0, self.outputs.on);
        if let Some(desk) = &mut self.desk {
            desk.journal.counts(&mut self.store, clock, ms, on);
        }
    }

    /// The station tells something.
    pub(super) fn desk_hears(&mut self, t: f64, notice: &Notice) {
        let Some(mut desk) = self.desk.take() else { return };
        let clock = desk.clock(self.now_ms() / 1_000);
        let core = self.controller.core();
        if let (Notice::OrderStarted(id), Some(core)) = (notice, core) {
            let book = desk.book.get(self.job).copied().unwrap_or(0);
            let service = self.ordered(*id, desk.operator, book);
            desk.journal.order(&mut self.store, clock, service, core);
        }
        desk.journal.hears(&mut self.store, clock, t, notice, self.controller.core());
        self.desk = Some(desk);
    }

    /// A service as its order says it.
    fn ordered(&self, order: u16, operator: u16, book: u32) -> Service {
        let mg = |kg: f64| Milligram((kg * 1e6).round().clamp(0.0, f64::from(i32::MAX)) as i32);
        let (of, vehicle) = (&self.present, &self.present.vehicle);
        let mut service = Service {
            order,
            operator,
            book,
            refrigerant: Some(of.station.refrigerant),
            high_voltage: vehicle.high_voltage,
            ..Service::default()
        };
        service.say(Mass::Label, mg(vehicle.charge_label));
        if of.order.charge > 0.0 {
            service.say(Mass::Ordered, mg(of.order.charge));
        }
        service
    }

    /// The part at the end of the run, and how many records it did not take; none without a workshop.
    pub(super) fn desk_closes(&mut self) -> Option<(Image, u32)> {
        let ms = self.now_ms();
        let clock = self.kt1(ms);
        let desk = self.desk.as_mut()?;
        desk.journal.keep_meter(&mut self.store, clock);
        Some((self.store.image(desk.now.wrapping_add(ms / 1_000)), desk.journal.not_kept))
    }
}
