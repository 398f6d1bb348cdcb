//! Instruments between plant and controller: every device has a range, a class, a lag, noise, and ways to break.
//!
//! [`Instruments::frame`] turns one tick of [`Truth`] into the [`RawFrame`] a board would deliver. Equal seed and equal
//! truth give equal frames. A device that is not told otherwise is healthy, not perfect: its own error inside its class
//! is drawn once from the seed.

mod identifier;
mod identifier_ill;
mod ill;
mod lag;
mod loop_ill;
mod noise;
mod scale;
mod scale_ill;
mod spec;
mod switch;
mod transmitter;
mod truth;

use valvewright_core::frame::{Outputs, RawFrame, SCALE_COUNT, Switches};
use valvewright_core::talk::Command;

use identifier::Identifier;
pub use identifier_ill::IdentifierHealth;
pub use ill::Ill;
pub use loop_ill::LoopHealth;
pub use noise::Noise;
use scale::{Load, ScaleDevice};
pub use scale_ill::ScaleHealth;
pub use spec::{FanSpec, IdentifierSpec, InstrumentSpec, ScaleSpec, SwitchSpec, TransmitterSpec};
pub use switch::ContactHealth;
use switch::{Contacts, Fan, HighSwitch};
use transmitter::{LANES, Transmitters};
pub use truth::{GasTruth, Truth};

/// Every instrument of one station.
#[derive(Clone, Debug)]
pub struct Instruments {
    noise: Noise,
    transmitters: Transmitters,
    scales: [ScaleDevice; SCALE_COUNT],
    tone: Tone,
    calibrated_at_k: f64,
    used_oil: HighSwitch,
    separator: HighSwitch,
    discharge: HighSwitch,
    pump_inlet: HighSwitch,
    contacts: Contacts,
    fan: Fan,
    identifier: Identifier,
    /// The step all lag shares are computed for; `None` before the first frame.
    step_s: Option<f64>,
}

impl Instruments {
    /// Builds the devices and draws the error of each from `seed`.
    pub fn new(spec: &InstrumentSpec, seed: u64) -> Self {
        let mut noise = Noise::new(seed);
        Self {
            transmitters: Transmitters::new(&spec.analog, &mut noise),
            scales: spec.scales.map(|one| ScaleDevice::new(&one, &mut noise)),
            tone: Tone::new(spec.vibration_hz),
            calibrated_at_k: spec.calibrated_at_k,
            used_oil: HighSwitch::new(&spec.used_oil_high),
            separator: HighSwitch::new(&spec.separator_high),
            discharge: HighSwitch::new(&spec.discharge_high),
            pump_inlet: HighSwitch::new(&spec.pump_inlet_high),
            contacts: Contacts::default(),
            fan: Fan::new(&spec.fan),
            identifier: Identifier::new(&spec.identifier),
            noise,
            step_s: None,
        }
    }

    /// Fills `frame` for the tick at `t_s`, `dt_s` after the last one.
    ///
    /// The first call takes its truth as the long-standing state: nothing lags behind it. `outputs` are those of the
    /// last scan; only the bytes for the identifier are read.
    pub fn frame(
        &mut self,
        t_s: f64,
        dt_s: f64,
        truth: &Truth,
        outputs: &Outputs,
        command: Option<Command>,
        frame: &mut RawFrame,
    ) {
        let fan_target = if truth.fan_on { truth.fan_rpm } else { 0.0 };
        if self.step_s != Some(dt_s) {
            self.set_step(dt_s, truth, fan_target);
        }
        let air_flows = self.fan.sample(fan_target);
        self.analog(truth, frame);
        self.weigh(truth, frame);
        frame.switches = self.switches(truth, air_flows);
        self.identifier.exchange(t_s, &truth.gas, &outputs.identifier, &mut self.noise, &mut frame.identifier);
        frame.command = command;
    }

    /// Another sequence of noise from now on.
    pub fn with_other_noise(&mut self, seed: u64) {
        self.noise = Noise::new(seed);
    }

    /// Speed of the rotor of K-1 in rpm: what the cabinet's air flow follows.
    pub fn fan_rpm(&self) -> f64 {
        self.fan.rpm()
    }

    #[cold]
    fn set_step(&mut self, dt_s: f64, truth: &Truth, fan_target: f64) {
        self.transmitters.set_step(dt_s);
        for device in &mut self.scales {
            device.set_step(dt_s);
        }
        self.fan.set_step(dt_s);
        self.tone.set_step(dt_s);
        if self.step_s.is_none() {
            self.fan.settle(fan_target);
            let values = self.values(truth);
            self.transmitters.settle(&values);
            let loads = loads(truth, self.calibrated_at_k, 0.0);
            for (device, load) in self.scales.iter_mut().zip(&loads) {
                device.settle(load);
            }
        }
        self.step_s = Some(dt_s);
    }

    /// What each transmitter touches, in the order of [`Analog`].
    #[inline]
    fn values(&self, truth: &Truth) -> [f64; LANES] {
        [
            truth.p_vessel,
            truth.p_low,
            truth.p_high,
            truth.p_vacuum,
            truth.p_separator,
            truth.t_vessel_wall,
            truth.t_discharge,
            truth.t_heater,
            truth.t_ambient,
            truth.lfl_share.max(truth.test_gas),
            truth.c1_current_a,
            self.fan.rpm(),
            truth.supply_v,
            truth.rail_v,
            0.0,
            0.0,
        ]
    }

    #[inline]
    fn analog(&mut self, truth: &Truth, frame: &mut RawFrame) {
        let values = self.values(truth);
        frame.analog = self.transmitters.sample(&values, &mut self.noise);
    }

    #[inline]
    fn weigh(&mut self, truth: &Truth, frame: &mut RawFrame) {
        let tone = if truth.motors_running { self.tone.next() } else { 0.0 };
        let loads = loads(truth, self.calibrated_at_k, tone);
        for ((device, load), sample) in self.scales.iter_mut().zip(&loads).zip(&mut frame.scales) {
            *sample = device.sample(load, &mut self.noise);
        }
    }

    #[inline]
    fn switches(&mut self, truth: &Truth, air_flows: bool) -> Switches {
        let closed = [
            (Switches::LS1_NOT_FULL, self.used_oil.sample(truth.used_oil_level)),
            (Switches::LS2_NOT_HIGH, self.separator.sample(truth.separator_level)),
            (Switches::PSH1_HEALTHY, self.discharge.sample(truth.p_discharge.max(truth.p_hand_pump))),
            // A diaphragm with the air around it on its other side.
            (Switches::PSH2_HEALTHY, self.pump_inlet.sample(truth.p_pump_inlet - truth.barometer)),
            (Switches::FSL1_FLOW, air_flows),
            (Switches::ZS1_DOOR_SHUT, truth.door_shut),
            (Switches::ZS2_COUPLED, truth.coupled),
            (Switches::FLUSH_PORT, truth.coupled && truth.flush_port),
            (Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED, !truth.estop_pressed),
        ];
        self.contacts.seen(closed.iter().fold(0, |bits, &(mask, on)| if on { bits | mask } else { bits }))
    }
}

#[inline]
fn loads(truth: &Truth, calibrated_at_k: f64, tone: f64) -> [Load; SCALE_COUNT] {
    let rest =
        Load { mass_g: 0.0, hose_bar: truth.p_charge_line * 1e-5, warmer_k: truth.t_ambient - calibrated_at_k, tone };
    let [vessel, used, new] = truth.extra_kg;
    let vessel = truth.m_vessel_kg + vessel;
    [vessel, vessel, truth.m_used_oil_kg + used, truth.m_new_oil_kg + new].map(|kg| Load { mass_g: kg * 1e3, ..rest })
}

/// A sine sampled once a tick, by turning a unit vector: no call of a sine in the loop.
#[derive(Clone, Debug)]
struct Tone {
    hertz: f64,
    turn: (f64, f64),
    at: (f64, f64),
}

impl Tone {
    fn new(hertz: f64) -> Self {
        Self { hertz, turn: (1.0, 0.0), at: (1.0, 0.0) }
    }

    fn set_step(&mut self, dt_s: f64) {
        let (sin, cos) = (std::f64::consts::TAU * self.hertz * dt_s).sin_cos();
        self.turn = (cos, sin);
    }

    #[inline]
    fn next(&mut self) -> f64 {
        let ((x, y), (cos, sin)) = (self.at, self.turn);
        let (x, y) = (x * cos - y * sin, x * sin + y * cos);
        // One Newton step back to unit length, so that rounding does not grow over hours.
        let length = 1.5 - 0.5 * (x * x + y * y);
        self.at = (x * length, y * length);
        self.at.1
    }
}
