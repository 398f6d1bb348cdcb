//! Wishes to ordered outputs: break before make, minimum times, staggered motor starts; and the gate behind it all.
//!
//! Promises, whatever is asked: no pair of [`FORBIDDEN`] is ever on together; C-1 never runs with XV-4 shut and never
//! restarts before its delay; XV-6 is never open over a standing P-1; the heater is on only after one of its contactors was on alone;
//! nothing is on against an inhibit.
//!
//! Why the gate cannot undo that: it takes outputs away, and it adds only the fan, which is in no forbidden pair; the
//! absence of an output can make no pair. The two partnerships (C-1 needs XV-4, XV-6 needs P-1) could be broken by taking
//! away, so the table is held while compiling to rows that stop both partners together.

use crate::frame::{ACTUATOR_COUNT, Actuator, Actuators, Inhibits};
use crate::units::{Instant, Millis};
use Actuator::*;

/// Pairs that must never be on together, and what would happen.
pub const FORBIDDEN: &[(Actuator, Actuator, &str)] = &[
    (Xv5, Xv6, "liquid from the vessel goes straight into the vacuum pump"),
    (Xv5, Xv3, "the charge is sucked back before it reaches the vehicle"),
    (Xv3, Xv6, "compressor and vacuum pump pull against each other, oil goes where refrigerant should"),
    (Xv9, Xv5, "vessel pressure blows into the oil bottle"),
    (Xv9, Xv6, "the oil is drawn into the vacuum pump instead of the vehicle"),
    (Xv9, Xv3, "the oil is drawn into the separator instead of the vehicle"),
    (Xv8, Xv3, "the separator fills from the vehicle while it empties into an open bottle"),
    (Xv7, Xv4, "what the compressor delivers leaves through the purge"),
];

/// The pairs as sets.
const PAIRS: [Actuators; FORBIDDEN.len()] = {
    let (mut sets, mut i) = ([Actuators::NONE; FORBIDDEN.len()], 0);
    while i < FORBIDDEN.len() {
        sets[i] = Actuators::of(&[FORBIDDEN[i].0, FORBIDDEN[i].1]);
        i += 1;
    }
    sets
};

/// Dead time between the closing of one of a forbidden pair and the opening of the other: longer than any valve's stroke.
pub const DEAD_TIME: Millis = Millis(150);
/// How long XV-4 must be open before C-1 starts.
pub const DISCHARGE_LEAD: Millis = Millis(300);
/// How long XV-4 stays open after C-1 has stopped.
pub const DISCHARGE_LAG: Millis = Millis(500);
/// How long P-1 runs before XV-6 opens, and after it shut.
pub const PUMP_LEAD: Millis = Millis(2_000);
/// How long the last of XV-1 and XV-2 stays open behind XV-5 (I04): the line evens out with the vehicle, and what stays in it has the
/// gas that boils off to give way to (own choice, own figure). Not under a trip that forces the fan: there nothing waits.
pub const LINE_LAG: Millis = Millis(2_000);
/// Shortest time a motor is on.
pub const MOTOR_MIN_ON: Millis = Millis(2_000);
/// Shortest time P-1 is off.
pub const MOTOR_MIN_OFF: Millis = Millis(2_000);
/// Shortest time a valve is open or shut.
pub const VALVE_MIN: Millis = Millis(50);
/// Time between two motor starts, for the sake of the supply.
pub const STAGGER: Millis = Millis(250);
/// How long one contactor of the heater is on alone before the other follows: TT-3 shows within it whether the heater is cold, as
/// it must be (I12). 300 W warm a dry heater by 1 K a second, and TT-3 lags 5 s (own figures).
pub const HEATER_LEAD: Millis = Millis(20_000);
/// C-1 restart delay of the reference station (I13): pressures equalise, the winding cools.
pub const RESTART_DELAY: Millis = Millis(180_000);

/// For each actuator, those it must not be on with.
const OPPONENTS: [Actuators; ACTUATOR_COUNT] = {
    let mut table = [Actuators::NONE; ACTUATOR_COUNT];
    let mut i = 0;
    while i < FORBIDDEN.len() {
        let (a, b, _) = FORBIDDEN[i];
        assert!(a as u8 != K1 as u8 && b as u8 != K1 as u8, "the fan may be forced on, so it is in no pair");
        table[a as usize] = table[a as usize].with(b);
        table[b as usize] = table[b as usize].with(a);
        i += 1;
    }
    table
};

/// Last and dumb: on only where requested and not inhibited, or where forced.
#[inline]
pub const fn gate(requested: Actuators, inhibits: &Inhibits) -> Actuators {
    requested.without(inhibits.off).or(inhibits.force)
}

/// Remembers since when each output is as it is.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Drive {
    /// Outputs as last seen behind the gate.
    seen: Actuators,
    /// Outputs that changed lately enough for their mark to matter. Without this bit a mark from 49 days ago would look
    /// fresh when the tick wraps.
    recent: Actuators,
    marks: [Instant; ACTUATOR_COUNT],
    motor_start: Instant,
    motor_recent: bool,
    /// The contactor of the heater that goes first next time: they take turns, so that each is seen to break.
    heater_first: Actuator,
    primed: bool,
    restart_delay: Millis,
}

impl Default for Drive {
    fn default() -> Self {
        Self::new()
    }
}

impl Drive {
    /// With the restart delay of the reference station.
    pub const fn new() -> Self {
        Self::with_restart_delay(RESTART_DELAY)
    }

    /// With another C-1 restart delay. It runs from the first [`Drive::sequence`] too: after a power cut nobody knows how
    /// long the compressor has stood.
    pub const fn with_restart_delay(restart_delay: Millis) -> Self {
        Self {
            seen: Actuators::NONE,
            recent: Actuators::NONE,
            marks: [Instant(0); ACTUATOR_COUNT],
            motor_start: Instant(0),
            motor_recent: false,
            heater_first: H1,
            primed: false,
            restart_delay,
        }
    }

    /// What may be requested of the gate now. `want` is what the job asks for, `last` what was applied in the last scan
    /// (behind the gate). Of a forbidden pair that is asked for together, neither is given.
    pub fn sequence(&mut self, now: Instant, want: Actuators, inhibits: &Inhibits, last: Actuators) -> Actuators {
        self.observe(now, last);
        let target = consistent(want.without(inhibits.off));
        if target == last && self.recent.is_empty() {
            return gate(target, inhibits);
        }
        let kept = self.keep(now, target, last, inhibits);
        let opened = self.open(now, target, last, kept);
        gate(kept.or(opened), inhibits)
    }

    /// How long C-1 has yet to stand before it may start; zero while it runs or is free.
    pub fn ready_in(&self, now: Instant) -> Millis {
        if !self.primed {
            return self.restart_delay;
        }
        if self.seen.has(C1) || !self.recent.has(C1) {
            return Millis::ZERO;
        }
        self.restart_delay.minus(self.age(now, C1))
    }

    /// Dates changes one scan late at most, so that every wait is rather too long than too short.
    #[inline]
    fn observe(&mut self, now: Instant, last: Actuators) {
        let mut changed = Actuators(last.0 ^ self.seen.0);
        if !self.primed {
            self.primed = true;
            changed = Actuators::ALL;
        }
        self.seen = last;
        if changed.is_empty() && self.recent.is_empty() {
            return;
        }
        let horizon = self.restart_delay.or_more(HEATER_LEAD);
        let mut expired = Actuators::NONE;
        for one in members(changed.or(self.recent)) {
            let Some(mark) = self.marks.get_mut(one as usize) else {
                continue;
            };
            if changed.has(one) {
                *mark = now;
            } else if now.since(*mark) >= horizon {
                expired = expired.with(one);
            }
        }
        self.recent = self.recent.or(changed).without(expired);
        if self.motor_recent && now.since(self.motor_start) >= STAGGER {
            self.motor_recent = false;
        }
    }

    /// Time since the output changed, or the longest there is when that is long ago.
    #[inline]
    fn age(&self, now: Instant, one: Actuator) -> Millis {
        if !self.recent.has(one) {
            return Millis::MAX;
        }
        self.marks.get(one as usize).map_or(Millis::ZERO, |mark| now.since(*mark))
    }

    /// What stays on of what is on: the target, and what must outlast it.
    fn keep(&self, now: Instant, target: Actuators, last: Actuators, inhibits: &Inhibits) -> Actuators {
        let mut kept = last.and(target);
        for one in members(last.without(target).without(inhibits.off)) {
            let outlasts = match one {
                K1 | H1 | H2 => false,
                C1 => self.age(now, C1) < MOTOR_MIN_ON || (last.has(Xv3) && !target.has(Xv3)),
                P1 => self.age(now, P1) < MOTOR_MIN_ON || last.has(Xv6) || self.age(now, Xv6) < PUMP_LEAD,
                Xv4 => last.has(C1) || self.age(now, C1) < DISCHARGE_LAG,
                Xv1 | Xv2 if !target.has(Xv1) && !target.has(Xv2) && inhibits.force.is_empty() => {
                    last.has(Xv5) || self.age(now, Xv5) < LINE_LAG || self.age(now, one) < VALVE_MIN
                }
                _ => self.age(now, one) < VALVE_MIN,
            };
            if outlasts {
                kept = kept.with(one);
            }
        }
        // Inhibits come before minimum times: a partner that was taken away takes the other with it.
        if !kept.has(Xv4) {
            kept = kept.without(Actuators::of(&[C1]));
        }
        if !kept.has(P1) {
            kept = kept.without(Actuators::of(&[Xv6]));
        }
        kept
    }

    /// What may come on in this scan.
    fn open(&mut self, now: Instant, target: Actuators, last: Actuators, kept: Actuators) -> Actuators {
        let mut opened = Actuators::NONE;
        for one in members(target.without(last)) {
            if !self.may_open(now, one, last.or(kept)) {
                continue;
            }
            if is_motor(one) {
                self.motor_start = now;
                self.motor_recent = true;
            }
            if Actuators::HEATER.has(one) && one != self.heater_first {
                self.heater_first = one;
            }
            opened = opened.with(one);
        }
        opened
    }

    fn may_open(&self, now: Instant, one: Actuator, on: Actuators) -> bool {
        let opponents = OPPONENTS.get(one as usize).copied().unwrap_or(Actuators::ALL);
        if !on.and(opponents).is_empty()
            || members(opponents.and(self.recent)).any(|other| self.age(now, other) < DEAD_TIME)
        {
            return false;
        }
        let off_for = self.age(now, one);
        match one {
            K1 => true,
            H1 | H2 => {
                let leads = one == self.heater_first
                    || on.has(self.heater_first) && self.age(now, self.heater_first) >= HEATER_LEAD;
                leads && !self.motor_recent
            }
            C1 => {
                !self.motor_recent
                    && off_for >= self.restart_delay
                    && on.has(Xv4)
                    && self.age(now, Xv4) >= DISCHARGE_LEAD
            }
            P1 => !self.motor_recent && off_for >= MOTOR_MIN_OFF,
            Xv6 => off_for >= VALVE_MIN && on.has(P1) && self.age(now, P1) >= PUMP_LEAD,
            _ => off_for >= VALVE_MIN,
        }
    }
}

const fn is_motor(one: Actuator) -> bool {
    matches!(one, C1 | P1 | H1 | H2 | K1)
}

/// A request that contradicts itself opens nothing of the contradiction, and a partner left alone is not asked for.
fn consistent(want: Actuators) -> Actuators {
    let mut out = want;
    for pair in PAIRS {
        if want.and(pair) == pair {
            out = out.without(pair);
        }
    }
    if !out.has(Xv4) {
        out = out.without(Actuators::of(&[C1]));
    }
    if !out.has(P1) {
        out = out.without(Actuators::of(&[Xv6]));
    }
    if out.and(Actuators::HEATER) != Actuators::HEATER {
        out = out.without(Actuators::HEATER);
    }
    out
}

/// The members of a set, in bit order.
#[inline]
fn members(set: Actuators) -> impl Iterator<Item = Actuator> {
    let mut left = set.0;
    core::iter::from_fn(move || {
        let at = left.trailing_zeros() as usize;
        left &= left.wrapping_sub(1);
        Actuator::ALL.get(at).copied()
    })
}
