//! Gauges that open valves join: PT-2 against PT-3, each against its own valve, PT-5 and PT-4 against both.

use super::{Seen, Verdict};
use crate::frame::{Actuator, Actuators};
use crate::units::*;

/// XV-1 and XV-2.
const BOTH: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]);
/// Valves have opened and pressures have evened out (own figure: within a second, whatever flows).
const EVEN: Millis = Millis::from_secs(2);
/// How far two joined hose gauges may be apart: their offsets make 3.5 kPa, flow and 0.1 % of the reading another kilopascal; 3.4 kPa
/// in all were the most of 176 sound jobs (own figures). F011 begins at 20 kPa.
const APART: AbsPa = AbsPa(10_000);
/// And by this part of the higher, for a larger station's flows (own choice).
const APART_SHARE: i32 = 128;
/// How long they must be (own choice).
const HELD: Millis = Millis::from_secs(5);
/// How long they must agree once they were not,
const AGREED: Millis = Millis::from_secs(10);
/// and where no open valve joins them: after a repair, at rest (own choice).
const AGREED_ALONE: Millis = Millis::from_secs(60);
/// A valve that opens alone moves its own gauge at once; later other things move both (own choice).
const FIRST: Millis = Millis::from_secs(6);
/// A move of the hose behind the shut valve that says it is the other one: 0.3 kPa were the most in sound jobs (own figure).
const MOVES: AbsPa = AbsPa(20_000);
/// No move: three times the noise of a hose gauge, and its drift with warmth (own choice).
const STANDS: AbsPa = AbsPa(5_000);
/// How long that must show.
const SWAPPED: Millis = Millis::from_secs(2);
/// The way to the separator or the gauge is open for so long (own choice).
const OPEN: Millis = Millis::from_secs(10);
/// What PT-5 may stand below the hoses while XV-3 is open: this many tenths, for the flow through it, less [`BELOW`]. Sound jobs
/// stayed above 0.88 of the hoses for any five seconds (own figures).
const FLOW_TENTHS: i64 = 6;
/// Two gauges near vacuum (own choice).
const BELOW: AbsPa = AbsPa(20_000);
/// Top of PT-4's span less its class.
const GAUGE_TOP: AbsPa = AbsPa(9_500);
/// A hose pressure that PT-4 cannot miss: twice its span.
const OVER_SPAN: AbsPa = AbsPa(20_000);
/// How long PT-4 must miss it: an evacuation that sees it ends sooner and says so better.
const MISSED: Millis = Millis::from_secs(20);

#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Hoses {
    joined: Millis,
    apart: Verdict,
    /// PT-2 and PT-3 before a valve opened alone, and for how long it has been.
    before: Option<[AbsPa; 2]>,
    alone: Millis,
    swapped: Verdict,
    through: Millis,
    separator: Verdict,
    open: Millis,
    vacuum: Verdict,
}

impl Hoses {
    pub(super) fn any(&self) -> bool {
        self.doubted() | self.separator_doubted() | self.vacuum_doubted()
    }
    /// PT-2 and PT-3: nothing says which of them.
    pub(super) fn doubted(&self) -> bool {
        self.apart.stands | self.swapped.stands
    }
    /// PT-5.
    pub(super) fn separator_doubted(&self) -> bool {
        self.separator.stands
    }
    /// PT-4.
    pub(super) fn vacuum_doubted(&self) -> bool {
        self.vacuum.stands
    }

    /// PT-2 against PT-3 while both valves are open (F009, F011; a service valve that does not open looks the same, F051).
    pub(super) fn apart(&mut self, s: &Seen<'_>) {
        let joins = s.on.and(BOTH) == BOTH;
        self.joined = if joins { self.joined.plus(s.dt) } else { Millis(0) };
        let (Some(low), Some(high)) = (s.r.pt2.usable(), s.r.pt3.usable()) else {
            self.apart.idle();
            return;
        };
        let limit = APART.plus(AbsPa(low.or_more(high).0 / APART_SHARE));
        let against = low.minus(high).0.saturating_abs() > limit.0;
        if self.joined >= EVEN {
            self.apart.weigh(s.dt, against, HELD, AGREED);
        } else if self.apart.stands {
            self.apart.weigh(s.dt, against, HELD, AGREED_ALONE);
        } else {
            self.apart.idle();
        }
    }

    /// Where one valve opens alone, its own gauge moves and not the other (F010).
    pub(super) fn swapped(&mut self, s: &Seen<'_>) {
        let (Some(low), Some(high)) = (s.r.pt2.usable(), s.r.pt3.usable()) else {
            (self.before, self.alone) = (None, Millis(0));
            self.swapped.idle();
            return;
        };
        let one = s.on.has(Actuator::Xv1) != s.on.has(Actuator::Xv2);
        let Some([was_low, was_high]) = self.before.filter(|_| one) else {
            (self.before, self.alone) = (Some([low, high]), Millis(0));
            self.swapped.idle();
            return;
        };
        self.alone = self.alone.plus(s.dt);
        let moved = |now: AbsPa, was: AbsPa| now.minus(was).0.saturating_abs();
        let (a, b) = (moved(low, was_low), moved(high, was_high));
        let (own, other) = if s.on.has(Actuator::Xv1) { (a, b) } else { (b, a) };
        let (against, with) = (other > MOVES.0 && own < STANDS.0, own > MOVES.0 && other < STANDS.0);
        if self.alone <= FIRST && (against || with) {
            self.swapped.weigh(s.dt, against, SWAPPED, SWAPPED);
        } else {
            self.swapped.idle();
        }
    }

    /// The lowest of the gauges whose valves are open.
    fn lowest(s: &Seen<'_>) -> Option<AbsPa> {
        match (s.on.has(Actuator::Xv1), s.on.has(Actuator::Xv2)) {
            (true, true) => Some(s.r.pt2.usable()?.or_less(s.r.pt3.usable()?)),
            (true, false) => s.r.pt2.usable(),
            (false, true) => s.r.pt3.usable(),
            (false, false) => None,
        }
    }

    /// PT-5 against the hoses while XV-3 is open: what it misses there it would also miss before a drain (F134). Above them it ends
    /// the recovery, whoever is wrong.
    pub(super) fn separator(&mut self, s: &Seen<'_>) {
        let hoses = Self::lowest(s).filter(|_| s.on.has(Actuator::Xv3));
        let (Some(hoses), Some(behind)) = (hoses, s.r.pt5.usable()) else {
            self.through = Millis(0);
            self.separator.idle();
            return;
        };
        self.through = self.through.plus(s.dt);
        if self.through >= OPEN {
            let least = i64::from(hoses.0).saturating_mul(FLOW_TENTHS) / 10 - i64::from(BELOW.0);
            self.separator.weigh(s.dt, i64::from(behind.0) < least, AGREED, AGREED);
        }
    }

    /// PT-4 against the hoses while the manifold is open to them and not pumped (F013).
    pub(super) fn vacuum(&mut self, s: &Seen<'_>) {
        let hoses = Self::lowest(s).filter(|_| !s.on.has(Actuator::Xv6));
        let (Some(hoses), false) = (hoses, s.r.pt4.is_bad()) else {
            self.open = Millis(0);
            self.vacuum.idle();
            return;
        };
        self.open = self.open.plus(s.dt);
        if self.open >= OPEN {
            let against = hoses > OVER_SPAN && s.r.pt4.value < GAUGE_TOP;
            self.vacuum.weigh(s.dt, against, MISSED, AGREED);
        }
    }
}
