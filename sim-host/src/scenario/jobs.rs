//! The jobs of a scenario, one or many, seen alike.

use super::expect::Expect;
use super::model::{Operator, Order, Scenario, Vehicle};
use crate::fault::Planned;
use crate::logic::Property;

/// One job of a scenario.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JobView<'a> {
    /// Time from the end of the job before until this one begins, s; 0 for the first.
    pub after: f64,
    /// The vehicle as it comes.
    pub vehicle: &'a Vehicle,
    /// What is ordered.
    pub order: &'a Order,
    /// Who serves the station.
    pub operator: &'a Operator,
    /// What shall come of it.
    pub expect: &'a Expect,
    /// What breaks.
    pub faults: &'a [Planned],
    /// What shall hold while it runs.
    pub properties: &'a [Property],
}

impl Scenario {
    /// The job of that number, the first being 0.
    pub fn job(&self, number: usize) -> Option<JobView<'_>> {
        let Some(before) = number.checked_sub(1) else {
            let Self { vehicle, order, operator, expect, faults, properties, .. } = self;
            return Some(JobView { after: 0.0, vehicle, order, operator, expect, faults, properties });
        };
        self.then.get(before).map(|job| JobView {
            after: job.after,
            vehicle: &job.vehicle,
            order: &job.order,
            operator: &job.operator,
            expect: &job.expect,
            faults: &job.faults,
            properties: &job.properties,
        })
    }

    /// All of them in their order; at least one.
    pub fn jobs(&self) -> impl Iterator<Item = JobView<'_>> {
        (0..=self.then.len()).filter_map(|number| self.job(number))
    }

    /// A scenario of that job alone on the station as the file describes it, for what takes one job.
    pub fn alone(&self, number: usize) -> Option<Self> {
        let JobView { vehicle, order, operator, expect, faults, properties, .. } = self.job(number)?;
        Some(Self {
            vehicle: vehicle.clone(),
            order: order.clone(),
            operator: operator.clone(),
            shows: Vec::new(),
            expect: expect.clone(),
            faults: faults.to_vec(),
            properties: properties.to_vec(),
            then: Vec::new(),
            station: self.station.clone(),
            name: self.name.clone(),
            title: self.title.clone(),
            summary: self.summary.clone(),
            ..*self
        })
    }
}
