//! What is true of station and vehicle beside the plant's figures: sizes, what was ordered, what the vehicle really is.

use valvewright_core::frame::{ANALOG_COUNT, SCALE_COUNT};

use crate::fluid::{Fluid, FluidKind};
use crate::instrument::InstrumentSpec;
use crate::plant::NetworkSpec;
use crate::plant::spec::LawSpec;
use crate::scenario::Scenario;
use crate::scenario::model::OilKind;

use super::limits;

/// Of the station: these stay while vehicles come and go.
#[derive(Debug, Clone)]
pub struct Station {
    /// Its gas burns: R-1234yf does (ASHRAE 34 class A2L), R-134a does not (A1).
    pub burns: bool,
    /// Volume of the vessel, m3.
    pub vessel: f64,
    /// Densities of liquid and vapour at [`limits::FILLED_AT`], kg/m3.
    pub filled: (f64, f64),
    /// Set pressure of the relief valve, Pa; none without one.
    pub relief: Option<f64>,
    /// Air that the fan moves by design, m3/s; none where the cabinet is aired otherwise.
    pub fan: Option<f64>,
    /// Speed of the fan by design, rpm.
    pub fan_rpm: f64,
    /// Pressure of the air, Pa.
    pub barometer: f64,
    /// Range, lag and class of the loops: low, high, lag s, gain, offset, noise.
    pub loops: [[f64; 6]; ANALOG_COUNT],
    /// Counts at no load and per kilogram of the scales.
    pub scales: [(f64, f64); SCALE_COUNT],
}

impl Station {
    /// As the network and the instruments are made.
    pub fn of(spec: &NetworkSpec, scenario: &Scenario, instruments: &InstrumentSpec) -> Self {
        let element = |name: &str| spec.elements.iter().find(|e| e.name == name).map(|e| &e.law);
        let sat = Fluid::get(spec.fluid).sat(limits::FILLED_AT);
        Self {
            burns: spec.fluid == FluidKind::R1234yf,
            vessel: spec.volumes.iter().find(|v| v.name == "vessel").map_or(f64::NAN, |v| v.volume),
            filled: (sat.rho_l, sat.rho_v),
            relief: element("PSV-1")
                .and_then(|law| if let LawSpec::Relief(relief) = law { Some(relief.set) } else { None }),
            fan: element("K-1").and_then(|law| if let LawSpec::Fan(flow) = law { Some(*flow) } else { None }),
            fan_rpm: instruments.fan.nominal_rpm,
            barometer: scenario.site.barometer,
            loops: std::array::from_fn(|at| {
                let of = &instruments.analog[at];
                [of.low, of.high, of.lag_s, of.gain_class, of.offset_class, of.noise]
            }),
            scales: std::array::from_fn(|at| {
                let of = &instruments.scales[at];
                (of.zero_code, of.counts_per_gram * 1e3)
            }),
        }
    }

    /// Share of the vessel that `mass` kg would fill with liquid at [`limits::FILLED_AT`].
    pub fn filled(&self, mass: f64) -> f64 {
        let (liquid, vapour) = self.filled;
        ((mass / self.vessel - vapour) / (liquid - vapour)).max(0.0)
    }
}

/// Of the vehicle and its order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vehicle {
    /// Refrigerant that it shall leave with, kg; none where nothing is charged.
    pub target: Option<f64>,
    /// Its hole, m.
    pub hole: f64,
    /// Its compressor is driven by high voltage.
    pub high_voltage: bool,
    /// The station's new oil is not of the kind that it takes.
    pub other_oil: bool,
    /// Hydrocarbons and other gases in its refrigerant, by mass, 1: the plant carries them as its own.
    pub unseen_foreign: f64,
    /// Refrigerant that it came with, kg.
    pub content: f64,
}

impl Vehicle {
    /// Of a scenario with one job.
    pub fn of(scenario: &Scenario) -> Self {
        let car = &scenario.vehicle;
        let known = car.gas.r1234yf + car.gas.r134a;
        Self {
            target: Some(scenario.order.charge).filter(|kg| *kg > 0.0),
            hole: car.leak,
            high_voltage: car.high_voltage,
            other_oil: !alike(scenario.station.new_oil, car.oil),
            unseen_foreign: (1.0 - known).clamp(0.0, 1.0),
            content: car.content,
        }
    }
}

/// Whether two oils mix without harm: grades of one kind do.
fn alike(a: OilKind, b: OilKind) -> bool {
    let polyol_ester = |kind| matches!(kind, OilKind::Poe68);
    polyol_ester(a) == polyol_ester(b)
}
