//! What a page is shown some forty times a second, as JSON: figures as numbers with their units, words in the language of the session.

use serde_json::{Value, json};
use valvewright_core::frame::{Actuator, Switches};
use valvewright_core::interlock::table::ROWS;
use valvewright_core::job::flow::JobState;
use valvewright_core::row::RowSet;
use valvewright_core::sense::{Quality, Reading};
use valvewright_core::talk::Notice;

use super::odds;
use super::order;
use super::records;
use super::session::Session;
use super::written::Deed;
use crate::display::{Display, STANDARD};
use crate::hazard::Present;
use crate::language;
use crate::lesson;
use crate::matrix::words as matrix;
use crate::run::words;
use crate::run::{Simulation, Stand};

/// Notices that a frame carries.
const TOLD: usize = 80;

/// How it goes.
pub struct Going<'a> {
    /// It runs.
    pub running: bool,
    /// Wished, times life; 0 as fast as it goes.
    pub speed: f64,
    /// Measured.
    pub went: f64,
    /// Why it cannot go on.
    pub wrong: Option<&'a str>,
    /// Rises with each run from time 0.
    pub number: u32,
}

/// A frame.
pub fn of(session: &Session, going: &Going<'_>) -> Value {
    let run = session.run();
    let display = Display { language: session.language(), ..STANDARD };
    let (way, rows) = session.history().stand();
    let plant_fault = run.plant().fault().map(ToString::to_string);
    json!({
        "number": going.number,
        "title": session.scenario().title,
        "scenario": session.scenario().name,
        "t": run.time(),
        "stand": match run.stand() { Stand::Running => "running", Stand::Over => "over", Stand::Broken => "broken" },
        "running": going.running,
        "speed": going.speed,
        "went": going.went,
        "wrong": going.wrong.map(str::to_owned).or(plant_fault),
        "by_hand": session.by_hand(),
        "language": session.language().code(),
        "way": way,
        "rows_drawn": rows,
        "hash": run.hash(),
        "job": job(run, &display),
        "readings": readings(run),
        "switches": switches(run),
        "on": Actuator::ALL.into_iter().filter(|one| run.outputs().on.has(*one)).map(Actuator::tag).collect::<Vec<_>>(),
        "acting": Actuator::ALL.into_iter().filter(|one| run.acting().has(*one)).map(Actuator::tag).collect::<Vec<_>>(),
        "lamp": format!("{:?}", run.outputs().lamp).to_lowercase(),
        "buzzer": run.outputs().buzzer,
        "table": table(session),
        "hazards": hazards(run),
        "faults": faults(session),
        "told": told(run, &display),
        "marks": marks(run),
        "deeds": session.deeds().iter().map(deed).collect::<Vec<_>>(),
        "truth": truth(session),
        "events": events(run),
        "stored": records::stamp(run),
        "lesson": session.learning().map(|one| one.shown(run)),
    })
}

fn job(run: &Simulation, display: &Display) -> Value {
    let job = run.station().job();
    let state = match job.state() {
        JobState::Idle => "idle",
        JobState::Starting => "starting",
        JobState::Running => "running",
        JobState::Paused => "held",
        JobState::Ended(true) => "done",
        JobState::Ended(false) => "ended, not done",
    };
    let (progress, ledger) = (job.progress(), job.ledger);
    let grams = |mass: valvewright_core::units::Milligram| f64::from(mass.0) * 1e-3;
    // Asked last and not closed since.
    let question = job.asked().and_then(|asked| {
        let all = run.told_since(0).iter().rev();
        all.map(|(_, notice)| notice).find(|notice| matches!(notice, Notice::Asked(one) if one.number == asked.number))
    });
    json!({
        "state": state,
        "phase": job.phase().map(|kind| kind.name()),
        "step": job.step_word(),
        "done": job.busy().then(|| f64::from(progress.done.0) * 1e-3),
        "left_s": job.busy().then(|| f64::from(progress.remaining.0) * 1e-3),
        "question": question.map(|notice| language::notice(notice).on(display)),
        "plan": order::plan(run),
        "ledger": [
            ["recovered", grams(ledger.recovered)],
            ["charged", grams(ledger.charged())],
            ["in hoses", grams(ledger.in_hoses)],
            ["filled from a cylinder", grams(ledger.filled)],
            ["vented by purging", grams(ledger.vented)],
            ["used oil drained", grams(ledger.oil_drained)],
            ["new oil injected", grams(ledger.oil_injected)],
        ],
    })
}

/// What the core makes of an input.
fn quality(of: Quality) -> (&'static str, String) {
    match of {
        Quality::Good => ("good", String::new()),
        Quality::Held(age) => ("held", format!("last good value, {} ms old", age.0)),
        Quality::Uncertain(doubt) => ("uncertain", format!("{doubt:?}").to_lowercase()),
        Quality::Bad(why) => ("bad", words::broken(why).to_owned()),
        Quality::None => ("none", "nothing received yet".to_owned()),
    }
}

fn reading<T: Copy>(
    tag: &str,
    what: &str,
    unit: &str,
    of: &Reading<T>,
    number: impl Fn(T) -> f64,
    truth: Option<f64>,
) -> Value {
    let (quality, why) = quality(of.quality);
    json!({ "tag": tag, "what": what, "unit": unit, "value": number(of.value), "quality": quality, "why": why, "truth": truth })
}

fn readings(run: &Simulation) -> Vec<Value> {
    let r = run.station().readings();
    let bar = |p: valvewright_core::units::AbsPa| f64::from(p.0) * 1e-5;
    let mbar = |p: valvewright_core::units::AbsPa| f64::from(p.0) * 1e-2;
    let celsius = |t: valvewright_core::units::CentiKelvin| f64::from(t.0) * 1e-2 - 273.15;
    let grams = |m: valvewright_core::units::Milligram| f64::from(m.0) * 1e-3;
    let of = |name: &str, scale: f64, offset: f64| {
        run.signal(name).map(|value| value * scale + offset).filter(|v| v.is_finite())
    };
    vec![
        reading("PT-1", "vessel", "bar abs", &r.pt1, bar, of("vessel.p", 1e-5, 0.0)),
        reading("PT-2", "low-side hose", "bar abs", &r.pt2, bar, of("hose_low.p", 1e-5, 0.0)),
        reading("PT-3", "high-side hose", "bar abs", &r.pt3, bar, of("hose_high.p", 1e-5, 0.0)),
        reading("PT-4", "vacuum gauge", "mbar abs", &r.pt4, mbar, of("manifold.p", 1e-2, 0.0)),
        reading("PT-5", "separator", "bar abs", &r.pt5, bar, of("separator.p", 1e-5, 0.0)),
        reading("TT-1", "vessel wall", "degC", &r.tt1, celsius, of("vessel.t_wall", 1.0, -273.15)),
        reading("TT-2", "discharge", "degC", &r.tt2, celsius, of("discharge.t_wall", 1.0, -273.15)),
        reading("TT-3", "heater skin", "degC", &r.tt3, celsius, None),
        reading("TT-4", "ambient", "degC", &r.tt4, celsius, None),
        reading("WT-1", "vessel", "g", &r.wt1.mass, grams, None),
        reading("WT-2", "used oil", "g", &r.wt2.mass, grams, of("used_oil.m_oil", 1e3, 0.0)),
        reading("WT-3", "new oil", "g", &r.wt3.mass, grams, of("new_oil.m_oil", 1e3, 0.0)),
        reading("AT-2", "cabinet gas", "% LFL", &r.at2, |gas| f64::from(gas.0) * 0.1, of("cabinet.lfl", 1e2, 0.0)),
        reading("IT-1", "C-1 motor", "A", &r.it1, |amps| f64::from(amps.0) * 1e-3, None),
        reading("ST-1", "fan", "rpm", &r.st1, |rpm| f64::from(rpm.0), None),
        reading("ET-1", "supply", "V", &r.et1, |volts| f64::from(volts.0) * 1e-3, None),
        reading("ET-2", "valve rail", "V", &r.et2, |volts| f64::from(volts.0) * 1e-3, None),
    ]
}

fn switches(run: &Simulation) -> Vec<Value> {
    let is = run.station().readings().switches;
    let one = |tag: &str, mask: u16, (good, other): (&str, &str)| {
        let closed = is.0 & mask != 0;
        json!({ "tag": tag, "word": if closed { good } else { other }, "good": closed })
    };
    vec![
        one("ZS-1", Switches::ZS1_DOOR_SHUT, ("door shut", "door open")),
        one("ZS-2", Switches::ZS2_COUPLED, ("coupled", "uncoupled")),
        one("HS-1", Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED, ("released", "pressed")),
        one("FSL-1", Switches::FSL1_FLOW, ("air flows", "no air flow")),
        one("PSH-1", Switches::PSH1_HEALTHY, ("healthy", "tripped")),
        one("LS-1", Switches::LS1_NOT_FULL, ("not full", "full")),
        one("LS-2", Switches::LS2_NOT_HIGH, ("not high", "high")),
    ]
}

fn table(session: &Session) -> Value {
    let run = session.run();
    let locks = run.station().interlocks();
    let has = |set: RowSet, row| set.has(row);
    let display = Display { language: session.language(), ..STANDARD };
    let rows: Vec<Value> = ROWS
        .iter()
        .map(|row| {
            let state = match () {
                () if has(session.altered().without, row.id) => "switched off",
                () if has(locks.standing(), row.id) && has(locks.tripped(), row.id) => "tripped, cause stands",
                () if has(locks.tripped(), row.id) => "tripped, waits for reset",
                () if has(locks.withheld(), row.id) => "withholds",
                () => "",
            };
            let effects: Vec<String> =
                matrix::effects(row).map(|(what, tags)| format!("{what}: {}", tags.join(" "))).collect();
            json!({
                "id": row.id.as_str(), "why": row.why.text(), "clear": row.reset.text(), "state": state,
                "points": session.altered().shown(row),
                "count": locks.count(row.id), "effects": effects.join("; "),
                "causes": row.causes.iter().map(|one| matrix::cause(one).to_string().replace('*', "")).collect::<Vec<_>>(),
            })
        })
        .collect();
    let first = locks.first_out().map(|first| language::notice(&Notice::Tripped(first.row, Some(first))).on(&display));
    json!({ "first": first, "rows": rows })
}

fn hazards(run: &Simulation) -> Vec<Value> {
    let Some(hazards) = run.hazards() else { return Vec::new() };
    let all = hazards.results().into_iter().zip(hazards.present(run.plant()));
    all.map(|(one, present)| {
        let (now, idle) = match present {
            Present::Margin(margin) => (Some(margin), None),
            Present::Idle(why) | Present::Unknown(why) => (None, Some(why)),
        };
        json!({
            "id": one.id, "title": one.title, "level": one.level, "margin": one.worst_margin, "at": one.worst_t_s, "not_judged": one.not_judged,
            "now": now, "idle": idle,
        })
    })
    .collect()
}

/// What came about so far: hazards at their accident level, and rows that tripped.
fn events(run: &Simulation) -> Vec<String> {
    let come = lesson::come_about(run).into_iter().map(str::to_owned);
    come.chain(odds::tripped(run).iter().map(|row| row.as_str().to_owned())).collect()
}

fn faults(session: &Session) -> Vec<Value> {
    let run = session.run();
    // What a lesson broke beforehand is for the student to find.
    let hidden =
        session.learning().map_or(0, |one| if one.lesson.shows_faults { 0 } else { session.scenario().faults.len() });
    let acting = run.faults_acting();
    run.fault_records()
        .iter()
        .enumerate()
        .skip(hidden)
        .map(|(at, one)| {
            json!({
                "place": at, "id": one.id, "tag": one.tag, "what": format!("{}: {}", one.component, one.failure_mode), "mode": one.mode,
                "severity": one.severity, "began": one.began_s, "ended": one.ended_s,
                "acts": acting.get(at).copied().unwrap_or(false),
            })
        })
        .collect()
}

fn told(run: &Simulation, display: &Display) -> Vec<Value> {
    let all = run.told_since(0);
    let last = all.get(all.len().saturating_sub(TOLD)..).unwrap_or_default();
    last.iter()
        .map(|(t, notice)| json!({ "t": t, "id": words::notice_id(notice), "text": language::notice(notice).on(display) }))
        .collect()
}

/// What the line of time is marked with.
fn marks(run: &Simulation) -> Vec<Value> {
    let mark = |(t, notice): &(f64, Notice)| match notice {
        Notice::PhaseStarted(kind) => Some(json!({ "t": t, "kind": "phase", "word": kind.name() })),
        Notice::Tripped(row, _) => Some(json!({ "t": t, "kind": "trip", "word": row.as_str() })),
        _ => None,
    };
    run.told_since(0).iter().filter_map(mark).collect()
}

fn deed(of: &Deed) -> Value {
    match of {
        Deed::Act(t, act) => json!({ "t": t, "what": act.word() }),
        Deed::Broke(t, keys, until) => {
            let words: Vec<&str> = keys.iter().map(|(_, value)| value.as_str()).collect();
            json!({ "t": t, "what": format!("broke {}", words.join(" ")), "until": until })
        }
        Deed::Exchanged(t, part, code) => json!({ "t": t, "what": format!("new {}, code {code}", part.name()) }),
        Deed::Altered(t, _) => json!({ "t": t, "what": "interlock table altered" }),
    }
}

/// The plant: of each place pressure, temperature, mass; of each element its flow and opening.
fn truth(session: &Session) -> Value {
    let run = session.run();
    let stock = run.stock();
    let (places, elements) = session.names();
    let places: serde_json::Map<String, Value> = places
        .iter()
        .map(|name| {
            let of = |field: &str| run.signal(&format!("{name}.{field}")).filter(|value| value.is_finite());
            (
                name.clone(),
                json!({ "p": of("p"), "t": of("t"), "m": of("m"), "level": of("level"), "oil": of("m_oil") }),
            )
        })
        .collect();
    let elements: serde_json::Map<String, Value> = elements
        .iter()
        .map(|name| {
            let of = |field: &str| run.signal(&format!("{name}.{field}")).filter(|value| value.is_finite());
            (name.clone(), json!({ "flow": of("flow"), "open": of("opening") }))
        })
        .collect();
    json!({
        "places": places, "elements": elements,
        "stock_g": { "station": stock.station * 1e3, "vehicle": stock.vehicle * 1e3, "hoses and bottles": stock.between * 1e3, "gone": stock.out * 1e3 },
    })
}
