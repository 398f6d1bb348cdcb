//! F021 to F030: the vessel scale. Two bridges stand under its platform; a fault is at one of them, WT-1A where nothing else is said, and what
//! acts on the platform itself at both.

use crate::fault::effect::Effect;
use crate::fault::injection::{Given, Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::{Ill, ScaleHealth};
use crate::scenario::quantity::Dim;
use valvewright_core::frame::Scale;

fn ill(given: &Given, health: ScaleHealth) -> Vec<Effect> {
    vec![Effect::Device(Ill::Scale(given.scale(), health))]
}

/// Both bridges feel what acts on the platform.
fn platform(health: ScaleHealth) -> Vec<Effect> {
    [Scale::Wt1A, Scale::Wt1B].map(|scale| Effect::Device(Ill::Scale(scale, health))).into()
}

const BRIDGES: &[&str] = &["WT-1A", "WT-1B"];
/// Time constant of a creep that is too large: the catalogue's shortest, s.
const CREEP: f64 = 600.0;
/// Length of a hit and time from one to the next, s: inside the catalogue's 50 to 500 ms; own choice.
const HIT: (f64, f64) = (0.2, 2.0);
/// How far a platform of 25 kg class gives way, m for each kilogram: some 0.3 mm in all (from memory), and standard gravity, m/s2.
const GIVES: f64 = 0.3e-3 / 25.0;
const GRAVITY: f64 = 9.80665;

/// F021 to F030.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        21,
        BRIDGES,
        &[Mode::plain("the bridge is open: its code stands at the upper rail", |g| ill(g, ScaleHealth::Open))],
    ),
    Injection::new(
        22,
        BRIDGES,
        &[
            Mode::plain("the code stands at the upper rail", |g| ill(g, ScaleHealth::Open)).named("high"),
            Mode::plain("the code stands at the lower rail", |g| ill(g, ScaleHealth::LowRail)).named("low"),
        ],
    ),
    Injection::new(
        23,
        BRIDGES,
        &[
            Mode::graded(
                "the reading creeps by this share of the load, 63 % of it in ten minutes",
                Severity::new("share of the load", Dim::Fraction, "%", 0.03, 1.0),
                |g| ill(g, ScaleHealth::Creep { share: g.severity, tau: CREEP }),
            )
            .named("share"),
            Mode::graded(
                "the reading creeps, first at this rate, and less and less with a time constant of ten minutes",
                Severity::new("rate at first", Dim::MassFlow, "g/s", -0.5, 0.5).beyond(0.0, 0.002),
                // A rate in kg/s; the scale counts in gram.
                |g| ill(g, ScaleHealth::CreepBy { grams: g.severity * 1e3 * CREEP, tau: CREEP }),
            )
            .named("rate"),
        ],
    ),
    Injection::new(
        24,
        BRIDGES,
        &[Mode::graded(
            "it shows so much more than there is",
            Severity::new("shown too much", Dim::Mass, "g", -200.0, 200.0).beyond(0.0, 5.0),
            |g| ill(g, ScaleHealth::Step(g.severity * 1e3)),
        )],
    ),
    Injection::new(
        25,
        &["WT-1"],
        &[Mode::graded(
            "hits on the platform, up and down in turn, 0.2 s long, every 2 s",
            Severity::new("height", Dim::Mass, "g", 20.0, 500.0),
            |g| platform(ScaleHealth::Shock { grams: g.severity * 1e3, share: 0.0, length: HIT.0, every: HIT.1 }),
        )],
    ),
    Injection::new(
        26,
        &["WT-1"],
        &[
            Mode::graded(
                "something pulls at the platform (negative: carries it); 102 g are 1 N",
                Severity::new("force, as mass", Dim::Mass, "g", -204.0, 204.0).beyond(0.0, 5.0),
                |g| platform(ScaleHealth::Step(g.severity * 1e3)),
            )
            .named("constant"),
            Mode::graded(
                "a hose leans on the platform like a spring and takes its share of every change of load",
                Severity::new("stiffness, N/m", Dim::Number, "", 50.0, 20_000.0).usually(500.0),
                |g| platform(ScaleHealth::Spring(g.severity * GIVES / GRAVITY)),
            )
            .named("spring"),
        ],
    ),
    Injection::new(
        27,
        BRIDGES,
        &[Mode::graded(
            "the load is shown wrong by this share of itself",
            Severity::new("shown too much, share of the load", Dim::Fraction, "%", -5.0, 5.0).beyond(0.0, 0.2),
            |g| ill(g, ScaleHealth::Span(g.severity)),
        )],
    ),
    Injection::new(
        28,
        BRIDGES,
        &[Mode::graded(
            "this share of what the bridge gives is gone, the empty platform's included",
            Severity::new("share lost", Dim::Fraction, "%", 10.0, 50.0),
            |g| ill(g, ScaleHealth::Gain(1.0 - g.severity)),
        )],
    ),
    Injection::new(
        29,
        BRIDGES,
        &[
            Mode::plain("no new conversion comes: code and sequence stand still", |g| ill(g, ScaleHealth::Frozen))
                .named("frozen"),
            Mode::plain("the code stands still while the sequence goes on", |g| ill(g, ScaleHealth::Stuck))
                .named("stuck"),
        ],
    ),
    Injection::new(
        30,
        BRIDGES,
        &[Mode::graded(
            "it shows so much more for each kelvin that the air is warmer than the 20 degC of its calibration",
            Severity::new("gram per kelvin", Dim::Mass, "g", -5.0, 5.0).beyond(0.0, 0.5),
            |g| ill(g, ScaleHealth::PerKelvin(g.severity * 1e3)),
        )],
    ),
];
