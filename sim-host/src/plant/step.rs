//! Reading a plant scan after scan: within a step of the integrator every signal runs straight.

use super::network::Plant;

/// The step that the plant has in hand. Within it every signal runs straight, so that its two ends are looked up once a step
/// and each tick only interpolates.
#[derive(Debug, Clone, Default)]
pub struct Step {
    span: (f64, f64, u64),
    known: bool,
}

impl Step {
    /// Whether the plant has another step in hand than at the last call.
    #[inline]
    pub fn is_new(&mut self, plant: &Plant) -> bool {
        let span = plant.step_in_hand();
        let new = !self.known || self.span != span;
        (self.span, self.known) = (span, true);
        new
    }

    /// Value at the start, and slope per second, of what has these values at the two ends of the step.
    #[inline]
    pub fn line(&self, (a, b): (f64, f64)) -> (f64, f64) {
        let length = self.span.1 - self.span.0;
        (a, if length > 0.0 { (b - a) / length } else { 0.0 })
    }

    /// Time since the start of the step, s.
    #[inline]
    pub fn since(&self, plant: &Plant) -> f64 {
        plant.time() - self.span.0
    }
}
