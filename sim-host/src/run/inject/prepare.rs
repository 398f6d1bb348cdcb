//! What of a scenario's faults stands from the beginning: a shop that is cold or hot, a vehicle that has high voltage.

use std::borrow::Cow;

use crate::fault::{Effect, Person, Planned, When};
use crate::scenario::Scenario;

/// The scenario as it is with the conditions that its faults start from. One that begins later than its job acts on what stands then.
pub(in crate::run) fn prepared(scenario: &Scenario) -> Cow<'_, Scenario> {
    let jobs = 1 + scenario.then.len();
    let all: Vec<(usize, Effect)> = (0..jobs)
        .flat_map(|job| {
            let faults = scenario.job(job).map_or(&[][..], |one| one.faults);
            faults
                .iter()
                .filter(|one| from_the_begin(one))
                .flat_map(move |one| effects(one).map(move |effect| (job, effect)))
        })
        .collect();
    if all.is_empty() {
        return Cow::Borrowed(scenario);
    }
    let mut made = scenario.clone();
    for (job, effect) in all {
        match effect {
            Effect::AirTemperature(kelvin) if job == 0 => stands_in(&mut made, kelvin),
            Effect::Person(Person::HidesHighVoltage) => match job.checked_sub(1) {
                None => made.vehicle.high_voltage = true,
                Some(at) => made.then.get_mut(at).into_iter().for_each(|job| job.vehicle.high_voltage = true),
            },
            _ => {}
        }
    }
    Cow::Owned(made)
}

fn from_the_begin(planned: &Planned) -> bool {
    planned.begin.when == When::Job && planned.begin.after == 0.0
}

fn effects(planned: &Planned) -> impl Iterator<Item = Effect> {
    planned.way().map(|way| (way.does)(&planned.given())).unwrap_or_default().into_iter()
}

/// Station and vehicle have stood in this air for long.
fn stands_in(scenario: &mut Scenario, kelvin: f64) {
    scenario.site.ambient = kelvin;
    scenario.station.temperature = kelvin;
    scenario.vehicle.engine_bay = kelvin;
}
