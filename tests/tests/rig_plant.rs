//! The plant's own behaviour beyond the reference cases: balances, liquid-full hoses, valves, rewinding, diagnostics.

use valvewright_sim::plant::rig::{RigSpec, parse_rig, run_rig, shipped, shipped_text};
use valvewright_sim::plant::spec::Amount;
use valvewright_sim::plant::{NetworkSpec, Plant, Tolerance, parse};
use valvewright_sim::scenario::diagnostic::Source;

fn network(text: &str) -> NetworkSpec {
    parse::network(&Source::new("test.toml", text)).unwrap_or_else(|all| panic!("{}", all[0]))
}

fn rig(text: &str) -> RigSpec {
    parse_rig(&Source::new("test.toml", text)).unwrap_or_else(|all| panic!("{}", all[0]))
}

fn plant(text: &str) -> Plant {
    Plant::new(&network(text), Tolerance::STATION).expect("network builds")
}

fn read(plant: &Plant, name: &str) -> f64 {
    plant.read(plant.signal(name).unwrap_or_else(|| panic!("no signal {name}")))
}

fn set(plant: &mut Plant, name: &str, on: f64) {
    let element = plant.element(name).unwrap_or_else(|| panic!("no element {name}"));
    plant.set(element, on);
}

const STATION: &str = include_str!("../data/rigs/workshop.toml");

#[test]
fn a_whole_service_keeps_mass_and_energy() {
    let mut spec = rig(STATION);
    for tolerance in [1e-5, 2e-4, 1e-3] {
        spec.tolerance = tolerance;
        let series = run_rig(&spec, |_| true).expect("the rig runs");
        let balance = series.balance;
        assert_eq!(series.fault, None, "at tolerance {tolerance}");
        let mass = balance.mass_error_kg.abs() / balance.start_kg;
        let energy = balance.energy_error_j.abs() / balance.energy_scale_j;
        assert!(mass < 1e-9, "refrigerant off by {mass:e} of the inventory at tolerance {tolerance}");
        assert!(energy < 1e-6, "energy off by {energy:e} at tolerance {tolerance}");
        let other = balance.air_error_kg.abs() + balance.water_error_kg.abs();
        assert!(other < 1e-12 && balance.oil_error_kg.abs() < 1e-9, "{balance:?}");
        assert!(series.rows.iter().flat_map(|row| &row.values).all(|value| value.is_finite()), "a value is not finite");
    }
}

#[test]
fn a_whole_service_at_the_tolerance_of_scenarios_agrees_with_a_fine_one() {
    let mut spec = rig(STATION);
    let mut run = |tolerance: f64| {
        spec.tolerance = tolerance;
        let series = run_rig(&spec, |_| true).expect("the rig runs");
        let end = |phase: &str, name: &str| {
            let row = series.rows.iter().rfind(|row| row.phase == phase).expect(phase);
            (row.time, row.values[series.column(name).expect(name)])
        };
        let recovered = end("recover", "vessel.m");
        let evacuated = end("evacuate", "vehicle_low.p");
        (recovered.0, recovered.1, evacuated.1, end("settle", "vessel.m").1)
    };
    let (fine, coarse) = (run(1e-6), run(Tolerance::STATION.relative));
    assert!((fine.0 - coarse.0).abs() < 0.002 * fine.0, "recovery ends at {} s and {} s", fine.0, coarse.0);
    assert!((fine.1 - coarse.1).abs() < 1e-3, "vessel holds {} kg and {} kg after recovery", fine.1, coarse.1);
    assert!((fine.2 / coarse.2 - 1.0).abs() < 0.005, "evacuated to {} Pa and {} Pa", fine.2, coarse.2);
    assert!((fine.3 - coarse.3).abs() < 1e-3, "vessel holds {} kg and {} kg after charging", fine.3, coarse.3);
}

#[test]
fn the_same_run_gives_the_same_bytes() {
    let spec = rig(shipped_text("b2").expect("b2 is shipped"));
    let text = || run_rig(&spec, |_| true).expect("runs").to_csv();
    assert_eq!(text(), text());
}

const TWO: &str = r#"
refrigerant = "R1234yf"
[volume.left]
volume = "2 L"
refrigerant = "300 g"
[volume.right]
volume = "3 L"
air_pressure = "20 kPa"
[element.valve]
kind = "orifice"
from = "left"
to = "right"
diameter = "2 mm"
stroke = "0.4 s"
"#;

#[test]
fn advancing_in_small_bits_changes_nothing() {
    let mut coarse = plant(TWO);
    let mut fine = plant(TWO);
    set(&mut coarse, "valve", 1.0);
    set(&mut fine, "valve", 1.0);
    coarse.advance(30.0);
    for tick in 1..=600 {
        fine.advance(f64::from(tick) * 0.05);
    }
    assert_eq!(read(&coarse, "left.p").to_bits(), read(&fine, "left.p").to_bits());
    assert_eq!(coarse.steps(), fine.steps());
}

#[test]
fn a_command_takes_effect_at_its_own_time() {
    let mut plant = plant(TWO);
    set(&mut plant, "valve", 1.0);
    plant.advance(7.3);
    assert!(plant.horizon() > 7.3, "the plant looks ahead");
    set(&mut plant, "valve", 0.0);
    plant.advance(7.7 + 1e-9);
    let shut = read(&plant, "right.m");
    assert_eq!(read(&plant, "valve.opening"), 0.0, "shut after its stroke of 0.4 s");
    plant.advance(100.0);
    assert!((read(&plant, "right.m") - shut).abs() < 1e-12, "nothing flows once shut");
    assert!(shut > 1e-3, "something flowed before, {shut} kg");
}

#[test]
fn volumes_come_to_one_pressure_and_stay_there() {
    let mut plant = plant(TWO);
    set(&mut plant, "valve", 1.0);
    plant.advance(3600.0);
    let (left, right) = (read(&plant, "left.p"), read(&plant, "right.p"));
    assert!((left / right - 1.0).abs() < 1e-3, "{left} Pa and {right} Pa");
    assert_eq!(plant.fault(), None);
}

#[test]
fn a_hose_can_be_full_of_liquid_and_warm_up() {
    let mut plant = plant(
        r#"
refrigerant = "R1234yf"
[ambient]
temperature = "40 degC"
[volume.vessel]
volume = "12 L"
temperature = "20 degC"
refrigerant = "6 kg"
[volume.hose]
volume = "54 mL"
temperature = "20 degC"
air_pressure = "100 Pa"
compliance = "2e-9 1/Pa"
[volume.hose.wall]
heat_capacity = "150 J/K"
to_surroundings = "2 W/K"
wet = "6 W/K"
temperature = "10 degC"
[element.fill]
kind = "liquid orifice"
from = "vessel"
to = "hose"
diameter = "1 mm"
"#,
    );
    set(&mut plant, "fill", 1.0);
    plant.advance(60.0);
    assert!(read(&plant, "hose.level") > 0.9, "level {}", read(&plant, "hose.level"));
    set(&mut plant, "fill", 0.0);
    let before = read(&plant, "hose.p");
    plant.advance(1200.0);
    let after = read(&plant, "hose.p");
    assert_eq!(plant.fault(), None);
    assert!(after > before + 2e5, "locked-in liquid warms from {before} Pa to {after} Pa");
    assert!(after < 2e7, "the soft hose takes up the swelling, {after} Pa");
    assert!((read(&plant, "hose.t") - 313.15).abs() < 1.0);
}

/// A warm circuit, a cool hose behind its coupler's two one-way paths, and a manifold behind an open valve.
const COOL_HOSE: &str = r#"
refrigerant = "R1234yf"
[ambient]
temperature = "25 degC"
[volume.circuit]
volume = "2 L"
temperature = "37 degC"
refrigerant = "300 g"
[volume.circuit.wall]
heat_capacity = "5000 J/K"
to_surroundings = "8 W/K"
surroundings = "45 degC"
wet = "30 W/K"
dry = "3 W/K"
half_liquid = "50 g"
[volume.hose]
volume = "54.3 mL"
temperature = "30 degC"
refrigerant = "50 g"
compliance = "2e-8 1/Pa"
[volume.hose.wall]
heat_capacity = "600 J/K"
to_surroundings = "3 W/K"
wet = "8 W/K"
dry = "1 W/K"
half_liquid = "4 g"
[volume.manifold]
volume = "10 mL"
temperature = "30 degC"
refrigerant = "5 g"
compliance = "2e-8 1/Pa"
[volume.manifold.wall]
heat_capacity = "500 J/K"
to_surroundings = "1 W/K"
wet = "3 W/K"
[element.out]
kind = "check valve"
from = "circuit"
to = "hose"
diameter = "2.2 mm"
discharge = 0.7
exponent = 1.1
smoothing = "3 kPa"
opening = 1.0
[element.in]
kind = "liquid orifice"
from = "hose"
to = "circuit"
diameter = "1.6 mm"
discharge = 0.6
smoothing = "12 kPa"
opening = 1.0
[element.duct]
kind = "duct"
from = "hose"
to = "manifold"
diameter = "4.8 mm"
length = "3 m"
viscosity = "1.3e-5 Pa s"
entrance_discharge = 0.6
opening = 1.0
"#;

#[test]
fn a_cool_hose_fills_up_in_few_steps() {
    let mut plant = plant(COOL_HOSE);
    plant.advance(1200.0);
    let (hose, circuit) = (read(&plant, "hose.p"), read(&plant, "circuit.p"));
    assert!(read(&plant, "hose.level") > 0.99, "the circuit's vapour condenses in it: {}", read(&plant, "hose.level"));
    assert!(
        (hose / circuit - 1.0).abs() < 0.01,
        "one pressure on both sides of the coupler, {hose} Pa and {circuit} Pa"
    );
    assert!(read(&plant, "hose.t") < read(&plant, "circuit.t") - 3.0, "full of liquid below its boiling point");
    assert_eq!(plant.fault(), None);
    let balance = plant.balance();
    assert!(balance.mass_error_kg.abs() < 1e-12 && balance.energy_error_j.abs() < 1e-5, "{balance:?}");
    // With a corner in the pressure where the hose is just full, steps bounce off it: 1.4 million tries instead of some 3000.
    let steps = plant.steps();
    assert!(steps.accepted + steps.rejected < 12_000, "{steps:?}");
}

#[test]
fn a_check_valve_lets_nothing_back() {
    let mut plant = plant(
        &TWO.replace("kind = \"orifice\"", "kind = \"check valve\"")
            .replace("from = \"left\"\nto = \"right\"", "from = \"right\"\nto = \"left\""),
    );
    set(&mut plant, "valve", 1.0);
    plant.advance(60.0);
    assert!((read(&plant, "right.m")).abs() < 1e-12, "refrigerant went back through the check valve");
}

#[test]
fn a_relief_valve_lifts_and_reseats() {
    let mut plant = plant(
        r#"
refrigerant = "R134a"
[volume.vessel]
volume = "12 L"
temperature = "50 degC"
refrigerant = "6 kg"
[volume.vessel.wall]
heat_capacity = "3 kJ/K"
wet = "30 W/K"
[volume.cabinet]
kind = "cabinet"
volume = "0.15 m3"
[element.relief]
kind = "relief valve"
from = "vessel"
to = "cabinet"
diameter = "4 mm"
set = "14 bar"
reseat = "12.5 bar"
[element.heater]
kind = "heater"
from = "vessel"
power = "2 kW"
to_wall = "50 W/K"
[element.fan]
kind = "fan"
from = "cabinet"
flow = "60 m3/h"
"#,
    );
    set(&mut plant, "heater", 1.0);
    let (mut most, mut vented, mut share): (f64, f64, f64) = (0.0, 0.0, 0.0);
    let mut least = f64::MAX;
    for tick in 1..9000 {
        plant.advance(0.1 * f64::from(tick));
        most = most.max(read(&plant, "vessel.p"));
        vented = vented.max(read(&plant, "relief.flow"));
        share = share.max(read(&plant, "cabinet.lfl"));
        if vented > 0.0 {
            least = least.min(read(&plant, "vessel.p"));
            set(&mut plant, "heater", 0.0);
        }
    }
    assert!(vented > 1e-3, "it lifts");
    assert!(most < 15.4e5, "and holds the pressure, {most} Pa");
    assert!(read(&plant, "relief.flow").abs() < 1e-12, "and reseats, {} Pa left", read(&plant, "vessel.p"));
    // Boiling goes on after it shut, so the lowest pressure since it lifted tells where it shut.
    let low = least - 101_325.0;
    assert!((12.4e5..=12.55e5).contains(&low), "shut at {low} Pa above ambient, 12.5 bar is the reseat pressure");
    assert!(share > 0.1, "the cabinet fills with gas, {share} of the limit");
    let before = read(&plant, "cabinet.m");
    set(&mut plant, "fan", 1.0);
    plant.advance(plant.time() + 9.0);
    // 0.15 m3 aired with 60 m3/h: one air change in 9 s leaves 1/e (well mixed).
    let ratio = read(&plant, "cabinet.m") / before;
    assert!((ratio - (-1f64).exp()).abs() < 2e-3, "one air change leaves {ratio}");
    let balance = plant.balance();
    assert!(balance.mass_error_kg.abs() < 1e-9, "{balance:?}");
}

#[test]
fn oil_goes_with_the_liquid_and_through_its_lines() {
    let mut plant = plant(
        r#"
refrigerant = "R134a"
[volume.car]
volume = "2 L"
refrigerant = "500 g"
[volume.car.oil]
mass = "80 g"
[volume.separator]
volume = "0.6 L"
refrigerant_pressure = "50 kPa"
[volume.separator.wall]
heat_capacity = "1 kJ/K"
wet = "15 W/K"
to_surroundings = "3 W/K"
[volume.separator.oil]
mass = "2 g"
dissolved = "0 g"
[volume.used]
kind = "bottle"
volume = "0.5 L"
[volume.used.oil]
mass = "0 g"
[element.inlet]
kind = "orifice"
from = "car"
to = "separator"
diameter = "1 mm"
draws = "mixed"
[element.drain]
kind = "oil line"
from = "separator"
to = "used"
flow_at_1_bar = "10 g/s"
"#,
    );
    set(&mut plant, "inlet", 1.0);
    plant.advance(20.0);
    let caught = read(&plant, "separator.m_oil");
    assert!(caught > 0.004, "{caught} kg of oil in the separator");
    set(&mut plant, "inlet", 0.0);
    set(&mut plant, "drain", 1.0);
    plant.advance(60.0);
    assert!(read(&plant, "used.m_oil") > 0.9 * caught, "drained {} of {caught} kg", read(&plant, "used.m_oil"));
    let balance = plant.balance();
    assert!(balance.oil_error_kg.abs() < 1e-12 && balance.mass_error_kg.abs() < 1e-12, "{balance:?}");
}

#[test]
fn a_parameter_can_change_under_way() {
    let mut plant = plant(TWO);
    set(&mut plant, "valve", 1.0);
    plant.advance(5.0);
    let flow = read(&plant, "valve.flow");
    plant.set_param("valve.diameter", 1e-3).expect("a known parameter");
    plant.advance(5.0 + 1e-6);
    let less = read(&plant, "valve.flow");
    assert!((less / flow - 0.25).abs() < 0.01, "a quarter of the area: {flow} then {less} kg/s");
    let wrong = plant.set_param("valve.bore", 1e-3).expect_err("an unknown parameter");
    assert!(wrong.to_string().contains("valve.bore"), "{wrong}");
}

#[test]
fn shipped_rigs_stay_valid_with_the_other_refrigerant() {
    // Mixtures already hold both, and the oil's figures of f5 belong to its refrigerant.
    for (name, text) in shipped().iter().filter(|(name, _)| !name.starts_with(['f'])) {
        let spec = rig(&text.replace("R1234yf", "R134a").replace("for = \"1 h\"", "for = \"30 min\""));
        let series = run_rig(&spec, |_| true).unwrap_or_else(|wrong| panic!("{name}: {wrong}"));
        assert_eq!(series.fault, None, "{name}");
        assert!(
            series.balance.mass_error_kg.abs() <= 1e-9 * series.balance.start_kg.max(1e-3),
            "{name}: {:?}",
            series.balance
        );
    }
}

#[test]
fn wrong_rigs_are_told_where_and_why() {
    let good = shipped_text("b1").expect("b1 is shipped");
    for (from, to, wanted) in [
        ("from = \"loop\"", "from = \"lop\"", "nearest valid value: `loop`"),
        ("displacement = \"10 cm3\"", "displacment = \"10 cm3\"", "displacement"),
        ("volume = \"4 L\"", "volume = \"4 kg\"", "wrong unit"),
        ("until = \"loop.p < 40 kPa\"", "until = \"loop.q < 40 kPa\"", "`q` is no signal"),
        ("set = { compressor = 1 }", "set = { compresor = 1 }", "there is no element `compresor`"),
        ("speed = \"1440 rpm\"", "speed = \"1e9 rpm\"", "accepted range"),
        ("refrigerant = \"600 g\"", "refrigerant = \"600 g\"\nrefrigerant_pressure = \"1 bar\"", "keep one of them"),
    ] {
        let all = parse_rig(&Source::new("bad.toml", good.replace(from, to))).expect_err(to);
        let text: Vec<String> = all.iter().map(ToString::to_string).collect();
        let text = text.join("\n");
        assert!(text.contains(wanted), "{to}: {text}");
        assert!(text.contains("bad.toml:"), "{to}: no place in {text}");
    }
    let over = TWO.replace("refrigerant = \"300 g\"", "refrigerant = \"3 kg\"");
    let told = parse::network(&Source::new("bad.toml", over)).expect_err("3 kg do not fit into 2 L")[0].to_string();
    assert!(told.starts_with("bad.toml:5:") && told.contains("at most"), "{told}");
    let mut over = network(TWO);
    over.volume_mut("left").expect("it is there").fill.refrigerant = Amount::Mass(3.0);
    let told = Plant::new(&over, Tolerance::RIG).expect_err("3 kg do not fit into 2 L").to_string();
    assert!(told.contains("`left`") && told.contains("at most"), "{told}");
}
