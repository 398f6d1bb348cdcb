//! What a controller must know of its station, in SI, and the core's configuration made of it.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{ANALOG_COUNT, Actuators, Analog};
use valvewright_core::kept::Limits;
use valvewright_core::sense::SenseConfig;
use valvewright_core::sense::analog::ChannelConfig;
use valvewright_core::sense::scale::{ScaleCal, ScaleConfig};
use valvewright_core::token::CodeKey;
use valvewright_core::units::{AbsPa, Microlitre, Milligram, Millis};

use super::transmitters::{Transmitter, transmitter};

/// What a controller must know of its station. Every figure lies within the limits that the reader of the file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Vessel volume, m3.
    pub vessel: f64,
    /// Mass the vessel is rated for, kg.
    pub rated: f64,
    /// Mass that stays in the vessel, kg.
    pub heel: f64,
    /// Volume of one service hose, m3.
    pub hose: f64,
    /// Volume of the manifold, m3.
    pub manifold: f64,
    /// Time for five air changes of the cabinet, s.
    pub air_changes: f64,
    /// Effective flow area of the charge path to one side, m2.
    pub charge_area: f64,
    /// What C-1 draws at the pressure of its suction, m3/s.
    pub compressor_draws: f64,
    /// Hose pressure at which recovery ends, Pa absolute.
    pub recovery_end: f64,
    /// Hose pressure above which recovery starts again, Pa absolute.
    pub recovery_restart: f64,
    /// Throughput above which a straight rise is a leak, Pa m3/s.
    pub leak_limit: f64,
    /// Ranges that differ from the reference station's, in the unit of the instrument's truth, indexed by [`Analog`].
    pub ranges: [Option<(f64, f64)>; ANALOG_COUNT],
    /// Ranges of WT-1, WT-2 and WT-3, kg.
    pub scales: [f64; 3],
    /// What is built in.
    pub fitted: Actuators,
    /// What codes of its parts are made with.
    pub code_key: CodeKey,
    /// How long its parts that wear are good for.
    pub limits: Limits,
}

/// Rounded to a whole number of the core's unit.
fn whole(value: f64, by: f64) -> i32 {
    (value * by).round().clamp(f64::from(i32::MIN), f64::from(i32::MAX)) as i32
}

/// Rounded down, but for what reckoning in binary costs: what C-1 is taken to draw shall never be too much.
fn down(value: f64, by: f64) -> i32 {
    (value * by + 1e-6).floor().clamp(0.0, f64::from(i32::MAX)) as i32
}

impl Facts {
    /// The core's configuration.
    pub fn config(&self, refrigerant: Refrigerant, scan: Millis, barometer: AbsPa) -> StationConfig {
        StationConfig {
            refrigerant,
            scan,
            sense: self.sense(scan),
            vessel: Microlitre(whole(self.vessel, 1e9)),
            vessel_rated: Milligram(whole(self.rated, 1e6)),
            vessel_heel: Milligram(whole(self.heel, 1e6)),
            hose: Microlitre(whole(self.hose, 1e9)),
            manifold: Microlitre(whole(self.manifold, 1e9)),
            barometer,
            air_changes: Millis(whole(self.air_changes, 1e3).unsigned_abs()),
            charge_area_e9: whole(self.charge_area, 1e9),
            compressor_draws: down(self.compressor_draws, 1e6),
            recovery_end: AbsPa(whole(self.recovery_end, 1.0)),
            recovery_restart: AbsPa(whole(self.recovery_restart, 1.0)),
            leak_limit: whole(self.leak_limit, 1e6),
            fitted: self.fitted,
            code_key: self.code_key,
            limits: self.limits,
        }
    }

    fn sense(&self, scan: Millis) -> SenseConfig {
        let mut sense = SenseConfig::for_scan(scan);
        for ((input, channel), range) in Analog::ALL.into_iter().zip(&mut sense.channels).zip(&self.ranges) {
            if let Some((low, high)) = *range {
                *channel = ranged(channel, transmitter(input), low, high);
            }
        }
        let [vessel, used, new] = self.scales;
        for (scale, kg) in sense.scales.iter_mut().zip([vessel, vessel, used, new]) {
            *scale = spanned(scale, Milligram(whole(kg, 1e6)));
        }
        sense
    }
}

/// A channel of another range: what it shows below its low end grows with the span, as the class of its transmitter does.
fn ranged(reference: &ChannelConfig, kind: &Transmitter, low: f64, high: f64) -> ChannelConfig {
    let (was_low, was_high, noise, below): (i32, i32, u16, i32) = (*reference).into();
    let (low, high) = (whole(low, kind.core_per_truth), whole(high, kind.core_per_truth));
    let share = (f64::from(high) - f64::from(low)) / (f64::from(was_high) - f64::from(was_low));
    ChannelConfig::new(low, high, noise).seen_below(whole(f64::from(below), share))
}

/// A scale of another range: the same codes from nothing to full, so that no range comes nearer to a rail than another.
fn spanned(reference: &ScaleConfig, full: Milligram) -> ScaleConfig {
    let old = &reference.cal;
    let cal = ScaleCal::new(old.zero_code(), old.span_code(), full, old.tare());
    ScaleConfig { cal: cal.unwrap_or(*old), ..*reference }
}
