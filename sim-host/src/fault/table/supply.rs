//! F077 to F091: mains, supply, valve rail, and the store of what outlives power.

use crate::fault::effect::{Effect, Power, StoreFault};
use crate::fault::injection::{Given, Injection, Mode};
use crate::fault::severity::Severity;
use crate::scenario::quantity::Dim;

/// How fast a supply sinks: slowly and at once, V/s (ends of the catalogue's range).
const SINKS: (f64, f64) = (1.0, 1e4);
/// Dips come once in so many seconds (inside the catalogue's 0.2 to 5 Hz; own choice).
const EVERY: f64 = 1.0;
const LEVEL: Severity = Severity::new("share of 24 V that is left", Dim::Fraction, "%", 5.0, 80.0).usually(40.0);
const WRITE: Severity = Severity::new("which write from then on", Dim::Number, "", 1.0, 1000.0).usually(1.0);
const BITS: Severity = Severity::new("bits", Dim::Number, "", 1.0, 3.0);

fn power(what: Power) -> Vec<Effect> {
    vec![Effect::Power(what)]
}

fn store(what: StoreFault) -> Vec<Effect> {
    vec![Effect::Store(what)]
}

fn cut(given: &Given, done: f64) -> Vec<Effect> {
    store(StoreFault::CutAt { write: given.severity as u32, done })
}

/// F077 to F091.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        77,
        &["ET-1"],
        &[Mode::graded(
            "the mains are off for this time; then everything starts anew",
            Severity::new("time", Dim::Time, "s", 0.05, 86_400.0).usually(10.0),
            |_| power(Power::Off),
        )
        .lasting(|s| s)],
    ),
    // Half of a write: what is cut in the middle of it.
    Injection::new(
        78,
        &["NV-1"],
        &[
            Mode::graded("the mains are cut before a write is begun, for 10 s", WRITE, |g| cut(g, 0.0)).named("before"),
            Mode::graded("the mains are cut in the middle of a write, for 10 s", WRITE, |g| cut(g, 0.5)).named("mid"),
            Mode::graded("the mains are cut when a write is done, for 10 s", WRITE, |g| cut(g, 1.0)).named("after"),
        ],
    ),
    Injection::new(
        79,
        &["ET-1"],
        &[
            Mode::graded("the supply sinks at 1 V/s to this share of 24 V", LEVEL, |g| {
                power(Power::Sag { to: g.severity, rate: SINKS.0 })
            })
            .named("slow"),
            Mode::graded("the supply falls at 10 V/ms to this share of 24 V", LEVEL, |g| {
                power(Power::Sag { to: g.severity, rate: SINKS.1 })
            })
            .named("fast"),
        ],
    ),
    Injection::new(
        80,
        &["ET-1"],
        &[Mode::graded(
            "the mains are gone for this time, once a second",
            Severity::new("time", Dim::Time, "ms", 30.0, 500.0),
            |g| power(Power::Dips { length: g.severity, every: EVERY }),
        )],
    ),
    Injection::new(
        81,
        &["ET-2"],
        &[Mode::plain("the valve rail has no voltage, all else goes on", |_| power(Power::RailOff))],
    ),
    Injection::new(
        82,
        &["ET-1"],
        &[Mode::plain("the monitor says good whatever there is, so that a sinking supply opens no valve rail", |_| {
            power(Power::MonitorStuck)
        })],
    ),
    Injection::new(
        83,
        &["NV-1"],
        &[
            Mode::graded("bits of one copy of the state are flipped", BITS, |g| {
                store(StoreFault::Flips { bits: g.severity as u32, both: false })
            })
            .named("one_copy"),
            Mode::graded("bits of both copies are flipped", BITS, |g| {
                store(StoreFault::Flips { bits: g.severity as u32, both: true })
            })
            .named("both_copies"),
        ],
    )
    .staying(),
    Injection::new(
        84,
        &["NV-1"],
        &[Mode::graded(
            "the flash, and it alone, loses its power in the next write",
            Severity::new("share of it that is done", Dim::Fraction, "%", 0.0, 99.0).usually(50.0),
            |g| store(StoreFault::Torn(g.severity)),
        )],
    )
    .staying(),
    Injection::new(
        85,
        &["NV-1"],
        &[Mode::plain("the page with one copy reads as erased, and is back when the fault ends", |_| {
            store(StoreFault::Blank)
        })],
    ),
    Injection::new(
        86,
        &["NV-1"],
        &[Mode::plain("two pages of one side take no erase and no program any more", |_| store(StoreFault::Worn))],
    ),
    Injection::new(
        87,
        &["NV-1"],
        &[Mode::plain("programs do nothing and say that they did", |_| store(StoreFault::NoWrite))],
    ),
    Injection::new(
        88,
        &["NV-1"],
        &[Mode::graded(
            "a bit of one copy reads otherwise now and then",
            Severity::new("probability for each read", Dim::Fraction, "%", 0.1, 60.0),
            |g| store(StoreFault::Unstable(g.severity)),
        )],
    ),
    Injection::new(
        89,
        &["NV-1"],
        &[Mode::plain("the whole flash is, at the next start, what it was when the job began", |_| {
            store(StoreFault::Old)
        })],
    )
    .staying(),
    Injection::new(
        90,
        &["NV-1"],
        &[Mode::plain("other items take all the room there is", |_| store(StoreFault::Full))],
    ),
    Injection::new(
        91,
        &["NV-1"],
        &[Mode::plain("the flash, and it alone, loses its power in the heads of the next two writes", |_| {
            store(StoreFault::Phantom)
        })],
    )
    .staying(),
];
