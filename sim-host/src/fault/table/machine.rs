//! F092 to F106: clocks, and the machine under the controller.

use valvewright_core::frame::{ANALOG_COUNT, SCALE_COUNT, Switches};

use crate::fault::effect::{Effect, Image, Machine};
use crate::fault::injection::{Begins, Given, Injection, Mode, input_of, scale_of};
use crate::fault::severity::Severity;
use crate::scenario::quantity::Dim;

const fn machine(what: Machine) -> Effect {
    Effect::Machine(what)
}

/// Everything that gives a figure to the controller.
const INPUTS: &[&str] = &[
    "PT-1", "PT-2", "PT-3", "PT-4", "PT-5", "TT-1", "TT-2", "TT-3", "TT-4", "AT-2", "IT-1", "ST-1", "ET-1", "ET-2",
    "WT-1A", "WT-1B", "WT-2", "WT-3",
];

fn no_number(given: &Given) -> Vec<Effect> {
    let loops = input_of(given.tag).map(|input| Effect::Image(Image::NoNumber(input)));
    let bridges = scale_of(given.tag).map(|scale| Effect::Image(Image::NoCode(scale)));
    loops.into_iter().chain(bridges).collect()
}

/// F092 to F106.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        92,
        &["KT-1"],
        &[Mode::graded("the clock is ahead by this", Severity::new("time", Dim::Time, "h", 1.0, 87_600.0), |g| {
            vec![machine(Machine::ClockOff(g.severity))]
        })],
    ),
    Injection::new(
        93,
        &["KT-1"],
        &[Mode::graded(
            "the clock is behind by this",
            Severity::new("time", Dim::Time, "s", 1.0, 315_360_000.0),
            |g| vec![machine(Machine::ClockOff(-g.severity))],
        )],
    ),
    Injection::new(94, &["KT-1"], &[Mode::plain("the clock stands", |_| vec![machine(Machine::ClockStands)])]),
    Injection::new(
        95,
        &["KT-2"],
        &[Mode::graded(
            "its tick runs too fast by this share, or too slow",
            Severity::new("too fast", Dim::Fraction, "%", -50.0, 100.0).beyond(0.0, 1.0),
            |g| vec![machine(Machine::TickRate(g.severity))],
        )],
    ),
    Injection::new(
        96,
        &["KT-2"],
        &[Mode::plain("its tick passes its largest number, 4 294 967 295 ms", |_| vec![machine(Machine::Wraps)])],
    )
    .beginning(Begins::AtATime),
    Injection::new(
        97,
        &["CPU"],
        &[Mode::graded(
            "it stands still for this time, or until its watchdog starts it anew",
            Severity::new("time", Dim::Time, "s", 0.1, 3600.0),
            |_| vec![machine(Machine::Stalls)],
        )
        .lasting(|s| s)],
    ),
    Injection::new(
        98,
        &["CPU"],
        &[Mode::plain(
            "its watchdog never bites: a machine that stands still stays so, and outputs stand that nobody renews",
            |_| vec![machine(Machine::WatchdogDead)],
        )],
    ),
    Injection::new(
        99,
        &["CPU"],
        &[Mode::graded(
            "so many presses come, one a scan, that nobody made; the operator's own are lost among them",
            Severity::new("presses", Dim::Number, "", 5.0, 1000.0).usually(40.0),
            |g| vec![machine(Machine::Burst(g.severity))],
        )],
    ),
    Injection::new(
        100,
        &["CPU"],
        &[Mode::graded(
            "a bit of the memory that holds its inputs stands at one: 0 to 223 the loops, 224 to 383 the bridges, 384 to 392 the contacts",
            Severity::new("which bit", Dim::Number, "", 0.0, 392.0).usually(13.0),
            |g| vec![Effect::Image(Image::StuckBit(g.severity as u32))],
        )],
    ),
    Injection::new(
        101,
        &["CPU"],
        &[Mode::graded(
            "its code is harmed; what it does is not, and the running checksum finds it after this time",
            Severity::new("time until the checksum comes to it", Dim::Time, "s", 0.05, 3600.0).usually(10.0),
            |g| vec![machine(Machine::CodeHarmed(g.severity))],
        )],
    ),
    Injection::new(
        102,
        &["CPU"],
        &[
            Mode::graded(
                "so many of a thousand scans are jumped over while its outputs are renewed",
                Severity::new("of a thousand scans", Dim::Number, "", 1.0, 1000.0).usually(200.0),
                |g| vec![machine(Machine::Skips(g.severity * 1e-3))],
            )
            .named("skip"),
            Mode::graded(
                "so many of a thousand scans are done twice",
                Severity::new("of a thousand scans", Dim::Number, "", 1.0, 1000.0),
                |g| vec![machine(Machine::Repeats(g.severity * 1e-3))],
            )
            .named("repeat"),
        ],
    ),
    Injection::new(
        103,
        &["CPU"],
        &[Mode::plain("its stack meets the guard: it starts anew", |_| vec![machine(Machine::Restarts)])],
    ),
    Injection::new(
        104,
        INPUTS,
        &[Mode::plain("its input shows what is no number: counts or a code that no converter makes", no_number)],
    ),
    Injection::new(
        105,
        &["CPU"],
        &[Mode::graded(
            "its scans come at random up to so many periods late",
            Severity::new("periods", Dim::Number, "", 1.0, 20.0),
            |g| vec![machine(Machine::Jitters(g.severity))],
        )],
    ),
    Injection::new(
        106,
        &["CPU"],
        &[Mode::graded(
            "all its inputs are renewed only once in this time",
            Severity::new("time", Dim::Time, "s", 0.1, 60.0),
            |g| vec![Effect::Image(Image::Stale(g.severity))],
        )],
    ),
];

/// First bit of the contacts in the image that F100 counts: loops of 16 and bridges of 40 with their sequence come before them.
const CONTACTS_FROM: usize = ANALOG_COUNT * 16 + SCALE_COUNT * 40;
const _: () = assert!(CONTACTS_FROM == 384 && Switches::ALL.count_ones() == 9);
