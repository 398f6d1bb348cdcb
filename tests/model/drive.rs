//! The drive alone: whatever is wished, inhibited and waited for, in every order to a depth, outputs come in order.

use stateright::{Model, Property};
use valvewright_core::drive::*;
use valvewright_core::frame::{ACTUATOR_COUNT, Actuator, Actuators, Inhibits};
use valvewright_core::units::Instant;

use super::{Bounded, HOLDS};
use Actuator::*;

/// Scan time, ms.
const SCAN: u32 = 50;
/// Ages are not told apart from here on, ms: longer than any time of the drive.
const LONG: u32 = 200_000;

/// What may be wished: what phases wish, parts of it, and what contradicts itself.
const WISHES: [(&str, Actuators); 11] = [
    ("nothing", Actuators::SAFE),
    ("recover", Actuators::of(&[K1, Xv1, Xv2, Xv3, Xv4, C1])),
    ("evacuate", Actuators::of(&[K1, Xv1, Xv2, Xv6, P1])),
    ("charge", Actuators::of(&[K1, Xv1, Xv2, Xv5, Xv10])),
    ("charge one side", Actuators::of(&[K1, Xv2, Xv5, Xv10])),
    ("inject oil", Actuators::of(&[K1, Xv1, Xv9])),
    ("drain oil", Actuators::of(&[K1, Xv8])),
    ("purge", Actuators::of(&[K1, Xv7])),
    ("heat", Actuators::of(&[K1, H1, H2])),
    ("everything", Actuators::ALL),
    ("partners left alone", Actuators::of(&[K1, C1, Xv6, H2])),
];
/// What may be inhibited: as rows do it, partners together.
const INHIBITS: [(&str, Actuators); 4] = [
    ("nothing", Actuators::NONE),
    ("all but the fan", Actuators::ALL.without(Actuators::SAFE)),
    ("recovery", Actuators::of(&[Xv3, Xv4, C1, H1, H2])),
    ("pump valve and charge", Actuators::of(&[Xv6, Xv5, Xv10])),
];
/// What may be waited: scans, and how long each is, ms. The last is one scan that comes late.
const WAITS: [(u32, u32); 6] = [(1, SCAN), (3, SCAN), (6, SCAN), (42, SCAN), (190, 1_000), (1, 400)];

/// An act.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// Wish this, for a scan.
    Wish(&'static str),
    /// Inhibit this, for a scan.
    Inhibit(&'static str),
    /// So many scans of so many milliseconds.
    Wait(u32, u32),
}

/// A drive and what is known of its past.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct State {
    drive: Drive,
    now: u32,
    left: u8,
    wish: usize,
    inhibit: usize,
    on: Actuators,
    /// How long each has been as it is, ms.
    since: [u32; ACTUATOR_COUNT],
    /// How long ago a motor started, ms.
    started: u32,
    wrong: Option<String>,
}

/// The model.
pub struct Drives {
    /// Acts of a way.
    pub depth: u8,
    /// Planted: what is wished and not inhibited is on at once.
    pub at_once: bool,
}

impl Drives {
    fn scan(&self, s: &mut State, ms: u32) {
        s.now = s.now.wrapping_add(ms);
        let off = INHIBITS[s.inhibit].1;
        let force = if off.is_empty() { Actuators::NONE } else { Actuators::SAFE };
        let inhibits = Inhibits { off, force, ..Inhibits::default() };
        let wish = WISHES[s.wish].1;
        let ordered = s.drive.sequence(Instant(s.now), wish, &inhibits, s.on);
        let on = gate(if self.at_once { wish } else { ordered }, &inhibits);
        s.started = s.started.saturating_add(ms).min(LONG);
        s.since.iter_mut().for_each(|age| *age = age.saturating_add(ms).min(LONG));
        if s.wrong.is_none() {
            s.wrong = look(s, on, off).err();
        }
        for one in Actuator::ALL {
            if on.has(one) != s.on.has(one) {
                s.since[one as usize] = 0;
                if on.has(one) && Actuators::MOTORS.with(K1).has(one) {
                    s.started = 0;
                }
            }
        }
        s.on = on;
    }
}

/// What a scan that led to `on` may not show; `s` is what stood before.
fn look(s: &State, on: Actuators, off: Actuators) -> Result<(), String> {
    let age = |one: Actuator| s.since[one as usize];
    let rose = |one: Actuator| on.has(one) && !s.on.has(one);
    let fell = |one: Actuator| !on.has(one) && s.on.has(one) && !off.has(one);
    let fail = |what: &str| Err(format!("{what}: {:?} after {:?}", on, s.on));
    for (a, b, why) in FORBIDDEN {
        if on.has(*a) && on.has(*b) {
            return fail(why);
        }
        for (one, other) in [(*a, *b), (*b, *a)] {
            if rose(one) && (s.on.has(other) || age(other) < DEAD_TIME.0) {
                return fail("a dead time is cut short");
            }
        }
    }
    let rules = [
        (on.has(C1) && !on.has(Xv4), "C-1 against a shut discharge"),
        (on.has(Xv6) && !on.has(P1), "XV-6 over a standing pump"),
        (rose(C1) && !(s.on.has(Xv4) && age(Xv4) >= DISCHARGE_LEAD.0), "C-1 without its lead"),
        (rose(C1) && age(C1) < RESTART_DELAY.0, "C-1 without its rest"),
        (rose(Xv6) && !(s.on.has(P1) && age(P1) >= PUMP_LEAD.0), "XV-6 without its lead"),
        (rose(P1) && age(P1) < MOTOR_MIN_OFF.0, "P-1 without its rest"),
        (fell(C1) && !off.has(Xv4) && age(C1) < MOTOR_MIN_ON.0, "C-1 for too short"),
        (fell(P1) && (s.on.has(Xv6) || age(Xv6) < PUMP_LEAD.0), "P-1 off before its valve has been shut"),
        (fell(Xv4) && (s.on.has(C1) || age(C1) < DISCHARGE_LAG.0), "XV-4 shut too soon behind C-1"),
        (rose(H1) && rose(H2), "both contactors of the heater at once"),
        (rose(H1) && s.on.has(H2) && age(H2) < HEATER_LEAD.0, "the heater without its lead"),
        (rose(H2) && s.on.has(H1) && age(H1) < HEATER_LEAD.0, "the heater without its lead"),
        ([C1, P1, H1, H2].into_iter().filter(|one| rose(*one)).count() > 1, "two motors start at once"),
        ([C1, P1, H1, H2].into_iter().any(rose) && s.started < STAGGER.0, "motors start too close to each other"),
        (!on.and(off).is_empty(), "on against an inhibit"),
        (!off.is_empty() && !on.has(K1), "the fan off under a trip"),
    ];
    rules.into_iter().find(|(seen, _)| *seen).map_or(Ok(()), |(_, what)| fail(what))
}

impl Model for Drives {
    type State = State;
    type Action = Act;

    /// At power-on, and long after it.
    fn init_states(&self) -> Vec<State> {
        let fresh = State {
            drive: Drive::new(),
            now: u32::MAX - 100_000,
            left: self.depth,
            wish: 0,
            inhibit: 0,
            on: Actuators::NONE,
            since: [0; ACTUATOR_COUNT],
            started: LONG,
            wrong: None,
        };
        let mut rested = fresh.clone();
        (0..200).for_each(|_| self.scan(&mut rested, 1_000));
        vec![fresh, rested]
    }

    fn actions(&self, s: &State, all: &mut Vec<Act>) {
        if s.left == 0 || s.wrong.is_some() {
            return;
        }
        all.extend(WISHES.iter().map(|(name, _)| Act::Wish(name)));
        all.extend(INHIBITS.iter().map(|(name, _)| Act::Inhibit(name)));
        all.extend(WAITS.map(|(scans, ms)| Act::Wait(scans, ms)));
    }

    fn next_state(&self, before: &State, act: Act) -> Option<State> {
        let mut s = before.clone();
        s.left -= 1;
        let place = |all: &[(&str, Actuators)], name: &str| all.iter().position(|(one, _)| *one == name);
        let (scans, ms) = match act {
            Act::Wish(name) => {
                s.wish = place(&WISHES, name).filter(|at| *at != before.wish)?;
                (1, SCAN)
            }
            Act::Inhibit(name) => {
                s.inhibit = place(&INHIBITS, name).filter(|at| *at != before.inhibit)?;
                (1, SCAN)
            }
            Act::Wait(scans, ms) => (scans, ms),
        };
        (0..scans).for_each(|_| self.scan(&mut s, ms));
        Some(s)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![
            Property::always(HOLDS, |_, s: &State| s.wrong.is_none()),
            Property::sometimes("C-1 runs", |_, s: &State| s.on.has(C1)),
            Property::sometimes("XV-6 is open", |_, s: &State| s.on.has(Xv6)),
            Property::sometimes("a charge flows", |_, s: &State| s.on.has(Xv5) && s.on.has(Xv10)),
            Property::sometimes("oil goes in", |_, s: &State| s.on.has(Xv9)),
            Property::sometimes("the heater leads", |_, s: &State| s.on.has(H1) || s.on.has(H2)),
        ]
    }
}

impl Bounded for Drives {
    fn wrong(state: &State) -> Option<&str> {
        state.wrong.as_deref()
    }
    fn starts(&self) -> Vec<String> {
        ["at power-on", "long after power-on"].map(str::to_owned).to_vec()
    }
}
