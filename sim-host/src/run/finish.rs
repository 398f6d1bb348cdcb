//! The end of a run: what the controller showed and what was true, judged into the result.

use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GiveUp, LeakVerdict, Outcome as CoreOutcome};
use valvewright_core::station::Station;
use valvewright_core::units::Milligram;

use super::network::OIL_DENSITY;
use super::options::RunOutcome;
use super::simulation::Simulation;
use super::{record, words};
use crate::board::Remote;
use crate::report::data::{AccountLine, Charged, LeakResult, Outcome, RunResult, ShownTrue, UNITS, Verdict};
use crate::scenario;

impl Simulation {
    /// The result of a run that took `wall` s, on this board if on one; `partial` where it was stopped.
    pub(super) fn judged(mut self, board: Option<&dyn Remote>, wall: f64, partial: bool) -> RunOutcome {
        let scenario = std::sync::Arc::clone(&self.scenario);
        let sim = self.plant.time();
        let vehicle = self.signals.vehicle_mass(&self.plant);
        self.recorder.trace.close(sim);
        self.recorder.trace.partial = partial;
        let job = self.station.job();
        let ledger = job.ledger;
        let link = self.station.connection();
        let checked = link.leak().verdict != LeakVerdict::Unknown;
        let tight = link.leak().verdict == LeakVerdict::Tight;
        let balance = self.plant.balance();
        let target = job.ledger.charge_begun || scenario.order.charge > 0.0;
        let used = self.signals.used_oil(&self.plant) - self.marks.used_oil_start;
        let before = self.marks.before_recovery.unwrap_or(0.0);
        // Aborted on the way: what is in the station now counts.
        let after = self.marks.after_recovery.unwrap_or_else(|| match self.marks.before_recovery {
            Some(_) => self.signals.station_mass(&self.plant),
            None => 0.0,
        });
        let grams = |m: Milligram| f64::from(m.0) * 1e-3;
        let mut result = RunResult {
            scenario: scenario.name.clone(),
            seed: self.seed,
            units: UNITS,
            verdict: verdict(&self.station),
            sim_seconds: sim,
            wall_seconds: wall,
            ticks: self.ticks,
            speed: RunResult::speed_of(sim, wall),
            phases: std::mem::take(&mut self.recorder.phases),
            recovered_g: ShownTrue { shown: grams(ledger.recovered), truth: (after - before) * 1e3 },
            charged_g: Charged {
                target: target.then_some((scenario.order.charge * 1e6).round() * 1e-3),
                shown: grams(ledger.charged()),
                truth: self.marks.charge_start.map_or(0.0, |before| (vehicle - before) * 1e3),
            },
            oil_drained_ml: grams(ledger.oil_drained) * 1e3 / OIL_DENSITY,
            oil_drained_ml_true: used * 1e6 / OIL_DENSITY,
            leak: LeakResult {
                verdict: words::leak(link.leak().verdict).to_owned(),
                pa_m3_per_s: checked.then(|| f64::from(link.leak().micro_pa_m3_per_s) * 1e-6),
                g_per_year: checked.then_some(link.leak().milligram_per_year() as f64 * 1e-3),
                below_pa_m3_per_s: tight.then(|| f64::from(link.leak().below_micro()) * 1e-6),
                below_g_per_year: tight.then_some(link.leak().below_milligram_per_year() as f64 * 1e-3),
                smallest_pa_m3_per_s: checked.then(|| f64::from(link.leak().smallest_micro) * 1e-6),
                smallest_g_per_year: checked.then_some(link.leak().smallest_milligram_per_year() as f64 * 1e-3),
            },
            notices: std::mem::take(&mut self.recorder.notices),
            interlocks: std::mem::take(&mut self.recorder.interlocks),
            mass_balance_error_g: balance.mass_error_kg * 1e3,
            mass_balance_rel: balance.mass_error_kg.abs() / balance.inventory_kg.max(1e-9),
            energy_balance_error_rel: balance.energy_error_j.abs() / balance.energy_scale_j.max(1e-9),
            trace_hash: self.recorder.hash(),
            partial,
            balances: balance.accounts(self.plant.mixed()).iter().map(AccountLine::from).collect(),
            plant_fault: self.plant.fault().map(ToString::to_string),
            board: self.board_result(board),
            expectations: Vec::new(),
        };
        result.expectations = scenario::judge::judge(&scenario, &result);
        RunOutcome { result, trace: self.recorder.trace, frames: self.frames, moves: self.moves }
    }
}

fn verdict(station: &Station) -> Verdict {
    let records = station.job().records();
    let aborted = records.iter().any(|r| r.outcome == CoreOutcome::Aborted);
    let refused = records.iter().any(|r| {
        let found = matches!(
            r.outcome,
            CoreOutcome::Failed(GiveUp::Leaks | GiveUp::NoVacuum | GiveUp::StillWet | GiveUp::DrawsAir)
        );
        found || record::outcome(r.outcome) == Outcome::Refused
    });
    match station.job().state() {
        JobState::Ended(true) => Verdict::Pass,
        JobState::Ended(false) if aborted => Verdict::Aborted,
        JobState::Ended(false) if refused => Verdict::Refused,
        JobState::Ended(false) => Verdict::Failed,
        JobState::Idle | JobState::Starting | JobState::Running | JobState::Paused => Verdict::Unfinished,
    }
}
