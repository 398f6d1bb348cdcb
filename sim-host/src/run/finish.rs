//! The end of a job and of a run: what the controller showed and what was true, judged into the result.

use valvewright_core::frame::Actuator;
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{LeakResult as CoreLeak, LeakVerdict, Outcome as CoreOutcome};
use valvewright_core::port::digest::Digest;
use valvewright_core::station::Station;
use valvewright_core::units::Milligram;

use super::bind::OIL_DENSITY;
use super::options::RunOutcome;
use super::simulation::Simulation;
use super::told::{Shown, ended_badly, finding};
use super::turn::Turn;
use super::words;
use crate::controller::{Controller, Tape};
use crate::logic::Times;
use crate::report::data::{
    AccountLine, BoardFault, BoardResult, Charged, ControllerResult, ExpectationResult, JobResult, LeakResult,
    PropertyResult, RunResult, ShownTrue, StationLedger, UNITS, Verdict,
};
use crate::scenario::expect::Expect;
use crate::scenario::{Scenario, judge};

impl<C: Controller> Simulation<C> {
    pub(super) fn shown(&self) -> Shown {
        let told = &self.told;
        match self.controller.core() {
            Some(core) if told.accepted => {
                let ledger = core.job().ledger;
                Shown {
                    recovered: Some(ledger.recovered),
                    charged: Some(ledger.charged()),
                    drained: Some(ledger.oil_drained),
                    charge_begun: ledger.charge_begun,
                    leak: Some(core.connection().leak()),
                    verdict: verdict(core),
                }
            }
            _ => Shown {
                recovered: told.recovered,
                charged: told.charged,
                drained: told.drained,
                charge_begun: told.charged.is_some(),
                leak: told.leak,
                verdict: told.verdict(),
            },
        }
    }

    /// Ends the job at hand: its result goes to the list.
    pub(super) fn close_job(&mut self) {
        let scenario = std::sync::Arc::clone(&self.present);
        let ended = self.ended.take();
        let core = self.controller.core().is_some();
        // A core whose machine starts anew after the end has forgotten it.
        let shown = ended.filter(|_| core && !self.order_ended()).unwrap_or_else(|| self.shown());
        let target = shown.charge_begun || scenario.order.charge > 0.0;
        let (recovered, charged) = if core {
            (self.marks.recovered(&self.signals, &self.plant), self.marks.charged(&self.signals, &self.plant))
        } else {
            self.marks.look(&self.signals, &self.plant);
            (self.marks.taken_out(), self.marks.put_in(&self.signals, &self.plant))
        };
        let grams = |m: Milligram| f64::from(m.0) * 1e-3;
        let used = self.signals.used_oil(&self.plant) - self.marks.used_oil_start;
        self.marks.look(&self.signals, &self.plant);
        let mut reached = self.marks.reached;
        reached.escaped_g = (self.signals.escaped(&self.plant) - self.marks.escaped_start) * 1e3;
        let now = self.plant.time();
        let done = shown.verdict == Verdict::Pass;
        let accidents = self.hazards.as_mut().map(|all| all.job_ends(&self.plant, now, done)).unwrap_or_default();
        let (phases, trips) = self.recorder.of_job();
        let mut job = JobResult {
            vehicle: scenario.vehicle.label.clone(),
            start_s: self.began,
            end_s: self.plant.time(),
            verdict: shown.verdict,
            may_stand: scenario.expect.verdict == Verdict::Unfinished && self.job == self.scenario.then.len(),
            phases,
            recovered_g: ShownTrue { shown: shown.recovered.map(grams), truth: recovered * 1e3 },
            charged_g: Charged {
                target: target.then_some((scenario.order.charge * 1e6).round() * 1e-3),
                shown: shown.charged.map(grams),
                truth: charged * 1e3,
            },
            oil_drained_ml: shown.drained.map(|oil| grams(oil) * 1e3 / OIL_DENSITY),
            oil_drained_ml_true: used * 1e6 / OIL_DENSITY,
            leak: leak(shown.leak),
            trips,
            reached,
            accidents: accidents.into_iter().map(str::to_owned).collect(),
            expectations: Vec::new(),
            properties: self.properties(&scenario),
        };
        // Rows are the core's: of another controller that tells none, nothing is expected of them.
        let rows = self.controller.core().is_some() || !job.trips.is_empty();
        let expect = Expect { trips: scenario.expect.trips.clone().filter(|_| rows), ..scenario.expect.clone() };
        job.expectations = judge::judge_job(&expect, scenario.vehicle.content, &job);
        job.expectations.extend(self.injector.missed(self.job));
        job.expectations.extend(judge::judge_properties(&job.properties));
        if !self.scenario.then.is_empty() {
            let number = self.jobs.len() + 1;
            job.expectations.iter_mut().for_each(|one| one.name = format!("job {number}: {}", one.name));
        }
        self.jobs.push(job);
    }

    /// Each property of the job at hand: its name, whether it would hold if the job ended now, and whether that can change no more.
    pub fn properties_so_far(&self) -> Vec<(String, bool, bool)> {
        let names = self.present.properties.iter().map(|one| one.name.clone());
        names.zip(self.watch.so_far()).map(|(name, (holds, certain))| (name, holds, certain)).collect()
    }

    /// What came of the properties of the job at hand.
    fn properties(&mut self, scenario: &Scenario) -> Vec<PropertyResult> {
        let found = std::mem::take(&mut self.watch).finish();
        let times = Times { began: self.began, period: f64::from(self.scan_time().0) * 1e-3 };
        scenario.properties.iter().zip(&found).map(|(one, found)| one.result(found, times)).collect()
    }

    /// The result of a run that took `wall` s; `partial` where it was stopped, as where the controller was lost.
    pub(super) fn judged(mut self, wall: f64, partial: bool) -> RunOutcome {
        let partial = partial || self.lost.is_some();
        let sim = self.plant.time();
        // Between two orders no job is at hand.
        if matches!(self.turn, Turn::Served | Turn::Ended(_)) {
            self.close_job();
        }
        self.recorder.trace.close(sim);
        self.recorder.trace.partial = partial;
        let jobs = std::mem::take(&mut self.jobs);
        let mut expectations: Vec<_> = jobs.iter().flat_map(|job| job.expectations.iter().cloned()).collect();
        expectations.extend(self.hazards_at_the_end(sim));
        let balance = self.plant.balance();
        let sum = |of: fn(&JobResult) -> f64| jobs.iter().map(of).sum::<f64>();
        let said = |of: fn(&JobResult) -> Option<f64>| {
            jobs.iter().filter_map(of).fold(None, |sum, more| Some(sum.unwrap_or(0.0) + more))
        };
        let mut reached = self.marks.whole();
        reached.escaped_g = self.signals.escaped(&self.plant) * 1e3;
        let controller = self.controller_result();
        let jobs_in_all = 1 + self.scenario.then.len();
        let rest = if jobs.len() < jobs_in_all { Verdict::Unfinished } else { Verdict::Pass };
        let result = RunResult {
            scenario: self.scenario.name.clone(),
            seed: self.seed,
            without: Vec::new(),
            moved: Vec::new(),
            units: UNITS,
            verdict: jobs.iter().map(|job| job.verdict).find(|one| *one != Verdict::Pass).unwrap_or(rest),
            sim_seconds: sim,
            wall_seconds: wall,
            ticks: self.ticks,
            speed: RunResult::speed_of(sim, wall),
            phases: jobs.iter().flat_map(|job| job.phases.iter().cloned()).collect(),
            recovered_g: ShownTrue {
                shown: said(|job| job.recovered_g.shown),
                truth: sum(|job| job.recovered_g.truth),
            },
            charged_g: Charged {
                target: said(|job| job.charged_g.target),
                shown: said(|job| job.charged_g.shown),
                truth: sum(|job| job.charged_g.truth),
            },
            oil_drained_ml: said(|job| job.oil_drained_ml),
            oil_drained_ml_true: sum(|job| job.oil_drained_ml_true),
            leak: last_leak(&jobs),
            notices: self.recorder.told(),
            interlocks: std::mem::take(&mut self.recorder.interlocks),
            faults: self.injector.records(),
            mass_balance_error_g: balance.mass_error_kg * 1e3,
            mass_balance_rel: balance.mass_error_kg.abs() / balance.inventory_kg.max(1e-9),
            energy_balance_error_rel: balance.energy_error_j.abs() / balance.energy_scale_j.max(1e-9),
            trace_hash: self.recorder.hash(),
            partial,
            balances: balance.accounts(self.plant.mixed()).iter().map(AccountLine::from).collect(),
            plant_fault: self.plant.fault().map(ToString::to_string),
            board: board_result(&controller),
            controller,
            station: self.station_name.clone(),
            reached,
            hazards: self.hazards.as_ref().map(|all| all.results()).unwrap_or_default(),
            ledger: self.ledger(),
            expectations,
            jobs,
            jobs_in_all,
            stops: Vec::new(),
            replay: None,
        };
        let broke = self.injector.unlisted();
        let end = self.controller.core().filter(|_| self.keep).map(Digest::of);
        let store = self.desk_closes();
        let tape = Tape { end, ..self.tape };
        RunOutcome { result, trace: self.recorder.trace, tape, broke, moves: self.moves, store }
    }

    /// What of the hazards is no job's: accidents between two of them, and what could not be judged. Their bands go into the trace.
    fn hazards_at_the_end(&mut self, t: f64) -> Vec<ExpectationResult> {
        let Some(hazards) = &mut self.hazards else { return Vec::new() };
        let between = hazards.accidents(&self.plant, t);
        self.recorder.trace.hazards = hazards.bands();
        judge::judge_hazards_of_run(&between, &hazards.results())
    }

    /// What the result says of the controller.
    fn controller_result(&self) -> ControllerResult {
        let who = self.controller.who();
        let fault = self.lost.as_ref().map(|(t_s, loss)| BoardFault {
            t_s: *t_s,
            why: loss.why.clone(),
            on: Actuator::ALL.into_iter().filter(|a| self.outputs.on.has(*a)).map(|a| a.tag().to_owned()).collect(),
        });
        let core = self.controller.core().is_some();
        ControllerResult { name: who.name, joined: who.joined.to_owned(), core, fault }
    }

    /// The station's refrigerant over the run.
    fn ledger(&self) -> StationLedger {
        let (vehicle, escaped) = (self.signals.vehicle_mass(&self.plant), self.signals.escaped(&self.plant));
        let (start, end) = (self.account.start, self.signals.all_mass(&self.plant) - vehicle);
        let came = self.account.before + self.account.came - vehicle;
        StationLedger {
            start_g: start * 1e3,
            from_vehicles_g: came * 1e3,
            with_vessels_g: self.account.exchanged * 1e3,
            escaped_g: escaped * 1e3,
            end_g: end * 1e3,
            error_g: (start + came + self.account.exchanged - escaped - end) * 1e3,
        }
    }
}

/// Boards have a place of their own, which older readers know.
fn board_result(controller: &ControllerResult) -> Option<BoardResult> {
    let board = controller.core && controller.joined != "built in";
    board.then(|| BoardResult { line: controller.joined.clone(), fault: controller.fault.clone() })
}

fn leak(found: Option<CoreLeak>) -> LeakResult {
    let found = found.unwrap_or_default();
    let checked = found.verdict != LeakVerdict::Unknown;
    let tight = found.verdict == LeakVerdict::Tight;
    LeakResult {
        verdict: words::leak(found.verdict).to_owned(),
        pa_m3_per_s: checked.then(|| f64::from(found.micro_pa_m3_per_s) * 1e-6),
        g_per_year: checked.then_some(found.milligram_per_year() as f64 * 1e-3),
        below_pa_m3_per_s: tight.then(|| f64::from(found.below_micro()) * 1e-6),
        below_g_per_year: tight.then_some(found.below_milligram_per_year() as f64 * 1e-3),
        smallest_pa_m3_per_s: checked.then(|| f64::from(found.smallest_micro) * 1e-6),
        smallest_g_per_year: checked.then_some(found.smallest_milligram_per_year() as f64 * 1e-3),
    }
}

/// The check of the last job that made one.
fn last_leak(jobs: &[JobResult]) -> LeakResult {
    let made = jobs.iter().rev().find(|job| job.leak.pa_m3_per_s.is_some());
    made.or(jobs.last()).map_or_else(|| leak(None), |job| job.leak.clone())
}

fn verdict(core: &Station) -> Verdict {
    let records = core.job().records();
    match core.job().state() {
        JobState::Ended(true) => Verdict::Pass,
        JobState::Ended(false) => ended_badly(
            records.iter().any(|r| r.outcome == CoreOutcome::Aborted),
            records.iter().any(|r| finding(r.outcome)),
        ),
        JobState::Idle | JobState::Starting | JobState::Running | JobState::Paused => Verdict::Unfinished,
    }
}
