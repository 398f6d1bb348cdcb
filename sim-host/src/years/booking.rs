//! How sessions are summed up, and what is judged after each service.

use std::hash::Hasher;

use valvewright_core::talk::Notice;
use valvewright_core::token::{CodeFault, Part};

use super::calendar::DAY;
use super::judge::{self, Law};
use super::run::Years;
use super::session::Came;
use super::tally::{Order, Point, Tally};
use crate::report::data::Verdict;
use crate::run::{RunError, Served, Stock};

impl Years {
    /// Figures of an order.
    pub(super) fn book(
        &mut self,
        number: u32,
        served: &Served,
        (before, after): (Stock, Stock),
        (again, cut_off): (bool, bool),
    ) {
        let job = &served.job;
        let vented: f64 = served
            .notices
            .iter()
            .map(|(_, notice)| if let Notice::Purged(mass) = notice { f64::from(mass.0) * 1e-3 } else { 0.0 })
            .sum();
        self.tally.orders.push(Order {
            service: number + 1,
            verdict: job.verdict,
            recovered_g: job.recovered_g.truth,
            charged_g: job.charged_g.truth,
        });
        let (recovered, charged) = (job.recovered_g.shown.unwrap_or(0.0), job.charged_g.shown.unwrap_or(0.0));
        // What went into an external cylinder, as the last notice of it says.
        let filled =
            served.notices.iter().rev().find_map(|(_, n)| if let Notice::Filled(m) = n { Some(m.0) } else { None });
        let said = recovered - charged - vented + f64::from(filled.unwrap_or(0)) * 1e-3;
        let grew = (after.station - before.station) * 1e3;
        let unknown = grew - said;
        self.books += said * 1e-3;
        let month = self.month(job.start_s);
        if !again {
            let outcome = match job.verdict {
                _ if cut_off => 5,
                Verdict::Pass => 0,
                Verdict::Refused => 1,
                Verdict::Failed => 2,
                Verdict::Aborted => 3,
                Verdict::Unfinished => 4,
            };
            month.outcomes[outcome] += 1;
        }
        month.recovered_g += job.recovered_g.truth;
        month.recovered_shown_g += recovered;
        month.charged_g += job.charged_g.truth;
        month.charged_shown_g += charged;
        month.vented_shown_g += vented;
        month.unknown_g += unknown;
        for row in &job.trips {
            *month.trips.entry(row.clone()).or_default() += 1;
        }
        for hazard in &job.accidents {
            *month.hazards.entry(hazard.clone()).or_default() += 1;
        }
        self.judged(&[Law::Hazards]);
        if let Some(mut breach) = judge::hazards(&job.accidents, self.by_hand) {
            // Whoever reads of a wrong charge wants to know how wrong.
            let ordered = job.charged_g.target.map_or_else(|| "none".to_owned(), |target| format!("{target:.0} g"));
            breach.what += &format!(": charge ordered {ordered}, {:.1} g in the vehicle in truth", after.vehicle * 1e3);
            self.breach(number, breach);
        }
    }

    /// What came of a session of either sort.
    pub(super) fn count(&mut self, number: u32, came: Came) -> Result<(), RunError> {
        let sim = self.sim()?;
        let (t, began) = (sim.time(), sim.began());
        let hash = sim.hash();
        self.hash.write(hash.as_bytes());
        let month = self.month(began);
        month.cuts += came.cuts;
        month.starts += came.starts;
        month.resets += came.resets;
        month.on_s += t - began;
        for (typing, answer) in &came.codes {
            match answer {
                Ok(()) => {
                    month.codes_taken += 1;
                    match typing.part {
                        Part::FilterDrier => month.driers += 1,
                        Part::PumpOil => month.pump_oils += 1,
                        Part::Record => {}
                    }
                }
                Err(fault) => *month.codes_refused.entry(reason(*fault).to_owned()).or_default() += 1,
            }
        }
        for _ in 0..came.cuts {
            self.tally.cut_days.push((began / DAY * 1e3).round() * 1e-3);
        }
        self.judged(&[Law::Plant]);
        for _ in 0..came.starts {
            self.judged(&[Law::Counters, Law::Memory, Law::Codes, Law::Interrupted]);
        }
        for breach in came.breaches {
            self.breach(number, breach);
        }
        Ok(())
    }

    /// After a service: the ledger, the wear, and a point of the lines.
    pub(super) fn judge(&mut self, number: u32) -> Result<(), RunError> {
        let kept = self.outside.acknowledged.clone();
        let edge = self.edge;
        let sim = self.sim()?;
        let (stock, t) = (sim.stock(), sim.time());
        let wear = sim.store().chip().wear().to_vec();
        let (writes, rating) = (sim.store().writes(), sim.store().rating());
        let most = wear.iter().copied().max().unwrap_or(0);
        let lost = stock.out - edge;
        let more = lost - self.ledger.lost;
        let ledger = &mut self.ledger;
        (ledger.lost, ledger.station, ledger.between, ledger.vehicle) =
            (lost, stock.station, stock.between, stock.vehicle);
        let (ledger, books) = (*ledger, self.books);
        let month = self.month(t);
        month.lost_g += more * 1e3;
        (month.vessel_kg, month.wear, month.writes) = (stock.station, most, writes);
        self.judged(&[Law::Ledger, Law::Wear]);
        let found = [ledger.judge(), judge::wear(most, rating)];
        for breach in found.into_iter().flatten() {
            self.breach(number, breach);
        }
        let tally = &mut self.tally;
        (tally.ledger, tally.ledger_error_g) = (ledger, ledger.error() * 1e3);
        tally.ledger_worst_g = tally.ledger_worst_g.max(tally.ledger_error_g.abs());
        (tally.books_kg, tally.holds_kg, tally.wear) = (books, stock.station, wear);
        tally.points.push(Point {
            day: t / DAY,
            vessel_kg: stock.station,
            drier_kg: f64::from(kept.drier.0) * 1e-6,
            pump_h: f64::from(kept.pump_oil) / 3_600.0,
            wear: most,
        });
        Ok(())
    }

    /// The sums as they stand.
    pub(super) fn close(mut self) -> Tally {
        self.tally.hash = format!("{:016x}", self.hash.finish());
        self.tally
    }
}

/// A word for why a code was not taken.
const fn reason(fault: CodeFault) -> &'static str {
    match fault {
        CodeFault::Mistyped => "mistyped",
        CodeFault::OtherVersion => "other version",
        CodeFault::NotOurs => "other key",
        CodeFault::OtherKind(_) => "other kind",
        CodeFault::UsedBefore => "used before",
        CodeFault::TooOld => "too old",
        CodeFault::Wait(_) => "wait",
        CodeFault::NotStored => "not stored",
    }
}
