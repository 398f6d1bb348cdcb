//! Codes of replacement parts: typed in any order, with power cuts after any number of scans and a store that stands still, in every order to a
//! depth. No code buys two lives, and no life begins before its code is known to be burnt.

use stateright::{Model, Property};
use valvewright_core::kept::{Boot, Kept, Memory, Start};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::token::used::Standing;
use valvewright_core::token::{Code, CodeKey, Kind, Part, Typed, Used};
use valvewright_core::units::Millis;

use super::{Bounded, HOLDS};
use crate::stand::bench::{Bench, SCAN, worn};

/// Codes that may be typed: kind, serial number, and whether it is this station's.
const CODES: [(Kind, u32, bool); 6] = [
    (Kind::FilterDrier, 1, true),
    (Kind::FilterDrier, 2, true),
    (Kind::PumpOil, 1, true),
    (Kind::Release, 1, true),
    (Kind::FilterDrier, 3, false),
    (Kind::Release, 9, true),
];
/// What is typed for what: each code for its part, some for another.
const TYPED: [(Part, usize); 8] = [
    (Part::FilterDrier, 0),
    (Part::FilterDrier, 1),
    (Part::FilterDrier, 2),
    (Part::FilterDrier, 3),
    (Part::FilterDrier, 4),
    (Part::PumpOil, 2),
    (Part::PumpOil, 3),
    (Part::PumpOil, 5),
];
/// Scans after which power may go: a code is done with after fewer.
const CUTS: std::ops::Range<u32> = 1..24;
/// Of them, what a quick look takes.
const FEW: usize = 4;

/// An act.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// This code of the list is typed for this part.
    Type(Part, usize),
    /// So many scans.
    Wait(u32),
    /// So many scans, then power goes and comes; the store has what it acknowledged last, or what it was given last.
    Cut(u32, Has),
    /// The record store answers no more, or again.
    Store,
}

/// What a store has after a cut.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Has {
    Acknowledged,
    Newest,
}

/// A station, its store, and what is known of codes from outside.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct State {
    bench: Bench,
    /// What the controller was told is stored.
    acknowledged: Kept,
    left: u8,
    typed: Option<usize>,
    /// Lives that each code bought.
    lives: [u8; CODES.len()],
    /// A start found a code burnt and its life not given.
    owed: bool,
    wrong: Option<String>,
}

/// The model.
pub struct Codes {
    depth: u8,
    /// Planted: a store that comes back from a power cut without its burnt codes.
    forgets: bool,
    typed: Vec<Typed>,
    cuts: Vec<u32>,
}

impl Codes {
    /// With power cuts after every number of scans, or after every fourth.
    pub fn new(depth: u8, forgets: bool, every: bool) -> Self {
        let mint = |(kind, serial, ours)| {
            let key = if ours { CodeKey::DEMO } else { CodeKey([9; 32]) };
            Code { kind, serial }.mint(&key).expect("a serial number in range")
        };
        Self {
            depth,
            forgets,
            typed: CODES.into_iter().map(mint).collect(),
            cuts: CUTS.step_by(if every { 1 } else { FEW }).collect(),
        }
    }

    fn cut(&self, s: &mut State, has: Has) {
        let newest = s.bench.station.kept().clone();
        let mut kept = match has {
            Has::Newest => newest,
            Has::Acknowledged => s.acknowledged.clone(),
        };
        if self.forgets {
            kept.used_codes = [Used::NONE; 3];
        }
        s.owed |= kept.unlocking.is_some();
        s.acknowledged = kept.clone();
        let start = Start { memory: Memory::Sound(kept), boot: Boot::PowerOn, vessel_rest: Millis(0) };
        s.bench.station = Station::wake(s.bench.station.config().clone(), &start);
        s.bench.plant.outputs = Default::default();
        s.typed = None;
    }
}

fn scan(s: &mut State, command: Option<Command>) {
    let before = s.bench.station.kept().clone();
    if !s.bench.plant.store_stands && s.bench.plant.outputs.keep == before.number {
        s.acknowledged = before.clone();
    }
    let notices = s.bench.scan(SCAN, command);
    let seen = look(s, &before, &notices);
    if s.wrong.is_none() {
        s.wrong = seen.err();
    }
}

fn look(s: &mut State, before: &Kept, notices: &[Notice]) -> Result<(), String> {
    let now = s.bench.station.kept();
    let began = [now.drier.0 == 0 && before.drier.0 != 0, now.pump_oil == 0 && before.pump_oil != 0];
    if began != [false; 2] {
        let at = s.typed.ok_or("a life began and no code was typed")?;
        let (kind, serial, ours) = CODES[at];
        let place = Kind::ALL.iter().position(|one| *one == kind).unwrap_or(0);
        if !ours {
            return Err("a code of another station bought a life".to_owned());
        }
        if s.acknowledged.used_codes[place].look(serial) != Standing::Used {
            return Err("a life began before its code was known to be burnt".to_owned());
        }
        if began[0] && kind == Kind::PumpOil || began[1] && kind == Kind::FilterDrier {
            return Err("a code of another kind bought a life".to_owned());
        }
    }
    for notice in notices {
        if let Notice::Exchanged(part, _) = notice {
            let at = s.typed.ok_or("a part was exchanged and no code was typed")?;
            s.lives[at] += 1;
            let (drier, oil) = (s.acknowledged.drier.0, s.acknowledged.pump_oil);
            if *part == Part::FilterDrier && drier != 0 || *part == Part::PumpOil && oil != 0 {
                return Err("a life was told before it was stored".to_owned());
            }
        }
    }
    match s.lives.iter().position(|lives| *lives > 1) {
        Some(at) => Err(format!("{:?} bought two lives", CODES[at])),
        None => Ok(()),
    }
}

impl Model for Codes {
    type State = State;
    type Action = Act;

    /// Both parts at their limits, just woken, and rested.
    fn init_states(&self) -> Vec<State> {
        let mut bench = Bench::waking(Memory::Sound(worn()));
        bench.rest(100);
        let acknowledged = bench.station.kept().clone();
        let lives = [0; CODES.len()];
        vec![State { bench, acknowledged, left: self.depth, typed: None, lives, owed: false, wrong: None }]
    }

    fn actions(&self, s: &State, all: &mut Vec<Act>) {
        if s.left == 0 || s.wrong.is_some() {
            return;
        }
        all.extend(TYPED.map(|(part, at)| Act::Type(part, at)));
        all.extend([Act::Wait(1), Act::Wait(30), Act::Wait(640), Act::Store]);
        all.extend(
            self.cuts.iter().flat_map(|scans| [Act::Cut(*scans, Has::Acknowledged), Act::Cut(*scans, Has::Newest)]),
        );
    }

    fn next_state(&self, before: &State, act: Act) -> Option<State> {
        let mut s = before.clone();
        s.left -= 1;
        match act {
            Act::Type(part, at) => {
                if !s.bench.station.exchange().busy() {
                    s.typed = Some(at);
                }
                scan(&mut s, Some(Command::Exchanged { part, code: self.typed[at] }));
            }
            Act::Wait(scans) => (0..scans).for_each(|_| scan(&mut s, None)),
            Act::Cut(scans, has) => {
                (0..scans).for_each(|_| scan(&mut s, None));
                self.cut(&mut s, has);
                scan(&mut s, None);
            }
            Act::Store => {
                s.bench.plant.store_stands = !s.bench.plant.store_stands;
                scan(&mut s, None);
            }
        }
        Some(s)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![
            Property::always(HOLDS, |_, s: &State| s.wrong.is_none()),
            Property::sometimes("a part has a new life", |_, s: &State| s.lives.iter().any(|lives| *lives > 0)),
            Property::sometimes("power goes between code and life", |_, s: &State| s.owed),
        ]
    }
}

impl Bounded for Codes {
    fn wrong(state: &State) -> Option<&str> {
        state.wrong.as_deref()
    }
    fn starts(&self) -> Vec<String> {
        vec!["both parts worn".to_owned()]
    }
}
