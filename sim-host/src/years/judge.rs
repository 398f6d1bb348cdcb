//! What must hold after every service, as plain functions of figures: each can be asked with figures that break it.
//!
//! Promises: nothing here knows the controller's beliefs but what it acknowledged; every breach is told in words with its figures.

use std::collections::BTreeSet;

use serde::Serialize;
use valvewright_core::kept::{Kept, Memory};
use valvewright_core::token::used::Standing;
use valvewright_core::token::{CodeFault, Kind};

use super::codes::Sort;

/// What is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    /// Every gram is somewhere.
    Ledger,
    /// No counter comes back lower than it was acknowledged.
    Counters,
    /// No code is taken twice, and every other one is refused for its own reason.
    Codes,
    /// No page of the flash is erased more often than it is rated for.
    Wear,
    /// The store always gives back what it holds.
    Memory,
    /// No hazard comes to its accident level in truth.
    Hazards,
    /// An order that power cut off is told at the next start.
    Interrupted,
    /// The plant can be reckoned.
    Plant,
}

impl Law {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Ledger,
        Self::Counters,
        Self::Codes,
        Self::Wear,
        Self::Memory,
        Self::Hazards,
        Self::Interrupted,
        Self::Plant,
    ];

    /// What it asks, in a line.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Ledger => "refrigerant closed to the gram, in truth",
            Self::Counters => "no counter or clock below what was acknowledged",
            Self::Codes => "no code taken twice, each other one refused for its own reason",
            Self::Wear => "most erased page within its rating",
            Self::Memory => "the store gave back what it held at every start",
            Self::Hazards => "no hazard at its accident level, but by the operator's own hand",
            Self::Interrupted => "every order that was cut off was told at the next start",
            Self::Plant => "the plant could be reckoned",
        }
    }
}

/// A law that did not hold.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Breach {
    /// Which.
    pub law: Law,
    /// What was found, with its figures.
    pub what: String,
}

fn breach(law: Law, what: impl Into<String>) -> Breach {
    Breach { law, what: what.into() }
}

/// The ledger closes to this, kg.
pub const CLOSES: f64 = 1e-3;

/// Refrigerant over all the time so far, in truth, kg: both kinds together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Ledger {
    /// In the station, its hoses and bottles at the start.
    pub opening: f64,
    /// The shop put in.
    pub bought: f64,
    /// Vehicles brought.
    pub brought: f64,
    /// What fills the circuit of the empty bay: brought less taken away with it.
    pub bay: f64,
    /// The shop took out.
    pub sold: f64,
    /// Vehicles that left took away.
    pub left: f64,
    /// Went away with used oil.
    pub with_oil: f64,
    /// Went into the air: vented, leaked, through the vacuum pump.
    pub lost: f64,
    /// In the vessel and all pipes behind the hoses now.
    pub station: f64,
    /// In hoses, bottles and cabinet now.
    pub between: f64,
    /// In the vehicle that stands there now.
    pub vehicle: f64,
}

impl Ledger {
    /// What cannot be accounted for, kg.
    pub fn error(&self) -> f64 {
        let came = self.opening + self.bought + self.brought + self.bay;
        let went = self.sold + self.left + self.with_oil + self.lost;
        came - went - self.station - self.between - self.vehicle
    }

    /// Whether it closes.
    pub fn judge(&self) -> Option<Breach> {
        let error = self.error();
        let what = || format!("{:.3} g of refrigerant are nowhere: {self:?}", error * 1e3);
        // What is no number closes nothing.
        (error.is_nan() || error.abs() > CLOSES).then(|| breach(Law::Ledger, what()))
    }
}

/// What a start finds against what the store had acknowledged before it.
pub fn start(acknowledged: &Kept, found: &Memory) -> Vec<Breach> {
    let Memory::Sound(found) = found else {
        return vec![breach(Law::Memory, "the store gave nothing back, and nobody had broken it")];
    };
    let mut all = Vec::new();
    let newer = found.number.wrapping_sub(acknowledged.number).cast_signed();
    if newer < 0 || newer == 0 && found != acknowledged {
        let what = format!("state {} came back where {} was acknowledged", found.number, acknowledged.number);
        all.push(breach(Law::Counters, what));
    }
    // A life begins anew only against a code that was burnt before.
    let burnt = found.used_codes != acknowledged.used_codes || acknowledged.unlocking.is_some();
    let counters = [
        ("WQI-1", i64::from(acknowledged.drier.0), i64::from(found.drier.0), "mg", !burnt),
        ("KQI-1", acknowledged.pump_oil.into(), found.pump_oil.into(), "s", !burnt),
        ("KT-1", acknowledged.clock.into(), found.clock.into(), "s", true),
    ];
    for (tag, was, is, unit, judged) in counters {
        if judged && is < was {
            all.push(breach(Law::Counters, format!("{tag} came back as {is} {unit} where {was} were acknowledged")));
        }
    }
    let pairs = acknowledged.used_codes.iter().zip(&found.used_codes).zip(Kind::ALL);
    for ((was, is), kind) in pairs {
        let lost = was.newest() != 0 && is.look(was.newest()) == Standing::Fresh;
        if lost {
            all.push(breach(Law::Codes, format!("code {} {} is new again", kind.name(), was.newest())));
        }
    }
    all
}

/// A code was taken: whether it may be. `taken` holds the numbers of all that were before, and gets this one.
pub fn taken(taken: &mut BTreeSet<u128>, number: Option<u128>) -> Option<Breach> {
    match number {
        None => Some(breach(Law::Codes, "a code was taken whose check symbol does not fit")),
        Some(number) => {
            (!taken.insert(number)).then(|| breach(Law::Codes, format!("code number {number} was taken twice")))
        }
    }
}

/// A code of this sort was answered so; `again` is one whose first try a power cut swallowed.
pub fn answer(sort: Sort, answer: Result<(), CodeFault>, again: bool) -> Option<Breach> {
    use CodeFault::*;
    let fits = match (sort, answer) {
        // Nothing is looked at while a wait runs or the store does not answer.
        (_, Err(Wait(_) | NotStored)) => true,
        (Sort::Own | Sort::Release, Ok(())) => true,
        (Sort::Own | Sort::Release, Err(UsedBefore)) => again,
        (Sort::Mistyped, Err(Mistyped)) | (Sort::OtherKind, Err(OtherKind(_))) | (Sort::OtherKey, Err(NotOurs)) => true,
        (Sort::Used, Err(UsedBefore | TooOld)) => true,
        _ => false,
    };
    (!fits).then(|| breach(Law::Codes, format!("a code of the sort `{}` was answered {answer:?}", sort.word())))
}

/// Erases of the most erased page against what each page bears.
pub fn wear(most: u32, rating: u32) -> Option<Breach> {
    (most > rating).then(|| breach(Law::Wear, format!("a page was erased {most} times and is rated for {rating}")))
}

/// Hazards that came to their accident level, but those that the operator's own hand brought about, which no controller holds back.
pub fn hazards(accidents: &[String], by_hand: &[&str]) -> Option<Breach> {
    let reached: Vec<&str> = accidents.iter().map(String::as_str).filter(|one| !by_hand.contains(one)).collect();
    (!reached.is_empty()).then(|| breach(Law::Hazards, reached.join(", ")))
}

/// Power went while the store had this order on record, and these interrupted ones were told afterwards.
pub fn interrupted(order: u16, told: &[u16]) -> Option<Breach> {
    let missing = order != 0 && !told.contains(&order);
    missing.then(|| breach(Law::Interrupted, format!("order {order} was cut off, and the start said nothing of it")))
}

/// The plant, or the run about it, came to an end of its own.
pub fn broken(why: impl Into<String>) -> Breach {
    breach(Law::Plant, why)
}
