//! Sums of years, month by month: what was served, moved, exchanged, refused, cut and worn. Plain data for every form of output.

use std::collections::BTreeMap;

use serde::Serialize;

use super::judge::{Breach, Law, Ledger};
use super::plan::{KIND_COUNT, Kind, Plan};
use crate::report::data::Verdict;

/// Months of a year.
pub const MONTHS: usize = 12;

/// How services ended, in the order of [`Month::outcomes`].
pub const OUTCOMES: [&str; 6] = ["pass", "refused", "failed", "aborted", "unfinished", "cut off"];

/// One month.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Month {
    /// Counted from 0 through all years.
    pub month: u32,
    /// Services by kind, in the order of [`Kind::ALL`].
    pub services: [u32; KIND_COUNT],
    /// Services by outcome, in the order of [`OUTCOMES`].
    pub outcomes: [u32; OUTCOMES.len()],
    /// Services given again after a power cut; they count in none of the two above.
    pub again: u32,
    /// Mistakes of the operator.
    pub mistakes: u32,
    /// Taken from vehicles, in truth, g.
    pub recovered_g: f64,
    /// As the station showed it, g.
    pub recovered_shown_g: f64,
    /// Given to vehicles, in truth, g.
    pub charged_g: f64,
    /// As the station showed it, g.
    pub charged_shown_g: f64,
    /// Put into the vessel by the shop, g.
    pub bought_g: f64,
    /// Sent away by the shop, g.
    pub sold_g: f64,
    /// Went into the air, in truth, g.
    pub lost_g: f64,
    /// What of it the station said that it vented, g.
    pub vented_shown_g: f64,
    /// By how much the station's content grew beyond what it said, in truth, g.
    pub unknown_g: f64,
    /// Vehicles brought, in truth, g.
    pub brought_g: f64,
    /// Vehicles took away, in truth, g.
    pub left_g: f64,
    /// Exchanges of the filter-drier.
    pub driers: u32,
    /// Exchanges of pump oil.
    pub pump_oils: u32,
    /// Decontaminations of the hoses: those that succeeded, and those that did not.
    pub cleanings: [u32; 2],
    /// Oil bottles filled and emptied.
    pub bottles: u32,
    /// Codes that were taken.
    pub codes_taken: u32,
    /// Codes refused, by reason.
    pub codes_refused: BTreeMap<String, u32>,
    /// Power cuts.
    pub cuts: u32,
    /// Starts after power cuts.
    pub starts: u32,
    /// Presses of reset.
    pub resets: u32,
    /// Trips by row.
    pub trips: BTreeMap<String, u32>,
    /// Hazards at their accident level.
    pub hazards: BTreeMap<String, u32>,
    /// Simulated time with the power on, s.
    pub on_s: f64,
    /// Lowest air temperature of a service, degC.
    pub coldest_c: Option<f64>,
    /// Highest air temperature of a service, degC.
    pub warmest_c: Option<f64>,
    /// Content of vessel and pipes at the end of the month, kg.
    pub vessel_kg: f64,
    /// Erases of the most erased page at the end of the month.
    pub wear: u32,
    /// States stored so far.
    pub writes: u64,
}

/// A point of the lines that are drawn: after a service.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Point {
    /// Time since the first midnight, days.
    pub day: f64,
    /// Content of vessel and pipes, kg.
    pub vessel_kg: f64,
    /// WQI-1, kg.
    pub drier_kg: f64,
    /// KQI-1, h.
    pub pump_h: f64,
    /// Erases of the most erased page.
    pub wear: u32,
}

/// What came of one order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Order {
    /// Number of its service, from 1.
    pub service: u32,
    /// How it ended.
    pub verdict: Verdict,
    /// Taken from the vehicle, in truth, g.
    pub recovered_g: f64,
    /// Given to it, in truth, g.
    pub charged_g: f64,
}

/// All of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tally {
    /// Layout of this summary.
    pub version: u8,
    /// What was drawn from.
    pub plan: Plan,
    /// Services begun of those planned; fewer where it was broken off, or asked for with a last number.
    pub services: u32,
    /// As many were planned.
    pub planned: u32,
    /// It was broken off.
    pub partial: bool,
    /// Month by month; months without a service are there too.
    pub months: Vec<Month>,
    /// The ledger of refrigerant at the end.
    pub ledger: Ledger,
    /// What cannot be accounted for at the end, g.
    pub ledger_error_g: f64,
    /// The same at most after any service, g.
    pub ledger_worst_g: f64,
    /// What the station's own books say it holds at the end, kg.
    pub books_kg: f64,
    /// What it holds in truth, kg.
    pub holds_kg: f64,
    /// Erases of each page.
    pub wear: Vec<u32>,
    /// Erases that each page is rated for.
    pub rating: u32,
    /// How often each law was judged, in the order of [`Law::ALL`].
    pub judged: BTreeMap<Law, u64>,
    /// How often each did not hold.
    pub failed: BTreeMap<Law, u64>,
    /// What did not hold, with the number of the service, from 1; at most a hundred are kept.
    pub breaches: Vec<Told>,
    /// How many there were in all.
    pub breach_count: u64,
    /// Where power cuts fell, days.
    pub cut_days: Vec<f64>,
    /// What the last session told, where it was asked for, line by line.
    #[serde(skip)]
    pub last: Vec<String>,
    /// Lines to be drawn.
    #[serde(skip)]
    pub points: Vec<Point>,
    /// Each order.
    #[serde(skip)]
    pub orders: Vec<Order>,
    /// Digest of every frame and output of every session.
    pub hash: String,
    /// Services that the coarse tolerance could not carry, and that were reckoned finely.
    pub finely: Vec<u32>,
}

/// A breach and where.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Told {
    /// Number of the service, from 1.
    pub service: u32,
    /// What did not hold.
    #[serde(flatten)]
    pub breach: Breach,
}

/// A sum over months.
impl Tally {
    /// The sum of a figure over the months of a year, from 0.
    pub fn of_year(&self, year: usize, figure: impl Fn(&Month) -> f64) -> f64 {
        self.months.iter().skip(year * MONTHS).take(MONTHS).map(figure).sum()
    }

    /// The sum over all months.
    pub fn sum(&self, figure: impl Fn(&Month) -> f64) -> f64 {
        self.months.iter().map(figure).sum()
    }

    /// A count over all months.
    pub fn count(&self, figure: impl Fn(&Month) -> u32) -> u32 {
        self.months.iter().map(figure).sum()
    }

    /// How many years have a service.
    pub fn years(&self) -> usize {
        self.months.len().div_ceil(MONTHS)
    }

    /// Counts by name over all months, the largest first.
    pub fn by_name(&self, of: impl Fn(&Month) -> &BTreeMap<String, u32>) -> Vec<(String, u32)> {
        let mut all: BTreeMap<String, u32> = BTreeMap::new();
        for (name, count) in self.months.iter().flat_map(|month| of(month).iter()) {
            *all.entry(name.clone()).or_default() += count;
        }
        let mut list: Vec<_> = all.into_iter().collect();
        list.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        list
    }

    /// Services of a kind over all months.
    pub fn of_kind(&self, kind: Kind) -> u32 {
        self.count(|month| month.services[kind as usize])
    }

    /// Whether all laws held.
    pub const fn held(&self) -> bool {
        self.breach_count == 0
    }
}
