//! The vehicle of a drawn scenario: from a sound car to a circuit full to the brim of the wrong gas.

use super::draw::{Mood, decimal};
use super::{GASES, Job, Plan};
use crate::scenario::model::OilKind;

/// Writes the vehicle; returns the charge on its label, g.
pub(super) fn vehicle(job: &mut Job, ambient: i64, plan: &Plan) -> i64 {
    let volumes = volumes(job);
    let total: i64 = volumes.iter().sum();
    let per_litre = job.draw.between(110, 180);
    let label_g = (total * per_litre / 1_000 * 10).clamp(50, 5_000);
    let gas = if job.often([0, 4, 8]) { 1 - plan.gas } else { plan.gas };
    if gas != plan.gas {
        job.tell("a vehicle for the other refrigerant");
    }
    job.table("vehicle");
    job.set("label", "A vehicle out of the hat");
    job.set("refrigerant", GASES[gas]);
    job.set("charge_label", &format!("{label_g} g"));
    let bay = engine_bay(job, ambient);
    content(job, label_g, most(total, bay), plan);
    state(job);
    if job.often([0, 8, 20]) {
        gas_mix(job, gas);
    }
    job.table("vehicle.volumes");
    for (key, hundredths) in ["high_side", "low_side", "accumulator"].into_iter().zip(volumes) {
        job.set(key, &format!("{} L", decimal(hundredths, 2)));
    }
    label_g
}

/// High side, low side and accumulator, 0.01 L; together 0.21 to 19.8 L, so that an order for them is taken.
fn volumes(job: &mut Job) -> [i64; 3] {
    let limits = if job.often([0, 0, 15]) {
        job.tell("a tiny circuit");
        [(7, 30); 3]
    } else if job.often([0, 0, 15]) {
        job.tell("a huge circuit");
        [(300, 660); 3]
    } else if job.mood == Mood::Plain {
        [(120, 220), (100, 180), (50, 120)]
    } else {
        [(60, 350), (60, 300), (30, 200)]
    };
    limits.map(|(low, high)| job.draw.between(low, high))
}

/// Temperature about the circuit, 0.1 degC: the ambient's, or warmer, or anything.
fn engine_bay(job: &mut Job, ambient: i64) -> i64 {
    if !job.often([30, 40, 40]) {
        return ambient;
    }
    let (cool, warm) = job.mood.of([(ambient, ambient + 150), (ambient, ambient + 300), (-100, 800)]);
    let bay = job.draw.between(cool, warm.min(800));
    job.set("engine_bay", &format!("{} degC", decimal(bay, 1)));
    bay
}

/// Grams that the format lets into `total` times 0.01 L at `bay` times 0.1 degC. The reader takes 900 g/L, or 90 % of the density of
/// the liquid where that is less: for R-1234yf from 48 degC on, 728 g/L at 80 degC. A straight line from 40 to 80 degC stays below.
fn most(total: i64, bay: i64) -> i64 {
    let per_litre = 900 - (bay - 400).max(0) * 180 / 400;
    (total * per_litre / 100).min(5_000)
}

/// What is in it: nothing, part of the label's charge, about all, too much, or all that the format lets in.
fn content(job: &mut Job, label_g: i64, most: i64, plan: &Plan) {
    // Who orders a vacuum without a recovery has an open or emptied circuit, as a rule.
    let emptied = plan.has("evacuate") && !plan.has("recover") && job.often([100, 80, 40]);
    let kinds: &[&str] = job.mood.of([
        &["full"][..],
        &["empty", "part", "part", "part", "full", "full", "full", "full", "full", "over", "over"],
        &["empty", "part", "part", "full", "full", "over", "brimful"],
    ]);
    let kind = if emptied { "empty" } else { job.draw.pick(kinds) };
    let share = match kind {
        "empty" => 0,
        "part" => job.draw.between(2, 70),
        "full" => job.draw.between(80, 104),
        _ => job.draw.between(110, 180),
    };
    let grams = if kind == "brimful" { job.draw.between(most * 8 / 10, most) } else { label_g * share / 100 };
    job.line(&format!("content = \"{} g\"          # {kind}", grams.clamp(0, most)));
    match kind {
        "empty" => job.tell("an empty circuit"),
        "part" => job.tell("part of a charge"),
        "over" => job.tell("an over-filled circuit"),
        "brimful" => job.tell("a circuit full to the brim"),
        _ => {}
    }
}

/// Air, water, oil, a hole, and what drives the compressor.
fn state(job: &mut Job) {
    let air = job.range([(0, 3), (0, 30), (0, 200)]);
    job.set("air", &format!("{} g", decimal(air, 1)));
    if job.often([0, 20, 30]) {
        let water = job.range([(1, 1), (1, 50), (1, 500)]);
        job.set("water", &format!("{} g", decimal(water, 1)));
        job.tell(format!("{} g of water", decimal(water, 1)));
    }
    let oil = job.draw.pick(&OilKind::WORDS);
    let amount = job.range([(80, 200), (40, 300), (0, 500)]);
    job.set("oil", oil);
    job.set("oil_amount", &format!("{amount} mL"));
    if job.often([0, 20, 30]) {
        let hole = job.range([(1, 1), (1, 50), (1, 300)]);
        let side = job.draw.pick(&["low", "high"]);
        job.set("leak", &format!("{} mm", decimal(hole, 2)));
        job.set("leak_side", side);
        job.tell(format!("a hole of {} mm", decimal(hole, 2)));
    }
    if job.draw.chance(15) {
        job.line("high_voltage = true");
        job.tell("high voltage");
    }
}

/// What is really in it, by tenths of a percent: the label's gas with something else.
fn gas_mix(job: &mut Job, label: usize) {
    let (low, high) = job.draw.pick(&[(5, 30), (30, 200), (200, 999)]);
    let strange = job.draw.between(low, high);
    let (first, second) =
        job.draw.pick(&[(GASES[1 - label], ""), ("hydrocarbon", ""), ("other", ""), ("hydrocarbon", "other")]);
    let more = if second.is_empty() { 0 } else { job.draw.between(0, strange) };
    job.table("vehicle.gas");
    for (key, tenths) in [(GASES[label], 1_000 - strange), (first, strange - more), (second, more)] {
        if tenths > 0 {
            job.set(key, &format!("{} %", decimal(tenths, 1)));
        }
    }
    job.tell(format!("{} % of the gas off its label", decimal(strange, 1)));
}
