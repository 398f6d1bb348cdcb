//! How much passes an element out of a vessel at 20 degC into vacuum: what a flow that is stated in g/s is measured by.

use crate::fluid::{Fluid, FluidKind};
use crate::plant::spec::{AmbientSpec, Amount, ElementSpec, FillSpec, PlaceKind, Tolerance, VolumeSpec};
use crate::plant::{NetworkSpec, Plant};

/// The vessel's temperature, K.
const WARM: f64 = 293.15;
/// Its volume, m3, and liquid's share of it: enough of both, whichever is drawn.
const VOLUME: f64 = 0.01;
const LIQUID: f64 = 0.5;
/// What counts as vacuum, Pa.
const VACUUM: f64 = 100.0;

/// Flow through the element, fully open, kg/s; 0 where the laws have none.
pub(super) fn flow(element: &ElementSpec, fluid: FluidKind) -> f64 {
    let sat = Fluid::get(fluid).sat(WARM);
    let mass = VOLUME * (LIQUID * sat.rho_l + (1.0 - LIQUID) * sat.rho_v);
    let volume = |name: &str, refrigerant: Amount| VolumeSpec {
        name: name.to_owned(),
        kind: PlaceKind::Closed,
        volume: VOLUME,
        fill: FillSpec { temperature: WARM, refrigerant, second: 0.0, air: Amount::Mass(0.0), humidity: 0.0 },
        isothermal: false,
        compliance: 0.0,
        wall: None,
        cold_wall: None,
        oil: None,
        pool: None,
        air_uptake: None,
        dip_margin: 0.0,
    };
    let mut element = ElementSpec { name: "hole".into(), from: "full".into(), to: "empty".into(), ..element.clone() };
    element.actuator.start = 1.0;
    let network = NetworkSpec {
        fluid,
        second: None,
        mixing: crate::plant::spec::Mixing::default(),
        ambient: AmbientSpec::default(),
        volumes: vec![volume("full", Amount::Mass(mass)), volume("empty", Amount::Pressure(VACUUM))],
        elements: vec![element],
    };
    let plant = Plant::new(&network, Tolerance::STATION).ok();
    plant.and_then(|plant| plant.signal("hole.flow").map(|signal| plant.read(signal))).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::spec::{ActuatorSpec, Draw, LawSpec, Nozzle, OrificeSpec};

    #[test]
    fn a_hole_passes_what_the_textbook_says_of_it() {
        let hole = |draw: Draw| ElementSpec {
            name: String::new(),
            from: String::new(),
            to: String::new(),
            law: LawSpec::Orifice(OrificeSpec {
                diameter: 1e-3,
                discharge: 1.0,
                nozzle: Nozzle::Real { k: 0.0 },
                draw: [draw; 2],
                nonequilibrium: 1.0,
                one_way: true,
                cracking: 0.0,
                regular: 10.0,
            }),
            actuator: ActuatorSpec::default(),
        };
        // Choked gas of 5.9 bar, 33 kg/m3 and k 1.07: A sqrt(k p rho) (2/(k+1))^((k+1)/2/(k-1)) = 3.58 g/s x 0.60
        // (by hand).
        let gas = flow(&hole(Draw::Vapour), FluidKind::R1234yf) * 1e3;
        assert!((gas - 2.15).abs() < 0.1, "{gas} g/s");
        let liquid = flow(&hole(Draw::Liquid), FluidKind::R1234yf) * 1e3;
        // Liquid that boils in the hole passes more than its gas, and less than liquid that does not boil would (some 25 g/s).
        assert!(liquid > gas && liquid < 30.0 * gas, "{liquid} g/s");
    }
}
