//! The flow laws stay within their limits on every row of the outside tables of nozzles and hoses (f1, f2; limits in `law_reference`).

use valvewright_tests::law_reference::checked;

fn within_limits(tables: &str, count: usize) {
    let all = checked().expect("the tables");
    let mine: Vec<_> = all.iter().filter(|one| one.table.starts_with(tables)).collect();
    assert_eq!(mine.len(), count, "laws held against {tables}");
    let broken: Vec<String> = mine.iter().filter(|one| !one.holds()).map(|one| one.line()).collect();
    for one in &mine {
        println!("{}", one.line());
    }
    assert!(
        broken.is_empty(),
        "outside the limits:\n{}\nagain: cargo run --release -p valvewright-tests --example reference -- {tables}",
        broken.join("\n")
    );
}

#[test]
fn nozzles_pass_what_homogeneous_equilibrium_says() {
    within_limits("f1", 6);
}

#[test]
fn hoses_pass_gas_with_friction_inertia_and_choking() {
    within_limits("f2_gas", 1);
}

#[test]
fn hoses_pass_liquid_with_churchills_friction() {
    within_limits("f2_liquid", 2);
}

#[test]
fn hoses_pass_liquid_and_vapour_with_the_named_correlation() {
    within_limits("f2_wet", 1);
}

#[test]
fn hoses_pass_thin_gas_down_to_molecular_flow() {
    within_limits("f2_rarefied", 1);
}

#[test]
fn every_row_of_every_table_is_used() {
    let all = checked().expect("the tables");
    let rows = |table: &str, law: &str| {
        all.iter().filter(|one| one.table == table && one.law.contains(law)).map(|one| one.rows.len()).sum::<usize>()
    };
    for fluid in ["f1_R1234yf", "f1_R134a"] {
        assert_eq!(rows(fluid, "flashing") + rows(fluid, "real"), 504, "{fluid}");
    }
    for (table, law, count) in
        [("f2_gas", "", 864), ("f2_liquid", "hose", 504), ("f2_wet", "", 900), ("f2_rarefied", "", 576)]
    {
        assert_eq!(rows(table, law), count, "{table}");
    }
}
