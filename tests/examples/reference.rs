//! Prints how far every shipped rig is from its reference solution: `cargo run --release -p valvewright-tests --example reference [case]`.

use std::path::Path;

use valvewright_tests::rig_reference::{worst_deviation, worst_deviations};

fn main() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/rigs");
    let found = match std::env::args().nth(1) {
        Some(case) => vec![worst_deviation(&case, &data)],
        None => worst_deviations(&data),
    };
    let mut failed = false;
    for one in found {
        match one {
            Ok(one) => println!(
                "{one}  balances {:.0e} {:.0e}",
                one.mass_balance, one.energy_balance
            ),
            Err(reason) => {
                failed = true;
                println!("{reason}");
            }
        }
    }
    std::process::exit(i32::from(failed));
}
