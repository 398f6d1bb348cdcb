//! A station that goes on for years: one service after another on the same plant, the same instruments and the same flash, and what stands
//! between two of them with the power off.
//!
//! Promises: nothing of the station is made anew but its volatile memory, at a start; what comes and goes with a vehicle or with the shop
//! is returned, to be booked by whoever asked for it.

use valvewright_core::frame::{Actuators, Feeds, Outputs, RawFrame};
use valvewright_core::kept::{Boot, Memory, Start};
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::Millis;

use super::error::RunError;
use super::marks::Marks;
use super::operator::{Hand, Operator};
use super::options::RunOptions;
use super::setup::{instrument_spec, kept, station_config, work_order};
use super::simulation::{Simulation, Stand};
use super::store::Store;
use super::told::Told;
use super::turn::Account;
use super::visit::Visit;
use crate::hazard::{Hazards, Kept};
use crate::plant::{Exchanged, Gain, Tolerance};
use crate::report::data::{JobResult, NoticeRecord};
use crate::scenario::Scenario;
use crate::scenario::model::Order;

/// The two bottles of oil, as far as the shop changes them.
const BOTTLES: [&str; 2] = ["used_oil", "new_oil"];

/// Longest step of the plant while it stands, s (own choice).
const LONGEST: f64 = 3_600.0;

/// What came of a service.
#[derive(Debug, Clone)]
pub struct Served {
    /// Its figures, shown and true.
    pub job: JobResult,
    /// All that was told, with the simulated time, s.
    pub notices: Vec<(f64, Notice)>,
}

/// What of a station the shop changes while it stands.
#[derive(Debug, Clone, Copy, Default)]
pub struct Change<'a> {
    /// What comes into which volume; negative goes out.
    pub gains: &'a [Gain<'a>],
    /// Both oil bottles are exchanged for those that the scenario describes: the used one empty.
    pub bottles: bool,
    /// The vehicle goes and the scenario's comes.
    pub vehicle: bool,
}

/// Refrigerant of both kinds that is somewhere, kg.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Stock {
    /// In the station, without its hoses.
    pub station: f64,
    /// In the vehicle's volumes and its oil.
    pub vehicle: f64,
    /// In hoses, oil bottles, cabinet and the pump's inlet.
    pub between: f64,
    /// Crossed the network's edge outwards since time 0; what the shop brought counts backwards.
    pub out: f64,
}

impl Simulation {
    /// The plant goes on with another tolerance.
    pub const fn reckon(&mut self, tolerance: Tolerance) {
        self.plant.reckon(tolerance);
    }

    /// The station is new, stands in its shop without power, and no order was given yet; the vehicle is the scenario's. Each side of its
    /// flash has so many pages.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn new_in_the_shop(scenario: &Scenario, options: &RunOptions, pages: u8) -> Result<Self, RunError> {
        let mut made = Self::new(scenario, options)?;
        made.store = Store::holding_on(&kept(scenario), pages);
        made.go_dark();
        Ok(made)
    }

    fn go_dark(&mut self) {
        self.by_hand(Hand::ShutCouplers);
        self.by_hand(Hand::Coupled(false));
        self.switch(self.coils, Actuators::NONE);
        self.coils = Actuators::NONE;
        self.outputs = Outputs { dropped: Feeds::ALL, ..Outputs::default() };
    }

    /// Ends the service at hand: what came of it. The couplers come off and the power goes.
    pub fn close_service(&mut self) -> Option<Served> {
        self.close_job();
        let job = self.jobs.pop()?;
        self.go_dark();
        Some(Served { job, notices: std::mem::take(&mut self.recorder.notices) })
    }

    /// Stands without power until `t`, s, in air of this temperature, K.
    ///
    /// # Errors
    /// The plant could not be reckoned so far.
    pub fn stand_until(&mut self, t: f64, ambient: f64) -> Result<(), RunError> {
        self.plant.set_param("ambient.temperature", ambient).map_err(|why| RunError::Plant(why.to_string()))?;
        let scan = u64::from(self.scan_time().0);
        self.ticks = self.ticks.max((t * 1e3 / scan as f64).ceil() as u64);
        let t = self.time();
        self.plant.stand(t, LONGEST);
        match self.plant.fault() {
            Some(fault) => Err(RunError::Plant(fault.to_string())),
            None => Ok(()),
        }
    }

    /// The shop changes something about the standing station. Signals of the plant that were found before are void.
    ///
    /// # Errors
    /// It does not fit into the plant, which is then as it was.
    pub fn change(&mut self, next: &Visit, change: &Change<'_>) -> Result<Exchanged, RunError> {
        let Visit { spec, names } = next;
        let theirs = |name: &str| change.vehicle && names.contains(name) || change.bottles && BOTTLES.contains(&name);
        let made = self.plant.alter(spec, &theirs, change.gains).map_err(|why| RunError::Plant(why.to_string()))?;
        self.found_anew(spec)?;
        Ok(made)
    }

    /// The power comes: a start on what the flash holds, for the order of this number on the vehicle that `next` and its `visit` describe, which
    /// stands there already. `rest` is how long the vessel is known to have been left alone; it has stood dark for `stood` s.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn serve(
        self,
        (next, visit): (&Scenario, &Visit),
        options: &RunOptions,
        number: u16,
        (rest, stood): (Millis, f64),
    ) -> Result<Self, RunError> {
        let (began, mut store) = (self.time(), self.store);
        let start = Start { memory: store.read(), boot: Boot::PowerOn, vessel_rest: rest };
        let mut controller = Station::wake(station_config(next).map_err(RunError::Network)?, &start);
        options.alter(&mut controller);
        let mut fresh = Self::around(next, options, controller, &start, store, (&visit.spec, self.plant))?;
        (fresh.ticks, fresh.began) = (self.ticks, began);
        (fresh.codes, fresh.instruments) = (self.codes, self.instruments);
        (fresh.coils, fresh.outputs, fresh.machine) = (self.coils, self.outputs, self.machine);
        fresh.reach.act(Hand::Coupled(false), &mut fresh.plant, &mut fresh.truth);
        fresh.hands.push(Hand::Coupled(true));
        fresh.settle(stood);
        fresh.told = Told::of(number, 0);
        fresh.operator = Operator::new(&next.operator, number, work_order(next));
        fresh.marks = Marks::after(&Marks::default(), &fresh.signals, &fresh.plant);
        let came = fresh.signals.vehicle_mass(&fresh.plant);
        fresh.account =
            Account { start: fresh.signals.all_mass(&fresh.plant) - came, came, before: 0.0, exchanged: 0.0 };
        if let Some(old) = self.hazards {
            let judged = instrument_spec(&fresh.config);
            let mut hazards = Hazards::find(&fresh.plant, &visit.spec, next, &judged, !options.no_samples);
            hazards.keep_records(fresh.began, Kept { counter_fell: Some(0.0), ..old.kept() });
            fresh.hazards = Some(Box::new(hazards));
        }
        Ok(fresh)
    }

    /// What the instruments lag behind they have made up for while nobody read them.
    fn settle(&mut self, stood: f64) {
        self.signals.fill(&self.plant, Actuators::NONE, &mut self.truth);
        self.signals.sample(&self.plant, &mut self.truth.gas);
        let (t, mut unread) = (self.time(), RawFrame::default());
        self.instruments.frame(t, stood, &self.truth, &self.outputs, None, &mut unread);
    }

    /// The run goes on for one more scan though its order is over: its station is not left in the middle of something.
    pub fn go_on(&mut self) {
        if self.stand == Stand::Over {
            self.stand = Stand::Running;
        }
    }

    /// The order of the job at hand.
    pub fn order(&self) -> &Order {
        &self.present.order
    }

    /// When this service began, s.
    pub const fn began(&self) -> f64 {
        self.began
    }

    /// Whether the order is behind.
    pub fn is_served(&self) -> bool {
        self.order_ended() || self.stand() != Stand::Running
    }

    /// What was told since the service began, from the notice of that number on.
    pub fn told_since(&self, number: usize) -> &[(f64, Notice)] {
        self.recorder.notices.get(number..).unwrap_or_default()
    }

    /// All that was told since the service began, in words; it is then told no more.
    pub fn told_in_words(&mut self) -> Vec<NoticeRecord> {
        self.recorder.told()
    }

    /// What a start would find in the flash now.
    pub fn would_find(&self) -> Memory {
        self.store.clone().read()
    }

    /// The flash loses its power in the next state that is stored, when this share of its steps is done.
    pub fn cut_next_write(&mut self, done: f64) {
        self.store.cut_next(done, crate::flash::Share::Some);
    }

    /// Where the refrigerant is in truth.
    pub fn stock(&self) -> Stock {
        let (station, vehicle) = (self.signals.station_mass(&self.plant), self.signals.vehicle_mass(&self.plant));
        let all = self.signals.all_mass(&self.plant);
        Stock { station, vehicle, between: all - station - vehicle, out: self.signals.escaped(&self.plant) }
    }
}
