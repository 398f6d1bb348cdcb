//! The interlock layer alone: causes that come, go and hide, a button, phases, couplers and power cuts in every order to a depth.
//!
//! What is held against it is made of the table's words (hold, clear hold, latch, effects) by counting, not of its evaluation.

use stateright::{Model, Property};
use valvewright_core::drive::gate;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::interlock::table::{Condition, Latch, ROWS, Role, Row};
use valvewright_core::interlock::{Facts, Interlocks, RowId, RowSet, Watch};
use valvewright_core::sense::Readings;
use valvewright_core::units::{Instant, Millis};

use super::{Bounded, HOLDS};

#[path = "../../core/tests/controller/interlock_bench.rs"]
mod upset;

/// Scan time, and a wait that is longer than every hold of the table, ms.
const WAITS: [u32; 2] = [50, 91_000];
/// An act.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// A cause comes, or goes if it is there.
    Turn(Watch),
    /// The reset button is pressed, or let go if it is down.
    Button,
    /// A phase begins.
    Phase,
    /// The couplers move.
    Couplers,
    /// Power goes and comes back, with the latches that were kept.
    Power,
    /// One evaluation so many milliseconds after the last.
    Wait(u32),
}

/// One cause, and what is known of it from outside.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
struct Cause {
    /// Row and place among its conditions.
    at: (usize, usize),
    there: bool,
    /// How long it has been there, or been away, ms; none before an evaluation saw it.
    for_ms: Option<u32>,
    stands: bool,
    /// Nothing counts before it was seen to stand: the couplers moved.
    void: bool,
}

impl Cause {
    fn condition(&self) -> &'static Condition {
        &ROWS[self.at.0].causes[self.at.1]
    }
    fn row(&self) -> &'static Row {
        &ROWS[self.at.0]
    }

    fn turn(&mut self) {
        (self.there, self.for_ms) = (!self.there, None);
    }

    /// What the table says that holds, after an evaluation.
    fn count(&mut self, passed: u32, watched: u32) {
        let condition = self.condition();
        self.void &= !self.there;
        let step = if self.there { passed } else { watched };
        let age = self.for_ms.map_or(0, |age| age.saturating_add(step));
        self.for_ms = Some(age);
        let due = if self.there { condition.hold } else { condition.clear_hold };
        if self.stands != self.there && Millis(age) >= due && !self.void {
            self.stands = self.there;
        }
    }
}

/// The interlocks, and what is known of them from outside.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct State {
    locks: Interlocks,
    now: u32,
    left: u8,
    down: bool,
    causes: Vec<Cause>,
    /// A trip was there, and was reset.
    was_reset: bool,
    wrong: Option<String>,
}

/// The model.
pub struct Locks {
    /// Acts of a way.
    pub depth: u8,
    /// Causes of a way: 1, or 2 for every pair of them that does not touch the same reading.
    pub together: usize,
    /// Planted: a button that is held counts with every scan.
    pub bounces: bool,
}

/// Readings and facts with these causes there.
fn world(causes: &[Cause]) -> (Readings, Facts) {
    let (mut readings, mut facts) = upset::calm();
    for cause in causes.iter().filter(|cause| cause.there) {
        upset::provoke(cause.condition().watch, &mut readings, &mut facts);
    }
    (readings, facts)
}

/// Whether the one leaves alone what makes the other.
fn apart(one: Watch, other: Watch) -> bool {
    let both = |first, second| {
        let (mut readings, mut facts) = upset::calm();
        upset::provoke(first, &mut readings, &mut facts);
        let alone = (readings, facts);
        upset::provoke(second, &mut readings, &mut facts);
        (alone, (readings, facts))
    };
    let ((alone, ab), (_, ba)) = (both(one, other), both(other, one));
    ab == ba && alone != ab && alone.1.applied == alone.1.wanted && ab.1.applied == ab.1.wanted
}

/// What one evaluation goes with.
#[derive(Clone, Copy, Default)]
struct With {
    /// The button has just gone down.
    fresh: bool,
    phase: bool,
    power: bool,
}

impl Locks {
    fn evaluate(&self, s: &mut State, ms: u32, before: &Interlocks, with: With) {
        let (readings, facts) = world(&s.causes);
        s.now = s.now.wrapping_add(ms);
        if self.bounces && s.down {
            s.locks.evaluate(Instant(s.now), &readings, &facts, false);
        }
        s.locks.evaluate(Instant(s.now), &readings, &facts, s.down);
        // The first evaluation after power-on has nothing before it.
        let passed = if with.power { 0 } else { ms };
        let watched = if facts.scan_late { 0 } else { passed };
        s.causes.iter_mut().for_each(|cause| cause.count(passed, watched));
        s.was_reset |= with.fresh && before.tripped() != RowSet::NONE && s.locks.tripped() == RowSet::NONE;
        s.wrong = look(s, before, with).err();
    }
}

fn look(s: &State, before: &Interlocks, with: With) -> Result<(), String> {
    let (tripped, withheld, standing) = (s.locks.tripped(), s.locks.withheld(), s.locks.standing());
    for row in ROWS {
        let (was, is) = (before.tripped().has(row.id), tripped.has(row.id));
        let may_go = match row.latch {
            Latch::Latched => with.fresh,
            Latch::Phase => with.fresh || with.phase,
            Latch::None | Latch::After(_) | Latch::Connection => true,
        };
        let kept = !with.power || before.latched().has(row.id);
        if was && !is && kept && !may_go {
            return Err(format!("{} left its latch without a fresh press", row.id));
        }
        if with.fresh && is && !standing.has(row.id) {
            return Err(format!("a press does not reset {}, whose cause is gone", row.id));
        }
    }
    for cause in &s.causes {
        let (id, condition) = (cause.row().id, cause.condition());
        let (acts, what) = match condition.role {
            Role::Trip => (tripped.has(id), "trips"),
            Role::Permit => (withheld.has(id), "withholds"),
        };
        if cause.stands && !acts {
            return Err(format!("{:?} stands and {id} {what} nothing", condition.watch));
        }
    }
    effects(&s.locks)?;
    match (before.first_out(), s.locks.first_out()) {
        (Some(was), is) if !with.power && tripped != RowSet::NONE && is != Some(was) => {
            Err(format!("the first cause {was:?} became {is:?}"))
        }
        _ => Ok(()),
    }
}

/// What is tripped and withheld does what the table says, and nothing stops the fan.
fn effects(locks: &Interlocks) -> Result<(), String> {
    let inhibits = locks.inhibits();
    let on = gate(Actuators::ALL, &inhibits);
    for row in ROWS {
        let (trips, withholds) = (locks.tripped().has(row.id), locks.withheld().has(row.id));
        let off = if trips { row.trip.inhibits } else { Actuators::NONE };
        let off = if withholds { off.or(row.withholds) } else { off };
        let forced = !trips || gate(Actuators::NONE, &inhibits).and(row.trip.forces) == row.trip.forces;
        let dropped = !trips || inhibits.drop.0 & row.trip.drops.0 == row.trip.drops.0;
        if !on.and(off).is_empty() || !forced || !dropped {
            return Err(format!("{} does not do what the table says: {inhibits:?}", row.id));
        }
    }
    if !on.has(Actuator::K1) { Err("the fan is stopped".to_owned()) } else { Ok(()) }
}

/// Every condition of the table.
fn conditions() -> Vec<(usize, usize)> {
    let of_row = |row: usize| (0..ROWS[row].causes.len()).map(move |at| (row, at));
    (0..ROWS.len()).flat_map(of_row).collect()
}

impl Locks {
    fn sets(&self) -> Vec<Vec<(usize, usize)>> {
        let all = conditions();
        if self.together == 1 {
            return all.into_iter().map(|one| vec![one]).collect();
        }
        let watch = |(row, at): (usize, usize)| ROWS[row].causes[at].watch;
        let pairs =
            all.iter().enumerate().flat_map(|(at, one)| all[at + 1..].iter().map(move |other| vec![*one, *other]));
        pairs.filter(|pair| apart(watch(pair[0]), watch(pair[1]))).collect()
    }
}

impl Model for Locks {
    type State = State;
    type Action = Act;

    /// A calm station with every permission given, for each set of causes that may come.
    fn init_states(&self) -> Vec<State> {
        let calm = upset::Rig::new();
        let cause = |at| Cause { at, there: false, for_ms: None, stands: false, void: false };
        let start = |set: Vec<(usize, usize)>| State {
            locks: calm.locks.clone(),
            now: calm.now.0,
            left: self.depth,
            down: false,
            causes: set.into_iter().map(cause).collect(),
            was_reset: false,
            wrong: None,
        };
        self.sets().into_iter().map(start).collect()
    }

    fn actions(&self, s: &State, all: &mut Vec<Act>) {
        if s.left == 0 || s.wrong.is_some() {
            return;
        }
        all.extend(s.causes.iter().map(|cause| Act::Turn(cause.condition().watch)));
        all.extend([Act::Button, Act::Phase, Act::Couplers, Act::Power]);
        all.extend(WAITS.map(Act::Wait));
    }

    fn next_state(&self, before: &State, act: Act) -> Option<State> {
        let mut s = before.clone();
        s.left -= 1;
        let (mut with, mut ms) = (With::default(), WAITS[0]);
        match act {
            Act::Turn(watch) => {
                s.causes.iter_mut().filter(|cause| cause.condition().watch == watch).for_each(Cause::turn);
            }
            Act::Button => (s.down, with.fresh) = (!s.down, !s.down),
            Act::Phase => {
                s.locks.phase_started();
                with.phase = true;
            }
            Act::Couplers => {
                s.locks.connection_changed();
                for cause in &mut s.causes {
                    if cause.row().latch == Latch::Connection && cause.condition().role == Role::Permit {
                        (cause.stands, cause.void, cause.for_ms) = (true, true, None);
                    }
                }
            }
            Act::Power => {
                s.locks = Interlocks::new();
                s.locks.restore(before.locks.latched());
                for cause in &mut s.causes {
                    (cause.stands, cause.void) = (cause.condition().role == Role::Permit, false);
                    cause.for_ms = None;
                }
                with.power = true;
            }
            Act::Wait(wait) => ms = wait,
        }
        self.evaluate(&mut s, ms, &before.locks, with);
        Some(s)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![
            Property::always(HOLDS, |_, s: &State| s.wrong.is_none()),
            Property::sometimes("a trip is reset", |_, s: &State| s.was_reset),
            Property::sometimes("a cause is gone and its row still latched", |_, s: &State| {
                s.locks.tripped().iter().any(|id: RowId| !s.locks.standing().has(id))
            }),
        ]
    }
}

impl Bounded for Locks {
    fn wrong(state: &State) -> Option<&str> {
        state.wrong.as_deref()
    }
    fn starts(&self) -> Vec<String> {
        let name = |(row, at): &(usize, usize)| format!("{} {:?}", ROWS[*row].id, ROWS[*row].causes[*at].watch);
        self.sets().iter().map(|set| set.iter().map(name).collect::<Vec<_>>().join(" and ")).collect()
    }
}
