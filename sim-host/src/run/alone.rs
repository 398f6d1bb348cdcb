//! The plant of a run without the rest of it: moved as it was in that run, so that its share of the time can be told.

use super::error::RunError;
use super::moves::Move;
use super::options::RunOptions;
use super::simulation::Simulation;
use crate::plant::Plant;
use crate::scenario::Scenario;

/// The plant of a scenario, nobody reading it and nobody deciding.
pub struct PlantAlone(Simulation);

impl PlantAlone {
    /// At time 0.
    pub fn new(scenario: &Scenario) -> Result<Self, RunError> {
        Simulation::new(scenario, &RunOptions { no_samples: true, ..RunOptions::default() }).map(Self)
    }

    /// Brings the plant to the time of each of so many scans and does what a run of the same scenario did to it
    /// ([`super::RunOutcome::moves`]).
    pub fn repeat(&mut self, moves: &[(u32, Move)], scans: u64) {
        let Self(run) = self;
        let mut moves = moves.iter().peekable();
        for _ in 0..scans {
            let ms = run.now_ms();
            run.plant.advance(run.time());
            while let Some((_, one)) = moves.next_if(|(at, _)| *at == ms) {
                match *one {
                    Move::Switched(before, now) => {
                        run.switch(before, now);
                        run.coils = now;
                    }
                    Move::Held(holds) => run.hold(holds),
                    Move::Vehicle => run.change_vehicle().unwrap_or_default(),
                    Move::ByHand(hand) => run.reach.act(hand, &mut run.plant, &mut run.truth),
                }
            }
            run.ticks += 1;
        }
    }

    /// The plant as it stands.
    pub fn plant(&self) -> &Plant {
        &self.0.plant
    }
}
