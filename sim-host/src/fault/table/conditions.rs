//! F119 to F138: what stands around the station, what is in the vehicle, and what came in after the first review.

use valvewright_core::frame::{Actuator, Analog, Scale};

use crate::fault::effect::{Draws, Effect, Image, Machine, Matter, Size, Way};
use crate::fault::hold::Hold;
use crate::fault::injection::{Injection, Mode};
use crate::fault::severity::Severity;
use crate::instrument::{Ill, LoopHealth, ScaleHealth};
use crate::scenario::quantity::Dim;

/// Hoses and manifold: what liquid may be locked in.
const LINES: &[&str] = &["hose_low", "hose_high", "manifold"];
/// They get no warmer than this above what they had, K (own choice: beside a hot engine).
const WARMEST: f64 = 60.0;
/// Noise of a healthy separator gauge, Pa, and of a healthy speed sensor, rpm: a stuck one still rustles so.
const RUSTLE: (f64, f64) = (100.0, 5.0);

const fn at(place: &'static str, to: &'static str, draws: Draws, size: Size, vehicle: bool) -> Effect {
    // Air and moisture come in through a hole in the vehicle when there is a vacuum in it.
    Effect::Way(Way { from: place, to, draws, size, one_way: !vehicle, behind: None, of_vehicle: vehicle })
}

const fn hole(what: &'static str, unit: &'static str, from: f64, to: f64) -> Severity {
    Severity::new(what, Dim::Length, unit, from, to)
}

fn bridge(health: ScaleHealth) -> Vec<Effect> {
    vec![Effect::Device(Ill::Scale(Scale::Wt1B, health))]
}

fn bridges(health: ScaleHealth) -> Vec<Effect> {
    [Scale::Wt1A, Scale::Wt1B].map(|scale| Effect::Device(Ill::Scale(scale, health))).into()
}

const AMOUNT: Severity = Severity::new("rate", Dim::MassFlow, "g/s", -2.0, 2.0);

/// F119 to F138.
pub(super) const ALL: &[Injection] = &[
    Injection::new(
        119,
        &["ENV"],
        &[Mode::graded(
            "the shop has this temperature; from the job's begin on, station and vehicle have stood in it",
            Severity::new("temperature", Dim::Temperature, "degC", -10.0, 10.0).usually(-10.0),
            |g| vec![Effect::AirTemperature(g.severity)],
        )],
    ),
    Injection::new(
        120,
        &["ENV"],
        &[Mode::graded(
            "the shop has this temperature; from the job's begin on, station and vehicle have stood in it",
            Severity::new("temperature", Dim::Temperature, "degC", 40.0, 60.0).usually(50.0),
            |g| vec![Effect::AirTemperature(g.severity)],
        )],
    ),
    Injection::new(
        121,
        &["ENV"],
        &[
            Mode::graded(
                "so much of the vehicle's refrigerant is the other one",
                Severity::new("share by mass", Dim::Fraction, "%", 1.0, 100.0),
                |g| vec![Effect::Brings(Matter::OtherRefrigerant(g.severity))],
            )
            .named("refrigerant"),
            Mode::graded(
                "so much of the vehicle's gas is hydrocarbon",
                Severity::new("share by mass", Dim::Fraction, "%", 1.0, 20.0),
                |g| vec![Effect::Brings(Matter::Hydrocarbon(g.severity))],
            )
            .named("hydrocarbon"),
        ],
    )
    .staying(),
    Injection::new(
        122,
        &["ENV"],
        &[Mode::graded(
            "air comes into the vehicle until it is this share of its gas",
            Severity::new("share by volume", Dim::Fraction, "%", 1.0, 95.0).usually(50.0),
            |g| vec![Effect::Brings(Matter::AirInVehicle(g.severity))],
        )],
    )
    .staying(),
    Injection::new(
        123,
        &["V-1"],
        &[Mode::graded(
            "air comes into the vessel to this partial pressure",
            Severity::new("partial pressure", Dim::PressureDifference, "kPa", 10.0, 300.0),
            |g| vec![Effect::Brings(Matter::AirInVessel(g.severity))],
        )],
    )
    .staying(),
    Injection::new(
        124,
        &["ENV"],
        &[Mode::graded(
            "so much water comes into the vehicle",
            Severity::new("water", Dim::Mass, "g", 0.1, 20.0),
            |g| vec![Effect::Brings(Matter::WaterInVehicle(g.severity))],
        )],
    )
    .staying(),
    Injection::new(
        125,
        &["ENV"],
        &[Mode::graded("a hole in the vehicle's low side", hole("diameter", "um", 5.0, 30.0), |g| {
            vec![at("vehicle_low", "ambient", Draws::Vapour, Size::Bore(g.severity), true)]
        })],
    ),
    Injection::new(
        126,
        &["ENV"],
        &[Mode::graded("a hole in the vehicle's low side", hole("diameter", "mm", 0.1, 3.0), |g| {
            vec![at("vehicle_low", "ambient", Draws::Vapour, Size::Bore(g.severity), true)]
        })],
    ),
    Injection::new(
        127,
        &["ENV"],
        &[Mode::graded(
            "so much vapour seeps from the vessel's pipes into the cabinet (out of a vessel at 20 degC)",
            Severity::new("flow", Dim::MassFlow, "g/min", 1e-4, 0.1),
            |g| vec![at("vessel", "cabinet", Draws::Vapour, Size::Flow(g.severity), false)],
        )],
    ),
    Injection::new(
        128,
        &["ENV"],
        &[
            Mode::graded("a hole from the vessel's liquid into the cabinet", hole("diameter", "mm", 0.1, 1.0), |g| {
                vec![at("vessel", "cabinet", Draws::Liquid, Size::Bore(g.severity), false)]
            })
            .named("liquid"),
            Mode::graded("a hole from the vessel's vapour into the cabinet", hole("diameter", "mm", 0.1, 1.0), |g| {
                vec![at("vessel", "cabinet", Draws::Vapour, Size::Bore(g.severity), false)]
            })
            .named("vapour"),
        ],
    ),
    Injection::new(
        129,
        &["ENV"],
        &[Mode::graded(
            "once a second one input, drawn anew, shows nonsense for this time",
            Severity::new("time", Dim::Time, "ms", 1.0, 50.0),
            |g| vec![Effect::Image(Image::Glitches(g.severity))],
        )],
    ),
    Injection::new(
        130,
        &["WT-1"],
        &[Mode::graded(
            "the station is hit: everything on the scales weighs so much more and less in turn, 0.2 s long, every second",
            Severity::new("acceleration, share of gravity", Dim::Fraction, "%", 1.0, 50.0),
            |g| {
                let shock = ScaleHealth::Shock { grams: 0.0, share: g.severity, length: 0.2, every: 1.0 };
                Scale::ALL.map(|scale| Effect::Device(Ill::Scale(scale, shock))).into()
            },
        )],
    ),
    Injection::new(
        131,
        &["ENV"],
        &[Mode::graded(
            "the air has this pressure, and the controller was told another",
            Severity::new("barometer", Dim::Pressure, "kPa", 70.0, 101.0).usually(70.0),
            |g| vec![Effect::AirPressure(g.severity)],
        )],
    ),
    Injection::new(
        132,
        &["ENV"],
        &[Mode::graded(
            "what is around hoses and manifold gets warmer by so much a minute, 60 K at most",
            Severity::new("kelvin a minute", Dim::TemperatureDifference, "K", 0.2, 5.0),
            |g| vec![Effect::Warms(LINES, g.severity / 60.0, WARMEST)],
        )],
    ),
    Injection::new(
        133,
        &["WT-1B"],
        &[
            Mode::graded(
                "the load is shown wrong by this share of itself",
                Severity::new("shown too much, share of the load", Dim::Fraction, "%", -50.0, 10.0)
                    .beyond(0.0, 0.2)
                    .usually(-50.0),
                |g| bridge(ScaleHealth::Span(g.severity)),
            )
            .named("span"),
            Mode::graded(
                "it shows so much more than there is",
                Severity::new("shown too much", Dim::Mass, "g", -500.0, 500.0).beyond(0.0, 5.0),
                |g| bridge(ScaleHealth::Step(g.severity * 1e3)),
            )
            .named("offset"),
            Mode::plain("its code stands still while the sequence goes on", |_| bridge(ScaleHealth::Stuck))
                .named("stuck"),
            Mode::graded("its reading walks", AMOUNT.beyond(0.0, 0.05), |g| {
                bridge(ScaleHealth::Drift(g.severity * 1e3))
            })
            .named("drift"),
        ],
    ),
    Injection::new(
        134,
        &["PT-5"],
        &[Mode::graded(
            "it shows this whatever there is",
            Severity::new("pressure", Dim::Pressure, "bar", 0.0, 35.0).usually(1.0),
            |g| vec![Effect::Device(Ill::Loop(Analog::Pt5, LoopHealth::Stuck { at: g.severity, noise: RUSTLE.0 }))],
        )],
    ),
    Injection::new(
        135,
        &["H-2"],
        &[Mode::plain("its contacts are welded", |_| vec![Effect::Hold(Actuator::H2, Hold::On)])],
    ),
    Injection::new(
        136,
        &["ST-1"],
        &[Mode::graded(
            "it shows this speed whatever the fan does",
            Severity::new("speed", Dim::Speed, "rpm", 0.0, 6000.0).usually(2800.0),
            // The loop counts in revolutions a minute.
            |g| {
                vec![Effect::Device(Ill::Loop(
                    Analog::St1,
                    LoopHealth::Stuck { at: g.severity * 60.0, noise: RUSTLE.1 },
                ))]
            },
        )],
    ),
    Injection::new(
        137,
        &["WT-1"],
        &[
            Mode::graded(
                "both bridges show the load wrong by this share of itself",
                Severity::new("shown too much, share of the load", Dim::Fraction, "%", -5.0, 5.0).beyond(0.0, 0.2),
                |g| bridges(ScaleHealth::Span(g.severity)),
            )
            .named("span"),
            Mode::graded(
                "both bridges walk alike",
                Severity::new("rate", Dim::MassFlow, "g/s", -0.5, 0.5).beyond(0.0, 0.02),
                |g| bridges(ScaleHealth::Drift(g.severity * 1e3)),
            )
            .named("drift"),
        ],
    ),
    Injection::new(
        138,
        &["LINK"],
        &[
            Mode::graded(
                "frames between the station and its controller are lost, or harmed and thrown away",
                Severity::new("probability for each scan", Dim::Fraction, "%", 1.0, 100.0),
                |g| vec![Effect::Machine(Machine::LinkLost(g.severity))],
            )
            .named("lost"),
            Mode::graded("each answer takes this time", Severity::new("time", Dim::Time, "s", 0.1, 5.0), |g| {
                vec![Effect::Machine(Machine::LinkLate(g.severity))]
            })
            .named("late"),
            Mode::graded(
                "a frame comes a second time in place of the next",
                Severity::new("probability for each scan", Dim::Fraction, "%", 1.0, 100.0),
                |g| vec![Effect::Machine(Machine::LinkRepeats(g.severity))],
            )
            .named("repeated"),
        ],
    )
    .also("`valvewright run --board semihosting --disturb lost@300s` does it to the line of an emulated board (repeated, broken, late, too; over uart silent and unplugged): that goes into its safe state by itself and says why"),
];
