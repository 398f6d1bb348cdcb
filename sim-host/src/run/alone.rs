//! The plant of a run without the rest of it: moved as it was in that run, so that its share of the time can be told.

use valvewright_core::frame::Actuators;

use super::{Bench, Hand, Holds, RunError, RunOptions};
use crate::plant::Plant;
use crate::scenario::Scenario;

/// What was done to the plant at one scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Move {
    /// The outputs went from the first to the second.
    Switched(Actuators, Actuators),
    /// The operator did something by hand.
    ByHand(Hand),
    /// Actuators were held or set free: all holds from now on.
    Held(Holds),
}

/// The plant of a scenario, nobody reading it and nobody deciding.
pub struct PlantAlone(Bench<'static>);

impl PlantAlone {
    /// At time 0.
    pub fn new(scenario: &Scenario) -> Result<Self, RunError> {
        Bench::new(scenario, &RunOptions { no_samples: true, ..RunOptions::default() }).map(Self)
    }

    /// Brings the plant to the time of each of so many scans and does what a run of the same scenario did to it
    /// ([`super::RunOutcome::moves`]).
    pub fn repeat(&mut self, moves: &[(u32, Move)], scans: u64) {
        let Self(bench) = self;
        let mut moves = moves.iter().peekable();
        for _ in 0..scans {
            let ms = bench.now_ms();
            bench.plant.advance(f64::from(ms) * 1e-3);
            while let Some((_, one)) = moves.next_if(|(at, _)| *at == ms) {
                match *one {
                    Move::Switched(before, now) => {
                        bench.switch(before, now);
                        bench.outputs.on = now;
                    }
                    Move::Held(holds) => bench.hold(holds),
                    Move::ByHand(hand) => bench.reach.act(hand, &mut bench.plant, &mut bench.truth),
                }
            }
            bench.ticks += 1;
        }
    }

    /// The plant as it stands.
    pub fn plant(&self) -> &Plant {
        &self.0.plant
    }
}
