//! F077 to F091: mains, supply, valve rail, and the record store.

use valvewright_core::frame::Analog;

use crate::fault::effect::{Effect, Power};
use crate::fault::injection::{Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::{Ill, LoopHealth};
use crate::scenario::quantity::Dim;

/// A supply monitor that is stuck shows a good supply, V, with the noise of a good one.
const GOOD: (f64, f64) = (24.0, 0.02);
/// How fast a supply sinks: slowly and at once, V/s (ends of the catalogue's range).
const SINKS: (f64, f64) = (1.0, 1e4);
/// Dips come once in so many seconds (inside the catalogue's 0.2 to 5 Hz; own choice).
const EVERY: f64 = 1.0;
/// Why nothing can happen to the record store.
const NO_STORE: &str = "there is no record store in a run yet: nothing is written that could be harmed";

const fn sag(acts: &'static str, severity: Severity, does: fn(&crate::fault::Given) -> Vec<Effect>) -> Mode {
    Mode::graded(acts, severity, does)
}
const LEVEL: Severity = Severity::new("share of 24 V that is left", Dim::Fraction, "%", 5.0, 80.0).usually(40.0);

/// F077 to F091.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        77,
        &["ET-1"],
        &[Mode::graded(
            "the mains are off for this time; then everything starts anew",
            Severity::new("time", Dim::Time, "s", 0.05, 86_400.0).usually(10.0),
            |_| vec![Effect::Power(Power::Off)],
        )
        .lasting(|s| s)],
    ),
    Injection::refused(78, &["NV-1"], NO_STORE),
    Injection::new(
        79,
        &["ET-1"],
        &[
            sag("the supply sinks at 1 V/s to this share of 24 V", LEVEL, |g| {
                vec![Effect::Power(Power::Sag { to: g.severity, rate: SINKS.0 })]
            })
            .named("slow"),
            sag("the supply falls at 10 V/ms to this share of 24 V", LEVEL, |g| {
                vec![Effect::Power(Power::Sag { to: g.severity, rate: SINKS.1 })]
            })
            .named("fast"),
        ],
    ),
    Injection::new(
        80,
        &["ET-1"],
        &[Mode::graded(
            "the supply is gone for this time, once a second",
            Severity::new("time", Dim::Time, "ms", 10.0, 500.0),
            |g| vec![Effect::Power(Power::Dips { length: g.severity, every: EVERY })],
        )],
    ),
    Injection::new(
        81,
        &["ET-2"],
        &[Mode::plain("the valve rail has no voltage, all else goes on", |_| vec![Effect::Power(Power::RailOff)])],
    ),
    Injection::new(
        82,
        &["ET-1"],
        &[Mode::plain("the monitor shows a good supply whatever there is", |_| {
            vec![Effect::Device(Ill::Loop(Analog::Et1, LoopHealth::Stuck { at: GOOD.0, noise: GOOD.1 }))]
        })],
    ),
    Injection::refused(83, &["NV-1"], NO_STORE),
    Injection::refused(84, &["NV-1"], NO_STORE),
    Injection::refused(85, &["NV-1"], NO_STORE),
    Injection::refused(86, &["NV-1"], NO_STORE),
    Injection::refused(87, &["NV-1"], NO_STORE),
    Injection::refused(88, &["NV-1"], NO_STORE),
    Injection::refused(89, &["NV-1"], NO_STORE),
    Injection::refused(90, &["NV-1"], NO_STORE),
    Injection::refused(91, &["NV-1"], NO_STORE),
];
