//! F107 to F118: what an operator may do.

use valvewright_core::frame::{Actuator, Scale};

use crate::fault::effect::{Effect, Of, Op, Person};
use crate::fault::injection::{Begins, Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::{Ill, ScaleHealth};
use crate::scenario::quantity::Dim;

const fn person(what: Person) -> Effect {
    Effect::Person(what)
}

/// The weight that was said to lie on the platform when the scale was calibrated, kg.
const DECLARED: f64 = 10.0;

fn calibrated(real: f64) -> Vec<Effect> {
    let health = ScaleHealth::Span(DECLARED / real - 1.0);
    [Scale::Wt1A, Scale::Wt1B].map(|scale| Effect::Device(Ill::Scale(scale, health))).into()
}

/// F107 to F118.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        107,
        &["HMI"],
        &[Mode::graded(
            "so many symbols of a code for a new part are typed wrong",
            Severity::new("wrong symbols", Dim::Number, "", 1.0, 3.0),
            |g| vec![person(Person::MistypesCode(g.severity))],
        )],
    ),
    Injection::new(
        108,
        &["HMI"],
        &[Mode::graded(
            "the code that was typed last is typed again so many times, every five seconds",
            Severity::new("times", Dim::Number, "", 1.0, 10.0),
            |g| vec![person(Person::TypesCodeAgain(g.severity))],
        )],
    ),
    Injection::new(
        109,
        &["WT-1"],
        &[Mode::graded(
            "both bridges were calibrated with this on the platform while 10 kg were declared",
            Severity::new("real weight", Dim::Mass, "kg", 5.0, 12.0).beyond(10.0, 0.05).usually(5.0),
            |g| calibrated(g.severity),
        )],
    ),
    Injection::new(
        110,
        &["HMI"],
        &[Mode::graded(
            "so many times the charge is ordered",
            Severity::new("times the charge", Dim::Number, "", 0.1, 10.0).beyond(1.0, 0.05).usually(2.0),
            |g| vec![person(Person::OrdersCharge(g.severity))],
        )],
    )
    .beginning(Begins::WithTheJob),
    Injection::new(
        111,
        &["HMI"],
        &[Mode::plain("the vehicle has high voltage and the order says it has not", |_| {
            vec![person(Person::HidesHighVoltage)]
        })],
    )
    .beginning(Begins::WithTheJob),
    Injection::new(
        112,
        &["HMI"],
        &[Mode::plain("the order is ended by a press of abort", |_| vec![person(Person::Aborts)])],
    )
    .staying(),
    Injection::new(
        113,
        &["ZS-2"],
        &[Mode::graded(
            "the couplers are pulled off as soon as a hose holds at least this; the hoses stay open by 1 mm",
            Severity::new("pressure in the hose", Dim::Pressure, "bar", 1.0, 15.0).usually(1.0),
            |g| vec![person(Person::Uncouples(g.severity))],
        )],
    )
    .staying(),
    Injection::new(114, &["ZS-1"], &[Mode::plain("the door stands open", |_| vec![person(Person::OpensDoor)])]),
    Injection::new(
        115,
        &["HS-1"],
        &[Mode::graded(
            "the emergency stop is pressed for this time while reset is tied down: a fresh press twice a second, then and after",
            Severity::new("time", Dim::Time, "s", 0.5, 600.0).usually(5.0),
            |g| vec![person(Person::StopsWithResetHeld(g.severity))],
        )],
    ),
    Injection::new(
        116,
        &["HMI"],
        &[Mode::plain("the order goes without the gas identification", |_| vec![person(Person::SkipsIdentify)])],
    )
    .beginning(Begins::WithTheJob),
    Injection::new(
        117,
        &["HMI"],
        &[Mode::graded(
            "start is pressed so many times in less than a second",
            Severity::new("presses", Dim::Number, "", 2.0, 10.0),
            |g| vec![person(Person::StartsTwice(g.severity))],
        )],
    )
    .beginning(Begins::WithTheJob),
    Injection::new(
        118,
        &["V-1"],
        &[Mode::plain("the hand valve of the vessel is shut: nothing goes in or out of it", |_| {
            [Actuator::Xv4, Actuator::Xv5].map(|one| Effect::Number(Of::Actuator(one), "discharge", Op::Is(0.0))).into()
        })],
    ),
];
