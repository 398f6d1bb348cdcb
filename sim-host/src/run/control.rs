//! Where a run asks its controller: outputs and notices of each scan, and what is on when it is lost, stalls or starts anew.

use valvewright_core::frame::{Actuators, Feeds, Outputs};
use valvewright_core::kept::Start;
use valvewright_core::row::{RowSet, Watch};
use valvewright_core::units::{Instant, Millis};

use super::error::RunError;
use super::seams::Platform;
use super::simulation::Simulation;
use crate::controller::{Controller, HARDWARE_HOLDS, Loss, Scan, Trouble};

/// What another controller may tell in a whole run: a shipped job takes some fifty, and all are kept for the report.
const MOST_NOTICES: usize = 50_000;

/// What the hardware leaves on by itself.
fn dropped() -> Outputs {
    Outputs { on: Actuators::SAFE, dropped: Feeds::ALL, ..Outputs::default() }
}

impl Simulation {
    /// From the next scan on the controller has to do without these rows of the interlock table ([`valvewright_core::station::Station::leave_out`]).
    pub const fn leave_out(&mut self, rows: RowSet) {
        self.controller.leave_out(rows);
    }

    /// From the next scan on this set point lies higher by so much ([`valvewright_core::station::Station::move_set_point`]); false where it cannot.
    pub fn move_set_point(&mut self, watch: Watch, by: i32) -> bool {
        self.controller.move_set_point(watch, by)
    }
}

impl<C: Controller> Simulation<C> {
    /// Outputs and notices of this scan.
    #[inline]
    pub(super) fn control(&mut self, ms: u32, platform: Platform) -> Result<(), RunError> {
        if self.lost.is_some() {
            return Ok(());
        }
        if platform != Platform::default() {
            self.unwatched = platform.unwatched;
            let done = self.control_badly(ms, platform);
            self.unwatched = false;
            return done;
        }
        self.ask(ms)
    }

    #[inline]
    fn ask(&mut self, ms: u32) -> Result<(), RunError> {
        if self.keep {
            self.tape.frames.push((ms, self.frame.clone()));
        }
        match self.controller.scan(Instant(ms), &self.frame, &mut self.notices)? {
            Scan::Done(outputs) => {
                self.outputs = outputs;
                self.unrenewed = Millis(0);
                if let Some(core) = self.controller.core() {
                    self.store.keep(core.kept());
                }
                self.desk_scan();
            }
            Scan::Held(on) => {
                self.outputs = Outputs { on, dropped: self.outputs.dropped, ..Outputs::default() };
                self.not_renewed();
            }
            Scan::Lost(loss) => {
                self.outputs = Outputs { on: loss.on, dropped: Feeds::ALL, ..Outputs::default() };
                self.lose(loss);
            }
        }
        if self.keep {
            self.tape.outputs.push(self.outputs.clone());
        }
        if self.recorder.notices.len() + self.notices.len() > MOST_NOTICES && self.controller.core().is_none() {
            self.notices.clear();
            let why = format!("it tells without end: more than {MOST_NOTICES} notices");
            self.outputs = dropped();
            self.lose(Loss { why, on: Actuators::SAFE });
        }
        Ok(())
    }

    /// What is on stays on for a while, then the hardware drops it.
    fn not_renewed(&mut self) {
        if self.unwatched {
            return;
        }
        self.unrenewed = self.unrenewed.plus(self.scan_time());
        if self.unrenewed > HARDWARE_HOLDS {
            self.outputs = dropped();
        }
    }

    /// What a start finds in the store against what was stored: for the monitors of hazards.
    fn store_read_anew(&mut self) {
        let (t, (drier, pump_oil)) = (self.time(), self.store.fallen());
        if let Some(hazards) = &mut self.hazards {
            hazards.keep_records(t, hazards.kept().fell(drier, pump_oil));
        }
    }

    fn lose(&mut self, loss: Loss) {
        self.lost = Some((self.time(), loss));
    }

    /// A scan of a machine that stalls, starts anew, jumps over or repeats its work, or counts another time.
    #[cold]
    fn control_badly(&mut self, ms: u32, platform: Platform) -> Result<(), RunError> {
        self.tape.left_out += u64::from(platform.unpowered || platform.stalled || platform.skipped);
        if platform.unpowered {
            self.outputs = Outputs { dropped: Feeds::ALL, ..Outputs::default() };
            return Ok(());
        }
        if let Some(boot) = platform.restart {
            self.outputs = dropped();
            self.store_read_anew();
            let start = Start { memory: self.store.read(), boot, vessel_rest: Millis(0) };
            self.desk_starts(boot, &start.memory);
            if self.keep {
                self.tape.starts.push((self.tape.frames.len(), start.clone()));
            }
            match self.controller.begin(&self.config, &start) {
                Ok(()) => {}
                // It was there before: the run keeps what it has.
                Err(Trouble::Board(why)) => {
                    self.lose(Loss { why: why.to_string(), on: Actuators::SAFE });
                    return Ok(());
                }
                Err(other) => return Err(other.into()),
            }
        }
        if platform.stalled {
            // Bytes go out once; what is on stays on.
            self.outputs.identifier.clear();
            self.not_renewed();
            return Ok(());
        }
        if platform.skipped {
            self.outputs.identifier.clear();
            self.unrenewed = Millis(0);
            return Ok(());
        }
        let tick = ms.wrapping_add(platform.ahead_ms);
        self.ask(tick)?;
        if platform.repeated {
            self.frame.command = None;
            self.ask(tick)?;
        }
        Ok(())
    }
}
