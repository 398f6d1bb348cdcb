//! Whether a circuit holds no refrigerant, so that the vacuum pump or nitrogen may go on it (I11, H08).
//!
//! Recovered on this connection, well below the barometer, or opened. Near the barometer the operator knows whether it was opened.
//! Above it the identifier is asked first: air or nitrogen is let out by hand, refrigerant has to be recovered, and only where
//! the identifier can't tell is the operator's word taken.

use super::bounds;
use super::context::{Ctx, Status, failed};
use crate::frame::Actuators;
use crate::order::PhaseKind;
use crate::talk::Question;
use crate::units::*;
use crate::verdict::{GasVerdict, GiveUp};

/// A circuit at or below this holds no refrigerant worth recovering: 102 mmHg of vacuum at sea level (I11),
pub const DRAINED: AbsPa = AbsPa(88_000);
/// and as far below the barometer elsewhere.
const DRAINED_BELOW: AbsPa = AbsPa(13_332);
/// An open circuit stands at the barometer; the class of two gauges comes on top (I11).
const OPEN_OVER: AbsPa = AbsPa(3_000);
/// Boiling that outlasts a recovery may raise the pressure for some minutes (own choice).
const RISEN_MAX: Millis = Millis::from_secs(300);

/// What was asked so far.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Leave {
    unanswered: Millis,
    /// The operator let the content out, or says so.
    released: bool,
}

impl Leave {
    /// `None` where the phase may go on; else what it must say instead, with nothing on but the fan.
    pub(super) fn ask(&mut self, c: &mut Ctx<'_>) -> Option<Status> {
        let Some(p) = c.vehicle_pressure() else { return Some(failed(GiveUp::ReadingBad)) };
        let over = p > c.cfg.barometer.plus(OPEN_OVER);
        if c.link.circuit_empty() {
            return if over && c.link.may_be_released() { self.release(c, p) } else { None };
        }
        if p <= DRAINED.or_less(c.cfg.barometer.minus(DRAINED_BELOW)) {
            c.link.found_drained();
            return None;
        }
        c.want = Actuators::SAFE;
        self.unanswered = self.unanswered.plus(c.dt);
        if over {
            match c.link.gas() {
                GasVerdict::Unknown if !c.identified => return Some(Status::First(PhaseKind::Identify)),
                GasVerdict::Unknown | GasVerdict::Inconclusive => {}
                GasVerdict::Pure => return Some(failed(GiveUp::HoldsRefrigerant(about(c, p)))),
                other => return Some(failed(GiveUp::GasRefused(other))),
            }
        }
        match c.ask(Question::CircuitOpened) {
            Some(true) => c.link.holds_none(),
            Some(false) => return Some(failed(GiveUp::NotRecovered)),
            None if self.unanswered > bounds::ANSWER_WAIT => return Some(failed(GiveUp::NoAnswer)),
            None => {}
        }
        Some(Status::Running)
    }

    /// Air or nitrogen under pressure goes out by the operator's hand; a second time it is only waited for.
    pub(super) fn release(&mut self, c: &mut Ctx<'_>, p: AbsPa) -> Option<Status> {
        c.want = Actuators::SAFE;
        self.unanswered = self.unanswered.plus(c.dt);
        if self.released {
            let too_long = self.unanswered > RISEN_MAX;
            return Some(if too_long { failed(GiveUp::NotReleased(p)) } else { Status::Running });
        }
        match c.ask(Question::ReleaseByHand) {
            Some(true) => (self.released, self.unanswered) = (true, Millis(0)),
            Some(false) => return Some(failed(GiveUp::NotReleased(p))),
            None if self.unanswered > bounds::HANDS_WAIT => return Some(failed(GiveUp::NoAnswer)),
            None => {}
        }
        Some(Status::Running)
    }

    /// Whether the vehicle stands no higher than an open circuit.
    pub(super) fn is_open(c: &Ctx<'_>) -> Option<bool> {
        Some(c.vehicle_pressure()? <= c.cfg.barometer.plus(OPEN_OVER))
    }
}

/// About what a circuit at this pressure holds, as gas at ambient temperature: liquid or oil may hold more.
fn about(c: &Ctx<'_>, p: AbsPa) -> Milligram {
    let t = c.ambient();
    let density = c.cfg.refrigerant.gas_density(p.or_less(c.cfg.refrigerant.p_sat(t)), t);
    let mg = i64::from(c.order.circuit.0).saturating_mul(i64::from(density)) / 1_000_000;
    Milligram(i32::try_from(mg).unwrap_or(i32::MAX))
}
