//! One service drawn from its seed: the vehicle as it comes, the order, what the operator does wrong and when the power goes.

use valvewright_core::fluid::Refrigerant;
use valvewright_core::kept::Boot;

use super::plan::{Kind, Plan};
use crate::scenario::expect::Expect;
use crate::scenario::model::*;
use crate::scenario::random::draw::Draw;

/// A power cut, s from the start of the service.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// When it comes, or from when on the next state that is stored is cut.
    pub at: f64,
    /// How long it lasts.
    pub off: f64,
    /// It falls into a write of the store, when this share of its steps is done.
    pub write: Option<f64>,
    /// How the station starts again.
    pub boot: Boot,
}

/// A drawn service.
#[derive(Clone, Debug)]
pub struct Service {
    /// What kind.
    pub kind: Kind,
    /// All of it as a scenario on the standing station.
    pub scenario: Scenario,
    /// Power cuts in their order.
    pub cuts: Vec<Cut>,
    /// The mistake, in a word; none where nothing goes wrong.
    pub mistake: Option<&'static str>,
    /// Hazards that the mistake may bring about by itself: couplers that are taken off under pressure.
    pub by_hand: &'static [&'static str],
}

/// The source of draws of one service: its own, so that what came of those before changes nothing about it.
pub fn draws(seed: u64, number: u32, purpose: u64) -> Draw {
    // Steps of the golden ratio part the seeds of neighbours (Steele, Lea and Flood 2014, from memory).
    let mixed = seed ^ u64::from(number).wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    Draw::new(mixed ^ purpose.wrapping_mul(0xD1B5_4A32_D192_ED03))
}

/// True as often as `share` says.
pub fn happens(draw: &mut Draw, share: f64) -> bool {
    (draw.between(0, 999_999) as f64) < share * 1e6
}

fn range(draw: &mut Draw, (low, high): (f64, f64), step: f64) -> f64 {
    draw.between((low / step).round() as i64, (high / step).round() as i64) as f64 * step
}

/// The kind of a service.
fn kind(plan: &Plan, draw: &mut Draw) -> Kind {
    let all: f64 = plan.shares.iter().sum();
    let mut left = draw.between(0, 999_999) as f64 * 1e-6 * all;
    for (kind, share) in Kind::ALL.into_iter().zip(plan.shares) {
        if left < share {
            return kind;
        }
        left -= share;
    }
    Kind::Whole
}

/// Draws the service of that number, in air of `ambient` K, on a station that `bay` describes.
pub fn draw(plan: &Plan, number: u32, ambient: f64, bay: &Scenario) -> Service {
    let mut draw = draws(plan.seed, number, 1);
    let kind = kind(plan, &mut draw);
    let vehicle = vehicle(plan, kind, ambient, &mut draw);
    let order = order(plan, kind, &vehicle, vehicle.engine_bay > ambient + STOOD, &mut draw);
    let mut operator = Operator {
        answers: Answers::Confirm,
        delay: 5.0,
        begins: BEGINS,
        weight: None,
        vessel_of_air: false,
        acts: Vec::new(),
    };
    operator.delay = range(&mut draw, (3.0, 15.0), 1.0);
    let mistake = happens(&mut draw, plan.mistakes).then(|| slip(&mut draw, &mut operator));
    let cuts = if happens(&mut draw, plan.cuts) { cuts(&mut draw) } else { Vec::new() };
    let scenario = Scenario {
        name: format!("service-{number}"),
        site: Site { ambient, ..bay.site },
        vehicle,
        order,
        operator,
        expect: Expect::default(),
        ..bay.clone()
    };
    let off = mistake.is_some_and(|word| word.starts_with("couplers"));
    Service { kind, scenario, cuts, mistake, by_hand: if off { &["H25"] } else { &[] } }
}

/// The order is given so long after the power comes, s: after the self-test, after a reset where something is latched, and when the start
/// counts as one that has gone well.
pub const BEGINS: f64 = 70.0;

fn vehicle(plan: &Plan, kind: Kind, ambient: f64, draw: &mut Draw) -> Vehicle {
    let litres = |draw: &mut Draw, low, high| draw.between(low, high) as f64 * 1e-5;
    let volumes = Volumes {
        high_side: litres(draw, 120, 240),
        low_side: litres(draw, 100, 200),
        accumulator: litres(draw, 50, 120),
    };
    let charge_label = (volumes.total() * 1e3 * draw.between(110, 165) as f64 / 10.0).round() * 1e-2;
    let share = match kind {
        Kind::Repaired | Kind::Check => 0.0,
        Kind::Leaking => draw.between(15, 90) as f64 * 1e-2,
        Kind::Wet => draw.between(10, 60) as f64 * 1e-2,
        Kind::Whole | Kind::Recovery | Kind::Foreign => draw.between(55, 102) as f64 * 1e-2,
    };
    let open = share == 0.0;
    // An open circuit holds air at some 1.2 kg/m3.
    let air = if open { volumes.total() * 1.19 } else { draw.between(0, 6) as f64 * 1e-4 };
    // A station that serves others between would be flushed before each of them, which no session of the years does.
    let _would_be = draw.chance(12);
    let (high_voltage, hot) = (false, draw.chance(HOT));
    let warmer = range(draw, (0.0, if hot { 15.0 } else { STOOD }), 0.1);
    Vehicle {
        name: None,
        label: "Drawn vehicle".to_owned(),
        refrigerant: plan.refrigerant,
        charge_label,
        content: (charge_label * share * 1e3).round() * 1e-3,
        gas: gas(plan, kind, draw),
        air,
        water: if kind == Kind::Wet { draw.between(4, 25) as f64 * 1e-3 } else { 0.0 },
        volumes,
        oil: if high_voltage { OilKind::Poe68 } else { OilKind::Pag46 },
        oil_amount: draw.between(80, 180) as f64 * 1e-6,
        leak: if kind == Kind::Leaking { draw.between(3, 10) as f64 * 1e-5 } else { 0.0 },
        leak_side: draw.pick(&[Side::Low, Side::High]),
        high_voltage,
        flush_port: false,
        engine_bay: (ambient + warmer).min(LIMIT),
    }
}

/// So many of a hundred vehicles come from the road, up to 15 K warmer than the workshop; the others have stood and are up to so many K
/// warmer (own choice: a shop takes most of its vehicles in hours before it has time for them).
const HOT: u64 = 15;
const STOOD: f64 = 3.0;

/// No engine bay is warmer here, K (45 degC, own choice).
const LIMIT: f64 = 318.15;

fn gas(plan: &Plan, kind: Kind, draw: &mut Draw) -> GasMix {
    let label = plan.refrigerant;
    let pure = GasMix::pure(label);
    if kind != Kind::Foreign {
        return pure;
    }
    let strange = draw.between(6, 60) as f64 * 1e-2;
    let which = if plan.mixed { draw.between(0, 2) } else { draw.between(1, 2) };
    let rest = 1.0 - strange;
    let mix = GasMix { r1234yf: pure.r1234yf * rest, r134a: pure.r134a * rest, ..pure };
    match (which, label) {
        (0, Refrigerant::R1234yf) => GasMix { r134a: strange, ..mix },
        (0, Refrigerant::R134a) => GasMix { r1234yf: strange, ..mix },
        (1, _) => GasMix { hydrocarbon: strange, ..mix },
        _ => GasMix { other: strange, ..mix },
    }
}

fn order(plan: &Plan, kind: Kind, vehicle: &Vehicle, hot: bool, draw: &mut Draw) -> Order {
    let whole =
        || Phase::ALL.into_iter().filter(|one| ![Phase::PressureTest, Phase::Upkeep].contains(one)).collect::<Vec<_>>();
    let phases = match kind {
        Kind::Whole | Kind::Leaking | Kind::Wet | Kind::Foreign => whole(),
        Kind::Recovery => vec![Phase::Identify, Phase::Recover, Phase::DrainOil],
        Kind::Repaired => {
            vec![Phase::Evacuate, Phase::LeakCheck, Phase::InjectOil, Phase::Charge, Phase::Verify, Phase::ClearHoses]
        }
        Kind::Check => vec![Phase::Evacuate, Phase::LeakCheck],
    };
    let charge = if phases.contains(&Phase::Charge) { vehicle.charge_label } else { 0.0 };
    let oil = phases.contains(&Phase::InjectOil) && !vehicle.high_voltage && draw.chance(60);
    let high = happens(draw, plan.high_side);
    let sides = match draw.pick(&[Sides::Both, Sides::Both, Sides::Both, Sides::Both, Sides::Low, Sides::High]) {
        _ if charge > 0.0 && high => Sides::High,
        // A hot vehicle is charged where its pressure is lower once its compressor runs.
        _ if charge > 0.0 && hot => Sides::Low,
        // What a hose holds after a charge is drawn in through the low side alone.
        Sides::High if charge > 0.0 => Sides::Both,
        other => other,
    };
    Order {
        phases,
        charge,
        evacuate_time: range(draw, plan.evacuate, 10.0),
        evacuate_depth: draw.between(300, 600) as f64,
        leak_hold: range(draw, plan.leak_hold, 10.0),
        test_over: 5e5,
        test_hold: 300.0,
        inject_oil: if oil { draw.between(2, 15) as f64 * 1e-6 } else { 0.0 },
        sides,
        upkeep: None,
    }
}

/// What an operator does wrong, somewhere in a service.
fn slip(draw: &mut Draw, operator: &mut Operator) -> &'static str {
    let at = draw.between(40, 1_500) as f64;
    let then = draw.between(5, 120) as f64;
    let (word, acts): (_, &[(f64, Act)]) = match draw.between(0, 6) {
        0 => ("couplers taken off", &[(0.0, Act::Uncouple)]),
        1 => ("couplers off and on again", &[(0.0, Act::Uncouple), (1.0, Act::Couple)]),
        2 => ("aborted", &[(0.0, Act::Abort)]),
        3 => ("paused for a while", &[(0.0, Act::Pause), (1.0, Act::Resume)]),
        4 => ("emergency stop", &[(0.0, Act::EmergencyStop), (1.0, Act::ReleaseStop)]),
        5 => ("door opened", &[(0.0, Act::OpenDoor), (1.0, Act::ShutDoor)]),
        _ => {
            operator.answers = Answers::Decline;
            ("every question declined", &[])
        }
    };
    operator.acts.extend(acts.iter().map(|(later, act)| PlannedAct {
        when: Trigger::At(at + later * then),
        after: 0.0,
        act: *act,
        exchange: None,
    }));
    word
}

/// One cut at any moment, one within a write, or a supply that comes and goes.
fn cuts(draw: &mut Draw) -> Vec<Cut> {
    let at = draw.between(30, 15_000) as f64 * 0.1;
    let off = draw.between(2, 300) as f64;
    let cut = Cut { at, off, write: None, boot: Boot::PowerOn };
    match draw.between(0, 9) {
        0..5 => vec![cut],
        5..9 => vec![Cut { write: Some(draw.between(0, 100) as f64 * 1e-2), ..cut }],
        _ => {
            let dips = draw.between(2, 5);
            (0..dips)
                .map(|dip| Cut {
                    at: at + dip as f64 * 8.0,
                    off: draw.between(5, 30) as f64 * 0.1,
                    write: draw.chance(50).then_some(draw.between(0, 100) as f64 * 1e-2),
                    boot: Boot::BrownOut,
                })
                .collect()
        }
    }
}

/// Power goes while codes are typed: within one of the writes that an exchange makes.
pub fn cut_of_exchange(draw: &mut Draw) -> Vec<Cut> {
    let at = draw.between(130, 900) as f64 * 0.1;
    let write = Some(draw.between(0, 100) as f64 * 1e-2);
    vec![Cut { at, off: draw.between(2, 60) as f64, write, boot: Boot::PowerOn }]
}
