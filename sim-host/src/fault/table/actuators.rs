//! F051 to F076: valves, machines, heater, fan, relief, non-return valve, filter-drier.

use valvewright_core::frame::Actuator;

use crate::fault::effect::{Amount, Draws, Effect, Of, Op, Size, Way};
use crate::fault::hold::Hold;
use crate::fault::injection::{Given, Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::Ill;
use crate::scenario::quantity::Dim;

fn on(given: &Given) -> Vec<Effect> {
    vec![Effect::Hold(given.actuator(), Hold::On)]
}

fn off(given: &Given) -> Vec<Effect> {
    vec![Effect::Hold(given.actuator(), Hold::Off)]
}

const OPEN: Mode = Mode::plain("it stays open", on);
const SHUT: Mode = Mode::plain("it stays shut", off);
const RUNS: Mode = Mode::plain("its contacts are welded: it runs on", on);
const STANDS: Mode = Mode::plain("it stands still", off);

/// Every valve.
const VALVES: &[&str] = &["XV-1", "XV-2", "XV-3", "XV-4", "XV-5", "XV-6", "XV-7", "XV-8", "XV-9", "XV-10"];
/// Valves beside whose coil another one stands.
const NEIGHBOURS: &[&str] = &["XV-5", "XV-1", "XV-2", "XV-3", "XV-4", "XV-6", "XV-7", "XV-8", "XV-9"];
/// A relief valve that nothing lifts, Pa: far beyond any state of the plant.
const NEVER: f64 = 1e9;

/// Refrigerant in so many g/s through what should be shut.
const fn leak(what: &'static str, from: f64, to: f64) -> Severity {
    Severity::new(what, Dim::MassFlow, "g/s", from, to)
}

/// A way for vapour out of the vessel.
const fn vessel(to: &'static str, flow: f64, behind: Option<Actuator>) -> Effect {
    let size = Size::Flow(flow);
    Effect::Way(Way { from: "vessel", to, draws: Draws::Vapour, size, one_way: true, behind, of_vehicle: false })
}

/// F051 to F076.
pub(super) const ALL: &[Injection] = &[
    Injection::new(51, &["XV-1"], &[SHUT]),
    Injection::new(52, &["XV-2"], &[OPEN]),
    Injection::new(53, &["XV-5"], &[OPEN]),
    Injection::new(
        54,
        &["XV-5"],
        &[Mode::graded(
            "shut, it lets so much through (out of a vessel at 20 degC into vacuum); XV-10 behind it holds unless that is open",
            leak("flow", 0.01, 2.0),
            |g| vec![Effect::LeaksBy(g.actuator(), Amount::Flow(g.severity))],
        )],
    ),
    Injection::new(
        55,
        &["XV-5"],
        &[Mode::graded(
            "it takes so long from one end of its stroke to the other",
            Severity::new("time", Dim::Time, "s", 0.2, 5.0),
            |g| vec![Effect::Number(Of::Actuator(g.actuator()), "stroke", Op::Is(g.severity))],
        )],
    ),
    Injection::new(56, &["XV-4"], &[SHUT]),
    Injection::new(57, &["XV-6"], &[OPEN]),
    Injection::new(58, &["XV-7"], &[OPEN]),
    Injection::new(59, &["XV-8"], &[OPEN]),
    Injection::new(
        60,
        &["XV-9"],
        &[Mode::graded(
            "shut, it lets so much oil through at a difference of 1 bar",
            Severity::new("oil", Dim::VolumeFlow, "mL/min", 0.1, 5.0),
            |g| vec![Effect::LeaksBy(g.actuator(), Amount::Oil(g.severity))],
        )],
    ),
    Injection::new(
        61,
        VALVES,
        &[Mode::plain("it is open while it is told shut, and shut while it is told open", |g| {
            vec![Effect::Hold(g.actuator(), Hold::Inverted)]
        })],
    ),
    Injection::new(
        62,
        VALVES,
        &[Mode::plain("its driver is shorted: its coil has voltage as long as there is any", |g| {
            vec![Effect::Shorted(g.actuator())]
        })],
    ),
    Injection::new(
        63,
        NEIGHBOURS,
        &[Mode::plain("its command drives the coil of the valve next in number", |g| {
            vec![Effect::Crossed(g.actuator())]
        })],
    ),
    Injection::new(64, &["C-1"], &[RUNS]),
    Injection::new(
        65,
        &["C-1"],
        &[Mode::graded(
            "it does not turn and draws so many times its running current while told on",
            Severity::new("times the running current", Dim::Number, "", 3.0, 8.0).usually(6.0),
            |g| vec![Effect::LockedRotor(g.severity)],
        )],
    ),
    Injection::new(
        66,
        &["C-1"],
        &[Mode::graded(
            "it moves only this share of what it should",
            Severity::new("share left", Dim::Fraction, "%", 20.0, 80.0).usually(20.0),
            |g| vec![Effect::Number(Of::Actuator(Actuator::C1), "volumetric", Op::Times(g.severity))],
        )],
    ),
    Injection::new(67, &["P-1"], &[RUNS]),
    Injection::new(
        68,
        &["P-1"],
        &[Mode::graded(
            "its bad oil lets it come no deeper than this",
            Severity::new("pressure", Dim::Pressure, "mbar", 5.0, 30.0),
            |g| vec![Effect::Number(Of::Actuator(Actuator::P1), "ultimate", Op::Is(g.severity))],
        )],
    ),
    Injection::new(69, &["H-1"], &[RUNS]),
    Injection::new(70, &["K-1"], &[STANDS]),
    Injection::new(
        71,
        &["K-1"],
        &[Mode::graded(
            "its duct lets only this share of the air through",
            Severity::new("share left", Dim::Fraction, "%", 5.0, 60.0).usually(10.0),
            |g| {
                vec![
                    Effect::Device(Ill::Duct(g.severity)),
                    Effect::Number(Of::Actuator(Actuator::K1), "flow", Op::Times(g.severity)),
                ]
            },
        )],
    ),
    Injection::new(
        72,
        &["PSV-1"],
        &[Mode::graded("its seat lets so much vapour out of a vessel at 20 degC", leak("flow", 0.01, 1.0), |g| {
            vec![vessel("ambient", g.severity, None)]
        })],
    ),
    Injection::new(
        73,
        &["PSV-1"],
        &[Mode::plain("nothing lifts it", |_| vec![Effect::Number(Of::Element("PSV-1"), "set", Op::Is(NEVER))])],
    ),
    Injection::new(
        74,
        &["NRV-1"],
        &[Mode::graded(
            "so much vapour comes back through it while XV-4 is open (out of a vessel at 20 degC into vacuum)",
            leak("flow", 0.01, 1.0),
            |g| vec![vessel("discharge", g.severity, Some(Actuator::Xv4))],
        )],
    ),
    Injection::new(
        75,
        &["F-1"],
        &[Mode::graded(
            "it takes this pressure difference at the flow that C-1 draws at 3 bar",
            Severity::new("pressure difference", Dim::PressureDifference, "bar", 0.2, 3.0),
            |g| vec![Effect::Chokes(g.severity)],
        )],
    ),
    Injection::new(
        76,
        &["F-1"],
        &[Mode::graded(
            "what goes into the vessel carries so much water",
            Severity::new("water by mass", Dim::Fraction, "ppm", 50.0, 500.0),
            |g| vec![Effect::Carries(g.severity)],
        )],
    )
    .staying(),
];
