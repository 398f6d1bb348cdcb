//! Whether a station, a vehicle and an order have what a fault could be at.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuator, Analog};

use super::numbers::elements;
use crate::fault::{Effect, End, Matter, Of, Person, Planned, When};
use crate::instrument::Ill;
use crate::logic::Standing;
use crate::logic::property::NotJudged;
use crate::plant::Plant;
use crate::scenario::Scenario;
use crate::scenario::diagnostic::nearest;
use crate::scenario::model::Phase;

/// Says why the fault cannot come in this job.
pub(super) fn check(planned: &Planned, config: &StationConfig, plant: &Plant, job: &Scenario) -> Result<(), String> {
    let id = planned.id;
    let Some(way) = planned.way() else {
        let why = planned.injection().and_then(|one| one.refused).unwrap_or("it has no such way");
        return Err(format!("{id} cannot be injected: {why}"));
    };
    for effect in (way.does)(&planned.given()) {
        if let Some(lacks) = lacks(&effect, config, plant, job) {
            return Err(format!("{id} cannot come in this job: {lacks}"));
        }
    }
    Ok(())
}

/// The conditions that set the fault off and end it, found in this run.
pub(super) fn asks(
    planned: &Planned,
    config: &StationConfig,
    plant: &Plant,
    rows: bool,
) -> Result<[Option<Standing>; 2], String> {
    let begin = if let When::Holds(one) = &planned.begin.when { Some(one) } else { None };
    let end = if let End::Holds(one) = &planned.end { Some(one) } else { None };
    let mut found = [None, None];
    for (place, one) in found.iter_mut().zip([begin, end]) {
        let Some(condition) = one else { continue };
        let standing = Standing::new(condition, plant, config, rows).map_err(|why| {
            let what = match why {
                NotJudged::NoRows => "it asks for rows, which this controller does not have".to_owned(),
                NotJudged::NoSignal(name) => no_signal(&name, plant),
                NotJudged::BetweenScans => "it has times".to_owned(),
            };
            format!("{}: `{}`: {what}", planned.id, condition.text)
        })?;
        *place = Some(standing);
    }
    Ok(found)
}

fn no_signal(name: &str, plant: &Plant) -> String {
    let known = plant.signal_names();
    let near = nearest(name, known.iter().map(|(name, _)| name.as_str()));
    let near = near.map(|near| format!("; nearest: `{near}`")).unwrap_or_default();
    format!("the plant has no signal `{name}`{near}")
}

fn lacks(effect: &Effect, config: &StationConfig, plant: &Plant, job: &Scenario) -> Option<String> {
    let actuator = |one: Actuator| {
        (!config.fitted.has(one))
            .then(|| format!("the station has no {}: its file lists it under `without`", one.tag()))
    };
    match effect {
        Effect::Hold(one, _) | Effect::LeaksBy(one, _) | Effect::Shorted(one) | Effect::Crossed(one) => actuator(*one),
        Effect::LockedRotor(_) => actuator(Actuator::C1),
        Effect::Device(Ill::Loop(Analog::Tt3, _)) => actuator(Actuator::H1),
        Effect::Number(of, key, _) => {
            let found = elements(*of, plant).into_iter().any(|name| plant.param(&format!("{name}.{key}")).is_some());
            let part = match of {
                Of::Actuator(one) => one.tag(),
                Of::Element(name) => name,
            };
            (!found).then(|| format!("the station's network has no `{part}` with a `{key}`"))
        }
        Effect::Chokes(_) => {
            plant.param("C-1.displacement").is_none().then(|| "no `C-1` draws through the drier".to_owned())
        }
        Effect::Person(Person::OrdersCharge(_)) => {
            (!job.order.has(Phase::Charge)).then(|| "its order has no charge".to_owned())
        }
        Effect::Person(Person::SkipsIdentify) => (!job.order.has(Phase::Identify))
            .then(|| "its order has no gas identification that could be left out".to_owned()),
        Effect::Person(Person::MistypesCode(_) | Person::TypesCodeAgain(_)) => {
            let types = job.operator.acts.iter().any(|one| one.exchange.is_some());
            (!types).then(|| "nobody types the code of a new part: it has no act with do = \"exchange\"".to_owned())
        }
        Effect::Brings(Matter::OtherRefrigerant(_) | Matter::AirInVehicle(_)) => {
            (job.vehicle.content <= 0.0).then(|| "its vehicle comes without refrigerant".to_owned())
        }
        _ => None,
    }
}
