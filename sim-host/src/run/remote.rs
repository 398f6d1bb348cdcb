//! A board in the place of the built-in core: how a run takes its answers.
//!
//! The built-in core runs beside it on the same frames; where the two differ in a single bit, the run ends.

use valvewright_core::frame::{Actuator, Outputs};
use valvewright_core::port::digest::Digest;
use valvewright_core::talk::NOTICE_DEPTH;
use valvewright_core::units::Instant;

use super::error::RunError;
use super::seams::Seams;
use super::simulation::Simulation;
use crate::board::compare::{Difference, HostScan, first_field};
use crate::board::{Remote, Reply, fault_words};
use crate::report::data::{BoardFault, BoardResult};

impl Simulation {
    /// Outputs and notices of this scan, from the core or from the board in its place.
    pub(super) fn control(&mut self, ms: u32, seams: &mut Seams<'_>) -> Result<(), RunError> {
        let Some(board) = &mut seams.board else {
            self.outputs = self.station.tick(Instant(ms), &self.frame);
            self.notices.extend(std::iter::from_fn(|| self.station.take_notice()));
            return Ok(());
        };
        if self.lost.is_some() {
            return Ok(());
        }
        match board.scan(Instant(ms), &self.frame).map_err(RunError::Board)? {
            Reply::Answer(answer) => {
                let outputs = self.station.tick(Instant(ms), &self.frame);
                // As many as the answer has room for.
                self.notices.extend(std::iter::from_fn(|| self.station.take_notice()).take(NOTICE_DEPTH));
                let host = HostScan { outputs: &outputs, notices: &self.notices, state: Digest::of(&self.station) };
                if let Some((field, host, board)) = first_field(&host, &answer) {
                    return Err(RunError::Differs(Difference { scan: self.ticks, at_ms: ms, field, host, board }));
                }
                self.outputs = answer.outputs;
            }
            Reply::Held(on) => self.outputs = Outputs { on, ..Outputs::default() },
            Reply::Safe(why, on) => {
                self.outputs = Outputs { on, ..Outputs::default() };
                self.lost = Some((f64::from(ms) * 1e-3, why));
            }
        }
        Ok(())
    }

    /// What the result says of the board.
    pub(super) fn board_result(&self, board: Option<&dyn Remote>) -> Option<BoardResult> {
        board.map(|board| BoardResult {
            line: board.name().to_owned(),
            fault: self.lost.map(|(t_s, why)| BoardFault {
                t_s,
                why: fault_words(why),
                on: Actuator::ALL.into_iter().filter(|a| self.outputs.on.has(*a)).map(|a| a.tag().to_owned()).collect(),
            }),
        })
    }
}
