//! What of a scenario the controller gets: the station's configuration, its instruments, the work order.

use valvewright_core::config::StationConfig;
use valvewright_core::job::{PhaseSet, WorkOrder};
use valvewright_core::sense::SenseConfig;
use valvewright_core::units::{AbsPa, Microlitre, Milligram, Millis};

use super::network::OIL_DENSITY;
use crate::instrument::InstrumentSpec;
use crate::scenario::Scenario;

fn scaled(value: f64, by: f64) -> i32 {
    (value * by).round().clamp(f64::from(i32::MIN), f64::from(i32::MAX)) as i32
}

pub(super) fn millis(seconds: f64) -> Millis {
    Millis(u32::try_from(scaled(seconds, 1e3)).unwrap_or(0))
}

/// The core's configuration for this scenario's station.
pub fn station_config(scenario: &Scenario) -> StationConfig {
    let scan = millis(scenario.station.scan);
    StationConfig {
        scan,
        sense: SenseConfig::for_scan(scan),
        barometer: AbsPa(scaled(scenario.site.barometer, 1.0)),
        ..StationConfig::reference(scenario.station.refrigerant)
    }
}

/// How long the vessel had been left alone when the job begins.
pub fn vessel_rest(scenario: &Scenario) -> Millis {
    millis(scenario.station.rested)
}

/// Instruments of the reference station, their scales wired as the core's calibration expects them.
pub(super) fn instrument_spec(config: &StationConfig) -> InstrumentSpec {
    let mut spec = InstrumentSpec::default();
    for (device, scale) in spec.scales.iter_mut().zip(&config.sense.scales) {
        let cal = &scale.cal;
        let span = f64::from(cal.span_code()) - f64::from(cal.zero_code());
        device.zero_code = f64::from(cal.zero_code());
        device.counts_per_gram = span / (f64::from(cal.span_mass().0) * 1e-3);
    }
    spec
}

/// The core's work order for this scenario.
pub fn work_order(scenario: &Scenario) -> WorkOrder {
    let order = &scenario.order;
    let phases = PhaseSet::of(&order.phases);
    WorkOrder {
        phases,
        charge: Milligram(scaled(order.charge, 1e6)),
        sides: order.sides,
        evacuate: millis(order.evacuate_time),
        depth: AbsPa(scaled(order.evacuate_depth, 1.0)),
        leak_hold: millis(order.leak_hold),
        test_over: AbsPa(scaled(order.test_over, 1.0)),
        test_hold: millis(order.test_hold),
        circuit: Microlitre(scaled(scenario.vehicle.volumes.total(), 1e9)),
        oil_extra: Milligram(scaled(order.inject_oil * OIL_DENSITY, 1e6)),
        oil_replace: true,
        high_voltage: scenario.vehicle.high_voltage,
    }
}
