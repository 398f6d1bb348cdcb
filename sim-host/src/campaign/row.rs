//! One row of a campaign's results: what a run was, and what came of it.

use std::collections::BTreeMap;

use super::accidents::known;
use super::case::{Case, Unrun};
use super::course::{Course, since};
use super::one::Fate;
use super::plan::Plan;
use super::reacts::Reacts;
use super::runs::Spec;
use crate::fault::{FaultId, Planned};
use crate::hazard::{CATALOGUE, HAZARD_COUNT};
use crate::report::data::{HazardLevel, HazardResult, RunResult};

/// A hazard in a row.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Hazard {
    /// How far it came; none where it was not judged.
    pub level: Option<HazardLevel>,
    /// Least distance from the accident.
    pub margin: Option<f64>,
    /// When it first came to its alert level, s.
    pub alert: Option<f64>,
    /// When it first came to its accident level, s.
    pub accident: Option<f64>,
}

/// A fault in a row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fault {
    /// Its id.
    pub id: String,
    /// Its mode, empty where it has one only.
    pub mode: String,
    /// The device.
    pub tag: String,
    /// Its severity with its unit, empty where it has none.
    pub severity: String,
    /// When it was to come, in words.
    pub moment: String,
    /// The time of that, s; none where a condition says so.
    pub at: Option<f64>,
    /// When it began, s; none where it never did.
    pub began: Option<f64>,
    /// When it ended, s; none while it acts.
    pub ended: Option<f64>,
}

/// A row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// Number of the run, from 0.
    pub index: u64,
    /// Seed of the run.
    pub seed: u64,
    /// Scenario.
    pub scenario: String,
    /// Station, empty for the scenario's own.
    pub station: String,
    /// What was changed about the scenario: keys and values.
    pub changes: Vec<(String, String)>,
    /// Faults in the order of their plan.
    pub faults: Vec<Fault>,
    /// The row of the interlock table that was left out; empty for the whole table.
    pub without: String,
    /// How the run came to its end, in a word.
    pub fate: &'static str,
    /// Why it was refused.
    pub refused: Option<String>,
    /// How the order stood.
    pub verdict: Option<&'static str>,
    /// Simulated time at the end, s.
    pub end: Option<f64>,
    /// Scans that were made.
    pub scans: Option<u64>,
    /// Rows that tripped from the first fault on, in order, each once, with the time from its begin, s.
    pub rows: Vec<(String, f64)>,
    /// From the first fault to the first scan in which nothing but the fan was on, s.
    pub safe_after: Option<f64>,
    /// The same in scans.
    pub safe_after_scans: Option<u64>,
    /// What the fault's own scenario gives the station, s; none where it names no time, or where not one fault came.
    pub budget: Option<f64>,
    /// How long the station took to what is asked there, s.
    pub reaction: Option<f64>,
    /// Whether that was within the budget; none where it cannot be said.
    pub in_budget: Option<bool>,
    /// Each hazard, in the order of its ids.
    pub hazards: Vec<Hazard>,
    /// Hazards that came to their accident level and are not known to follow from one of the faults.
    pub unknown: Vec<String>,
    /// Refrigerant: recovered and charged, shown and true, ordered, gone into the air, g.
    pub masses: Masses,
    /// From healing to rest, s.
    pub rest_after: Option<f64>,
    /// Why the station did not come to rest after healing.
    pub stuck: Option<String>,
    /// Digest of every frame and every output to the end.
    pub hash: Option<String>,
    /// The command that has the run again.
    pub replay: String,
}

/// Refrigerant of a run, g, and its balance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Masses {
    /// Recovered, as shown.
    pub recovered_shown: Option<f64>,
    /// Recovered in truth.
    pub recovered: Option<f64>,
    /// Charge that was ordered.
    pub ordered: Option<f64>,
    /// Charged, as shown.
    pub charged_shown: Option<f64>,
    /// Charged in truth.
    pub charged: Option<f64>,
    /// Gone into the air.
    pub escaped: Option<f64>,
    /// Lost or made up by rounding.
    pub error: Option<f64>,
    /// The station's ledger of truth does not close by this.
    pub ledger_error: Option<f64>,
}

/// Fates of rows beyond those of [`Fate`].
const NOT_REACHED: &str = "not_reached";
const REFUSED: &str = "refused";

const fn fate(of: Fate) -> &'static str {
    match of {
        Fate::Ended => "ended",
        Fate::Stands => "stands",
        Fate::Goes => "goes",
        Fate::Broken => "broken",
    }
}

/// The whole of a severity in words, as a report has it.
fn severity(of: &Planned) -> String {
    of.severity_text().unwrap_or_default()
}

impl Row {
    /// What a run is, before anything came of it.
    fn of(spec: &Spec, plan: &Plan) -> Self {
        let faults = spec.faults.iter().map(|one| Fault {
            id: one.planned.id.to_string(),
            mode: one.planned.mode.to_owned(),
            tag: one.planned.tag.to_owned(),
            severity: severity(&one.planned),
            moment: match one.occasion.words() {
                words if words.is_empty() => one.planned.begin_words(),
                words => words,
            },
            ..Fault::default()
        });
        Self {
            index: spec.index,
            seed: spec.base.seed,
            scenario: plan.scenarios.get(spec.base.scenario).map(|one| one.name.clone()).unwrap_or_default(),
            station: plan.stations.get(spec.base.station).cloned().flatten().unwrap_or_default(),
            changes: spec.base.changes.clone(),
            faults: faults.collect(),
            without: spec.without.map(|row| row.as_str().to_owned()).unwrap_or_default(),
            hazards: vec![Hazard::default(); HAZARD_COUNT],
            ..Self::default()
        }
    }

    /// A run that was not run.
    pub fn unrun(spec: &Spec, plan: &Plan, why: &Unrun) -> Self {
        let (fate, refused) = match why {
            Unrun::NotReached => (NOT_REACHED, None),
            Unrun::Refused(why) => (REFUSED, Some(why.clone())),
        };
        Self { fate, refused, ..Self::of(spec, plan) }
    }

    /// A run and what came of it.
    pub fn ran(
        (spec, case): (&Spec, &Case),
        plan: &Plan,
        course: &Course,
        budgets: &BTreeMap<FaultId, Reacts>,
    ) -> Self {
        let mut row = Self::of(spec, plan);
        let result = &course.result;
        for ((one, record), time) in row.faults.iter_mut().zip(&result.faults).zip(&case.times) {
            (one.at, one.began, one.ended) = (*time, record.began_s, record.ended_s);
        }
        let began = result.faults.iter().filter_map(|one| one.began_s).reduce(f64::min);
        row.rows = trips(result, began);
        row.hazards = course.hazards.iter().map(hazard).collect();
        // What comes without a row is what the row is there for.
        row.unknown = if spec.without.is_none() { unknown(&course.hazards, &case.faults) } else { Vec::new() };
        row.safe_after = course.safe_after.filter(|_| began.is_some());
        row.safe_after_scans = row.safe_after.map(|after| (after / course.scan_s).round() as u64);
        if let ([fault], Some(began)) = (case.faults.as_slice(), began)
            && let Some(asked) = budgets.get(&fault.id)
        {
            row.budget = Some(asked.within);
            row.reaction = course.reaction;
            row.in_budget = match course.reaction {
                Some(after) => Some(after <= asked.within + 1e-6),
                // Whether it would have come in time is not known of a run that ended before.
                None => (course.end_s - began > asked.within).then_some(false),
            };
        }
        row.masses = masses(result);
        if let Some(rest) = &course.rest {
            row.rest_after = rest.after;
            row.stuck = Some(rest.why.clone()).filter(|why| !why.is_empty());
        }
        Self {
            fate: fate(course.fate),
            verdict: Some(result.verdict.word()),
            end: Some(course.end_s),
            scans: Some(course.scans),
            hash: Some(course.hash.clone()),
            replay: case.replay(spec, plan),
            ..row
        }
    }
}

fn trips(result: &RunResult, began: Option<f64>) -> Vec<(String, f64)> {
    let came = began.unwrap_or(0.0);
    let mut rows: Vec<(String, f64)> = Vec::new();
    for one in result.interlocks.iter().filter(|one| one.t_s >= came - 1e-6) {
        if !rows.iter().any(|(id, _)| *id == one.id) {
            rows.push((one.id.clone(), since(came, one.t_s)));
        }
    }
    rows
}

fn hazard(of: &HazardResult) -> Hazard {
    let judged = of.not_judged.is_none();
    Hazard {
        level: judged.then_some(of.level),
        margin: Some(of.worst_margin).filter(|margin| judged && margin.is_finite()),
        alert: of.alert_t_s,
        accident: of.accident_t_s,
    }
}

/// Accidents that no line of the known ones explains by one of these faults.
fn unknown(hazards: &[HazardResult], faults: &[Planned]) -> Vec<String> {
    let explained = |hazard: &str| {
        faults.iter().any(|fault| known().iter().any(|one| one.hazard == hazard && one.fault == fault.id.to_string()))
    };
    let accidents = hazards.iter().filter(|one| one.level == HazardLevel::Accident);
    accidents.filter(|one| !explained(one.id)).map(|one| one.id.to_owned()).collect()
}

fn masses(result: &RunResult) -> Masses {
    Masses {
        recovered_shown: result.recovered_g.shown,
        recovered: Some(result.recovered_g.truth),
        ordered: result.charged_g.target,
        charged_shown: result.charged_g.shown,
        charged: Some(result.charged_g.truth),
        escaped: Some(result.reached.escaped_g),
        error: Some(result.mass_balance_error_g),
        ledger_error: Some(result.ledger.error_g),
    }
}

/// Ids of hazards in the order of their columns.
pub fn hazard_ids() -> impl Iterator<Item = &'static str> {
    CATALOGUE.iter().map(|one| one.id.word())
}
