//! The whole station in the middle of every phase: whatever is pressed, moved, broken or waited for, in every order to a depth.

use stateright::{Model, Property};
use valvewright_core::frame::{Actuator, Analog, Switches};
use valvewright_core::job::{PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::kept::{Hoses, Kept, Memory};
use valvewright_core::order::Procedure;
use valvewright_core::row::RowSet;
use valvewright_core::talk::Command;
use valvewright_core::units::Milligram;

use super::{Bounded, HOLDS};
use crate::stand::bench::{Bench, SCAN, amid, order, worn};
use crate::stand::plant::{Gas, counts};
use crate::stand::watch::Past;

/// Scans after an act: a contact is judged by the majority of three, a reading by its filter.
const SETTLE: u32 = 6;

/// An act.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// Buttons.
    Pause,
    Resume,
    Abort,
    Reset,
    Yes,
    No,
    /// A whole service, a charge alone, an evacuation alone, for a new vehicle.
    Serve,
    ChargeAlone,
    EvacuateAlone,
    /// The hoses are decontaminated, or flushed.
    Decontaminate,
    Flush,
    /// Couplers, door, emergency stop, flush port, PSH-1, PSH-2, LS-2: from one state to the other.
    Turn(&'static str),
    /// A reading goes to a level (Pa, 0.01 degC, 0.1 % LFL, mV, mg), or its loop breaks.
    Level(&'static str, i32),
    Breaks(Analog),
    /// The identifier finds another gas.
    OtherGas,
    /// The record store answers no more, or again.
    Store,
    /// So many seconds.
    Wait(u32),
}

/// Contacts that may turn.
const CONTACTS: [(&str, u16); 7] = [
    ("couplers", Switches::ZS2_COUPLED),
    ("door", Switches::ZS1_DOOR_SHUT),
    ("emergency stop", Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED),
    ("flush port", Switches::FLUSH_PORT),
    ("PSH-1", Switches::PSH1_HEALTHY),
    ("PSH-2", Switches::PSH2_HEALTHY),
    ("LS-2", Switches::LS2_NOT_HIGH),
];
/// Readings and the levels they may go to: one within what each phase wants, one beyond a row's trip point.
const LEVELS: [(&str, i32); 9] = [
    ("vessel", 610_000),
    ("vessel", 1_750_000),
    ("hoses", 600_000),
    ("hoses", 1_000),
    ("wall", 4_500),
    ("cabinet gas", 200),
    ("cabinet gas", 0),
    ("supply", 20_000),
    ("vessel mass", 10_100_000),
];
/// Loops that may break.
const LOOPS: [Analog; 6] = [Analog::Pt1, Analog::Pt2, Analog::Pt4, Analog::Tt1, Analog::At2, Analog::It1];
/// What may be waited, s: short, and longer than the compressor's rest would be too dear.
const WAITS: [u32; 2] = [2, 20];

/// A station in front of its plant, and what is known of its past.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct State {
    /// Station and plant.
    pub bench: Bench,
    past: Past,
    left: u8,
    orders: u16,
    wrong: Option<String>,
}

/// The model.
pub struct Jobs {
    depth: u8,
    starts: Vec<(String, Bench)>,
}

impl Jobs {
    /// All starts, or those whose name contains `only`; `without` rows of the interlock table are left out.
    pub fn new(depth: u8, only: &str, without: RowSet) -> Self {
        let record = |kept: Kept| Bench::waking(Memory::Sound(kept));
        let foreign = Kept { hoses: Hoses::Foreign, ..Kept::COMMISSIONED };
        let mut starts = vec![
            ("at power-on".to_owned(), record(Kept::COMMISSIONED)),
            ("at power-on, parts worn".to_owned(), record(worn())),
            ("at power-on, record lost".to_owned(), Bench::waking(Memory::Lost)),
            ("at power-on, foreign gas in the hoses".to_owned(), record(foreign)),
        ];
        starts.iter_mut().for_each(|(_, bench)| bench.rest(100));
        let middle = |kind: PhaseKind| amid(kind).map(|bench| (format!("amid {}", kind.name()), bench));
        starts.extend(PhaseKind::ALL.into_iter().filter_map(middle));
        starts.retain(|(name, _)| name.contains(only));
        starts.iter_mut().for_each(|(_, bench)| bench.station.leave_out(without));
        Self { depth, starts }
    }
}

fn scan(s: &mut State, command: Option<Command>) {
    drop(s.bench.scan(SCAN, command));
    let seen = s.past.look(&s.bench);
    if s.wrong.is_none() {
        s.wrong = seen.err();
    }
}

/// The command of an act; orders are numbered anew.
fn command(s: &mut State, act: Act) -> Option<Command> {
    let mut start = |order: WorkOrder| {
        s.orders += 1;
        Some(Command::Start { id: s.orders, order })
    };
    match act {
        Act::Pause => Some(Command::Pause),
        Act::Resume => Some(Command::Resume),
        Act::Abort => Some(Command::Abort),
        Act::Reset => Some(Command::Reset),
        Act::Yes => Some(s.bench.answer(true)),
        Act::No => Some(s.bench.answer(false)),
        Act::Serve => start(order(PhaseSet::WHOLE)),
        Act::ChargeAlone => start(order(PhaseSet::of(&[PhaseKind::Charge]))),
        Act::EvacuateAlone => start(order(PhaseSet::of(&[PhaseKind::Evacuate]))),
        Act::Decontaminate => start(WorkOrder::upkeep(Procedure::Decontaminate, Milligram(0))),
        Act::Flush => start(WorkOrder::upkeep(Procedure::Flush, Milligram(0))),
        _ => None,
    }
}

/// What an act does to the plant.
fn move_plant(s: &mut State, act: Act) {
    let plant = &mut s.bench.plant;
    match act {
        Act::Turn("flush port") => plant.shut ^= Switches::FLUSH_PORT,
        Act::Turn(name) => plant.open ^= CONTACTS.iter().find(|(one, _)| *one == name).map_or(0, |(_, mask)| *mask),
        Act::Level("vessel", to) => plant.pressure[0] = to,
        Act::Level("hoses", to) => (plant.pressure[1], plant.pressure[2]) = (to, to),
        Act::Level("wall", to) => plant.warmth[0] = to,
        Act::Level("cabinet gas", to) => plant.lfl = to,
        Act::Level("supply", to) => plant.supply = to,
        Act::Level(_, to) => plant.mass[0] = to,
        // Below 3.6 mA, where NAMUR NE 43 puts a broken loop.
        Act::Breaks(which) => plant.raw[which as usize] = Some(counts(-2, 0, 16)),
        Act::OtherGas => plant.gas = Gas::Foreign,
        Act::Store => plant.store_stands = !plant.store_stands,
        _ => {}
    }
}

impl Model for Jobs {
    type State = State;
    type Action = Act;

    fn init_states(&self) -> Vec<State> {
        let state = |bench: &Bench| State {
            past: Past::of(bench),
            bench: bench.clone(),
            left: self.depth,
            orders: 1_000,
            wrong: None,
        };
        self.starts.iter().map(|(_, bench)| state(bench)).collect()
    }

    fn actions(&self, s: &State, all: &mut Vec<Act>) {
        use Act::*;
        if s.left == 0 || s.wrong.is_some() {
            return;
        }
        all.extend([Pause, Resume, Abort, Reset, Yes, No, Serve, ChargeAlone, EvacuateAlone, Decontaminate, Flush]);
        all.extend(CONTACTS.map(|(name, _)| Turn(name)));
        all.extend(LEVELS.map(|(name, to)| Level(name, to)));
        all.extend(LOOPS.map(Breaks));
        all.extend([OtherGas, Store]);
        all.extend(WAITS.map(Wait));
    }

    fn next_state(&self, before: &State, act: Act) -> Option<State> {
        if matches!(act, Act::Yes | Act::No) && before.bench.station.job().asked().is_none() {
            return None;
        }
        let mut s = before.clone();
        s.left -= 1;
        let command = command(&mut s, act);
        if matches!(command, Some(Command::Start { .. })) && !before.bench.station.job().busy() {
            s.past.cleans = act == Act::Decontaminate;
        }
        move_plant(&mut s, act);
        scan(&mut s, command);
        let scans = if let Act::Wait(seconds) = act { seconds * 1_000 / SCAN } else { SETTLE };
        for _ in 1..scans {
            scan(&mut s, None);
        }
        Some(s)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![
            Property::always(HOLDS, |_, s: &State| s.wrong.is_none()),
            Property::sometimes("C-1 runs", |_, s: &State| s.bench.on().has(Actuator::C1)),
            Property::sometimes("a charge flows", |_, s: &State| {
                s.bench.on().has(Actuator::Xv5) && s.bench.on().has(Actuator::Xv10)
            }),
            Property::sometimes("a row is tripped", |_, s: &State| {
                s.bench.station.interlocks().tripped() != RowSet::NONE
            }),
            Property::sometimes("a foreign gas stands in the hoses", |_, s: &State| {
                s.bench.station.kept().hoses == Hoses::Foreign
            }),
        ]
    }
}

impl Bounded for Jobs {
    fn wrong(state: &State) -> Option<&str> {
        state.wrong.as_deref()
    }
    fn starts(&self) -> Vec<String> {
        self.starts.iter().map(|(name, _)| name.clone()).collect()
    }
}
