//! Flow through hoses and flashing nozzles, water on walls, oil and mixed refrigerants stay within the limits stated for a simulator (f3 to
//! f6; the limits stand in `flow_reference`), at every row of the outside references.

use valvewright_sim::plant::rig::{Column, RigSeries, Row};
use valvewright_sim::plant::{StepCount, Tolerance};
use valvewright_tests::flow_reference::CASES;
use valvewright_tests::solved::{Case, Except, Quantity, Reference, Scale, Solved};

const REPLAY: &str = "cargo run --release -p valvewright-tests --example reference";

fn broken(family: &str, solve: impl Fn(&Case) -> Result<Solved, String>) -> Vec<String> {
    let mut broken = Vec::new();
    for case in CASES.iter().filter(|case| case.name.starts_with(family)) {
        match solve(case) {
            Ok(one) => {
                println!("{one}");
                broken.extend(one.broken());
            }
            Err(reason) => broken.push(reason),
        }
    }
    broken
}

fn within_limits(family: &str) {
    let all = broken(family, Case::solve);
    assert!(all.is_empty(), "outside the limits:\n{}\nagain: {REPLAY} -- {family}", all.join("\n"));
}

#[test]
fn charging_through_a_flashing_orifice_and_a_hose_takes_the_time_and_gives_the_mass_it_should() {
    within_limits("f3a");
}

#[test]
fn recovery_through_a_hose_takes_the_time_and_gives_the_mass_it_should() {
    within_limits("f3b");
}

#[test]
fn charging_and_recovery_through_hoses_hold_at_the_tolerance_of_scenarios_too() {
    let all = broken("f3", |case| {
        let mut rig = case.rig()?;
        rig.tolerance = Tolerance::STATION.relative;
        case.solve_with(&rig, &Reference::read(&case.path())?)
    });
    assert!(
        all.is_empty(),
        "outside the limits with `tolerance = {:e}` in the rig:\n{}\nagain: {REPLAY} -- CASE CHANGED_RIG tests/data/flow/CASE.csv",
        Tolerance::STATION.relative,
        all.join("\n")
    );
}

#[test]
fn water_condenses_freezes_and_comes_back_as_it_should() {
    within_limits("f4");
}

#[test]
fn oil_takes_up_refrigerant_and_gives_it_back_as_it_should() {
    within_limits("f5");
}

#[test]
fn a_contaminated_charge_leaves_the_purity_it_should() {
    within_limits("f6");
}

/// A series that is the reference itself.
fn mirrored(case: &Case, reference: &Reference) -> RigSeries {
    let clock = reference.column("t_s").expect("a clock");
    let mut columns = Vec::new();
    let mut from = Vec::new();
    for quantity in case.quantities {
        // Of a sum the first part is all, the others nothing.
        for (part, name) in quantity.signal.split(" + ").enumerate() {
            columns.push(Column { name: name.to_owned(), unit: "1" });
            from.push((part == 0).then(|| reference.column(quantity.column).expect("a column")));
        }
    }
    let rows = reference.rows.iter().map(|(phase, values)| Row {
        time: values[clock],
        phase: phase.clone(),
        values: from.iter().map(|at| at.map_or(0.0, |at| values[at])).collect(),
    });
    let rows: Vec<Row> = rows.collect();
    let seconds = rows.last().map_or(0.0, |row| row.time);
    RigSeries {
        columns,
        rows,
        steps: StepCount::default(),
        seconds,
        balance: Default::default(),
        fault: None,
        notes: Vec::new(),
    }
}

/// What a value must be moved by to lie half as far again outside its limit.
fn too_far(quantity: &Quantity, series: &RigSeries, row: usize, reference: &Reference) -> f64 {
    let column = reference.column(quantity.column).expect("a column");
    let value = reference.rows[row].1[column];
    let largest = reference.rows.iter().map(|row| row.1[column].abs()).fold(0.0, f64::max);
    let scale = match quantity.scale {
        Scale::Itself => value.abs(),
        Scale::Largest => largest,
        Scale::Fixed(scale) => scale,
        Scale::Signal(name) => series.rows[row].values[series.column(name).expect(name)],
    };
    -1.5 * quantity.limit * scale
}

#[test]
fn a_reference_held_against_itself_shows_nothing_and_any_value_moved_shows() {
    for case in CASES {
        let reference = Reference::read(&case.path()).expect("a reference");
        let series = mirrored(case, &reference);
        let same = case.compare(&series, &reference).expect("comparable");
        assert_eq!(same.broken(), Vec::<String>::new(), "{}", case.name);
        assert_eq!(same.rows, reference.rows.len(), "{}: all rows are compared", case.name);
        for (row, quantity) in case.quantities.iter().enumerate() {
            let row = row + reference.rows.len() / 2;
            if quantity.except == Except::First && reference.rows[row].0 != reference.rows[row - 1].0 {
                continue;
            }
            let mut moved = series.clone();
            let first = quantity.signal.split(" + ").next().expect("a signal");
            let at = moved.column(first).expect(first);
            moved.rows[row].values[at] += too_far(quantity, &series, row, &reference);
            let told = case.compare(&moved, &reference).expect("comparable").broken();
            assert!(
                told.iter().any(|line| line.contains(&format!(" {} is off", quantity.signal))),
                "{}: {} moved in row {row}, told {told:?}",
                case.name,
                quantity.signal
            );
        }
    }
}

#[test]
fn an_end_too_late_and_ice_too_late_show() {
    for case in CASES {
        let reference = Reference::read(&case.path()).expect("a reference");
        let mut late = mirrored(case, &reference);
        for row in &mut late.rows {
            row.time *= 1.03;
        }
        let told = case.compare(&late, &reference).expect("comparable").broken().join("\n");
        assert!(told.contains(": end "), "{}: {told}", case.name);
        assert_eq!(told.contains("first ice"), case.freezing.is_some(), "{}: {told}", case.name);
    }
}
