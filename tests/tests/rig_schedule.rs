//! What a step of a rig may do besides opening elements: change parameters, move them in a ramp; and how a run ends that cannot go on.

use valvewright_sim::plant::rig::{RigSeries, RigSpec, parse_rig, run_rig};
use valvewright_sim::scenario::diagnostic::Source;

fn read(text: &str) -> Result<RigSpec, Vec<String>> {
    parse_rig(&Source::new("rig.toml", text)).map_err(|all| all.iter().map(ToString::to_string).collect())
}

fn run(text: &str) -> RigSeries {
    let spec = read(text).unwrap_or_else(|all| panic!("{}\n{text}", all.join("\n")));
    run_rig(&spec, |_| true).unwrap_or_else(|wrong| panic!("{wrong}\n{text}"))
}

/// One of each kind of element, and a volume with both walls.
const BENCH: &str = r#"title = "one of each"
refrigerant = "R134a"
output = "1 s"
[volume.loop]
volume = "4 L"
refrigerant = "200 g"
compliance = "1e-9 1/Pa"
[volume.loop.wall]
heat_capacity = "1 kJ/K"
to_surroundings = "5 W/K"
wet = "10 W/K"
[volume.loop.cold_wall]
heat_capacity = "500 J/K"
wet = "5 W/K"
[volume.tank]
volume = "10 L"
[volume.tank.oil]
mass = "10 g"
[volume.box]
kind = "cabinet"
volume = "150 L"
[volume.jar]
kind = "bottle"
volume = "1 L"
oil = { mass = "10 g" }
[element.valve]
kind = "orifice"
from = "loop"
to = "tank"
diameter = "1 mm"
[element.spray]
kind = "liquid orifice"
from = "loop"
to = "tank"
diameter = "1 mm"
[element.duct]
kind = "duct"
from = "loop"
to = "tank"
diameter = "4 mm"
length = "2 m"
opening = 0
[element.hose]
kind = "hose"
from = "loop"
to = "tank"
diameter = "4 mm"
length = "2 m"
opening = 0
[element.c]
kind = "compressor"
from = "tank"
to = "loop"
displacement = "8 cm3"
speed = "24 Hz"
[element.pump]
kind = "vacuum pump"
from = "tank"
to = "ambient"
speed = "70 L/min"
ultimate = "3 Pa"
[element.pump.oil]
[element.psv]
kind = "relief valve"
from = "loop"
to = "box"
diameter = "3 mm"
set = "16 bar"
[element.heater]
kind = "heater"
from = "loop"
power = "100 W"
[element.drain]
kind = "oil line"
from = "tank"
to = "jar"
flow_at_1_bar = "10 g/s"
[element.link]
kind = "heat link"
from = "loop"
to = "tank"
conductance = "1 W/K"
[element.fan]
kind = "fan"
from = "box"
flow = "60 m3/h"
"#;

fn step(keys: &str) -> String {
    format!("{BENCH}[[step]]\nname = \"s\"\nfor = \"2 s\"\n{keys}\n")
}

#[test]
fn every_parameter_a_step_may_change_is_known_to_the_plant() {
    for (name, value) in [
        ("valve.diameter", "2 mm"),
        ("valve.discharge", "50 %"),
        ("valve.exponent", "1.1"),
        ("valve.cracking", "1 kPa"),
        ("valve.nonequilibrium", "2"),
        ("valve.stroke", "1 s"),
        ("valve.leak_by", "1 %"),
        ("spray.diameter", "2 mm"),
        ("spray.discharge", "50 %"),
        ("duct.diameter", "3 mm"),
        ("duct.length", "1 m"),
        ("duct.count", "2"),
        ("hose.diameter", "3 mm"),
        ("hose.length", "1 m"),
        ("hose.count", "2"),
        ("hose.roughness", "0.1 mm"),
        ("hose.fittings", "3"),
        ("c.displacement", "9 cm3"),
        ("c.speed", "900 rpm"),
        ("c.volumetric_efficiency", "80 %"),
        ("c.clearance", "5 %"),
        ("c.isentropic_efficiency", "50 %"),
        ("c.condenser", "9 W/K"),
        ("c.idle_current", "1 A"),
        ("c.current_per_kilowatt", "5 A"),
        ("pump.speed", "30 L/min"),
        ("pump.ultimate", "10 Pa"),
        ("pump.stall", "3 bar"),
        ("pump.ballast", "3 L/min"),
        ("pump.idle_current", "1 A"),
        ("pump.current_per_kilowatt", "5 A"),
        ("psv.diameter", "2 mm"),
        ("psv.discharge", "50 %"),
        ("psv.set", "15 bar"),
        ("psv.reseat", "12 bar"),
        ("heater.power", "50 W"),
        ("heater.to_wall", "5 W/K"),
        ("drain.flow_at_1_bar", "5 g/s"),
        ("link.conductance", "2 W/K"),
        ("fan.flow", "30 m3/h"),
        ("loop.surroundings", "-20 degC"),
        ("loop.to_surroundings", "9 W/K"),
        ("loop.wet", "9 W/K"),
        ("loop.dry", "9 W/K"),
        ("loop.compliance", "2e-9 1/Pa"),
        ("ambient.temperature", "35 degC"),
        ("ambient.pressure", "90 kPa"),
        ("ambient.humidity", "80 %"),
    ] {
        run(&step(&format!("change = {{ \"{name}\" = \"{value}\" }}")));
    }
}

#[test]
fn a_change_acts_at_the_start_of_its_step() {
    let text = format!(
        "{BENCH}[[step]]\nname = \"wide\"\nset = {{ valve = 1 }}\nfor = \"1 s\"\n\
         [[step]]\nname = \"narrow\"\nfor = \"1 s\"\n[step.change]\n\"valve.diameter\" = \"0.5 mm\"\n"
    );
    let series = run(&text);
    let flow = series.column("valve.flow").expect("a signal");
    let first = |phase: &str| {
        let row = series.rows.iter().find(|row| row.phase == phase).expect(phase);
        (row.time, row.values[flow])
    };
    let last_wide = series.rows.iter().rfind(|row| row.phase == "wide").expect("rows").values[flow];
    let (time, narrow) = first("narrow");
    assert_eq!(time, 1.0);
    assert!((narrow / last_wide - 0.25).abs() < 1e-3, "a quarter of the area: {last_wide} then {narrow} kg/s");
}

#[test]
fn bare_dotted_keys_say_the_same_as_quoted_ones() {
    let change = |text: &str| read(text).unwrap_or_else(|all| panic!("{}", all.join("\n"))).steps.remove(0).change;
    let quoted =
        change(&step("[step.change]\n\"c.speed\" = \"600 rpm\"\n\"loop.cold_wall.surroundings\" = \"-5 degC\""));
    assert_eq!(quoted, [("c.speed".to_owned(), 10.0), ("loop.cold_wall.surroundings".to_owned(), 268.15)]);
    let bare = change(&step("[step.change]\nc.speed = \"600 rpm\"\nloop.cold_wall.surroundings = \"-5 degC\""));
    assert_eq!(bare, quoted);
}

#[test]
fn a_change_is_in_the_unit_of_its_key_and_within_the_file_s_range() {
    for (name, value, wanted) in [
        ("c.speed", "900 L", "a rotational speed is needed"),
        ("c.speed", "900000 rpm", "accepted range"),
        ("c.sped", "900 rpm", "these can: displacement, speed"),
        ("valve.speed", "900 rpm", "`speed` of `valve` cannot change"),
        ("cc.speed", "900 rpm", "`cc` is no volume, wall or element"),
        ("tank.surroundings", "20 degC", "`surroundings` of `tank` cannot change"),
        ("hose.roughness", "1 mm", "accepted range: 0 mm to 0.2 mm"),
        ("speed", "900 rpm", "names no parameter"),
    ] {
        let all = read(&step(&format!("[step.change]\n\"{name}\" = \"{value}\""))).expect_err(name);
        assert_eq!(all.len(), 1, "{}", all.join("\n"));
        assert!(all[0].contains(wanted) && all[0].contains("rig.toml:"), "{name}: {}", all[0]);
    }
}

#[test]
fn a_ramp_needs_a_step_of_known_length() {
    let ramp = "[step.ramp]\n\"loop.surroundings\" = \"-20 degC\"\n";
    let made = read(&step(ramp)).expect("a ramp over 2 s").steps.remove(0);
    assert_eq!(made.ramp[0].0, "loop.surroundings");
    assert!((made.ramp[0].1 - 253.15).abs() < 1e-9, "{:?}", made.ramp);
    read(&step("[step.ramp]\n\"loop.cold_wall.surroundings\" = \"-20 degC\"")).expect("the cold wall's, too");
    let head = format!("{BENCH}[[step]]\nname = \"s\"\n");
    for (text, wanted) in [
        (format!("{head}until = \"loop.p > 9 bar\"\n{ramp}"), "has an `until`"),
        (format!("{head}until = \"loop.p > 9 bar\"\nfor = \"9 s\"\n{ramp}"), "has an `until`"),
        (format!("{head}for = \"0 s\"\n{ramp}"), "takes no time"),
        (format!("{head}for = \"9 s\"\nstep = [{{ name = \"i\", for = \"1 s\" }}]\n{ramp}"), "steps of its own"),
        (step("[step.ramp]\n\"c.speed\" = \"900 rpm\""), "cannot move in a ramp"),
        (step("[step.ramp]\n\"tank.surroundings\" = \"9 degC\""), "cannot change"),
    ] {
        let all = read(&text).expect_err(wanted);
        assert_eq!(all.len(), 1, "{}", all.join("\n"));
        assert!(all[0].contains(wanted), "{}", all[0]);
    }
}
