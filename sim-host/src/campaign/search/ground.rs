//! What a search begins from: one healthy job of a plan, and the ways to fail that may come into it while it runs.

use crate::campaign::error::CampaignError;
use crate::campaign::plan::{Design, Way, quoted};
use crate::campaign::runs::{Base, Runs};
use crate::fault::{Begins, Planned};
use crate::run::{RunError, RunOptions, Simulation};
use crate::scenario::Scenario;

/// The job and its faults.
#[derive(Clone)]
pub struct Ground {
    /// Name of the plan, of the scenario where there is none.
    pub plan: String,
    /// The healthy job.
    pub scenario: Scenario,
    /// How it is run.
    pub options: RunOptions,
    /// Ways to fail that can come at any time of this job.
    pub ways: Vec<Way>,
    /// Those that cannot, each with the reason.
    pub left_out: Vec<(String, String)>,
    /// The command that runs the job, without faults.
    command: String,
}

impl Ground {
    /// The one job of a plan.
    ///
    /// # Errors
    /// As [`Ground::varied`], and where the plan varies a key of the scenario.
    pub fn of(runs: &Runs) -> Result<Self, CampaignError> {
        let varied: Vec<&str> = runs.plan().factors.iter().map(|one| one.key.as_str()).collect();
        if varied.is_empty() {
            return Self::varied(runs);
        }
        let (plan, keys) = (&runs.plan().name, varied.join(", "));
        let what = format!("{plan}: this search goes out from one job, and the plan varies {keys}");
        Err(CampaignError::Folder(what, "write the value that is meant into the scenario's file".into()))
    }

    /// The job of a plan, with the keys that the plan varies left as the scenario has them.
    ///
    /// # Errors
    /// The plan has more than one scenario, station or seed, lists its runs, lets faults heal, leaves interlock rows out, or has no fault that could come.
    pub fn varied(runs: &Runs) -> Result<Self, CampaignError> {
        let plan = runs.plan();
        let wrong =
            |what: &str, help: &str| Err(CampaignError::Folder(format!("{}: {what}", plan.name), help.to_owned()));
        if plan.scenarios.len() != 1 || plan.stations.len() != 1 || plan.seeds.count() != 1 {
            return wrong(
                "a search goes out from one job",
                "give one scenario, at most one station and one seed in [factors]",
            );
        }
        if plan.design == Design::List || plan.heal.is_some() || !plan.ablation.is_empty() {
            return wrong(
                "a search draws its runs, lets nothing heal and leaves no interlock row out",
                "take [[run]], [heal] and [ablation] out and choose design = \"latin\"",
            );
        }
        if plan.controller.is_some() {
            return wrong("a search forks its runs, and only the core can be forked", "let controller be \"built_in\"");
        }
        let Some(first) = runs.at(0) else { return wrong("it has no runs", "give it at least one") };
        let base = Base { changes: Vec::new(), ..first.base };
        let scenario = runs.scenario(&base).map_err(|why| CampaignError::Folder(why, "check the scenario".into()))?;
        let options = RunOptions { seed: Some(base.seed), ..RunOptions::BARE };
        let named = plan.scenarios.first().map_or("", |one| one.name.as_str());
        let mut command = format!("valvewright run {} --seed {}", quoted(named), base.seed);
        if let Some(Some(station)) = plan.stations.first() {
            command += &format!(" --station {}", quoted(station));
        }
        let mut made =
            Self { plan: plan.name.clone(), scenario, options, ways: Vec::new(), left_out: Vec::new(), command };
        made.take(&plan.ways).map_err(|why| CampaignError::Healthy(named.to_owned(), why))?;
        if made.ways.is_empty() {
            return wrong("no fault of it can come while the job runs", "name others in `which` of [faults]");
        }
        Ok(made)
    }

    /// One job without a plan: the command that runs it, and those of these ways that can come into it; there may be none.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn job(scenario: Scenario, command: String, ways: &[Way]) -> Result<Self, RunError> {
        let (plan, options) = (scenario.name.clone(), RunOptions::BARE);
        let mut made = Self { plan, scenario, options, ways: Vec::new(), left_out: Vec::new(), command };
        made.take(ways)?;
        Ok(made)
    }

    /// Takes the ways that fit, and the reasons of the others.
    fn take(&mut self, ways: &[Way]) -> Result<(), RunError> {
        let probe = self.begin()?;
        for way in ways {
            match self.fits(way, &probe) {
                Ok(()) => self.ways.push(way.clone()),
                Err(why) => self.left_out.push((way.words.clone(), why)),
            }
        }
        Ok(())
    }

    /// Whether a way can come into the running job.
    fn fits(&self, way: &Way, probe: &Simulation) -> Result<(), String> {
        if way.planned.injection().is_none_or(|one| one.begins != Begins::AnyTime) {
            return Err("it comes with the job, or is prepared before it".to_owned());
        }
        probe.fork().inject(&way.planned).map_err(|why| why.to_string())
    }

    /// The healthy job before its first scan.
    ///
    /// # Errors
    /// As [`Simulation::new`].
    pub fn begin(&self) -> Result<Simulation, RunError> {
        Simulation::new(&self.scenario, &self.options)
    }

    /// The length of a scan, s.
    pub fn scan_s(&self) -> f64 {
        self.scenario.station.scan
    }

    /// The time of a scan, s, as scans are counted: to the millisecond.
    pub fn time(&self, scan: u64) -> f64 {
        let ms = (self.scan_s() * 1e3).round() as u64;
        (scan * ms) as f64 * 1e-3
    }

    /// A way as it is planned for this scan.
    pub fn planned(&self, way: usize, scan: u64) -> Option<Planned> {
        let mut planned = self.ways.get(way)?.planned.clone();
        planned.begin.after = self.time(scan);
        Some(planned)
    }

    /// The same in the words of `--fault`.
    pub fn words(&self, way: usize, scan: u64) -> String {
        let words = self.ways.get(way).map_or("", |one| one.words.as_str());
        format!("{words} at={:.3}s", self.time(scan))
    }

    /// The command that runs the job with these faults.
    pub fn replay(&self, faults: &[String]) -> String {
        faults.iter().fold(self.command.clone(), |all, words| format!("{all} --fault {}", quoted(words)))
    }
}
