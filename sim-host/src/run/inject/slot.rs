//! One planned fault on its way: waiting, acting, over.

use xxhash_rust::xxh3::xxh3_64_with_seed;

use crate::fault::{Begin, Begins, Effect, End, FaultId, Matter, Person, Planned, When};
use crate::instrument::Noise;
use crate::logic::Standing;
use crate::report::data::FaultRecord;

/// The number of what no line of the catalogue has.
pub(super) const UNLISTED: FaultId = FaultId(0);

/// Where a fault stands. Times in s.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Stand {
    /// What sets it off has not come.
    Waiting,
    /// It was set off and begins at this time.
    Due(f64),
    /// It acts since then.
    Acting(f64),
    /// It is over.
    Over,
    /// Its job ended before it came.
    Missed,
}

/// A planned fault.
#[derive(Clone)]
pub(super) struct Slot {
    /// Its number in the run, from 1: whose its ills are.
    pub(super) key: u32,
    pub(super) planned: Planned,
    /// The job that it was planned for, from 0, and when that job's order is given, s.
    pub(super) job: usize,
    pub(super) origin: f64,
    pub(super) stand: Stand,
    pub(super) effects: Vec<Effect>,
    /// Seed of all that is random in it.
    pub(super) seed: u64,
    pub(super) dice: Noise,
    /// What an effect keeps for itself: scans to wait, a time, a count.
    pub(super) wait: u32,
    pub(super) mark: f64,
    /// Bytes of a page that reads as erased, and where that page or an unsteady bit is.
    pub(super) blanked: Vec<u8>,
    pub(super) place: usize,
    /// A cut is planned; what it did to a part is undone.
    pub(super) armed: bool,
    pub(super) mended: bool,
    /// When a tied button counted as pressed last, s.
    pub(super) pressed: f64,
    /// What sets it off and ends it, where that is a condition.
    pub(super) asks: [Option<Standing>; 2],
    /// How long it lasts where its plan names no other end, s.
    lasts: Option<f64>,
    /// When it came and went, s.
    began: Option<f64>,
    ended: Option<f64>,
}

impl Slot {
    /// One of the catalogue; none where it has no such way.
    pub(super) fn new(planned: &Planned, seed: u64, place: usize, job: usize, origin: f64) -> Option<Self> {
        let effects = (planned.way()?.does)(&planned.given());
        Some(Self::made(planned.clone(), effects, seed, place, job, origin))
    }

    /// With effects of its own.
    pub(super) fn made(
        planned: Planned,
        effects: Vec<Effect>,
        seed: u64,
        place: usize,
        job: usize,
        origin: f64,
    ) -> Self {
        // Apart for each fault, each place in the plan, and each run.
        let name = [planned.id.0, place as u8, (place >> 8) as u8, b'F'];
        let own = xxh3_64_with_seed(&name, seed);
        let lasts = planned.way().and_then(|way| way.lasts).filter(|_| planned.end == End::Never);
        let lasts = lasts.map(|lasts| lasts(planned.given().severity));
        let with_the_job = planned.begin.when == When::Job;
        let stand = if with_the_job { Stand::Due(origin + planned.begin.after) } else { Stand::Waiting };
        Self {
            key: u32::try_from(place + 1).unwrap_or(u32::MAX),
            planned,
            job,
            origin,
            stand,
            effects,
            seed: own,
            dice: Noise::new(own),
            wait: 0,
            mark: f64::NAN,
            blanked: Vec::new(),
            place: 0,
            armed: false,
            mended: false,
            pressed: f64::NEG_INFINITY,
            asks: [None, None],
            lasts,
            began: None,
            ended: None,
        }
    }

    /// It is one of the catalogue.
    pub(super) fn is_listed(&self) -> bool {
        self.planned.id != UNLISTED
    }

    pub(super) fn begin(&self) -> &Begin {
        &self.planned.begin
    }

    /// It acts in this scan.
    pub(super) fn acts(&self) -> bool {
        matches!(self.stand, Stand::Acting(_))
    }

    /// It is over, or can't come any more.
    pub(super) fn is_over(&self) -> bool {
        matches!(self.stand, Stand::Over | Stand::Missed)
    }

    /// When it began, s.
    pub(super) fn since(&self) -> f64 {
        self.began.unwrap_or(f64::INFINITY)
    }

    pub(super) fn comes(&mut self, t: f64) {
        self.stand = Stand::Acting(t);
        self.began = Some(t);
    }

    pub(super) fn goes(&mut self, t: f64) {
        self.stand = Stand::Over;
        self.ended = Some(t);
    }

    /// When time alone moves it on, s; never where something else has to come.
    pub(super) fn next(&self) -> f64 {
        let never = f64::INFINITY;
        match (self.stand, &self.planned.end) {
            (Stand::Due(due), _) => due,
            (Stand::Waiting, _) if self.begin().when == When::Job => f64::NEG_INFINITY,
            (Stand::Acting(_), End::Never) => self.lasts.map_or(never, |lasts| self.since() + lasts),
            (Stand::Acting(_), End::After(seconds)) => self.since() + seconds,
            (Stand::Acting(_), End::At(t)) => self.origin + t,
            _ => never,
        }
    }

    /// It has to ask a condition in each scan.
    pub(super) fn asks(&self) -> bool {
        match self.stand {
            Stand::Waiting => self.asks[0].is_some(),
            Stand::Acting(_) => self.asks[1].is_some(),
            _ => false,
        }
    }

    /// It does something in each scan in which it acts.
    pub(super) fn works(&self) -> bool {
        self.effects.iter().any(|effect| match effect {
            Effect::LockedRotor(_)
            | Effect::Carries(_)
            | Effect::Power(_)
            | Effect::Machine(_)
            | Effect::Shorted(_)
            | Effect::Crossed(_)
            | Effect::Image(_)
            | Effect::Person(_)
            | Effect::Store(_) => true,
            Effect::Device(_)
            | Effect::Hold(..)
            | Effect::LeaksBy(..)
            | Effect::Number(..)
            | Effect::Way(_)
            | Effect::Brings(_)
            | Effect::Warms(..)
            | Effect::Chokes(_)
            | Effect::AirTemperature(_)
            | Effect::AirPressure(_)
            | Effect::OilFilm => false,
        })
    }

    /// It is prepared from the run's beginning, for the time that its plan names.
    pub(super) fn at_a_time(&self) -> bool {
        self.planned.injection().is_some_and(|one| one.begins == Begins::AtATime)
    }

    /// It goes with the vehicle: what is wrong with that, and what its driver does.
    pub(super) fn of_vehicle(&self) -> bool {
        self.effects.iter().any(|effect| match effect {
            Effect::Way(way) => way.of_vehicle,
            Effect::Brings(matter) => !matches!(matter, Matter::AirInVessel(_)),
            Effect::Person(person) => !matches!(person, Person::OpensDoor | Person::StopsWithResetHeld(_)),
            _ => false,
        })
    }

    pub(super) fn record(&self) -> FaultRecord {
        let planned = &self.planned;
        let (component, failure) = planned.injection().map_or(("", ""), |one| {
            let entry = one.entry();
            (entry.component.as_str(), entry.failure_mode.as_str())
        });
        FaultRecord {
            id: planned.id.to_string(),
            tag: planned.tag.to_owned(),
            component: component.to_owned(),
            failure_mode: failure.to_owned(),
            mode: planned.mode.to_owned(),
            severity: planned.severity_text(),
            job: self.job + 1,
            begins: planned.begin_words(),
            began_s: self.began,
            ended_s: self.ended,
        }
    }
}
