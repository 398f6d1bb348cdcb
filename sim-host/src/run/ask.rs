//! A condition asked of a run from outside, in the words of properties.

use super::error::RunError;
use super::simulation::Simulation;
use crate::controller::Controller;
use crate::logic::names::Names;
use crate::logic::{Condition, Standing};
use crate::scenario::parse_fault;

impl<C: Controller> Simulation<C> {
    /// A condition on this run, such as `C-1 is off and vessel.p < 10 bar`; faults are called as in the scenario.
    ///
    /// # Errors
    /// It cannot be read, or looks at something that this run does not have.
    pub fn condition(&self, text: &str) -> Result<Standing, RunError> {
        let faults = parse_fault::called(&self.present.faults);
        let wrong = |why: String| RunError::Fault(format!("`{text}`: {why}"));
        let condition = Condition::read(text, &Names::new(None, faults)).map_err(|bad| wrong(bad.message))?;
        let rows = self.controller.core().is_some();
        Standing::new(&condition, &self.plant, &self.config, rows)
            .map_err(|why| wrong(format!("this run has nothing of the kind ({why:?})")))
    }

    /// Whether it held in the last scan.
    pub fn is_so(&self, standing: &mut Standing) -> bool {
        standing.holds(&self.view(&self.injector.states(self.job)))
    }
}
