//! Every shipped rig stays within 1 % in pressure, 0.5 K and 1 g of its outside reference, and most far within.

use std::path::Path;

use valvewright_sim::plant::rig::{parse_rig, run_rig, shipped_text};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_tests::rig_reference::worst_deviations;

#[test]
fn every_case_is_within_the_stated_limits() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/rigs");
    let found = worst_deviations(&data);
    assert_eq!(found.len(), 14, "all fourteen reference cases are compared");
    let mut broken = Vec::new();
    for one in found {
        match one {
            Ok(one) => {
                println!("{one}");
                let held = one.pressure.value < 0.01
                    && one.temperature.value < 0.5
                    && one.mass.value < 1.0
                    && one.event.value < 0.1;
                if !held || one.rows < 20 {
                    broken.push(format!("{one}"));
                }
                if one.mass_balance > 1e-9 || one.energy_balance > 1e-6 {
                    broken.push(format!("{}: balances {:e} {:e}", one.case, one.mass_balance, one.energy_balance));
                }
            }
            Err(reason) => broken.push(reason),
        }
    }
    assert!(broken.is_empty(), "outside the limits:\n{}", broken.join("\n"));
}

#[test]
fn charging_starts_from_the_stated_state() {
    let spec = parse_rig(&Source::new("d1.toml", shipped_text("d1").expect("d1 is shipped"))).expect("d1 is valid");
    let series = run_rig(&spec, |_| true).expect("d1 runs");
    let value = |name: &str| series.rows[0].values[series.column(name).expect(name)];
    assert!((value("loop.p") - 100.0).abs() < 1e-3, "100 Pa in the head, {} Pa here", value("loop.p"));
    assert!((value("loop.t") - 40.0).abs() < 1e-3, "40 degC in the head, {} degC here", value("loop.t"));
}
