//! What a run notes on its way for the result: contents at certain moments, and how far the plant came.

use valvewright_core::job::PhaseKind;

use super::bind::Signals;
use crate::plant::Plant;
use crate::report::data::Reached;

/// Contents at the moments the result speaks of, kg.
#[derive(Debug, Clone, Default)]
pub(super) struct Marks {
    /// Station at the start of the first recovery, and after the last.
    pub(super) before_recovery: Option<f64>,
    pub(super) after_recovery: Option<f64>,
    /// Vehicle at the start of the charge.
    pub(super) charge_start: Option<f64>,
    /// At the start of the job.
    pub(super) used_oil_start: f64,
    /// Gone into the air before the job.
    pub(super) escaped_start: f64,
    /// How far the plant came in this job.
    pub(super) reached: Reached,
}

impl Marks {
    /// At the start of a job.
    pub(super) fn at_start(signals: &Signals, plant: &Plant) -> Self {
        Self { used_oil_start: signals.used_oil(plant), escaped_start: signals.escaped(plant), ..Self::default() }
    }

    /// A phase begins.
    pub(super) fn begins(&mut self, kind: PhaseKind, signals: &Signals, plant: &Plant) {
        match kind {
            PhaseKind::Recover => {
                self.before_recovery.get_or_insert(signals.station_mass(plant));
            }
            PhaseKind::Charge => self.charge_start = Some(signals.vehicle_mass(plant)),
            _ => {}
        }
    }

    /// Looks at the vessel: once in each step of the plant, within which it moves straight.
    pub(super) fn look(&mut self, signals: &Signals, plant: &Plant) {
        let (level, pressure, mass) = signals.vessel(plant);
        self.reached.vessel_level = self.reached.vessel_level.max(level);
        self.reached.vessel_g = self.reached.vessel_g.max(mass * 1e3);
        self.reached.vessel_bar = self.reached.vessel_bar.max(pressure * 1e-5);
    }
}
