//! What must follow a machine: the discharge warms while C-1 runs, the cold heater is as warm as its wall, the fan's speed falls with it.

use super::{Seen, Verdict, contradicted};
use crate::frame::{Actuator, Switches};
use crate::sense::{Broken, Quality, Readings};
use crate::units::*;

/// C-1 moves TT-2 by this in [`MOVES_TIME`], up or, from a hot stop on cold suction, down: 9 K were the least of 176 sound jobs (own figures).
const MOVES: CentiKelvin = CentiKelvin(300);
/// The 120 s of F018, less two laps.
const MOVES_TIME: Millis = Millis::from_secs(118);
/// How long the heater must have been off: its skin loses what it had over the wall in some minutes (own choice).
const COLD: Millis = Millis::from_secs(900);
/// How much colder than the wall its skin may look then: 0.6 K were the most in sound jobs, F019 is 20 K (own choice).
const COLDER: CentiKelvin = CentiKelvin(500);
/// How long such things must show, and be gone.
const HELD: Millis = Millis::from_secs(10);
/// The speed below which a fan moves too little air: that of I28.
pub const FAN_TURNS: Rpm = Rpm(1_680);
/// The vane falls behind the fan, so the speed is far down when FSL-1 opens: 630 rpm in sound jobs (own figure).
const FAN_HELD: Millis = Millis::from_secs(1);

#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Machine {
    running: Millis,
    /// Lowest and highest of TT-2 since C-1 started.
    span: Option<[CentiKelvin; 2]>,
    discharge_stands: bool,
    cold: Millis,
    skin: Verdict,
    fan: Verdict,
}

impl Machine {
    pub(super) fn any(&self) -> bool {
        self.discharge_stands | self.skin.stands | self.fan.stands
    }

    pub(super) fn mark(&self, r: &mut Readings) {
        if self.discharge_stands && !r.tt2.is_bad() {
            r.tt2.quality = Quality::Bad(Broken::Frozen);
        }
        if self.skin.stands {
            contradicted(&mut r.tt3);
        }
        if self.fan.stands {
            contradicted(&mut r.st1);
        }
    }

    /// TT-2 moves once C-1 runs (F018). One that stood is believed again when it has moved.
    pub(super) fn discharge(&mut self, s: &Seen<'_>) {
        let runs = s.on.has(Actuator::C1);
        if !runs && !self.discharge_stands {
            (self.running, self.span) = (Millis(0), None);
            return;
        }
        let Some(t) = s.r.tt2.usable() else { return };
        let [low, high] = self.span.unwrap_or([t, t]);
        let (low, high) = (low.or_less(t), high.or_more(t));
        self.span = Some([low, high]);
        self.running = if runs { self.running.plus(s.dt) } else { self.running };
        let moved = high.minus(low) >= MOVES;
        self.discharge_stands = !moved && (self.discharge_stands || self.running >= MOVES_TIME);
    }

    /// The skin of a heater that has been off is no colder than the wall (F019). Warmer is another matter: that may be heat.
    pub(super) fn skin(&mut self, s: &Seen<'_>, vessel_rest: Millis) {
        let heats = !s.on.and(crate::frame::Actuators::HEATER).is_empty();
        self.cold = if heats { Millis(0) } else { self.cold.plus(s.dt).or_more(vessel_rest) };
        let readings = (s.r.tt3.usable(), s.r.tt1.usable());
        let (true, (Some(skin), Some(wall))) = (s.cfg.heats() && self.cold >= COLD, readings) else {
            self.skin.idle();
            return;
        };
        self.skin.weigh(s.dt, skin < wall.minus(COLDER), HELD, HELD);
    }

    /// ST-1 shows a turning fan while K-1 is off and FSL-1 shows no flow (F136).
    pub(super) fn fan(&mut self, s: &Seen<'_>) {
        let off = !s.on.has(Actuator::K1) && !s.r.switches.closed(Switches::FSL1_FLOW);
        match s.r.st1.usable() {
            Some(speed) if off => self.fan.weigh(s.dt, speed >= FAN_TURNS, FAN_HELD, FAN_HELD),
            _ => self.fan.idle(),
        }
    }
}
