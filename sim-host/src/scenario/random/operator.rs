//! The operator of a drawn scenario: habits, and up to six acts of its own accord, from a pause to everything at the wrong time.

use valvewright_core::token::{Code, CodeKey, Kind, Part, Typed};

use super::Job;
use super::draw::{Mood, duration};
use super::order;
use crate::run::words;
use crate::scenario::model::Act;

/// An operator does no more than this unasked.
const MOST_ACTS: usize = 6;
/// Acts that are drawn, from the front of [`Act::ALL`]: all that may be a mistake. To do what is asked is none, and a seed stays the job it was.
const DRAWN: usize = 13;
/// What belongs together, an act and those that mend it, and how often it is drawn; an abort ends everything else.
const STRANDS: [(&str, &[&str], usize); 8] = [
    ("a pause", &["pause", "resume"], 4),
    ("an abort", &["abort"], 1),
    ("an emergency stop", &["emergency_stop", "release_stop", "reset", "resume"], 4),
    ("an open door", &["open_door", "shut_door", "reset", "resume"], 4),
    ("couplers taken off", &["uncouple", "couple"], 1),
    ("couplers taken off", &["uncouple", "couple", "reset", "resume"], 1),
    ("an answer to no question", &["confirm"], 2),
    ("a reset pressed twice", &["reset", "reset"], 2),
];
/// Notices that a job seldom ends without.
const NOTICES: [&str; 12] = [
    "proving_air",
    "air_proven",
    "phase_started",
    "phase_ended",
    "sampled",
    "gas",
    "recovery_hold",
    "recovered",
    "vacuum",
    "leak",
    "tripped",
    "paused",
];
/// Questions; a planned answer stands in place of the habit.
const QUESTIONS: [&str; 4] = ["ask_sample_filter", "ask_vehicle_compressor", "ask_draw_in", "ask_shut_couplers"];

/// What sets an act off.
#[derive(Clone, Copy)]
enum When {
    At(i64),
    Phase(&'static str),
    Notice(&'static str),
}

/// Writes the operator of an order with these phases.
pub(super) fn operator(job: &mut Job, phases: &[&'static str]) {
    let careless = job.often([0, 8, 18]);
    let habit = if careless { job.draw.pick(&["decline", "none"]) } else { "confirm" };
    let delay = job.range([(0, 30), (0, 120), (0, 900)]);
    job.line("\n[operator]");
    job.set("answers", habit);
    job.set("delay", &duration(delay));
    if careless {
        job.tell(format!("answers = {habit}"));
    }
    if job.mood == Mood::Plain {
        return;
    }
    let mut room = job.range([(0, 0), (1, 6), (0, 6)]) as usize;
    debug_assert!(room <= MOST_ACTS);
    while room > 0 {
        room -= if job.often([0, 0, 35]) { stray(job, phases) } else { strand(job, phases, room) };
    }
}

/// One of [`STRANDS`] that leaves room, at one trigger, each act some time behind the last. Returns how many acts it took.
fn strand(job: &mut Job, phases: &[&'static str], room: usize) -> usize {
    let fitting: Vec<usize> = STRANDS
        .iter()
        .enumerate()
        .filter(|(_, (_, acts, _))| acts.len() <= room)
        .flat_map(|(at, (_, _, weight))| std::iter::repeat_n(at, *weight))
        .collect();
    let (name, acts, _) = STRANDS[job.draw.pick(&fitting)];
    job.tell(name);
    let when = when(job, phases);
    let late = job.draw.pick(&[10, 60, 240]);
    let mut after = job.draw.between(0, late);
    for what in acts {
        act(job, what, when, after);
        after += if job.draw.chance(80) { job.draw.between(2, 60) } else { job.draw.between(60, 600) };
    }
    acts.len()
}

/// One act alone, or one answer to a question, with nothing that mends it.
fn stray(job: &mut Job, phases: &[&'static str]) -> usize {
    let after = job.draw.between(0, 120);
    if job.draw.chance(25) {
        let (what, question) = (job.draw.pick(&["confirm", "decline"]), job.draw.pick(&QUESTIONS));
        act(job, what, When::Notice(question), after);
    } else {
        let exchange = Act::WORDS[Act::Exchange as usize];
        let what = if job.draw.chance(5) { exchange } else { job.draw.pick(&Act::WORDS[..DRAWN]) };
        let when = when(job, phases);
        act(job, what, when, after);
    }
    job.tell("a stray act");
    1
}

/// A moment, more often an early one, since many jobs end early. The nasty operator may wait for a phase that is not ordered, or for a
/// notice that never comes.
fn when(job: &mut Job, phases: &[&'static str]) -> When {
    let anything = job.often([0, 0, 15]);
    let latest = job.draw.pick(&[60, 180, 600, 1_800]);
    let early = job.draw.between(1, phases.len() as i64) as usize;
    match job.draw.between(0, 9) {
        0..3 => When::At(job.draw.between(2, latest)),
        3..8 if anything => When::Phase(job.draw.pick(&order::of_service())),
        3..8 => When::Phase(job.draw.pick(&phases[..early])),
        _ if anything => When::Notice(job.draw.pick(words::IDS)),
        _ => When::Notice(job.draw.pick(&NOTICES)),
    }
}

fn act(job: &mut Job, what: &str, when: When, after: i64) {
    job.line("\n[[operator.act]]");
    job.set("do", what);
    if what == Act::WORDS[Act::Exchange as usize] {
        exchange(job);
    }
    match when {
        When::At(t) => return job.set("at", &duration(t + after)),
        When::Phase(name) => job.set("phase", name),
        When::Notice(id) => job.set("notice", id),
    }
    job.set("after", &duration(after));
}

/// A part and a code, of this part or not, whose key is that of demonstrations.
fn exchange(job: &mut Job) {
    let (part, kind) = (job.draw.pick(&Part::WEAR), job.draw.pick(&Kind::ALL));
    job.set("part", part.name());
    let code = Code { kind, serial: job.draw.between(1, 100) as u32 }.mint(&CodeKey::DEMO);
    let symbols = code.map(Typed::grouped).unwrap_or_default();
    job.set("code", &String::from_utf8_lossy(&symbols));
}
