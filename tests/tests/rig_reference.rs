//! The first solved cases (a to e) stay within 1 % in pressure, 0.5 K and 1 g of their outside references, and most far within.

use valvewright_sim::plant::Tolerance;
use valvewright_tests::rig_reference::CASES;
use valvewright_tests::solved::{Allowed, Case, Reference, Solved};

fn broken(solve: impl Fn(&Case) -> Result<Solved, String>) -> Vec<String> {
    let mut all = Vec::new();
    for case in CASES {
        match solve(case) {
            Ok(one) => {
                println!("{one}");
                all.extend(one.broken());
            }
            Err(reason) => all.push(reason),
        }
    }
    all
}

const REPLAY: &str = "cargo run --release -p valvewright-tests --example reference";

/// Shows LS1, LS3.
#[test]
fn every_case_is_within_the_stated_limits() {
    assert_eq!(CASES.len(), 14, "all fourteen reference cases are compared");
    let all = broken(Case::solve);
    assert!(all.is_empty(), "outside the limits:\n{}\nagain: {REPLAY}", all.join("\n"));
}

#[test]
fn every_case_is_within_the_stated_limits_at_the_tolerance_of_scenarios() {
    let all = broken(|case| {
        let mut rig = case.rig()?;
        rig.tolerance = Tolerance::STATION.relative;
        // The blow-downs end where the pressure creeps past a level at 30 Pa/s: no pressure within 1 % gives that moment to 0.1 s.
        let case = Case { end: Allowed::Share(0.01), ..case.clone() };
        case.solve_with(&rig, &Reference::read(&case.path())?)
    });
    assert!(
        all.is_empty(),
        "outside the limits with `tolerance = {:e}` in the rig:\n{}\nagain: {REPLAY} -- CASE CHANGED_RIG tests/data/rigs/CASE.csv",
        Tolerance::STATION.relative,
        all.join("\n")
    );
}

#[test]
fn charging_starts_from_the_stated_state() {
    for case in CASES.iter().filter(|case| case.name.starts_with('d')) {
        let reference = Reference::read(&case.path()).expect("a reference");
        let stated =
            |name| reference.parameter(name).unwrap_or_else(|| panic!("the head of {} says {name}", case.name));
        let stated = [stated("p_loop0_Pa"), stated("T_loop0_K") - 273.15, stated("T_vessel0_K") - 273.15];
        let solved = case.solve().expect("it runs");
        for (signal, wanted) in ["loop.p", "loop.t", "vessel.t"].into_iter().zip(stated) {
            let found = solved.quantities.iter().find(|one| one.quantity.signal == signal).expect(signal);
            let first = found.points[0];
            assert!(
                (first.theirs - wanted).abs() < 1e-3 && (first.ours - wanted).abs() < 1e-3,
                "{}: {signal} is {wanted} in the head, {} in the first row, {} here; again: {REPLAY} -- {}",
                case.name,
                first.theirs,
                first.ours,
                case.name
            );
        }
    }
}
