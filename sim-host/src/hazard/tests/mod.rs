//! Each monitor in a scene where its hazard is reached and in one just short of it.

mod control;
mod machines;
mod vessel;

use valvewright_core::frame::{Actuator, Actuators};

use super::facts::{Station, Vehicle};
use super::sight::{Field, Sight, Values};
use super::span::{Positions, Span};
use super::track::Finding;
use crate::instrument::InstrumentSpec;
use crate::plant::{Plant, Tolerance, parse};
use crate::report::data::HazardLevel;
use crate::scenario::diagnostic::Source;

use Actuator::K1;

/// Two hoses and a vessel: enough of a station for valves that lock liquid in.
pub const RIG: &str = r#"
title = "hose"
refrigerant = "R-1234yf"
[ambient]
temperature = "20 degC"
[volume.vessel]
volume = "1 L"
refrigerant = "500 g"
[volume.hose_low]
volume = "50 mL"
refrigerant = "HOSE g"
[volume.manifold]
volume = "2 L"
refrigerant = "0.1 g"
[element."XV-5+XV-10+XV-1"]
kind = "orifice"
from = "vessel"
to = "hose_low"
diameter = "1 mm"
draws = "liquid"
opening = 0.0
[element."XV-1"]
kind = "orifice"
from = "hose_low"
to = "manifold"
diameter = "1 mm"
opening = 0.0
"#;

pub fn rig(gram: f64) -> (Plant, Sight) {
    let source = Source::new("rig".to_owned(), RIG.replace("HOSE", &gram.to_string()));
    let spec = parse::network(&source).expect("the rig reads");
    let plant = Plant::new(&spec, Tolerance::STATION).expect("it can be built");
    let sight = Sight::find(&plant, &spec);
    (plant, sight)
}

pub fn station() -> Station {
    let instruments = InstrumentSpec::default();
    Station {
        burns: true,
        vessel: 12.5e-3,
        // R-1234yf at 25 degC (NIST, from memory to three digits).
        filled: (1092.0, 37.9),
        relief: Some(20e5),
        fan: Some(60.0 / 3600.0),
        fan_rpm: instruments.fan.nominal_rpm,
        barometer: 101_325.0,
        loops: std::array::from_fn(|at| {
            let of = &instruments.analog[at];
            [of.low, of.high, of.lag_s, of.gain_class, of.offset_class, of.noise]
        }),
        scales: std::array::from_fn(|at| {
            (instruments.scales[at].zero_code, instruments.scales[at].counts_per_gram * 1e3)
        }),
    }
}

pub const CAR: Vehicle = Vehicle {
    target: Some(0.480),
    hole: 0.0,
    high_voltage: false,
    other_oil: false,
    unseen_foreign: 0.0,
    content: 0.445,
};

pub fn on(list: &[Actuator]) -> Positions {
    let acting = Actuators::of(list).with(K1);
    Positions { told: acting, acting, coupled: true, door_shut: true, fan_turns: true, oil_film: false }
}

pub fn with(list: &[(Field, f64)]) -> Values {
    let mut values = Values::BLANK;
    list.iter().for_each(|(field, value)| values.set(*field, *value));
    values
}

#[track_caller]
pub fn is(found: Finding, level: HazardLevel) {
    assert_eq!(found.level(), level, "{found:?}");
}

/// The later finding of a span of `seconds` in which every figure goes straight from `a` to `b`.
pub fn over(
    a: &Values,
    b: &Values,
    at: &Positions,
    seconds: f64,
    judge: &mut dyn FnMut(&Span<'_>) -> (Finding, Finding),
) -> Finding {
    judge(&Span { time: (0.0, seconds), a, b, at }).1
}
