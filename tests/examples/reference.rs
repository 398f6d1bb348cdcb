//! Prints how far every shipped rig is from its reference solution: `cargo run --release -p valvewright-tests --example reference [case]`.
//! With `<case> <rig.toml> <reference.csv>` it compares a changed rig with a series the reference scripts made for it.

use std::path::Path;

use valvewright_tests::rig_reference::{deviation, worst_deviation, worst_deviations};

fn main() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/rigs");
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let found = match &arguments[..] {
        [] => worst_deviations(&data),
        [case, rig, reference] => {
            let text = std::fs::read_to_string(rig).map_err(|wrong| format!("{rig}: {wrong}"));
            vec![text.and_then(|text| deviation(case, &text, Path::new(reference)))]
        }
        [case, ..] => vec![worst_deviation(case, &data)],
    };
    let mut failed = false;
    for one in found {
        match one {
            Ok(one) => println!("{one}  balances {:.0e} {:.0e}", one.mass_balance, one.energy_balance),
            Err(reason) => {
                failed = true;
                println!("{reason}");
            }
        }
    }
    std::process::exit(i32::from(failed));
}
