//! Causes of a stop, each with all that explains it: what was read, how far it was believed, what acted, why, and what clears it.

use valvewright_core::effect::Unfollowed;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::interlock::table::{Latch, Row};
use valvewright_core::interlock::{FirstOut, RowId, RowSet, Watch};
use valvewright_core::job::{GiveUp, PhaseKind};

use super::devices;
use super::inputs::{self, In};
use super::looks;
use crate::display::Sentence;
use crate::evidence::Evidence;
use crate::matrix::words as table;
use crate::report::data::{Cause, CauseKind, InputSeen, Moment};
use crate::run::{Seen, words};
use crate::say;

/// The inputs as the core saw them; none of another controller, for what it makes of them is not known.
fn read(list: &[In], seen: &Seen<'_>) -> Vec<InputSeen> {
    let Some(core) = seen.core else { return Vec::new() };
    list.iter().filter_map(|one| one.seen(core.readings(), seen.truth)).collect()
}

/// Which command was not followed, as far as the core can tell.
fn unfollowed(which: Unfollowed, on: Actuators, current: i32) -> Sentence {
    let runs = on.has(Actuator::C1);
    match which {
        Unfollowed::Current if runs => {
            say![format!("C-1 was told to run and draws only {:.1} A: it does not turn", f64::from(current) / 1e3)]
        }
        Unfollowed::Current => {
            say![format!("C-1 was told to stand and draws {:.1} A: it still turns", f64::from(current) / 1e3)]
        }
        Unfollowed::Pull => {
            "C-1 draws from the hoses, and for 30 s neither their pressure fell nor did the vessel gain".into()
        }
        Unfollowed::Pump => "P-1 pumps at the hoses, and for 30 s their pressure did not fall by a tenth".into(),
        Unfollowed::Shut => "every way out of the vessel was told to shut, and 4 s later it still loses mass".into(),
        Unfollowed::Bottle => "an oil bottle gained or lost more than 5 g while its valve was told to be shut".into(),
        Unfollowed::Arrival => "C-1 draws, and too little of what it draws arrives in the vessel".into(),
    }
}

fn what_tripped(first: Option<FirstOut>, seen: &Seen<'_>, before: Actuators) -> Sentence {
    let why = seen.core.and_then(|core| Some((core.effects().unfollowed()?, core.readings().it1.value.0)));
    match (first, why) {
        (Some(FirstOut { watch: Watch::Effect, .. }), Some((which, current))) => unfollowed(which, before, current),
        _ => words::first_reading(first),
    }
}

/// A row tripped. `before` is what was on until then.
pub fn tripped(id: RowId, first: Option<FirstOut>, seen: &Seen<'_>, before: Actuators) -> Cause {
    let looks = first.map_or(&[][..], |first| looks::of_watch(first.watch));
    let row = id.row();
    let hazards = row.map(|row| table::hazards(row).map(|one| one.to_string()).collect()).unwrap_or_default();
    Cause {
        t_s: seen.t_s,
        kind: CauseKind::Trip,
        row: Some(id.as_str()),
        watch: first.map(|first| table::watch_id(first.watch)),
        what: what_tripped(first, seen, before),
        inputs: read(looks, seen),
        acts: first.and_then(|first| words::condition(id, first.watch)).map(table::acts).unwrap_or_default(),
        why: row.map(why).unwrap_or_default(),
        hazards,
        did: row.map(|row| devices::done(row, before)).unwrap_or_default(),
        went_off: table::tags(before.without(seen.outputs.on)).collect(),
        latch: row.map(latched).unwrap_or_default(),
        to_clear: row.map(|row| row.reset.text().into()).unwrap_or_default(),
        ..Cause::default()
    }
}

fn why(row: &Row) -> Sentence {
    let title = Evidence::shipped().hazard_title(row.hazard);
    say![format!("it guards against {} ({title}): ", row.hazard), row.why.text()]
}

fn latched(row: &Row) -> Sentence {
    let head = match row.latch {
        Latch::None | Latch::After(_) | Latch::Connection => "no: ",
        Latch::Phase => "for this phase: ",
        Latch::Latched => "yes: ",
    };
    say![head, table::latch_sentence(row.latch)]
}

/// A row that lets go by itself has come up so often in this phase that it stays.
pub fn now_latched(id: RowId, seen: &Seen<'_>) -> Cause {
    let times = match id.row().map(|row| row.latch) {
        Some(Latch::After(most)) => format!("it has come up {most} times in one phase"),
        _ => "it has come up too often in one phase".to_owned(),
    };
    Cause {
        t_s: seen.t_s,
        kind: CauseKind::Latch,
        row: Some(id.as_str()),
        what: say![times, ", and stays now until it is reset"],
        latch: "yes: from now on it stays until the cause is gone and reset is pressed afresh".into(),
        to_clear: id.row().map(|row| row.reset.text().into()).unwrap_or_default(),
        ..Cause::default()
    }
}

/// A phase was given up. `found` is what was told in it, `held` the rows that kept off what it wanted in the last second.
pub fn gave_up(
    kind: PhaseKind,
    why: GiveUp,
    seen: &Seen<'_>,
    found: Vec<Moment>,
    held: RowSet,
    before: Actuators,
) -> Cause {
    let mut list = looks::of_reason(why).to_vec();
    if let (GiveUp::ReadingBad, Some(core)) = (why, seen.core) {
        list = inputs::bad(core.readings());
    }
    let off = before.without(seen.outputs.on);
    Cause {
        t_s: seen.t_s,
        kind: CauseKind::GiveUp,
        phase: Some(words::phase(kind)),
        what: words::reason(why),
        inputs: read(&list, seen),
        found,
        acts: if why == GiveUp::Blocked { withheld(held) } else { Sentence::default() },
        did: if off.is_empty() { Vec::new() } else { vec![say![devices::off(off)]] },
        went_off: table::tags(off).collect(),
        ..Cause::default()
    }
}

/// What each of these rows waits for.
pub fn withheld(rows: RowSet) -> Sentence {
    let mut all = Sentence::default();
    for row in rows.iter().filter_map(RowId::row) {
        let gap = if all.is_empty() { "" } else { "; " };
        all = say![
            all,
            gap,
            format!("row {} kept off what the phase wanted until this is so: {}", row.id, row.reset.text())
        ];
    }
    all
}

/// Something else that stopped the work.
pub fn other(kind: CauseKind, t_s: f64, what: impl Into<Sentence>) -> Cause {
    Cause { t_s, kind, what: what.into(), ..Cause::default() }
}

/// What the proof of air flow rests on.
pub fn air(seen: &Seen<'_>) -> Vec<InputSeen> {
    read(looks::of_watch(Watch::AirProof), seen)
}
