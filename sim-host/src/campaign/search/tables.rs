//! What comes of another interlock table: one job with each of some faults in the middle of each of its steps, once with the table as it is and
//! once with the other one.
//!
//! Promises: the same question has the same answer, for any number of threads; the number of runs is bounded and known before the first. A
//! run in which no row that is left out stood, was latched or withheld anything is the same without that row, and is not made again.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use valvewright_core::job::PhaseKind;

use super::ground::Ground;
use super::stems::{Came, Case, HEALTHY, Stems, spread};
use crate::campaign::timeline::Timeline;
use crate::run::{RunError, RunOptions};

/// Fewest scans of a step that has a middle.
const LEAST: u64 = 3;

/// A step of the healthy job, and its middle.
#[derive(Clone, Debug, PartialEq)]
pub struct Middle {
    /// Its phase; none between phases.
    pub phase: Option<PhaseKind>,
    /// Its word, empty where the phase has none.
    pub step: &'static str,
    /// The scan in its middle, of all times that the job comes to it.
    pub scan: u64,
    /// How many scans are in it.
    scans: u64,
}

/// A run with either table.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// With the table as it is.
    pub was: Came,
    /// With the other one; nothing where its job is over before the fault.
    pub now: Option<Came>,
}

/// The question.
pub struct Tables {
    /// The job with the table as it is; its ways are those that are tried.
    pub ground: Ground,
    /// The same with the other one.
    other: Ground,
    /// The steps that are tried, in the order of time.
    pub steps: Vec<Middle>,
    /// Steps that are not: the shorter of each phase.
    pub steps_left: usize,
    /// Ways that are not, though they could come.
    pub ways_left: usize,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// Without a fault.
    pub healthy: Cell,
    /// By way and step.
    pub cells: Vec<Vec<Cell>>,
    /// Runs that were made.
    pub runs: usize,
}

impl Tables {
    /// Runs the healthy job once. At most so many pairs of runs are kept: of each phase its longest steps, and ways
    /// in their order.
    ///
    /// # Errors
    /// As [`Simulation::new`](crate::run::Simulation::new).
    pub fn new(mut ground: Ground, other: RunOptions, most: usize) -> Result<Self, RunError> {
        let line = Timeline::of(&ground.scenario, &ground.options)?;
        let middle = |one: &crate::campaign::timeline::Step| {
            let t = line.time(one.phase, one.step, 0.5)?;
            Some(Middle {
                phase: one.phase,
                step: one.step,
                scan: (t / ground.scan_s()).round() as u64,
                scans: one.scans(),
            })
        };
        let steps: Vec<Middle> = line.steps.iter().filter(|one| one.scans() >= LEAST).filter_map(middle).collect();
        let all = steps.len();
        let steps = fewer(steps, (most / ground.ways.len().max(1)).max(1));
        let ways_left = ground.ways.len().saturating_sub(most / steps.len().max(1));
        ground.ways.truncate(ground.ways.len() - ways_left);
        let mut altered = ground.clone();
        altered.options = other;
        Ok(Self { steps_left: all - steps.len(), ways_left, ground, other: altered, steps })
    }

    /// Faults in steps.
    pub fn cells(&self) -> usize {
        self.ground.ways.len() * self.steps.len()
    }

    /// Runs that may have to be made.
    pub fn runs(&self) -> usize {
        2 * (1 + self.cells())
    }

    /// Runs them; nothing where it was stopped. `tell` hears of how many it is known what comes of them.
    ///
    /// # Errors
    /// A run failed for a reason of ours.
    pub fn compare(
        &self,
        threads: usize,
        stop: &AtomicBool,
        tell: &(dyn Fn(usize) + Sync),
    ) -> Result<Option<Compared>, RunError> {
        let mut cases: Vec<Case> = vec![HEALTHY];
        for way in 0..self.ground.ways.len() {
            cases.extend(self.steps.iter().map(|step| (Some(way), step.scan)));
        }
        let scans: Vec<u64> = self.steps.iter().map(|one| one.scan).collect();
        let done = AtomicUsize::new(0);
        let run = |stems: &Stems<'_>, case: &Case| {
            let came = stems.run(*case, &|_| {})?;
            tell(1 + done.fetch_add(1, Ordering::Relaxed));
            Ok(came)
        };
        let stems = Stems::grow(&self.ground, &scans)?;
        let was = spread(&cases, threads, stop, &|_, _| {}, &|case| run(&stems, case))?;
        // What was broken off says nothing: a cell that is missing would look like one in which nothing came.
        let Some(was) = was.into_iter().collect::<Option<Vec<Came>>>() else { return Ok(None) };
        let again: Vec<Case> =
            cases.iter().zip(&was).filter(|(_, came)| self.matters(came)).map(|(one, _)| *one).collect();
        done.fetch_add(cases.len() - again.len(), Ordering::Relaxed);
        let stems = if again.is_empty() { stems } else { Stems::grow(&self.other, &scans)? };
        let made = spread(&again, threads, stop, &|_, _| {}, &|case| run(&stems, case).map(Some))?;
        let Some(made) = made.into_iter().collect::<Option<Vec<Option<Came>>>>() else { return Ok(None) };
        let mut made = made.into_iter();
        let mut cells = was.into_iter().map(|was| {
            let now = if self.matters(&was) { made.next().flatten() } else { Some(was.clone()) };
            Cell { was, now }
        });
        let Some(healthy) = cells.next() else { return Ok(None) };
        let cells: Vec<Cell> = cells.collect();
        let cells = cells.chunks(self.steps.len().max(1)).map(<[Cell]>::to_vec).collect();
        Ok(Some(Compared { healthy, cells, runs: 1 + self.cells() + again.len() }))
    }

    /// Whether the other table can make another run of this one. A set point that lies elsewhere may trip what never tripped.
    fn matters(&self, came: &Came) -> bool {
        let options = &self.other.options;
        !options.moved.is_empty() || !came.acted.and(options.without).is_empty()
    }
}

/// At most so many, in the order of time: of each phase its longest step, then the next of each.
fn fewer(mut steps: Vec<Middle>, most: usize) -> Vec<Middle> {
    steps.sort_by_key(|one| (one.phase, u64::MAX - one.scans, one.scan));
    let (mut phase, mut rank) = (None, 0);
    let mut ranked: Vec<(usize, Middle)> = Vec::new();
    for step in steps {
        rank = if phase == Some(step.phase) { rank + 1 } else { 0 };
        phase = Some(step.phase);
        ranked.push((rank, step));
    }
    ranked.sort_by_key(|(rank, one)| (*rank, u64::MAX - one.scans, one.scan));
    ranked.truncate(most);
    let mut kept: Vec<Middle> = ranked.into_iter().map(|(_, one)| one).collect();
    kept.sort_by_key(|one| one.scan);
    kept
}

#[cfg(test)]
mod tests {
    use valvewright_core::job::PhaseKind;

    use super::{Middle, fewer};

    #[test]
    fn of_each_phase_the_longest_step_is_kept_before_the_second_of_any() {
        let step = |phase, step, scan, scans| Middle { phase: Some(phase), step, scan, scans };
        let (identify, recover, charge) = (PhaseKind::Identify, PhaseKind::Recover, PhaseKind::Charge);
        let all = vec![
            step(identify, "ask", 5, 3),
            step(identify, "wait", 10, 9),
            step(recover, "pull", 100, 900),
            step(recover, "hold", 1_500, 700),
            step(charge, "fill", 2_000, 20),
        ];
        let names = |most| fewer(all.clone(), most).into_iter().map(|one| one.step).collect::<Vec<_>>();
        assert_eq!(names(1), ["pull"]);
        assert_eq!(names(3), ["wait", "pull", "fill"]);
        assert_eq!(names(4), ["wait", "pull", "hold", "fill"]);
        assert_eq!(names(99), ["ask", "wait", "pull", "hold", "fill"]);
    }
}
