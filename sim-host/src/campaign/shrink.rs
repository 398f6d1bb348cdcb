//! From a run with an accident to the least scenario file that has it again: fewer faults, the scenario's own values, plainer moments, an earlier end.
//!
//! Promises: what is given back was run as it stands in the file, and came to the accident. Each step takes one thing away and is kept where the
//! accident still comes; so nothing can be taken out of the result alone, though two things together might.

use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

use super::error::CampaignError;
use super::findings::{Cuts, judge};
use super::plan::{changed, quoted};
use super::runs::Runs;
use super::shard::Maker;
use crate::report::data::HazardLevel;
use crate::run::{RunOptions, Simulation, Stand};
use crate::scenario::diagnostic::Source;
use crate::scenario::quantity::{self, Dim};
use crate::scenario::{parse, parse_fault};

/// A run is looked at so often for its accident, s.
const LOOKS: f64 = 1.0;
/// Moments are tried on whole multiples of these, s, the coarsest first (own choice).
const ROUND: [f64; 4] = [600.0, 60.0, 10.0, 1.0];
/// The shortest time that a scenario may have, s.
const SHORTEST: f64 = 60.0;

/// What a run is, in the words of files.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Keys of the scenario that are changed.
    pub changes: Vec<(String, String)>,
    /// Faults in the words of a command line.
    pub faults: Vec<String>,
    /// Seed; the scenario's own where none is said.
    pub seed: Option<u64>,
    /// When the run ends, s; the scenario's own time where none is said.
    pub limit: Option<f64>,
}

/// The least that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Minimal {
    /// What is left.
    pub trial: Trial,
    /// When the accident comes in it, s, to a second.
    pub at: f64,
    /// Runs that were made.
    pub tries: u32,
}

/// What is shrunk: a scenario on a station, and the hazard that it comes to.
pub struct Shrink {
    /// The scenario's text.
    pub source: Source,
    /// The station, where it is not the scenario's own.
    pub station: Option<String>,
    /// Id of the hazard.
    pub hazard: &'static str,
}

impl Shrink {
    /// Takes away what can be taken away from a run; none where it does not come to the accident as it stands.
    pub fn shrink(&self, run: Trial) -> Option<Minimal> {
        let mut tries = 1;
        let mut best = (self.happens(&run)?, run);
        let mut attempt = |best: &mut (f64, Trial), next: Trial| {
            tries += 1;
            let at = self.happens(&next);
            if let Some(at) = at {
                *best = (at, next);
            }
            at.is_some()
        };
        // What goes with the coarsest step first leaves less to try.
        let mut place = 0;
        while best.1.faults.len() > 1 && place < best.1.faults.len() {
            let mut next = best.1.clone();
            next.faults.remove(place);
            if !attempt(&mut best, next) {
                place += 1;
            }
        }
        place = 0;
        while place < best.1.changes.len() {
            let mut next = best.1.clone();
            next.changes.remove(place);
            if !attempt(&mut best, next) {
                place += 1;
            }
        }
        if best.1.seed.is_some() {
            let next = Trial { seed: None, ..best.1.clone() };
            attempt(&mut best, next);
        }
        for fault in 0..best.1.faults.len() {
            for plainer in plainer(&best.1.faults[fault]) {
                let mut next = best.1.clone();
                next.faults[fault] = plainer;
                if attempt(&mut best, next) {
                    break;
                }
            }
        }
        let next = Trial { limit: Some((best.0 + LOOKS).ceil().max(SHORTEST)), ..best.1.clone() };
        attempt(&mut best, next);
        Some(Minimal { at: best.0, trial: best.1, tries })
    }

    /// When the accident comes, s; none where it does not, or where these do not fit together.
    fn happens(&self, trial: &Trial) -> Option<f64> {
        let source = self.file(trial, ("trial", "a trial"), "").ok()?;
        let scenario = parse::read_on(&source, self.station.as_deref()).ok()?;
        let mut run = Simulation::new(&scenario, &RunOptions::BARE).ok()?;
        loop {
            let next = run.time() + LOOKS;
            let stand = run.run_until(next).ok()?;
            let results = run.hazards()?.results();
            let one = results.iter().find(|one| one.id == self.hazard)?;
            if one.level == HazardLevel::Accident {
                return Some(one.accident_t_s.unwrap_or_else(|| run.time()));
            }
            if stand != Stand::Running {
                return None;
            }
        }
    }

    /// A run as a scenario of its own.
    ///
    /// # Errors
    /// The scenario's text cannot be changed so, with the reason.
    fn file(&self, trial: &Trial, (name, title): (&str, &str), head: &str) -> Result<Source, String> {
        let source = changed(&self.source, &trial.changes)?;
        let mut document: DocumentMut = source.text.parse().map_err(|why: toml_edit::TomlError| why.to_string())?;
        // What the job was to come to does not hold any more, and what it was to show is another story.
        for key in ["expect", "property", "shows", "summary", "sweep"] {
            document.remove(key);
        }
        document["name"] = value(name);
        document["title"] = value(title);
        if let Some(seed) = trial.seed {
            document["seed"] = value(i64::try_from(seed).map_err(|_| format!("seed {seed} is above 2^63"))?);
        }
        if let Some(limit) = trial.limit {
            document["time_limit"] = value(format!("{limit:.0} s"));
        }
        let mut faults = ArrayOfTables::new();
        for words in &trial.faults {
            faults.push(table(words)?);
        }
        if !faults.is_empty() {
            document["fault"] = Item::ArrayOfTables(faults);
        }
        Ok(Source::new(source.name, head.to_owned() + &document.to_string()))
    }
}

/// A fault's words as a table of a file.
fn table(words: &str) -> Result<Table, String> {
    let broken = || format!("`{words}` is no fault");
    let mut parts = shlex::split(words).ok_or_else(broken)?.into_iter();
    let mut table = Table::new();
    table["id"] = value(parts.next().ok_or_else(broken)?);
    for part in parts {
        let (key, text) = part.split_once('=').ok_or_else(broken)?;
        table[key] = value(text);
    }
    Ok(table)
}

/// The same fault said more plainly, the plainest first: with the job, of usual severity, at a round moment.
fn plainer(words: &str) -> Vec<String> {
    let Some(parts) = shlex::split(words) else { return Vec::new() };
    // A value with blanks is quoted, as a person would write it.
    let word = |part: &String| match part.split_once('=') {
        Some((key, value)) => shlex::try_quote(value).map(|value| format!("{key}={value}")),
        None => Ok(part.clone()),
    };
    let quoted = |parts: &[String]| parts.iter().map(word).collect::<Result<Vec<_>, _>>().ok().map(|all| all.join(" "));
    let without = |key: &str, parts: &[String]| -> Vec<String> {
        parts.iter().filter(|part| !part.starts_with(&format!("{key}="))).cloned().collect()
    };
    let mut forms: Vec<Vec<String>> = Vec::new();
    let usual = without("severity", &parts);
    for base in [&usual, &parts] {
        forms.push(without("at", base));
        let moment = base.iter().find_map(|part| part.strip_prefix("at="));
        let moment = moment.and_then(|text| quantity::parse(text, Dim::Time).ok()).map(|found| found.si);
        for step in ROUND {
            let Some(t) = moment else { continue };
            for round in [(t / step).floor() * step, (t / step).ceil() * step] {
                let mut form = without("at", base);
                form.push(format!("at={round:.0}s"));
                forms.push(form);
            }
        }
    }
    forms.push(usual);
    let mut all: Vec<String> = Vec::new();
    for text in forms.iter().filter_map(|form| quoted(form)) {
        if text != words && !all.contains(&text) && parse_fault::read_words(&text).is_ok() {
            all.push(text);
        }
    }
    all
}

/// A scenario file for each cause of an accident that a campaign found: each minimal set of faults of each hazard.
pub struct Found {
    /// Id of the hazard.
    pub hazard: &'static str,
    /// Name of the scenario and its file.
    pub name: String,
    /// The run that it came from.
    pub index: u64,
    /// The scenario that it is of, as the plan names it.
    pub scenario: String,
    /// What is left of it, and its text; none where it does not come to the accident by itself, such as where that needs the faults to heal.
    pub minimal: Option<(Minimal, Source)>,
}

/// Shrinks the shortest run of each cause. `each` is told how many are done of how many; where it says no, the rest is left.
///
/// # Errors
/// A scenario's text cannot be changed, which is ours.
pub fn minimal(
    runs: &Runs,
    cuts: &Cuts,
    each: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Vec<Found>, CampaignError> {
    let causes: Vec<(usize, Vec<String>, u64)> = cuts
        .accidents()
        .flat_map(|(hazard, _, _)| cuts.minimal(hazard).into_iter().map(move |one| (hazard, one)))
        .map(|(hazard, (faults, _, recipe))| (hazard, faults.to_vec(), recipe.index))
        .collect();
    let mut found: Vec<Found> = Vec::new();
    for (done, (at, faults, index)) in causes.iter().enumerate() {
        if !each(done, causes.len()) {
            break;
        }
        let hazard = judge::hazard_id(*at);
        let least = one(runs, hazard, *index)?;
        // Two causes may come down to one.
        let known = |one: &Found| {
            one.hazard == hazard
                && one.minimal.as_ref().map(|(least, _)| &least.trial) == least.as_ref().map(|(least, _)| &least.trial)
        };
        if least.is_some() && found.iter().any(known) {
            continue;
        }
        let kept = least.as_ref().map_or(faults, |(least, _)| &least.trial.faults);
        let name = unlike(name(hazard, kept), &found);
        let minimal = match least {
            None => None,
            Some((least, shrink)) => {
                let file =
                    file(runs, (&least, &shrink), *index, &name).map_err(|why| CampaignError::Run(*index, why))?;
                Some((least, file))
            }
        };
        found.push(Found { hazard, name, index: *index, scenario: named(runs, *index), minimal });
    }
    Ok(found)
}

/// The scenario of a run.
fn named(runs: &Runs, index: u64) -> String {
    let place = runs.at(index).map(|spec| spec.base.scenario);
    place.and_then(|at| runs.plan().scenarios.get(at)).map(|one| one.name.clone()).unwrap_or_default()
}

/// A name that no other file has.
fn unlike(name: String, found: &[Found]) -> String {
    let taken = |name: &str| found.iter().any(|one| one.name == name);
    let numbered = (2..).map(|number| format!("{}_{number}", name.chars().take(60).collect::<String>()));
    [name.clone()].into_iter().chain(numbered).find(|name| !taken(name)).unwrap_or(name)
}

fn one(runs: &Runs, hazard: &'static str, index: u64) -> Result<Option<(Minimal, Shrink)>, CampaignError> {
    let plan = runs.plan();
    let lost = || CampaignError::Table(format!("run {index} is not in the plan"));
    let spec = runs.at(index).ok_or_else(lost)?;
    let source = plan.scenarios.get(spec.base.scenario).ok_or_else(lost)?.source.clone();
    let station = plan.stations.get(spec.base.station).cloned().flatten();
    let Some(faults) = Maker::new(runs).words(&spec) else { return Ok(None) };
    let shrink = Shrink { source, station, hazard };
    let trial = Trial { changes: spec.base.changes.clone(), faults, seed: Some(spec.base.seed), limit: None };
    Ok(shrink.shrink(trial).map(|least| (least, shrink)))
}

/// What is left as a file that says where it comes from.
fn file(runs: &Runs, (least, shrink): (&Minimal, &Shrink), index: u64, name: &str) -> Result<Source, String> {
    let hazard = shrink.hazard;
    let faults = if least.trial.faults.is_empty() { "no fault".to_owned() } else { least.trial.faults.join(" + ") };
    let on = shrink.station.as_ref().map(|name| format!(" --station {}", quoted(name))).unwrap_or_default();
    let head = format!(
        "# Run {index} of campaign {}, shrunk in {} runs to what is needed: {hazard} comes to its accident level at {:.1} s.\n# `valvewright run{on}` of this file has it again; its time is over then, before its order.\n",
        runs.plan().name,
        least.tries,
        least.at
    );
    shrink.file(&least.trial, (name, &format!("{hazard} at its accident level by {faults}")), &head)
}

/// A name for a scenario and its file: letters, digits and underscores, 64 at most.
fn name(hazard: &str, faults: &[String]) -> String {
    let text = [hazard.to_owned()].into_iter().chain(faults.iter().cloned()).collect::<Vec<_>>().join("_");
    let plain = text.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' });
    plain.take(64).collect()
}
