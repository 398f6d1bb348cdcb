//! An abstract plant in whole numbers: readings stand at levels that somebody sets, follow the outputs roughly, or are replaced by raw counts.
//!
//! Promises nothing about physics. It keeps a healthy board alive (counts that rustle, converters that count, coils that follow), so that a
//! controller in front of it is stopped by what was set and not by a frozen input. The same calls give the same frames.

use valvewright_core::frame::{
    ANALOG_COUNT, Actuator, COUNTS_AT_24_MA, Feed, Machine, Outputs, RawFrame, SCALE_COUNT, ScaleSample, SelfChecks,
    SerialChunk, Switches,
};
use valvewright_core::sense::GasReport;
use valvewright_core::sense::identifier::{Flags, RequestListener, encode_report};
use valvewright_core::talk::Command;
use valvewright_core::units::Permille;

/// KT-1 when a plant begins, s.
const CLOCK: u32 = 1_000_000;
/// How long the fan turns before FSL-1 closes, and stands before it opens, ms.
const FAN_SHOWS: u32 = 3_000;
/// Lowest hose pressure that C-1 and P-1 reach, Pa.
const PULLED: (i32, i32) = (20_000, 15);

/// What the identifier answers.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Gas {
    /// Nothing.
    Silent,
    /// The station's own refrigerant.
    Own,
    /// Half of it is something else.
    Foreign,
}

/// What stands behind the inputs.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Plant {
    /// PT-1, PT-2, PT-3, PT-4, PT-5, Pa.
    pub pressure: [i32; 5],
    /// TT-1 to TT-4, 0.01 degC.
    pub warmth: [i32; 4],
    /// AT-2, 0.1 % LFL.
    pub lfl: i32,
    /// ET-1, mV.
    pub supply: i32,
    /// WT-1, WT-2, WT-3, mg.
    pub mass: [i32; 3],
    /// Counts of a loop in place of what it would show, in the order of the frame.
    pub raw: [Option<u16>; ANALOG_COUNT],
    /// Codes of a bridge in place of what it would show.
    pub codes: [Option<i32>; SCALE_COUNT],
    /// Contacts that are open whatever else holds.
    pub open: u16,
    /// Contacts that are closed whatever else holds.
    pub shut: u16,
    /// The identifier.
    pub gas: Gas,
    /// The record store answers nothing.
    pub store_stands: bool,
    /// Converters of the scales stand.
    pub frozen: bool,
    /// Self-checks that fail.
    pub failed: SelfChecks,
    /// Nothing follows the outputs but fan, coils and rail.
    pub stands: bool,
    /// The outputs of the last scan.
    pub outputs: Outputs,
    /// What C-1 brought has raised PT-1 by, Pa.
    raised: i32,
    now: u32,
    scans: u32,
    sequence: u8,
    fan_for: u32,
    listener: RequestListener,
    answer: Option<GasReport>,
}

impl Default for Plant {
    /// At rest at 21 degC with a charged vehicle and 6 kg of R-1234yf in the vessel.
    fn default() -> Self {
        Self {
            pressure: [610_000, 600_000, 600_000, 101_325, 50_000],
            warmth: [2_100; 4],
            lfl: 0,
            supply: 24_000,
            mass: [6_000_000, 0, 250_000],
            raw: [None; ANALOG_COUNT],
            codes: [None; SCALE_COUNT],
            open: 0,
            shut: 0,
            gas: Gas::Own,
            store_stands: false,
            frozen: false,
            failed: SelfChecks::NONE,
            stands: false,
            outputs: Outputs::default(),
            raised: 0,
            now: 0,
            scans: 0,
            sequence: 0,
            fan_for: 0,
            listener: RequestListener::new(),
            answer: None,
        }
    }
}

impl Plant {
    /// Monotonic tick, ms.
    pub fn now(&self) -> u32 {
        self.now
    }

    /// The inputs of a scan so many milliseconds after the last.
    pub fn frame(&mut self, ms: u32, command: Option<Command>) -> RawFrame {
        self.now = self.now.wrapping_add(ms);
        self.scans = self.scans.wrapping_add(1);
        self.sequence = self.sequence.wrapping_add(1);
        if !self.stands {
            self.react(ms);
        }
        RawFrame {
            analog: self.loops(),
            scales: self.bridges(),
            switches: self.contacts(ms),
            identifier: self.identifier(),
            machine: Machine {
                sequence: self.sequence,
                beat: self.now as u16,
                clock: CLOCK.wrapping_add(self.now / 1_000),
                coils: self.outputs.dropped.leave(self.outputs.on),
                failed: self.failed,
                stored: if self.store_stands { 0 } else { self.outputs.keep },
            },
            command,
        }
    }

    /// Takes in what the controller answered.
    pub fn take(&mut self, outputs: Outputs) {
        if let Some(id) = self.listener.feed(&outputs.identifier) {
            let shares = match self.gas {
                Gas::Silent => None,
                Gas::Own => Some((998, 1)),
                Gas::Foreign => Some((500, 499)),
            };
            self.answer = shares.map(|(own, other)| GasReport {
                sample_id: id,
                r134a: Permille(0),
                r1234yf: Permille(own),
                other: Permille(other),
                hydrocarbon: Permille(1_000 - own - other),
                air: Permille(5),
                healthy: true,
            });
        }
        self.outputs = outputs;
    }

    /// Recovery lowers the hoses, the pump the vacuum, a charge the vessel's mass.
    fn react(&mut self, ms: u32) {
        let on = self.outputs.on;
        let parts = i32::try_from(ms.min(1_000)).unwrap_or(0);
        let [_, low, high, vacuum, separator] = &mut self.pressure;
        // 50 Pa a gram, and gone in a minute or two.
        let came = if on.has(Actuator::C1) && on.has(Actuator::Xv3) { parts / 5 } else { 0 };
        self.raised = (self.raised + came - parts / 25).clamp(0, 50_000);
        if on.has(Actuator::C1) && on.has(Actuator::Xv3) {
            for p in [&mut *low, &mut *high] {
                *p = (*p - *p / 20_000 * parts).max(PULLED.0);
            }
            self.mass[0] = self.mass[0].saturating_add(4 * parts);
        }
        if on.has(Actuator::Xv6) {
            for p in [&mut *low, &mut *high, &mut *vacuum] {
                *p = (*p - (*p / 5_000).max(1) * parts / 2).max(PULLED.1);
            }
        }
        if on.has(Actuator::Xv5) && on.has(Actuator::Xv10) {
            self.mass[0] = self.mass[0].saturating_sub(7 * parts);
            let vessel = self.pressure[0];
            for p in &mut self.pressure[1..3] {
                *p += (vessel - *p) / 50_000 * parts;
            }
        } else if on.has(Actuator::Xv3) {
            *separator = (*low).min(*high);
        }
        // PT-4 looks at the manifold.
        self.pressure[3] = self.pressure[3].max(self.pressure[1].min(self.pressure[2]).min(101_325));
        if on.has(Actuator::Xv8) {
            self.mass[1] = self.mass[1].saturating_add(parts / 5);
        }
        if on.has(Actuator::Xv9) {
            self.mass[2] = self.mass[2].saturating_sub(parts * 3 / 2);
        }
    }

    fn loops(&self) -> [u16; ANALOG_COUNT] {
        let on = self.outputs.on;
        let bar = |p: i32| counts(p, 0, 3_500_000);
        let warm = |t: i32| counts(t, -4_000, 16_000);
        let volts = |mv: i32| counts(mv, 0, 40_000);
        let [vessel, low, high, vacuum, separator] = self.pressure;
        let [wall, discharge, heater, ambient] = self.warmth;
        let rail = if self.outputs.dropped.has(Feed::Valves) { 0 } else { self.supply };
        let mut all = [
            bar(vessel.saturating_add(self.raised)),
            bar(low),
            bar(high),
            counts(vacuum.min(10_200), 0, 10_000),
            bar(separator),
            warm(wall),
            warm(discharge),
            warm(heater),
            warm(ambient),
            counts(self.lfl, 0, 1_000),
            counts(if on.has(Actuator::C1) { 3_000 } else { 0 }, 0, 20_000),
            counts(if on.has(Actuator::K1) { 2_800 } else { 0 }, 0, 6_000),
            volts(self.supply),
            volts(rail),
        ];
        // A live loop rustles: one count, once a second, which no median of three lets through.
        if self.scans.is_multiple_of(20) {
            all.iter_mut().filter(|c| (10_000..57_000).contains(*c)).for_each(|c| *c += 1);
        }
        for (shown, raw) in all.iter_mut().zip(self.raw) {
            *shown = raw.unwrap_or(*shown);
        }
        all
    }

    fn bridges(&self) -> [ScaleSample; SCALE_COUNT] {
        // 5 mg a code for the vessel, 0.5 mg for the bottles, zero at code 100 000: the reference calibration.
        let [vessel, used, fresh] = self.mass;
        let shown = [vessel / 5, vessel / 5, used.saturating_mul(2), fresh.saturating_mul(2)];
        let sequence = if self.frozen { 0 } else { self.sequence };
        let mut places = shown.into_iter().zip(self.codes);
        std::array::from_fn(|_| {
            let (code, raw) = places.next().unwrap_or_default();
            ScaleSample { code: raw.unwrap_or(code.saturating_add(100_000)), sequence }
        })
    }

    fn contacts(&mut self, ms: u32) -> Switches {
        self.fan_for = if self.outputs.on.has(Actuator::K1) {
            self.fan_for.saturating_add(ms).min(2 * FAN_SHOWS)
        } else {
            self.fan_for.saturating_sub(ms)
        };
        let still = if self.fan_for > FAN_SHOWS { 0 } else { Switches::FSL1_FLOW };
        Switches(Switches::ALL & !still & !self.open | self.shut)
    }

    fn identifier(&mut self) -> SerialChunk {
        self.answer.take().map(|report| encode_report(&report, Flags::default())).unwrap_or_default()
    }
}

/// Counts of a perfect 4-20 mA loop.
pub fn counts(value: i32, low: i32, high: i32) -> u16 {
    let (value, low, high) = (i64::from(value), i64::from(low), i64::from(high));
    let (at_4, span) = (i64::from(COUNTS_AT_24_MA) / 6, i64::from(COUNTS_AT_24_MA) * 2 / 3);
    (at_4 + span * (value - low) / (high - low)).clamp(0, 65_535) as u16
}
