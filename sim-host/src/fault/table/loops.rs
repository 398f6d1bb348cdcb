//! F001 to F020: pressure and temperature transmitters. Ranges are those of the catalogue; where it gives one figure, a range about it.

use valvewright_core::frame::Analog;

use crate::fault::effect::Effect;
use crate::fault::injection::{Given, Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::{Ill, LoopHealth};
use crate::scenario::quantity::Dim;

/// A loop of the given tag with this ill.
fn ill(given: &Given, health: LoopHealth) -> Vec<Effect> {
    vec![Effect::Device(Ill::Loop(given.input(), health))]
}

const OPEN: Mode = Mode::plain("its loop carries no current", |g| ill(g, LoopHealth::Open));
const SHORT: Mode = Mode::plain("its loop is shorted to the supply", |g| ill(g, LoopHealth::Short));
const HELD: Mode = Mode::plain("it goes on showing what it showed, noise and all", |g| ill(g, LoopHealth::Held));
const FROZEN: Mode = Mode::plain("the converter repeats its last counts", |g| ill(g, LoopHealth::Frozen));
/// A difference of pressures or temperatures that is shown and not there.
const fn offset(what: &'static str, dim: Dim, unit: &'static str, from: f64, to: f64) -> Mode {
    let severity = Severity::new(what, dim, unit, from, to);
    Mode::graded("it shows so much more than there is", severity, |g| ill(g, LoopHealth::Offset(g.severity)))
}
const BAR: Dim = Dim::PressureDifference;
const KELVIN: Dim = Dim::TemperatureDifference;
/// Noise that is left on a vacuum gauge or a wall sensor that is stuck: that of the healthy device, Pa and K.
const RUSTLE: (f64, f64) = (1.0, 0.02);
/// The catalogue's drift of PT-1, Pa/s: 0.05 bar an hour.
const DRIFT: f64 = 0.05e5 / 3600.0;
/// Upper end of a 0-35 bar transmitter, Pa.
const SPAN: f64 = 35e5;

/// F001 to F020.
pub(super) const ALL: &[Injection] = &[
    Injection::new(1, &["PT-1"], &[OPEN]),
    Injection::new(2, &["PT-1"], &[SHORT]),
    Injection::new(3, &["PT-1"], &[HELD.named("held"), FROZEN.named("frozen")]),
    Injection::new(
        4,
        &["PT-1"],
        &[Mode::graded(
            "it shows so much more than there is",
            Severity::new("shown too much", BAR, "bar", -2.0, 2.0).beyond(0.0, 0.1),
            |g| ill(g, LoopHealth::Offset(g.severity)),
        )],
    ),
    Injection::new(
        5,
        &["PT-1"],
        &[Mode::graded(
            "it has drifted so far when the fault begins, and goes on by 0.05 bar an hour",
            Severity::new("drifted so far", BAR, "bar", -1.0, 1.0).beyond(0.0, 0.02),
            |g| {
                vec![
                    Effect::Device(Ill::Loop(g.input(), LoopHealth::Offset(g.severity))),
                    Effect::Device(Ill::Loop(g.input(), LoopHealth::Drift(DRIFT.copysign(g.severity)))),
                ]
            },
        )],
    ),
    Injection::new(
        6,
        &["PT-1"],
        &[
            Mode::graded("white noise on top", Severity::new("standard deviation", BAR, "bar", 0.05, 0.5), |g| {
                ill(g, LoopHealth::Noise(g.severity))
            })
            .named("white"),
            Mode::graded(
                "noise in bursts of half a second, one in two seconds",
                Severity::new("standard deviation in a burst", BAR, "bar", 0.05, 0.5),
                |g| ill(g, LoopHealth::Bursts(g.severity)),
            )
            .named("bursts"),
        ],
    ),
    Injection::new(
        7,
        &["PT-1"],
        &[Mode::graded("its value comes late", Severity::new("time", Dim::Time, "s", 1.0, 60.0), |g| {
            ill(g, LoopHealth::Delay(g.severity))
        })],
    ),
    Injection::new(
        8,
        &["PT-1"],
        &[Mode::graded(
            "it shows nothing above this share of its span of 35 bar",
            Severity::new("share of the span", Dim::Fraction, "%", 10.0, 100.0).usually(10.0),
            |g| ill(g, LoopHealth::Clip(g.severity * SPAN)),
        )],
    ),
    Injection::new(9, &["PT-2"], &[HELD.named("held"), FROZEN.named("frozen")]),
    Injection::new(
        10,
        &["PT-2"],
        &[Mode::plain("the cables of PT-2 and PT-3 are exchanged", |_| {
            vec![Effect::Device(Ill::Loop(Analog::Pt2, LoopHealth::Crossed(Analog::Pt3)))]
        })],
    ),
    Injection::new(11, &["PT-3"], &[offset("shown too much", BAR, "bar", -1.0, -0.2).usual(-1.0)]),
    Injection::new(12, &["PT-4"], &[offset("shown too much", BAR, "mbar", 2.0, 20.0)]),
    Injection::new(
        13,
        &["PT-4"],
        &[Mode::graded(
            "it shows this whatever there is",
            Severity::new("pressure", Dim::Pressure, "mbar", 0.1, 5.0).usually(0.5),
            |g| ill(g, LoopHealth::Stuck { at: g.severity, noise: RUSTLE.0 }),
        )],
    ),
    Injection::new(14, &["PT-4"], &[OPEN]),
    Injection::new(15, &["TT-1"], &[OPEN]),
    Injection::new(16, &["TT-1"], &[SHORT]),
    Injection::new(
        17,
        &["TT-1"],
        &[Mode::graded(
            "it hangs in the air and follows that with this time constant",
            Severity::new("time constant", Dim::Time, "s", 60.0, 1200.0).usually(600.0),
            |g| ill(g, LoopHealth::Detached(g.severity)),
        )],
    ),
    Injection::new(
        18,
        &["TT-2"],
        &[
            HELD.named("held"),
            Mode::graded(
                "it shows this whatever there is",
                Severity::new("temperature", Dim::Temperature, "degC", 0.0, 60.0).usually(40.0),
                |g| ill(g, LoopHealth::Stuck { at: g.severity, noise: RUSTLE.1 }),
            )
            .named("value"),
        ],
    ),
    Injection::new(19, &["TT-3"], &[offset("shown too much", KELVIN, "K", -30.0, -5.0).usual(-20.0)]),
    Injection::new(20, &["TT-4"], &[offset("shown too much", KELVIN, "K", 5.0, 25.0)]),
];
