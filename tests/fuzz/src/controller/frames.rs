//! Frames: whatever the inputs do and whoever presses what, a station keeps its outputs in order.

use std::sync::LazyLock;

use valvewright_core::frame::SelfChecks;
use valvewright_core::job::{PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::kept::{Kept, Memory};
use valvewright_core::order::{PHASE_COUNT, Procedure};
use valvewright_core::record::state;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::token::{Code, CodeKey, Kind, Part, Typed};
use valvewright_core::units::Milligram;

use super::take::Take;
use crate::stand::bench::{Bench, SCAN, amid, order, worn};
use crate::stand::plant::Gas;
use crate::stand::watch::Past;

/// Scans of one input: more would be slow.
const MOST: u32 = 400;

/// Where an input may begin: power-on with several records, and jobs in the middle of each phase that the plant comes to.
static STARTS: LazyLock<Vec<Bench>> = LazyLock::new(|| {
    let records = [Memory::Sound(Kept::COMMISSIONED), Memory::Sound(worn()), Memory::Lost];
    let mut all: Vec<Bench> = records.into_iter().map(Bench::waking).collect();
    all.extend(PhaseKind::ALL.into_iter().filter_map(amid));
    assert!(all.len() > 8, "{} places to begin", all.len());
    all
});

/// Codes that fit this station, so that what comes after the seal is reached.
static CODES: LazyLock<Vec<Typed>> = LazyLock::new(|| {
    let all = Kind::ALL.into_iter().flat_map(|kind| (1..4).map(move |serial| Code { kind, serial }));
    all.filter_map(|code| code.mint(&CodeKey::DEMO)).collect()
});

/// The code that is looked at, and those that bought a life.
#[derive(Default)]
struct Bought {
    typed: Option<Typed>,
    given: Vec<Typed>,
}

impl Bought {
    fn look(&mut self, notices: &[Notice]) {
        for notice in notices {
            if let (Notice::Exchanged(..), Some(code)) = (notice, self.typed) {
                assert!(!self.given.contains(&code), "{code:?} bought a second life");
                self.given.push(code);
            }
        }
    }
}

/// One input: where to begin, then acts, each with the scans after it.
pub fn run(data: &[u8]) {
    let mut take = Take(data);
    let at = usize::from(take.byte());
    let mut bench = match at.checked_sub(STARTS.len()) {
        None => STARTS[at].clone(),
        // A record of anything that can be read.
        Some(_) => Bench::waking(
            state::decode(take.bytes(usize::from(take.0.len() as u8))).map_or(Memory::Lost, Memory::Sound),
        ),
    };
    let (mut past, mut bought) = (Past::of(&bench), Bought::default());
    let mut left = MOST;
    while !take.is_empty() && left > 0 {
        let mut command = act(&mut bench, &mut take);
        if let Some(Command::Exchanged { code, .. }) = &command
            && !bench.station.exchange().busy()
        {
            bought.typed = Some(*code);
        }
        if let Some(Command::Start { order, .. }) = &command
            && !bench.station.job().busy()
        {
            past.cleans = order.phases == PhaseSet::UPKEEP && order.procedure == Procedure::Decontaminate;
        }
        let head = take.byte();
        let scans = (u32::from(head & 31) + 1).min(left);
        let ms = [SCAN, SCAN, SCAN, SCAN, 10, 100, 400, 60_000][usize::from(head >> 5)];
        for _ in 0..scans {
            let notices = bench.scan(ms, command.take());
            bought.look(&notices);
            past.look(&bench).unwrap_or_else(|what| panic!("{what}"));
        }
        left -= scans;
    }
}

fn act(bench: &mut Bench, take: &mut Take) -> Option<Command> {
    let plant = &mut bench.plant;
    match take.byte() % 32 {
        0..=5 => plant.raw[usize::from(take.byte()) % plant.raw.len()] = Some(take.half()),
        6 => plant.raw[usize::from(take.byte()) % plant.raw.len()] = None,
        7 => plant.codes[usize::from(take.byte()) % plant.codes.len()] = Some(take.word() as i32 >> 8),
        8 => plant.codes = [None; 4],
        9 => plant.open ^= 1 << (take.byte() % 10),
        10 => plant.shut ^= 1 << (take.byte() % 10),
        11 => plant.gas = take.pick(&[Gas::Own, Gas::Foreign, Gas::Silent]),
        12 => plant.store_stands = !plant.store_stands,
        13 => plant.frozen = !plant.frozen,
        14 => plant.failed = SelfChecks(take.byte()),
        15 => plant.stands = !plant.stands,
        16 => plant.pressure[usize::from(take.byte()) % 5] = i32::from(take.half()) * 60,
        17 => plant.warmth[usize::from(take.byte()) % 4] = i32::from(take.half() as i16),
        18 => plant.lfl = i32::from(take.byte()) * 4,
        19 => plant.supply = i32::from(take.half()),
        20 => plant.mass[usize::from(take.byte()) % 3] = i32::from(take.half()) * 400,
        21 => return Some(Command::Pause),
        22 => return Some(Command::Resume),
        23 => return Some(Command::Abort),
        24 => return Some(Command::Reset),
        25 | 26 => return Some(bench.answer(take.byte() & 7 != 0)),
        27 | 28 => return Some(Command::Start { id: take.half(), order: any_order(take) }),
        29 => {
            let code = match usize::from(take.byte()) {
                known if known < CODES.len() => CODES[known],
                _ => Typed(take.bytes(16).first_chunk().copied().unwrap_or([b'0'; 16])),
            };
            return Some(Command::Exchanged { part: take.pick(&Part::ALL), code });
        }
        _ => {}
    }
    None
}

fn any_order(take: &mut Take) -> WorkOrder {
    let head = take.byte();
    if head & 3 == 0 {
        return WorkOrder::upkeep(take.pick(&Procedure::ALL), Milligram(take.half().into()));
    }
    WorkOrder {
        high_voltage: head & 4 != 0,
        oil_replace: head & 8 != 0,
        charge: Milligram(i32::from(take.half()) * 100),
        ..order(PhaseSet(take.half() & ((1 << PHASE_COUNT) - 1)))
    }
}
