//! All runs of a campaign as a list that is reckoned, not kept: from a number to scenario, changes, seed and faults.

use valvewright_core::row::RowId;
use xxhash_rust::xxh3::{Xxh3, xxh3_64_with_seed};

use super::design::{Draft, Full, Latin, Sizes, Swarm, cover, share_of};
use super::error::CampaignError;
use super::plan::{Design, Factor, Occasion, Plan, Seeds, Way, changed, shares};
use super::timeline::Timeline;
use crate::fault::Planned;
use crate::run::RunOptions;
use crate::scenario::{Scenario, parse};

/// The layout of results: a file of another one is not read on.
pub const SCHEMA: &str = "2";

/// What runs may share the beginning of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Base {
    /// Place of the scenario among the plan's.
    pub scenario: usize,
    /// Place of the station among the plan's.
    pub station: usize,
    /// What is changed about the scenario: keys and values.
    pub changes: Vec<(String, String)>,
    /// Seed of noise and device errors.
    pub seed: u64,
}

/// A fault of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Coming {
    /// Its words for a command line, without when it begins unless they say so themselves.
    pub words: String,
    /// As it was read.
    pub planned: Planned,
    /// When it comes.
    pub occasion: Occasion,
}

/// A run before it is run.
#[derive(Clone, Debug, PartialEq)]
pub struct Spec {
    /// Its number, from 0.
    pub index: u64,
    /// What it begins from.
    pub base: Base,
    /// Its faults, in the order of their plan.
    pub faults: Vec<Coming>,
    /// The row of the interlock table that it has to do without.
    pub without: Option<RowId>,
}

enum Layout {
    Full(Full),
    Latin(Latin),
    Swarm(Swarm),
    /// Levels of scenario, station, factors, seed, way, moment.
    Rows(Vec<Vec<u32>>, Vec<Occasion>),
    List,
}

/// The runs of a plan.
pub struct Runs {
    plan: Plan,
    /// Moments of each scenario.
    occasions: Vec<Vec<Occasion>>,
    layout: Layout,
    digest: String,
}

impl Runs {
    /// Runs the healthy jobs of the plan once, for the moments of their steps and for the campaign's digest.
    ///
    /// # Errors
    /// A scenario cannot be run on a station of the plan.
    pub fn new(plan: Plan) -> Result<Self, CampaignError> {
        let mut digest = Xxh3::new();
        for part in [SCHEMA, env!("CARGO_PKG_VERSION"), &plan.text] {
            digest.update(part.as_bytes());
            digest.update(&[0]);
        }
        let mut occasions = Vec::new();
        for named in &plan.scenarios {
            digest.update(named.source.text.as_bytes());
            for (place, station) in plan.stations.iter().enumerate() {
                let scenario = parse::read_on(&named.source, station.as_deref()).map_err(CampaignError::Scenario)?;
                let line = Timeline::of(&scenario, &RunOptions::BARE);
                let line = line.map_err(|why| CampaignError::Healthy(named.name.clone(), why))?;
                digest.update(line.hash.as_bytes());
                if place == 0 {
                    occasions.push(of_scenario(&plan, &line));
                }
            }
        }
        let layout = layout(&plan, &occasions);
        Ok(Self { plan, occasions, layout, digest: format!("{:032x}", digest.digest128()) })
    }

    /// The plan.
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Says which campaign it is: another plan, scenario, station or behaviour of the healthy jobs has another one.
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// How many runs there are.
    pub fn count(&self) -> u64 {
        self.whole().saturating_mul(self.tables())
    }

    /// How many tables each run comes with: the whole one, and one for each row that is left out.
    pub fn tables(&self) -> u64 {
        1 + self.plan.ablation.len() as u64
    }

    /// How many runs there are with the whole table.
    fn whole(&self) -> u64 {
        match &self.layout {
            Layout::Full(full) => full.count(),
            Layout::Latin(latin) => latin.count(),
            Layout::Swarm(swarm) => swarm.count(),
            Layout::Rows(rows, _) => rows.len() as u64,
            Layout::List => self.plan.list.len() as u64,
        }
    }

    /// How many shards they make.
    pub fn shards(&self) -> u64 {
        self.count().div_ceil(self.plan.shard)
    }

    /// Keys of scenarios that are changed, in the order of their columns.
    pub fn keys(&self) -> Vec<&str> {
        let mut keys: Vec<&str> = self.plan.factors.iter().map(|one| one.key.as_str()).collect();
        for (key, _) in self.plan.list.iter().flat_map(|one| &one.changes) {
            if !keys.contains(&key.as_str()) {
                keys.push(key);
            }
        }
        keys
    }

    /// The run of this number; none beyond the last.
    pub fn at(&self, index: u64) -> Option<Spec> {
        if index >= self.count() {
            return None;
        }
        // Neighbours differ by the row that is left out, so that they are made together.
        let (number, table) = (index / self.tables(), (index % self.tables()) as usize);
        let without = table.checked_sub(1).and_then(|at| self.plan.ablation.get(at)).copied();
        self.with_all(number).map(|spec| Spec { index, without, ..spec })
    }

    /// The run of this number among those with the whole table.
    fn with_all(&self, index: u64) -> Option<Spec> {
        let (draft, occasions) = match &self.layout {
            Layout::Full(full) => (full.at(index), None),
            Layout::Latin(latin) => (latin.at(index), None),
            Layout::Swarm(swarm) => (swarm.at(index), None),
            Layout::Rows(rows, all) => (of_row(&self.plan, rows.get(index as usize)?), Some(all)),
            Layout::List => return self.listed(index),
        };
        let occasions = occasions.or_else(|| self.occasions.get(draft.scenario))?;
        let faults = draft.faults.iter().filter_map(|(way, moment)| {
            let way = self.plan.ways.get(*way)?;
            let occasion = moment.and_then(|at| occasions.get(at)).cloned().unwrap_or(Occasion::Job);
            // What comes with the job comes at no other moment.
            let occasion = if way.has_a_moment() { occasion } else { Occasion::Job };
            Some(Coming { words: way.words.clone(), planned: way.planned.clone(), occasion })
        });
        let faults = faults.collect();
        let shares = self.plan.factors.iter().zip(&draft.shares);
        let changes = shares.map(|(Factor { key, values }, share)| (key.clone(), values.at(*share))).collect();
        let seed = seed_of(&self.plan, draft.seed);
        let base = Base { scenario: draft.scenario, station: draft.station, changes, seed };
        Some(Spec { index, base, faults, without: None })
    }

    fn listed(&self, index: u64) -> Option<Spec> {
        let one = self.plan.list.get(index as usize)?;
        let own = |(words, planned): &(String, Planned)| Coming {
            words: words.clone(),
            planned: planned.clone(),
            occasion: Occasion::Own,
        };
        let faults = one.faults.iter().map(own).collect();
        let (scenario, station, changes) = (one.scenario, one.station, one.changes.clone());
        Some(Spec { index, base: Base { scenario, station, changes, seed: one.seed }, faults, without: None })
    }

    /// The scenario of a base, healthy.
    ///
    /// # Errors
    /// What is changed does not fit together, with the reason.
    pub fn scenario(&self, base: &Base) -> Result<Scenario, String> {
        let lost = || "the plan has no such base".to_owned();
        let named = self.plan.scenarios.get(base.scenario).ok_or_else(lost)?;
        let station = self.plan.stations.get(base.station).ok_or_else(lost)?;
        let source = changed(&named.source, &base.changes)?;
        let read = parse::read_on(&source, station.as_deref());
        read.map_err(|list| list.first().map(|one| one.message.clone()).unwrap_or_default())
    }

    /// Moments of the scenario of this place.
    pub fn occasions(&self, scenario: usize) -> &[Occasion] {
        self.occasions.get(scenario).map_or(&[], Vec::as_slice)
    }
}

/// Moments of one scenario: of each step that its healthy job comes to, and those that the plan names.
fn of_scenario(plan: &Plan, line: &Timeline) -> Vec<Occasion> {
    let mut all = Vec::new();
    for step in &line.steps {
        let mut last = None;
        for share in shares(plan.moments.each) {
            // A step of few scans has fewer moments.
            let number = step.number(share);
            if last != Some(number) {
                all.push(Occasion::Step { phase: step.phase, step: step.step, share });
            }
            last = Some(number);
        }
    }
    all.extend(plan.moments.named.iter().cloned());
    all
}

/// The seed of this level: from the list, or drawn from the campaign's seed and the level.
fn seed_of(plan: &Plan, level: usize) -> u64 {
    match &plan.seeds {
        Seeds::These(list) => list.get(level).copied().unwrap_or_default(),
        // A file holds seeds of 63 bits.
        Seeds::Drawn(_) => xxh3_64_with_seed(&(level as u64).to_le_bytes(), plan.seed) & i64::MAX.unsigned_abs(),
    }
}

fn layout(plan: &Plan, occasions: &[Vec<Occasion>]) -> Layout {
    let (any, once) = (0..plan.ways.len()).partition(|at| plan.ways.get(*at).is_some_and(Way::has_a_moment));
    let sizes = Sizes {
        moments: occasions.iter().map(Vec::len).collect(),
        stations: plan.stations.len(),
        factors: plan.factors.iter().map(|one| one.values.levels()).collect(),
        seeds: plan.seeds.count(),
        any,
        once,
    };
    match plan.design {
        Design::Full => Layout::Full(Full::new(sizes, plan.together)),
        Design::Latin(runs) => Layout::Latin(Latin::new(sizes, plan.together, plan.seed, runs)),
        Design::Swarm { runs, least, most } => Layout::Swarm(Swarm::new(sizes, plan.seed, runs, (least, most))),
        Design::Pairwise => rows(&sizes, occasions),
        Design::List => Layout::List,
    }
}

/// The rows of a pairwise design: a scenario meets only moments that its healthy job comes to, what comes with the job meets no other.
fn rows(sizes: &Sizes, occasions: &[Vec<Occasion>]) -> Layout {
    let mut all = vec![Occasion::Job];
    for one in occasions.iter().flatten() {
        if !all.contains(one) {
            all.push(one.clone());
        }
    }
    let mut levels = vec![occasions.len(), sizes.stations];
    levels.extend(sizes.factors.iter().map(|levels| levels.unwrap_or(1)));
    levels.push(sizes.seeds);
    let (way, moment) = (levels.len(), levels.len() + 1);
    if sizes.ways() > 0 {
        levels.extend([sizes.ways(), all.len()]);
    }
    let comes = |scenario: usize, at: usize| {
        at == 0 || occasions.get(scenario).is_some_and(|mine| all.get(at).is_some_and(|one| mine.contains(one)))
    };
    let forbids = |(f, a): (usize, usize), (g, b): (usize, usize)| match (f, g) {
        (0, g) if g == moment => !comes(a, b),
        (f, g) if f == way && g == moment => b != 0 && sizes.once.contains(&a),
        _ => false,
    };
    Layout::Rows(cover(&levels, &forbids), all)
}

fn of_row(plan: &Plan, row: &[u32]) -> Draft {
    let level = |at: usize| row.get(at).map_or(0, |level| *level as usize);
    let factors = plan.factors.len();
    let share = |(at, one): (usize, &Factor)| share_of(level(2 + at), one.values.levels().unwrap_or(1));
    let way = 3 + factors;
    let faults = if row.len() > way { vec![(level(way), Some(level(way + 1)))] } else { Vec::new() };
    Draft {
        scenario: level(0),
        station: level(1),
        shares: plan.factors.iter().enumerate().map(share).collect(),
        seed: level(2 + factors),
        faults,
    }
}
