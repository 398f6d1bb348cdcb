//! Draw the circuit to vacuum, long enough and deep enough, and longer while water still boils.
//!
//! Starts where the circuit holds no refrigerant (see `leave.rs`), and with hose pressure at rest near the barometer or below for a minute (I11). Done when time and depth are met and
//! no plateau stands. Where the depth is not reached in time, the pump is drawn on the shut manifold for some seconds: what stays high there
//! is the pump's oil, worn or wet from what it drew, or a dirty gauge, and no wet circuit (F012, F068). A circuit that does not come below 50 mbar in five minutes is open or leaks grossly: given up (F126).

use super::context::{Ctx, DONE, Status, failed};
use super::leave::Leave;
use crate::frame::{Actuator, Actuators};
use crate::sense::{Doubt, Quality};
use crate::talk::Notice;
use crate::units::*;
use crate::verdict::GiveUp;

/// Rough vacuum: half the span of PT-4 (own choice).
const ROUGH: AbsPa = AbsPa(5_000);
/// A 70 L/min pump brings 5 L to 50 mbar in under a minute; five leave room for oil that gives off gas (own figures).
const ROUGH_MAX: Millis = Millis::from_secs(300);
/// I11 wants the pressure low and at rest for 60 s; oil may give off gas for some minutes before (own choice).
const START_MAX: Millis = Millis::from_secs(300);
/// Water at 0 to 30 degC boils at 6 to 42 mbar (IAPWS-95); behind the hoses PT-4 sees less, so the band starts lower.
pub(super) const PLATEAU: (AbsPa, AbsPa) = (AbsPa(250), AbsPa(4_500));
/// Water holds its pressure for minutes; noise and drift do not fall a tenth in one (own choice).
const PLATEAU_WINDOW: Millis = Millis::from_secs(60);
/// Top of PT-4's span less its class: at and above this it says no more than "outside".
const GAUGE_TOP: AbsPa = AbsPa(9_500);
/// Hose pressure from which PT-4 must stand at its top while the manifold is joined to the hoses and not pumped: twice its
/// span, which leaves room for the class of the hose gauges (own choice).
const OVER_SPAN: AbsPa = AbsPa(20_000);
/// How long those two may disagree: pressures even out through the hoses within seconds (own choice).
const DISAGREE_MAX: Millis = Millis::from_secs(20);
/// How far two gauges of one vacuum may lie apart: class 0.1 % of the 35 bar of a hose gauge, and its noise.
pub(super) const HOSE_CLASS: AbsPa = AbsPa(4_000);
/// Time without a vacuum reading, once there should be one, until PT-4 is given up (own choice).
const UNSEEN_MAX: Millis = Millis::from_secs(60);
/// Beside twice the ordered time, for drying and depth (own choice).
const DRYING: Millis = Millis::from_secs(600);
/// Time the phase may spend beside pumping: waiting for I11, again after each trip (own choice).
const WAITING_MAX: Millis = Millis::from_secs(1_200);

/// A sound pump empties the manifold alone within a second; its gauge lags by some more (own choice).
const BLANK_MAX: Millis = Millis::from_secs(20);
/// So much of what stood before the couplers shut, in quarters, is the gauge's or the pump's own: a wet circuit stands well above what
/// the pump alone comes to (own choice).
const OWN_QUARTERS: i32 = 3;
/// The vehicle's pressure is back at PT-4 by then (own choice).
const BACK: Millis = Millis::from_secs(20);

/// The reading of the pump on a shut manifold: for how long XV-1 and XV-2 have been shut, then open again, and what stood before.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Blank {
    lasted: Millis,
    before: AbsPa,
}

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Evacuate {
    blank: Option<Blank>,
    pumping: Millis,
    waited: Millis,
    unseen: Millis,
    leave: Leave,
    disagree: Millis,
    rough: bool,
    told: bool,
    /// PT-4 stood at its top in this phase.
    high: bool,
    mark: Option<Mark>,
    plateau: bool,
}

/// The vacuum at the start of a window in which it should fall by a tenth.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Mark {
    p: AbsPa,
    at: Millis,
}

impl Mark {
    /// `None` of a gauge that shows nothing at all: there is no tenth of nothing.
    fn new(p: AbsPa, at: Millis) -> Option<Self> {
        (p != AbsPa(0)).then_some(Self { p, at })
    }
}

/// Manifold to pump.
const PUMP: Actuators = Actuators::of(&[Actuator::Xv6, Actuator::P1]);

impl Evacuate {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        c.want = PUMP.or(c.couplers());
        let longest = c.order.evacuate.plus(c.order.evacuate).plus(DRYING);
        if c.t > longest.plus(WAITING_MAX) {
            return failed(GiveUp::NoVacuum);
        }
        if let Some(status) = self.watch_gauge(c) {
            return status;
        }
        if let Some(status) = self.leave.ask(c) {
            return status;
        }
        if !c.on.has(Actuator::Xv6) {
            self.waited = self.waited.plus(c.dt);
            if self.waited > START_MAX {
                return failed(GiveUp::PressureForVacuum);
            }
            return Status::Running;
        }
        self.waited = Millis(0);
        self.pumping = self.pumping.plus(c.dt);
        c.progress_by_time(c.order.evacuate);
        let Some(service) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
        let Some(p) = c.r.pt4.usable().filter(|p| self.rough || *p <= ROUGH) else {
            return self.not_yet(c, service);
        };
        self.rough = true;
        self.unseen = Millis(0);
        if self.high {
            c.link.gauge_fell();
        }
        if let Some(blank) = self.blank {
            return self.blank_off(c, p, blank);
        }
        self.watch_plateau(c, p);
        let enough = self.pumping >= c.order.evacuate && p <= c.order.depth && !self.plateau;
        if !enough && p > c.order.depth && self.pumping >= longest {
            self.blank = Some(Blank { lasted: Millis(0), before: p });
            return Status::Running;
        }
        if enough || self.pumping >= longest {
            c.link.evacuated(true);
            c.tell(Notice::Vacuum(p));
            // A plateau that outlasts the longest time is for the leak check to judge by its shape.
            return DONE;
        }
        if self.pumping >= c.order.evacuate && !self.told {
            self.told = true;
            c.tell(Notice::MoisturePlateau(p));
        }
        Status::Running
    }

    /// The depth was not reached in time: what the pump alone comes to says whether that is the circuit's fault. Then the vehicle's
    /// pressure comes back to PT-4, for the hold to begin on.
    fn blank_off(&mut self, c: &mut Ctx<'_>, p: AbsPa, blank: Blank) -> Status {
        let open = c.on.and(c.couplers().without(Actuators::SAFE));
        let back = blank.lasted >= BLANK_MAX;
        if !back {
            c.want = PUMP.with(Actuator::K1);
        }
        let follows = if back { !open.is_empty() } else { open.is_empty() };
        let lasted = if follows { blank.lasted.plus(c.dt) } else { blank.lasted };
        self.blank = Some(Blank { lasted, ..blank });
        let own = p.0.saturating_mul(4) >= blank.before.0.saturating_mul(OWN_QUARTERS);
        if !back && lasted >= BLANK_MAX && p > c.order.depth && own {
            return failed(GiveUp::PumpShallow(p));
        }
        if lasted < BLANK_MAX.plus(BACK) {
            return Status::Running;
        }
        c.link.evacuated(false);
        c.tell(Notice::Vacuum(p));
        DONE
    }

    /// Whether PT-4 must first be seen at its top: with both couplers open to the manifold and no pump on it, a vacuum shown
    /// beside a pressure in the hoses is none (I14).
    fn watch_gauge(&mut self, c: &mut Ctx<'_>) -> Option<Status> {
        if c.r.pt4.is_bad() {
            return Some(failed(GiveUp::ReadingBad));
        }
        self.high |= c.r.pt4.value >= GAUGE_TOP || c.r.pt4.quality == Quality::Uncertain(Doubt::Saturated);
        if self.high || self.pumping > Millis(0) || c.vehicle_pressure().is_none_or(|p| p <= OVER_SPAN) {
            return None;
        }
        c.want = c.couplers();
        if c.on.and(c.couplers()) == c.couplers() {
            self.disagree = self.disagree.plus(c.dt);
        }
        Some(if self.disagree > DISAGREE_MAX { failed(GiveUp::GaugeNotLive) } else { Status::Running })
    }

    /// No vacuum to be seen on PT-4: above its span, above rough vacuum, or too noisy.
    fn not_yet(&mut self, c: &Ctx<'_>, service: AbsPa) -> Status {
        self.unseen = self.unseen.plus(c.dt);
        if self.pumping.0 <= ROUGH_MAX.0.saturating_mul(c.slower()) || service <= ROUGH && self.unseen <= UNSEEN_MAX {
            return Status::Running;
        }
        // While the pump draws, the manifold stands below the hoses: PT-4 above them by more than their class is wrong.
        let above = c.r.pt4.usable().is_none_or(|p| p.minus(service) > HOSE_CLASS);
        failed(if service <= ROUGH && above { GiveUp::GaugeNotLive } else { GiveUp::NoVacuum })
    }

    /// A plateau stands while the pressure in the boiling band falls by less than a tenth a minute.
    fn watch_plateau(&mut self, c: &Ctx<'_>, p: AbsPa) {
        let Some(mark) = self.mark else {
            self.mark = Mark::new(p, c.t);
            return;
        };
        if c.t.minus(mark.at) >= PLATEAU_WINDOW {
            let fell = mark.p.minus(p).0;
            self.plateau = p >= PLATEAU.0 && p <= PLATEAU.1 && fell.saturating_mul(10) < mark.p.0;
            self.mark = Mark::new(p, c.t);
        }
    }
}
