//! A toy plant in integers, the same bits on every machine: enough gas, mass and answers to walk the core through a whole
//! job, with disturbances. Not physics: its only promise is to be repeatable and to reach most of the code.

use valvewright_core::frame::{Actuator, Outputs, RawFrame, SerialChunk, Switches};
use valvewright_core::job::WorkOrder;
use valvewright_core::job::flow::JobState;
use valvewright_core::sense::GasReport;
use valvewright_core::sense::identifier::{Flags, RequestListener, encode_report};
use valvewright_core::station::Station;
use valvewright_core::talk::Command;
use valvewright_core::units::{Milligram, Permille};

/// Scans of the comparison: 50 simulated minutes, about two jobs.
pub const SCANS: u32 = 60_000;
/// Scans before the first disturbance: one undisturbed job.
const CLEAN: u32 = 32_000;

/// Plant, operator and disturbances.
pub struct Stimulus {
    random: u32,
    scan: u32,
    /// Pressures in Pa: hoses and vehicle, pump port, vessel.
    hose: i32,
    port: i32,
    vessel: i32,
    /// Mass in mg in the vessel and the vehicle.
    stored: i32,
    vehicle: i32,
    /// Oil in mg: used-oil bottle, new-oil bottle, separator.
    oil: [i32; 3],
    listener: RequestListener,
    sample: Option<(u16, u32)>,
    /// After the first job, one scan in so many is disturbed.
    disturb: u32,
    order_id: u16,
}

impl Stimulus {
    /// A charged vehicle on a station at rest.
    pub fn new(seed: u32, disturb: u32) -> Self {
        Self {
            random: seed | 1,
            scan: 0,
            hose: 590_000,
            port: 590_000,
            vessel: 590_000,
            stored: 6_000_000,
            vehicle: 480_000,
            oil: [100_000, 250_000, 15_000],
            listener: RequestListener::new(),
            sample: None,
            disturb: disturb.max(1),
            order_id: 0,
        }
    }

    /// xorshift32 of G. Marsaglia (2003).
    fn draw(&mut self) -> u32 {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 17;
        self.random ^= self.random << 5;
        self.random
    }

    /// The frame of the next scan after `last`, with the operator's answer to what `station` asks.
    pub fn frame(&mut self, station: &Station, last: &Outputs) -> RawFrame {
        self.scan = self.scan.wrapping_add(1);
        self.flow(last);
        let mut frame = RawFrame::default();
        self.fill(&mut frame, last);
        frame.identifier = self.identify(last);
        frame.command = self.operate(station);
        if self.scan > CLEAN && self.draw().is_multiple_of(self.disturb) {
            self.harm(&mut frame);
        }
        frame
    }

    /// Pressures and masses follow the valves.
    fn flow(&mut self, last: &Outputs) {
        let on = |one| last.on.has(one);
        let open = on(Actuator::Xv1) || on(Actuator::Xv2);
        if open && on(Actuator::Xv3) && on(Actuator::C1) {
            let mass = (self.vehicle / 256).min(400);
            self.vehicle -= mass;
            self.stored += mass;
            self.hose -= self.hose / 512;
        }
        if open && on(Actuator::Xv6) && on(Actuator::P1) {
            self.hose -= (self.hose - 50) / 128;
            // The pump port lies below the hose by what the line loses, until XV-6 shuts.
            self.port = self.hose / 2;
        } else {
            self.port += (self.hose - self.port) / 16;
        }
        if open && on(Actuator::Xv5) && on(Actuator::Xv10) && self.vessel > self.hose {
            self.vehicle += 400;
            self.stored -= 400;
            self.hose += (self.vessel - self.hose) / 256;
        }
        if on(Actuator::Xv7) {
            self.vessel -= 10;
            self.stored -= 100;
        }
        if on(Actuator::H1) {
            self.vessel += 20;
        }
        if on(Actuator::Xv8) {
            let drained = self.oil[2].min(20);
            self.oil[2] -= drained;
            self.oil[0] += drained;
        }
        if on(Actuator::Xv9) {
            self.oil[1] -= 100;
        }
    }

    fn fill(&mut self, frame: &mut RawFrame, last: &Outputs) {
        let noise = (self.draw() % 4) as i32;
        // Counts of a value on a span: 4 mA is 10 922, 16 mA more are 43 690.
        let counts = |value: i32, span: i32| {
            let part = i64::from(value.max(0)) * 43_690 / i64::from(span.max(1));
            (10_922 + part.min(45_000) as i32 + noise).min(55_977) as u16
        };
        let fan = if last.on.has(Actuator::K1) { 2_800 } else { 0 };
        let current = if last.on.has(Actuator::C1) { 6_000 } else { 0 };
        let room = 60_000; // 20 degC in mK above the low end of the range, span 200 K
        frame.analog = [
            counts(self.vessel, 3_500_000),
            counts(self.hose, 3_500_000),
            counts(self.hose, 3_500_000),
            counts(self.port, 10_000),
            counts(room, 200_000),
            counts(room, 200_000),
            counts(room, 200_000),
            counts(room, 200_000),
            counts(0, 1_000),
            counts(current, 20_000),
            counts(fan, 6_000),
            counts(24_000, 40_000),
            counts(24_000, 40_000),
        ];
        let codes = [self.stored / 5, self.oil[0] * 2, self.oil[1] * 2];
        for (scale, code) in frame.scales.iter_mut().zip(codes) {
            scale.code = code + 100_000 + noise;
            scale.sequence = self.scan as u8;
        }
        let flow = if fan > 0 { Switches::ALL } else { Switches::ALL & !Switches::FSL1_FLOW };
        frame.switches = Switches(flow);
    }

    fn identify(&mut self, last: &Outputs) -> SerialChunk {
        if let Some(id) = self.listener.feed(&last.identifier) {
            self.sample = Some((id, self.scan.wrapping_add(500)));
        }
        match self.sample {
            Some((id, at)) if at == self.scan => {
                self.sample = None;
                encode_report(&pure(id), Flags::default())
            }
            _ => SerialChunk::new(),
        }
    }

    /// Starts an order now and then, answers every question with yes, resets every 64th scan.
    fn operate(&mut self, station: &Station) -> Option<Command> {
        if station.job().question().is_some() {
            return Some(Command::Confirm);
        }
        match self.scan % 4_096 {
            100 => {
                self.order_id = self.order_id.wrapping_add(1);
                if !station.job().busy() {
                    // The next vehicle.
                    (self.hose, self.vehicle, self.oil[2]) = (590_000, 480_000, 15_000);
                }
                Some(Command::Start { id: self.order_id, order: short_job() })
            }
            scan if scan % 64 == 0 && !station.interlocks().latched().is_empty() => Some(Command::Reset),
            scan if scan % 64 == 32 && station.job().state() == JobState::Paused => Some(Command::Resume),
            _ => None,
        }
    }

    /// One input of one scan says something else.
    fn harm(&mut self, frame: &mut RawFrame) {
        let what = self.draw();
        match what % 8 {
            0..=3 => {
                let at = (what >> 8) as usize % frame.analog.len();
                if let Some(counts) = frame.analog.get_mut(at) {
                    *counts = (what >> 16) as u16;
                }
            }
            4 => frame.switches = Switches((what >> 8) as u16),
            5 => {
                if let Some(scale) = frame.scales.first_mut() {
                    scale.code = what as i32;
                }
            }
            6 => {
                for byte in what.to_le_bytes() {
                    // A full line drops the byte, as a real one would.
                    let _ = frame.identifier.push(byte);
                }
            }
            _ => frame.command = Some(Command::Pause),
        }
    }
}

/// A whole job with the shortest times it may have.
fn short_job() -> WorkOrder {
    WorkOrder {
        evacuate: WorkOrder::EVACUATE.0,
        leak_hold: WorkOrder::LEAK_HOLD.0,
        ..WorkOrder::whole(Milligram::from_grams(480))
    }
}

fn pure(sample_id: u16) -> GasReport {
    GasReport {
        sample_id,
        r134a: Permille(0),
        r1234yf: Permille(1_000),
        other: Permille(0),
        hydrocarbon: Permille(0),
        air: Permille(0),
        healthy: true,
    }
}

/// 64-bit FNV-1a over what the station put out.
pub struct Digest(pub u64);

impl Default for Digest {
    fn default() -> Self {
        Self(0xCBF2_9CE4_8422_2325)
    }
}

impl Digest {
    fn byte(&mut self, byte: u8) {
        self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0100_0000_01B3);
    }
    /// Takes in one scan's outputs.
    pub fn take(&mut self, outputs: &Outputs) {
        for byte in outputs.on.0.to_le_bytes() {
            self.byte(byte);
        }
        self.byte(outputs.lamp as u8);
        self.byte(u8::from(outputs.buzzer));
        for byte in &outputs.identifier {
            self.byte(*byte);
        }
    }
}
