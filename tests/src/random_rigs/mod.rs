//! Networks drawn from a seed and judged by what no network may do: panic, run for ever, lose mass or energy, show a negative mass, a
//! value that is no number, or a temperature that nothing could have made. A run may end in a fault that says why, when and where.
//!
//! A drawn network is the text of a rig file: `cargo run --release -p valvewright-tests --example networks -- 1 SEED --write DIR` keeps
//! it, `valvewright rig DIR/network-SEED.toml` runs it. A change of what is drawn changes the network behind every seed.

mod dice;
mod elements;
mod heat;
mod judge;
mod schedule;
mod volumes;

use std::fmt::Write as _;

use dice::{Dice, with_unit};
pub use judge::{Failure, Verdict, judge, judge_series, judge_within};
use valvewright_sim::fluid::FluidKind;

/// The rig file of a seed.
pub fn text(seed: u64) -> String {
    let mut dice = Dice::new(seed);
    let dice = &mut dice;
    let main = dice.pick(&FluidKind::ALL);
    let other = if main == FluidKind::R1234yf { FluidKind::R134a } else { FluidKind::R1234yf };
    let fluids = volumes::Fluids { main, second: dice.often(25).then_some(other) };
    let sealed = dice.often(35);
    let mut text = format!("# Drawn from seed {seed}.\ntitle = \"network {seed}\"\nrefrigerant = \"{main}\"\n");
    if let Some(second) = fluids.second {
        let _ = writeln!(text, "second_refrigerant = \"{second}\"\nmixing = \"{}\"", dice.pick(&["real", "ideal"]));
    }
    let tolerance = dice.weighted(&[(30, 1e-5), (20, 3e-4), (50, 0.0)]);
    let tolerance = if tolerance > 0.0 { tolerance } else { dice.log(1e-6, 1e-2) };
    let _ = writeln!(text, "tolerance = {tolerance:.2e}");
    let around = if dice.often(70) { dice.even(10.0, 40.0) } else { dice.even(-40.0, 70.0) };
    let _ = writeln!(text, "[ambient]\ntemperature = {}", with_unit(around, "degC"));
    let _ = writeln!(text, "pressure = {}", with_unit(dice.even(70.0, 105.0), "kPa"));
    let _ = writeln!(text, "humidity = {}", with_unit(dice.pick(&[0.0, 30.0, 60.0, 100.0]), "%"));
    let mut places = Vec::new();
    for index in 0..1 + dice.below(8) {
        places.push(volumes::closed(dice, &mut text, index, fluids, around));
    }
    for kind in ["cabinet", "bottle"] {
        if !sealed && dice.often(12) {
            places.push(volumes::open_place(dice, &mut text, kind));
        }
    }
    let wanted = dice.below(2 * places.len() + 3);
    let elements: Vec<_> =
        (0..wanted).filter_map(|index| elements::element(dice, &mut text, index, &places, sealed)).collect();
    schedule::steps(dice, &mut text, &places, &elements);
    text
}
