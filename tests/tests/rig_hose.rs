//! Hoses near rest and with air beside what boils: laminar flow by its textbook law, and no jump where a trace of liquid joins.

use valvewright_sim::plant::{Plant, Tolerance, parse};
use valvewright_sim::scenario::diagnostic::Source;

fn flow(text: &str) -> (f64, f64) {
    let network = parse::network(&Source::new("test.toml", text)).unwrap_or_else(|all| panic!("{}", all[0]));
    let plant = Plant::new(&network, Tolerance::STATION).expect("network builds");
    let read = |name: &str| plant.read(plant.signal(name).unwrap_or_else(|| panic!("no signal {name}")));
    (read("hose.flow"), read("left.p") - read("right.p"))
}

/// Hagen-Poiseuille, w = pi D^4 rho dp/(128 mu L); air at 20 degC and 100 kPa: 1.188 kg/m3 (ideal gas), 18.2 uPa s (handbooks, from memory).
#[test]
fn laminar_flow_goes_with_the_head_down_to_one_pascal() {
    for head in [1.0, 10.0, 100.0] {
        let text = format!(
            "refrigerant = \"R1234yf\"\n[volume.left]\nvolume = \"2 L\"\ntemperature = \"20 degC\"\nair_pressure = \"{} Pa\"\n\
             [volume.right]\nvolume = \"2 L\"\ntemperature = \"20 degC\"\nair_pressure = \"100 kPa\"\n\
             [element.hose]\nkind = \"hose\"\nfrom = \"left\"\nto = \"right\"\ndiameter = \"3 mm\"\nlength = \"3 m\"\nsmoothing = \"20 Pa\"\n\
             opening = 1.0\n",
            100_000.0 + head
        );
        let expected = std::f64::consts::PI * 3e-3f64.powi(4) * 1.188 * head / (128.0 * 18.2e-6 * 3.0);
        let (seen, _) = flow(&text);
        assert!((seen / expected - 1.0).abs() < 0.03, "{seen} kg/s at {head} Pa, {expected} kg/s by the textbook");
    }
}

#[test]
fn a_trace_of_liquid_under_air_passes_about_as_the_gas_does() {
    // Saturated vapour fills the volume with 0.69 g at -3.6 degC (own tables); the air makes up most of 20 bar.
    let at = |grams: f64, air_right: f64| {
        flow(&format!(
            "refrigerant = \"R1234yf\"\n[volume.left]\nvolume = \"54.3 mL\"\ntemperature = \"-3.6 degC\"\nrefrigerant = \"{grams} g\"\n\
             air_pressure = \"18 bar\"\noutlet_margin = \"3 g\"\n\
             [volume.right]\nvolume = \"2 L\"\ntemperature = \"-3.6 degC\"\nair_pressure = \"{air_right} bar\"\n\
             [element.hose]\nkind = \"hose\"\nfrom = \"left\"\nto = \"right\"\ndiameter = \"4.8 mm\"\nlength = \"3 m\"\nfittings = 50\n\
             draws = \"liquid\"\nopening = 1.0\n"
        ))
    };
    for air_right in [20.0, 18.0, 10.0] {
        let (dry, head) = at(0.66, air_right);
        let dry = dry / head.sqrt();
        for grams in [0.70, 0.72, 0.74, 0.78] {
            let (wet, head) = at(grams, air_right);
            let wet = wet / head.sqrt();
            assert!(
                (0.7..1.5).contains(&(wet / dry)),
                "{grams} g against {air_right} bar: {wet} and {dry} kg/(s Pa^0.5)"
            );
        }
    }
}
