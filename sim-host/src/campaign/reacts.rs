//! What the scenario of a fault asks of the station and within what time: the budget that a run is held against.

use std::collections::BTreeMap;

use super::reaction::{self, NAME};
use crate::fault::FaultId;
use crate::logic::Standing;
use crate::run::Simulation;
use crate::scenario::quantity::{self, Dim};
use crate::scenario::{parse, shipped};

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Reacts {
    /// The condition, in the words of properties.
    pub asked: String,
    /// Within this time, s.
    pub within: f64,
}

impl Reacts {
    /// Of a fault whose scenario has a time for it; none of the others.
    pub fn of(fault: FaultId) -> Option<Self> {
        let source = shipped::source(&fault.to_string().to_lowercase())?;
        let scenario = parse::read(&source).ok()?;
        let property = scenario.properties.into_iter().find(|one| one.name == NAME)?;
        let asked = reaction::asked(&property.formula)?.to_owned();
        let (_, rest) = property.formula.split_once(" acts then within ")?;
        let (within, _) = rest.split_once(" (")?;
        let within = quantity::parse(within, Dim::Time).ok()?.within(Dim::Time, &(0.0..=86_400.0)).ok()?;
        Some(Self { asked, within })
    }

    /// The same for several, each looked up once.
    pub fn of_all(faults: impl Iterator<Item = FaultId>) -> BTreeMap<FaultId, Self> {
        let mut known = BTreeMap::new();
        let mut seen = std::collections::BTreeSet::new();
        for fault in faults.filter(|fault| seen.insert(*fault)) {
            known.extend(Self::of(fault).map(|one| (fault, one)));
        }
        known
    }

    /// To be asked of a run; none where the run has nothing of the kind.
    pub fn on(&self, run: &Simulation) -> Option<Standing> {
        run.condition(&self.asked).ok()
    }
}
