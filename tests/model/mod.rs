//! Bounded proofs: the real controller, and parts of it, explored by a model checker in every order of acts up to a depth.
//!
//! Each model has its acts, and what may never be seen, written from outside. Time is in every state, so that two ways meet only where they took as
//! long; nothing is merged that differs. What is hidden by the choice of acts and levels stands in `docs/model.md`.
#![allow(dead_code)]

pub mod codes;
pub mod drive;
pub mod job;
pub mod locks;

use std::time::{Duration, Instant};

use stateright::{Checker, HasDiscoveries, Model, Path};

/// What all models here have.
pub trait Bounded: Model + Send + Sync + 'static {
    /// What is wrong in a state, in words.
    fn wrong(state: &Self::State) -> Option<&str>;
    /// Names of its starts, in their order.
    fn starts(&self) -> Vec<String>;
}

/// Name of the property that every model has.
pub const HOLDS: &str = "nothing forbidden is seen";

/// How often progress is told.
const LOOK: Duration = Duration::from_millis(100);

/// What an exploration came to.
#[derive(Debug)]
pub struct Found {
    /// States that differ.
    pub unique: usize,
    /// Acts that were tried.
    pub tried: usize,
    /// How long it took.
    pub took: Duration,
    /// What was to be seen at least once and never was: then the exploration shows nothing.
    pub unseen: Vec<&'static str>,
    /// The first way to something forbidden.
    pub way: Option<Way>,
}

/// A way to something forbidden, to be gone again.
#[derive(Clone, Debug)]
pub struct Way {
    /// What is wrong at its end.
    pub wrong: String,
    /// `start/act.act.act`, each by its number: what [`replay`] takes.
    pub numbers: String,
    /// The acts in words.
    pub acts: Vec<String>,
}

/// Explores all of it, depth first, so that memory holds one way and a mark for each state. `tell` is called from time to time with what was tried
/// and found so far.
pub fn explore<M: Bounded>(model: M, threads: usize, tell: impl Fn(usize, usize)) -> Found
where
    M::State: Clone + std::hash::Hash + PartialEq + std::fmt::Debug + Send + Sync + 'static,
    M::Action: Clone + PartialEq + std::fmt::Debug + Send + Sync + 'static,
{
    let began = Instant::now();
    let checker = model.checker().threads(threads).finish_when(HasDiscoveries::AnyFailures).spawn_dfs();
    while !checker.is_done() {
        std::thread::sleep(LOOK);
        tell(checker.state_count(), checker.unique_state_count());
    }
    let checker = checker.join();
    let took = began.elapsed();
    let mut found = checker.discoveries();
    let way = found.remove(HOLDS).map(|path| way(checker.model(), path));
    let wanted = checker.model().properties().into_iter().map(|one| one.name).filter(|name| *name != HOLDS);
    Found {
        unique: checker.unique_state_count(),
        tried: checker.state_count(),
        took,
        unseen: wanted.filter(|name| !found.contains_key(name)).collect(),
        way,
    }
}

fn way<M: Bounded>(model: &M, path: Path<M::State, M::Action>) -> Way
where
    M::State: Clone + std::hash::Hash + PartialEq + std::fmt::Debug,
    M::Action: Clone + PartialEq + std::fmt::Debug,
{
    let steps = path.into_vec();
    let first = steps.first().map(|(state, _)| state.clone());
    let start = model.init_states().iter().position(|state| Some(state) == first.as_ref()).unwrap_or(0);
    let wrong = steps.last().and_then(|(state, _)| M::wrong(state)).unwrap_or_default().to_owned();
    let (mut numbers, mut acts) = (Vec::new(), vec![model.starts()[start].clone()]);
    for (state, act) in &steps {
        let Some(act) = act else { continue };
        let mut all = Vec::new();
        model.actions(state, &mut all);
        numbers.push(all.iter().position(|one| one == act).unwrap_or(usize::MAX).to_string());
        acts.push(format!("{act:?}"));
    }
    Way { wrong, numbers: format!("{start}/{}", numbers.join(".")), acts }
}

/// Goes a way again, act by act; what is wrong at its end.
///
/// # Errors
/// Numbers that are no way of this model.
pub fn replay<M: Bounded>(
    model: &M,
    numbers: &str,
    mut each: impl FnMut(&str, &M::State),
) -> Result<Option<String>, String>
where
    M::State: Clone,
    M::Action: std::fmt::Debug,
{
    let told = "a way is a start and acts by their numbers, such as 3/0.12.4";
    let (start, acts) = numbers.split_once('/').ok_or(told)?;
    let start: usize = start.parse().map_err(|_| told.to_owned())?;
    let names = model.starts();
    let mut state =
        model.init_states().into_iter().nth(start).ok_or(format!("starts go from 0 to {}", names.len() - 1))?;
    each(&names[start], &state);
    for number in acts.split('.').filter(|number| !number.is_empty()) {
        let at: usize = number.parse().map_err(|_| told.to_owned())?;
        let mut all = Vec::new();
        model.actions(&state, &mut all);
        if at >= all.len() {
            return Err(format!(
                "no act {at} there: {}",
                if all.is_empty() {
                    "the way is at its depth".into()
                } else {
                    format!("acts go from 0 to {}", all.len() - 1)
                }
            ));
        }
        let act = all.swap_remove(at);
        let words = format!("{act:?}");
        state = model.next_state(&state, act).ok_or("that act leads nowhere")?;
        each(&words, &state);
    }
    Ok(M::wrong(&state).map(str::to_owned))
}
