//! What of a scenario the controller gets: the station's configuration, its instruments, the work order.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::Analog;
use valvewright_core::job::{PhaseSet, WorkOrder};
use valvewright_core::kept::{BRIDGES, Hoses, Kept, Memory, PROGRAM, Start};
use valvewright_core::order::Procedure;
use valvewright_core::sense::scale::ScaleCal;
use valvewright_core::sense::{analog, scale};
use valvewright_core::token::Part;
use valvewright_core::units::{AbsPa, Microlitre, Milligram, Millis};

use super::bind::OIL_DENSITY;
use super::error::NetworkFault;
use super::network::station_of;
use crate::instrument::{InstrumentSpec, Instruments, LoopHealth};
use crate::scenario::Scenario;
use crate::station::transmitter;

fn scaled(value: f64, by: f64) -> i32 {
    (value * by).round().clamp(f64::from(i32::MIN), f64::from(i32::MAX)) as i32
}

pub(super) fn millis(seconds: f64) -> Millis {
    Millis(u32::try_from(scaled(seconds, 1e3)).unwrap_or(0))
}

/// The core's configuration for this scenario's station, as the station's file says it.
///
/// # Errors
/// The file cannot be read, or something in it is wrong.
pub fn station_config(scenario: &Scenario) -> Result<StationConfig, NetworkFault> {
    let scan = millis(scenario.station.scan);
    let barometer = AbsPa(scaled(scenario.site.barometer, 1.0));
    Ok(station_of(scenario)?.facts.config(scenario.station.refrigerant, scan, barometer))
}

/// Name and title of a scenario's station: the name is a shipped one or the path of its file.
///
/// # Errors
/// As [`station_config`].
pub fn station_name(scenario: &Scenario) -> Result<(String, String), NetworkFault> {
    let station = station_of(scenario)?;
    Ok((station.name.clone(), station.title.clone()))
}

/// How long the vessel had been left alone when the job begins.
pub fn vessel_rest(scenario: &Scenario) -> Millis {
    millis(scenario.station.rested)
}

/// What the record store holds when the job begins: as after commissioning, but for what the scenario says of it.
pub fn kept(scenario: &Scenario) -> Kept {
    let record = scenario.station.record;
    let gain = |cal: &ScaleCal, share: f64| scaled(f64::from(cal.gain()) * (1.0 + share), 1.0);
    let span = record.span_differs.and_then(|share| {
        let config = station_config(scenario).ok()?;
        let [a, b, ..] = &config.sense.scales;
        Some([gain(&a.cal, share), gain(&b.cal, share), 0, 0])
    });
    Kept {
        drier: Milligram(scaled(record.drier_used, 1e6)),
        pump_oil: record.pump_oil_used.round() as u32,
        unlocking: record.replacement_broken_off.then_some(Part::FilterDrier),
        span: span.unwrap_or([0; BRIDGES]),
        hoses: match record {
            _ if scenario.station.foreign_in_hoses > 0.0 => Hoses::Foreign,
            record if record.not_flushed => Hoses::Used,
            _ => Hoses::Flushed,
        },
        program: if record.program_changed { PROGRAM + 1 } else { PROGRAM },
        ..Kept::COMMISSIONED
    }
}

/// How the station starts when the job begins: switched on, with what its record holds.
pub fn start(scenario: &Scenario) -> Start {
    let memory = if scenario.station.record.lost { Memory::Lost } else { Memory::Sound(kept(scenario)) };
    Start { memory, ..Start::first(vessel_rest(scenario)) }
}

/// Instruments of a station: transmitters and scales of the ranges that its controller reckons with, and nothing on the wire of what
/// is not there.
pub(super) fn instruments(config: &StationConfig, seed: u64) -> Instruments {
    let mut made = Instruments::new(&instrument_spec(config), seed);
    if !config.heats() {
        made.set_loop(Analog::Tt3, LoopHealth::Open);
    }
    made
}

/// The instruments' data. A larger range of the same class errs and rustles more; a bigger platform has better cells, because its two
/// bridges may part by no more grams than a small one's (I20).
pub fn instrument_spec(config: &StationConfig) -> InstrumentSpec {
    let mut spec = InstrumentSpec::default();
    let channels = Analog::ALL.into_iter().zip(&config.sense.channels).zip(&analog::REFERENCE);
    for (device, ((input, channel), usual)) in spec.analog.iter_mut().zip(channels) {
        if (channel.low(), channel.high()) != (usual.low(), usual.high()) {
            let unit = transmitter(input).core_per_truth;
            let (low, high) = (f64::from(channel.low()) / unit, f64::from(channel.high()) / unit);
            let share = (high - low) / (device.high - device.low);
            (device.low, device.high) = (low, high);
            device.offset_class *= share;
            device.noise *= share;
        }
    }
    for (device, (scale, usual)) in spec.scales.iter_mut().zip(config.sense.scales.iter().zip(&scale::REFERENCE)) {
        let cal = &scale.cal;
        let span = f64::from(cal.span_code()) - f64::from(cal.zero_code());
        device.zero_code = f64::from(cal.zero_code());
        device.counts_per_gram = span / (f64::from(cal.span_mass().0) * 1e-3);
        let share = f64::from(cal.span_mass().0) / f64::from(usual.cal.span_mass().0);
        if share != 1.0 {
            device.noise_g *= share;
            device.drift_g_per_k *= share;
            device.gain_class /= share.max(1.0);
        }
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
        procedure: order.upkeep.map_or(Procedure::default(), |(of, _)| of),
        mass: Milligram(order.upkeep.map_or(0, |(_, mass)| scaled(mass, 1e6))),
    }
}
