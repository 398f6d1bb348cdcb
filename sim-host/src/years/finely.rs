//! A service that the coarse tolerance of the years cannot carry is served once more from its beginning, as finely as a whole service job.

use super::run::Years;
use crate::plant::Tolerance;
use crate::run::RunError;

impl Years {
    /// [`Years::serve`]; where the plant comes to its end in it, what it did is taken back, and it is reckoned finely.
    pub(super) fn serve_surely(&mut self, number: u32) -> Result<bool, RunError> {
        if self.plan.fine {
            return self.serve(number);
        }
        let before = self.clone();
        if let Ok(true) = self.serve(number) {
            return Ok(true);
        }
        *self = before;
        self.sim()?.reckon(Tolerance::STATION);
        let went = self.serve(number)?;
        self.sim()?.reckon(Tolerance::YEARS);
        self.tally.finely.push(number + 1);
        Ok(went)
    }
}
