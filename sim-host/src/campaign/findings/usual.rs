//! Alerts that are the job's own and not a fault's: those that came before it, and those that nearly every run of a scenario has.

use std::collections::{BTreeMap, BTreeSet};

use super::judge;
use crate::campaign::row::Row;
use crate::report::data::HazardLevel;

/// An alert that runs with so many different faults have alike is hardly of one of them (own choice).
const FAULTS: usize = 10;

/// Runs of a scenario, and those of them with a hazard at its alert level.
#[derive(Clone, Debug, Default)]
struct Seen {
    runs: u64,
    alerts: BTreeMap<usize, (u64, BTreeSet<String>)>,
}

/// Alerts of all scenarios.
#[derive(Clone, Debug, Default)]
pub struct Usual(BTreeMap<String, Seen>);

fn at_alert(row: &Row, hazard: usize) -> bool {
    row.hazards.get(hazard).is_some_and(|one| one.level == Some(HazardLevel::Alert))
}

impl Usual {
    /// Adds a run.
    pub fn take(&mut self, row: &Row) {
        if !judge::ran(row) {
            return;
        }
        let seen = self.0.entry(row.scenario.clone()).or_default();
        seen.runs += 1;
        for hazard in (0..row.hazards.len()).filter(|at| at_alert(row, *at)) {
            let (runs, faults) = seen.alerts.entry(hazard).or_default();
            *runs += 1;
            faults.extend(row.faults.iter().map(|one| one.id.clone()));
        }
    }

    /// Whether more than half of a scenario's runs, with many different faults, have this alert.
    fn is(&self, scenario: &str, hazard: usize) -> bool {
        let Some(seen) = self.0.get(scenario) else { return false };
        let alert = seen.alerts.get(&hazard);
        alert.is_some_and(|(runs, faults)| runs * 2 > seen.runs && faults.len() >= FAULTS)
    }

    /// Takes alerts out of a run that are not its faults'. Accidents stay.
    pub fn leave_out(&self, row: &mut Row) {
        let began = judge::began(row);
        for hazard in 0..row.hazards.len() {
            let usual = at_alert(row, hazard) && self.is(&row.scenario, hazard);
            let Some(one) = row.hazards.get_mut(hazard) else { continue };
            let before = one.alert.zip(began).is_some_and(|(alert, began)| alert < began - judge::SAME_S);
            if usual || (before && one.level == Some(HazardLevel::Alert)) {
                one.level = Some(HazardLevel::None);
            }
        }
    }

    /// Those that were left out, in words.
    pub fn words(&self) -> Vec<String> {
        let mut all = Vec::new();
        for (scenario, seen) in &self.0 {
            for (hazard, (runs, _)) in seen.alerts.iter().filter(|(hazard, _)| self.is(scenario, **hazard)) {
                let id = judge::hazard_id(*hazard);
                all.push(format!("{id} is at its alert level in {runs} of {} runs of {scenario}", seen.runs));
            }
        }
        all
    }
}
