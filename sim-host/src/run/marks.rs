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
    /// And before it, in jobs and between them.
    earlier: Reached,
    flow: Flow,
}

/// What went from the vehicle into the station and back, whatever a controller told of it, kg.
#[derive(Debug, Clone, Default)]
struct Flow {
    /// Least in the station so far, and by how much it then grew at most.
    station_least: f64,
    station_rose: f64,
    /// Most in the vehicle so far, by how much it then fell at most, and the least.
    vehicle_most: f64,
    vehicle_fell: f64,
    vehicle_least: f64,
}

impl Marks {
    /// At the start of a job; `before` is what was noted until then.
    pub(super) fn after(before: &Self, signals: &Signals, plant: &Plant) -> Self {
        let (station, vehicle) = (signals.station_mass(plant), signals.vehicle_mass(plant));
        let flow = Flow { station_least: station, vehicle_most: vehicle, vehicle_least: vehicle, ..Flow::default() };
        Self {
            used_oil_start: signals.used_oil(plant),
            escaped_start: signals.escaped(plant),
            earlier: before.whole(),
            flow,
            ..Self::default()
        }
    }

    /// How far the plant came in this job and before it.
    pub(super) fn whole(&self) -> Reached {
        let (a, b) = (&self.earlier, &self.reached);
        Reached {
            vessel_g: a.vessel_g.max(b.vessel_g),
            vessel_level: a.vessel_level.max(b.vessel_level),
            vessel_bar: a.vessel_bar.max(b.vessel_bar),
            ..self.reached
        }
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
        let flow = &mut self.flow;
        let (station, vehicle) = (signals.station_mass(plant), signals.vehicle_mass(plant));
        flow.station_least = flow.station_least.min(station);
        flow.station_rose = flow.station_rose.max(station - flow.station_least);
        flow.vehicle_most = flow.vehicle_most.max(vehicle);
        flow.vehicle_fell = flow.vehicle_fell.max(flow.vehicle_most - vehicle);
        flow.vehicle_least = flow.vehicle_least.min(vehicle);
    }

    /// What was recovered by the phases of the core, kg. Aborted on the way: what is in the station now counts.
    pub(super) fn recovered(&self, signals: &Signals, plant: &Plant) -> f64 {
        let Some(before) = self.before_recovery else { return 0.0 };
        self.after_recovery.unwrap_or_else(|| signals.station_mass(plant)) - before
    }

    /// What was charged by the phases of the core, kg.
    pub(super) fn charged(&self, signals: &Signals, plant: &Plant) -> f64 {
        self.charge_start.map_or(0.0, |before| signals.vehicle_mass(plant) - before)
    }

    /// What was recovered under a controller that may tell its phases as it likes, kg: what the vehicle lost and the station got.
    pub(super) fn taken_out(&self) -> f64 {
        self.flow.station_rose.min(self.flow.vehicle_fell)
    }

    /// What was charged under such a controller, kg: what the vehicle holds beyond the least it held.
    pub(super) fn put_in(&self, signals: &Signals, plant: &Plant) -> f64 {
        signals.vehicle_mass(plant) - self.flow.vehicle_least
    }
}
