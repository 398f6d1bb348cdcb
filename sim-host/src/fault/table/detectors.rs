//! F031 to F050: the identifier, the detector of gas in the cabinet, contacts.

use valvewright_core::frame::Switches;

use crate::fault::effect::Effect;
use crate::fault::injection::{Given, Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::{ContactHealth, IdentifierHealth, Ill, LoopHealth};
use crate::scenario::quantity::Dim;

const fn at1(health: IdentifierHealth) -> Effect {
    Effect::Device(Ill::Identifier(health))
}

fn at2(health: LoopHealth) -> Vec<Effect> {
    vec![Effect::Device(Ill::Loop(valvewright_core::frame::Analog::At2, health))]
}

fn welded(given: &Given) -> Vec<Effect> {
    vec![Effect::Device(Ill::Contact(given.contacts(), ContactHealth::StuckClosed))]
}

const WELDED: Mode = Mode::plain("its contact stays closed", welded);
/// A first-order lag needs so many of its time constants to 90 %.
const TO_90: f64 = std::f64::consts::LN_10;

/// F031 to F050.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        31,
        &["AT-1"],
        &[Mode::graded("it says nothing for this time", Severity::new("time", Dim::Time, "s", 5.0, 3600.0), |_| {
            vec![at1(IdentifierHealth::Silent)]
        })
        .lasting(|s| s)],
    ),
    Injection::new(
        32,
        &["AT-1"],
        &[Mode::graded(
            "its frames come harmed: a bit flipped, or the end cut off",
            Severity::new("probability for each frame", Dim::Fraction, "%", 1.0, 100.0),
            |g| vec![at1(IdentifierHealth::FrameErrors(g.severity))],
        )],
    ),
    Injection::new(
        33,
        &["AT-1"],
        &[
            Mode::plain("it sends the report of the sample before, with that one's id", |_| {
                vec![at1(IdentifierHealth::Repeats)]
            })
            .named("old_report"),
            Mode::plain("it sends the result of the sample before under the new id", |_| {
                vec![at1(IdentifierHealth::SameResult)]
            })
            .named("old_result"),
        ],
    ),
    Injection::new(
        34,
        &["AT-1"],
        &[Mode::graded(
            "it tells the largest share larger than it is",
            Severity::new("told too much", Dim::Fraction, "%", 0.5, 3.0),
            |g| vec![at1(IdentifierHealth::Bias(g.severity))],
        )],
    ),
    Injection::new(
        35,
        &["AT-1"],
        &[Mode::plain("it takes R-134a for R-1234yf and the other way round", |_| {
            vec![at1(IdentifierHealth::WrongSpecies)]
        })],
    ),
    Injection::new(
        36,
        &["AT-1"],
        &[Mode::graded(
            "oil is on the sample filter: an analysis takes so many times as long, and 2 % of hydrocarbon are told that are not there",
            Severity::new("times as long", Dim::Number, "", 2.0, 10.0),
            |g| vec![at1(IdentifierHealth::Fouled { slower: g.severity, hydrocarbon: 0.02 }), Effect::OilFilm],
        )],
    ),
    Injection::new(
        37,
        &["AT-1"],
        &[Mode::plain("it tells no air whatever there is", |_| vec![at1(IdentifierHealth::NoAir)])],
    ),
    Injection::new(
        38,
        &["AT-1"],
        &[Mode::graded(
            "it starts anew so long into each analysis",
            Severity::new("time into the analysis", Dim::Time, "s", 0.0, 60.0).usually(20.0),
            |g| vec![at1(IdentifierHealth::Resets(g.severity))],
        )],
    ),
    Injection::new(39, &["AT-2"], &[Mode::plain("its loop carries no current", |_| at2(LoopHealth::Open))]),
    Injection::new(40, &["AT-2"], &[Mode::plain("it shows no gas whatever there is", |_| at2(LoopHealth::Gain(0.0)))]),
    Injection::new(
        41,
        &["AT-2"],
        &[Mode::graded("it answers so slowly", Severity::new("time to 90 %", Dim::Time, "s", 30.0, 120.0), |g| {
            at2(LoopHealth::Slow(g.severity / TO_90))
        })],
    ),
    Injection::new(
        42,
        &["AT-2"],
        &[Mode::graded(
            "it shows so much gas that is not there, for five seconds",
            Severity::new("share of the lower flammable limit", Dim::Fraction, "%", 10.0, 100.0),
            |g| at2(LoopHealth::Offset(g.severity)),
        )
        .lasting(|_| 5.0)],
    ),
    Injection::new(43, &["PSH-1"], &[WELDED]),
    Injection::new(
        44,
        &["PSH-1"],
        &[Mode::graded(
            "it opens at this share of its set point",
            Severity::new("share of the set point", Dim::Fraction, "%", 5.0, 100.0).usually(60.0),
            |g| vec![Effect::Device(Ill::Early(Switches::PSH1_HEALTHY, g.severity))],
        )],
    ),
    Injection::new(45, &["FSL-1"], &[WELDED]),
    Injection::new(46, &["ZS-1"], &[WELDED]),
    Injection::new(47, &["ZS-2"], &[WELDED]),
    Injection::new(48, &["LS-1"], &[WELDED]),
    Injection::new(49, &["LS-2"], &[WELDED]),
    Injection::new(50, &["HS-1A", "HS-1B"], &[WELDED]),
];
