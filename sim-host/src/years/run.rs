//! The years themselves: service after service on one station, the shop between them, and a judgement after each.

use valvewright_core::kept::Memory;
use valvewright_core::units::Millis;
use xxhash_rust::xxh3::Xxh3;

use super::calendar;
use super::codes::{Codes, Typing};
use super::judge::{self, Breach, Law, Ledger};
use super::plan::Plan;
use super::service::{self, Service};
use super::session::{Outside, Session};
use super::shop::{self, Look};
use super::tally::{Month, Tally, Told};
use crate::display::Display;
use crate::plant::Gain;
use crate::run::{Change, RunError, RunOptions, Simulation, Stock, Visit};
use crate::scenario::Scenario;
use crate::scenario::diagnostic::Source;
use crate::scenario::model::Phase;
use crate::scenario::parse;
use crate::station;

/// The shop in the night before the first service: the bay holds an empty circuit, as it does between any two.
const BAY: &str = include_str!("bay.toml");
/// An order is given up after so long, s.
const LIMIT: f64 = 4.0 * 3_600.0;
/// Between two services lie at least so many seconds.
pub(super) const TURN: f64 = 600.0;
/// A vessel that was left alone so long is known to have rested: the shop writes down when it switched off (own choice, a night).
const NIGHT: f64 = 4.0 * 3_600.0;
/// Breaches that are kept in words.
const KEPT: usize = 100;
/// A vehicle that holds less than this after a power cut needs no recovery, kg.
const EMPTY: f64 = 0.02;

/// Whose circuit changes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Who {
    /// A vehicle takes the place of the bay's own circuit.
    Comes,
    /// And leaves it.
    Goes,
    /// None does.
    Nobody,
}

/// How far it is.
#[derive(Clone, Copy, Debug)]
pub struct Going {
    /// Services behind.
    pub done: u32,
    /// Services in all.
    pub all: u32,
    /// Breaches so far.
    pub breaches: u64,
}

/// The years in the making.
#[derive(Clone)]
pub struct Years {
    pub(super) plan: Plan,
    pub(super) bay: Scenario,
    /// What the bay's own circuit is.
    empty: Visit,
    options: RunOptions,
    pub(super) sim: Option<Simulation>,
    pub(super) codes: Codes,
    pub(super) outside: Outside,
    pub(super) rated: f64,
    pub(super) ledger: Ledger,
    /// Into the air so far, kg, as the plant's edge counts it, less what the shop did.
    pub(super) edge: f64,
    pub(super) books: f64,
    pub(super) session: u32,
    /// Hazards that the operator's own hand may bring about in this service.
    pub(super) by_hand: &'static [&'static str],
    pub(super) tally: Tally,
    /// The service whose notices are kept.
    pub(super) listens: Option<u32>,
    pub(super) hash: Xxh3,
}

/// Runs a plan up to the service of number `until`, from 1, or until `each` says stop by returning false.
///
/// # Errors
/// The station's file cannot be used, or the program contradicts itself.
pub fn run(plan: &Plan, until: Option<u32>, each: &mut dyn FnMut(Going) -> bool) -> Result<Tally, RunError> {
    let mut years = Years::open(plan)?;
    years.listens = until.map(|until| until.saturating_sub(1));
    let all = until.map_or(plan.services(), |until| until.min(plan.services()));
    for number in 0..all {
        if !each(Going { done: number, all, breaches: years.tally.breach_count }) {
            years.tally.partial = true;
            break;
        }
        if !years.serve_surely(number)? {
            years.tally.partial = true;
            break;
        }
    }
    Ok(years.close())
}

fn bay(plan: &Plan) -> Result<Scenario, RunError> {
    let mut bay = parse::read(&Source::new("bay.toml", BAY))
        .map_err(|wrong| RunError::Plant(wrong.first().map_or_else(String::new, |one| one.message.clone())))?;
    bay.station.refrigerant = plan.refrigerant;
    bay.station.network.clone_from(&plan.station);
    bay.station.scan = plan.scan;
    bay.vehicle.refrigerant = plan.refrigerant;
    bay.vehicle.gas = crate::scenario::model::GasMix::pure(plan.refrigerant);
    bay.seed = plan.seed;
    bay.station.record.drier_used = plan.drier_used;
    bay.station.record.pump_oil_used = plan.pump_oil_used;
    bay.time_limit = LIMIT;
    let rating = station::rating(plan.station.as_deref()).unwrap_or(station::Rating { rated: 10.0, heel: 1.0 });
    bay.station.vessel_content = rating.rated * 0.6;
    Ok(bay)
}

impl Years {
    /// The shop opens: a new station, filled, in its first night.
    fn open(plan: &Plan) -> Result<Self, RunError> {
        let bay = bay(plan)?;
        let file = station::load(plan.station.as_deref()).map_err(|why| RunError::Plant(why.to_string()))?;
        let options = RunOptions { rough: !plan.fine, ..RunOptions::BARE };
        let sim = Simulation::new_in_the_shop(&bay, &options, plan.flash_pages)?;
        let commissioned = match sim.would_find() {
            Memory::Sound(kept) => kept,
            Memory::Lost => return Err(RunError::Plant("a new store holds nothing".to_owned())),
        };
        let stock = sim.stock();
        let ledger = Ledger { opening: stock.station + stock.between + stock.vehicle, ..Ledger::default() };
        let tally = Tally {
            version: 1,
            plan: plan.clone(),
            services: 0,
            planned: plan.services(),
            partial: false,
            months: Vec::new(),
            ledger,
            ledger_error_g: 0.0,
            ledger_worst_g: 0.0,
            books_kg: 0.0,
            holds_kg: 0.0,
            wear: Vec::new(),
            rating: sim.store().rating(),
            judged: Law::ALL.into_iter().map(|law| (law, 0)).collect(),
            failed: std::collections::BTreeMap::new(),
            breaches: Vec::new(),
            breach_count: 0,
            cut_days: Vec::new(),
            last: Vec::new(),
            points: Vec::new(),
            orders: Vec::new(),
            hash: String::new(),
            finely: Vec::new(),
        };
        Ok(Self {
            plan: plan.clone(),
            codes: Codes::new(file.facts.code_key),
            outside: Outside::new(commissioned),
            rated: file.facts.rated,
            edge: stock.out,
            books: stock.station,
            ledger,
            empty: Visit::of(&bay)?,
            bay,
            options,
            sim: Some(sim),
            session: 0,
            by_hand: &[],
            tally,
            listens: None,
            hash: Xxh3::new(),
        })
    }

    pub(super) fn sim(&mut self) -> Result<&mut Simulation, RunError> {
        self.sim.as_mut().ok_or_else(|| RunError::Plant("the station of these years is gone".to_owned()))
    }

    /// One service with all about it; false where the plant has come to its end.
    pub(super) fn serve(&mut self, number: u32) -> Result<bool, RunError> {
        let mut weather = service::draws(self.plan.seed, number, 2);
        let due = calendar::due(&self.plan, number);
        let ambient = calendar::ambient(&self.plan, due, &mut weather);
        let drawn = service::draw(&self.plan, number, ambient, &self.bay);
        self.tally.services = number + 1;
        let now = self.sim()?.time();
        self.shop_works(number, ambient, now + 0.5 * TURN)?;
        self.clean_hoses(number, ambient)?;
        let at = due.max(self.sim()?.time() + TURN);
        let rest = at - self.sim()?.time();
        self.sim()?.stand_until(at, ambient)?;
        let visit = Visit::of(&drawn.scenario)?;
        self.comes(&visit)?;
        let month = self.month(at);
        month.services[drawn.kind as usize] += 1;
        month.mistakes += u32::from(drawn.mistake.is_some());
        let celsius = ambient - 273.15;
        month.coldest_c = Some(month.coldest_c.map_or(celsius, |least| least.min(celsius)));
        month.warmest_c = Some(month.warmest_c.map_or(celsius, |most| most.max(celsius)));
        self.by_hand = drawn.by_hand;
        let whole = self.session(number, (&drawn.scenario, &visit), &drawn.cuts, rest, false)?;
        self.by_hand = &[];
        let mut ends = whole;
        if ends == Some(true) {
            ends = self.again(number, (&drawn, &visit))?;
        }
        self.goes()?;
        self.judge(number)?;
        Ok(ends.is_some())
    }

    /// After a power cut the vehicle is served once more, with a recovery first where it still holds something.
    fn again(&mut self, number: u32, (drawn, visit): (&Service, &Visit)) -> Result<Option<bool>, RunError> {
        let mut scenario = drawn.scenario.clone();
        scenario.operator.acts.clear();
        if self.sim()?.stock().vehicle > EMPTY {
            let mut phases = scenario.order.phases.clone();
            phases.extend([Phase::Identify, Phase::Recover]);
            phases.sort_unstable();
            phases.dedup();
            scenario.order.phases = phases;
        }
        let at = self.sim()?.time() + 60.0;
        let ambient = scenario.site.ambient;
        self.sim()?.stand_until(at, ambient)?;
        self.month(at).again += 1;
        self.session(number, (&scenario, visit), &[], 60.0, true)
    }

    /// An order on the vehicle that is there. Returns whether power cut it off; none where the plant has come to its end.
    pub(super) fn session(
        &mut self,
        number: u32,
        order: (&Scenario, &Visit),
        cuts: &[service::Cut],
        rest: f64,
        again: bool,
    ) -> Result<Option<bool>, RunError> {
        let (mut sim, before) = self.switch_on(number, order, rest)?;
        let came = Session::new(cuts, Vec::new(), &mut self.codes, &mut self.outside).run(&mut sim)?;
        let running = sim.plant().fault().is_none();
        if self.listens == Some(number) {
            let told = sim.told_in_words();
            self.tally.last = told
                .iter()
                .map(|one| format!("{:9.1} s  {}", one.t_s - sim.began(), one.on(&Display::default())))
                .collect();
        }
        let served = sim.close_service();
        let after = sim.stock();
        self.sim = Some(sim);
        let cut_off = came.cut_off;
        if let Some(served) = &served {
            self.book(number, served, (before, after), (again, cut_off));
        }
        self.count(number, came)?;
        Ok(running.then_some(cut_off))
    }

    fn switch_on(
        &mut self,
        number: u32,
        order: (&Scenario, &Visit),
        rest: f64,
    ) -> Result<(Simulation, Stock), RunError> {
        self.session += 1;
        let id = u16::try_from(self.session % 65_535 + 1).unwrap_or(1);
        let sim = self.sim.take().ok_or_else(|| RunError::Plant("the station of these years is gone".to_owned()))?;
        for breach in judge::start(&self.outside.acknowledged, &sim.would_find()) {
            self.breach(number, breach);
        }
        self.judged(&[Law::Counters, Law::Memory, Law::Codes]);
        let before = sim.stock();
        let rested = if rest >= NIGHT { Millis::from_secs(rest.min(4e6) as u32) } else { Millis(0) };
        Ok((sim.serve(order, &self.options, id, (rested, rest.max(60.0)))?, before))
    }

    /// The shop does what is due before the next vehicle.
    fn shop_works(&mut self, number: u32, ambient: f64, at: f64) -> Result<(), RunError> {
        let kept = self.outside.acknowledged.clone();
        let rated = self.rated;
        let sim = self.sim()?;
        let oil = |name: &str| sim.signal(name).unwrap_or(0.0);
        let look = Look {
            vessel: sim.stock().station,
            rated,
            new_oil: oil("new_oil.m_oil"),
            used_oil: oil("used_oil.m_oil"),
            kept: &kept,
        };
        let deeds = shop::between(&look);
        if deeds == shop::Deeds::default() {
            return Ok(());
        }
        sim.stand_until(at, ambient)?;
        if deeds.refrigerant != 0.0 || deeds.bottles {
            let gains = [Gain { masses: [deeds.refrigerant, 0.0, 0.0, 0.0], ..Gain::of("vessel") }];
            let gains = if deeds.refrigerant == 0.0 { &gains[..0] } else { &gains[..] };
            self.alter(&self.empty.clone(), &Change { gains, bottles: deeds.bottles, vehicle: false }, Who::Nobody)?;
            self.month(at).bottles += u32::from(deeds.bottles);
        }
        for part in deeds.parts {
            let mut draw = service::draws(self.plan.seed, self.session, 3);
            let typing = self.codes.script(part, self.plan.wrong_codes, &mut draw);
            let cuts = if draw.chance(15) { service::cut_of_exchange(&mut draw) } else { Vec::new() };
            self.exchange(number, typing, &cuts)?;
        }
        Ok(())
    }

    /// Codes are typed at a station that is switched on for it.
    fn exchange(&mut self, number: u32, typing: Vec<Typing>, cuts: &[service::Cut]) -> Result<(), RunError> {
        let mut idle = self.bay.clone();
        idle.operator.begins = 1e9;
        let (mut sim, _) = self.switch_on(number, (&idle, &self.empty.clone()), 0.0)?;
        let came = Session::new(cuts, typing, &mut self.codes, &mut self.outside).run(&mut sim)?;
        sim.close_service();
        self.sim = Some(sim);
        self.count(number, came)
    }

    /// Changes the standing station and books what came and went.
    fn alter(&mut self, next: &Visit, change: &Change<'_>, who: Who) -> Result<(), RunError> {
        let sim = self.sim()?;
        let (before, t) = (sim.stock(), sim.time());
        let made = sim.change(next, change)?;
        let after = sim.stock();
        let (left, arrived) =
            (made.left.refrigerant_kg + made.left.second_kg, made.arrived.refrigerant_kg + made.arrived.second_kg);
        // What the shop does crosses the plant's edge, and is no loss.
        let shop = if change.gains.is_empty() { 0.0 } else { before.out - after.out };
        self.edge -= shop;
        let ledger = &mut self.ledger;
        ledger.bought += shop.max(0.0);
        ledger.sold += (-shop).max(0.0);
        self.books += shop;
        let (left, arrived) = match who {
            Who::Comes => {
                ledger.bay -= left;
                (0.0, arrived)
            }
            Who::Goes => {
                ledger.bay += arrived;
                (left, 0.0)
            }
            Who::Nobody => {
                ledger.with_oil += left - arrived;
                (0.0, 0.0)
            }
        };
        ledger.left += left;
        ledger.brought += arrived;
        let month = self.month(t);
        month.bought_g += shop.max(0.0) * 1e3;
        month.sold_g += (-shop).max(0.0) * 1e3;
        month.left_g += left * 1e3;
        month.brought_g += arrived * 1e3;
        Ok(())
    }

    pub(super) fn comes(&mut self, visit: &Visit) -> Result<(), RunError> {
        self.alter(visit, &Change { vehicle: true, ..Change::default() }, Who::Comes)
    }

    /// The vehicle leaves an empty bay behind.
    pub(super) fn goes(&mut self) -> Result<(), RunError> {
        let empty = self.empty.clone();
        self.alter(&empty, &Change { vehicle: true, ..Change::default() }, Who::Goes)
    }

    pub(super) fn month(&mut self, t: f64) -> &mut Month {
        let at = calendar::month(t) as usize;
        while self.tally.months.len() <= at {
            let month = self.tally.months.len() as u32;
            self.tally.months.push(Month { month, ..Month::default() });
        }
        &mut self.tally.months[at]
    }

    pub(super) fn judged(&mut self, laws: &[Law]) {
        for law in laws {
            *self.tally.judged.entry(*law).or_default() += 1;
        }
    }

    pub(super) fn breach(&mut self, number: u32, breach: Breach) {
        self.tally.breach_count += 1;
        *self.tally.failed.entry(breach.law).or_default() += 1;
        if self.tally.breaches.len() < KEPT {
            self.tally.breaches.push(Told { service: number + 1, breach });
        }
    }
}
