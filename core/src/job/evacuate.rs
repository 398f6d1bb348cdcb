//! Draw the circuit to vacuum, long enough and deep enough, and longer while water still boils.
//!
//! Starts below 1.0 bar abs for a minute (I11). Done when time and depth are met and no plateau stands. A circuit that
//! does not come below 50 mbar in five minutes is open or leaks grossly: given up (fault F126).

use super::{Ctx, DONE, GiveUp, Status, failed};
use crate::frame::{Actuator, Actuators};
use crate::talk::Notice;
use crate::units::*;

const ROUGH: AbsPa = AbsPa(5_000);
const ROUGH_MAX: Millis = Millis::from_secs(300);
/// I11 wants the pressure low for 60 s; a little more for the valve to be given.
const START_MAX: Millis = Millis::from_secs(90);
/// Water at 0 to 30 degC boils at 6 to 42 mbar (IAPWS-95); behind the hoses PT-4 sees less, so the band starts lower.
const PLATEAU: (AbsPa, AbsPa) = (AbsPa(250), AbsPa(4_500));
const PLATEAU_WINDOW: Millis = Millis::from_secs(60);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Evacuate {
    pumping: Millis,
    waited: Millis,
    rough: bool,
    told: bool,
    mark: AbsPa,
    mark_at: Millis,
    plateau: bool,
}

/// Manifold to pump, both couplers open.
pub const PATH: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv6, Actuator::P1, Actuator::K1]);

impl Evacuate {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        c.want = PATH;
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
        let Some(service) = c.r.service_pressure() else { return failed(GiveUp::ReadingBad) };
        let Some(p) = c.r.pt4.usable() else {
            // Saturated is normal while the circuit is above 100 mbar; broken is not.
            if c.r.pt4.is_bad() {
                return failed(GiveUp::ReadingBad);
            }
            return self.not_yet(service);
        };
        if p > ROUGH && !self.rough {
            return self.not_yet(service);
        }
        self.rough = true;
        self.watch_plateau(c, p);
        let longest = Millis(c.order.evacuate.0.saturating_mul(2).saturating_add(600_000));
        let enough = self.pumping >= c.order.evacuate && p <= c.order.depth && !self.plateau;
        if enough || self.pumping >= longest {
            c.link.evacuated();
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

    fn not_yet(&self, service: AbsPa) -> Status {
        if self.pumping > ROUGH_MAX && service > ROUGH { failed(GiveUp::NoVacuum) } else { Status::Running }
    }

    /// A plateau stands while the pressure in the boiling band falls by less than a tenth a minute.
    fn watch_plateau(&mut self, c: &Ctx<'_>, p: AbsPa) {
        if self.mark.0 == 0 {
            (self.mark, self.mark_at) = (p, c.t);
        }
        if c.t.minus(self.mark_at) >= PLATEAU_WINDOW {
            let fell = self.mark.minus(p).0;
            self.plateau = p >= PLATEAU.0 && p <= PLATEAU.1 && fell.saturating_mul(10) < self.mark.0;
            (self.mark, self.mark_at) = (p, c.t);
        }
    }
}
