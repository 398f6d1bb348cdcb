//! The ticket of one job: what the station said of it, put together for every form of paper.
//!
//! Text is in the language that was asked for; words and figures for programs stand beside it. Nothing here comes from the truth.

use chrono::NaiveDate;
use serde::Serialize;

use super::read::{Job, Run};
use super::teller::{Fact, Teller, capital, short};
use super::ticket_figures::{Findings, Mass, Seen, findings, masses};
use super::{date, words};
use crate::display::Language;
use crate::report::data::{Outcome, Verdict};

/// Shape of a ticket as JSON; one more with each change that a reader would not understand.
pub const VERSION: u32 = 1;
/// Lines of a workshop's header at most, and letters in each: the narrowest paper has 32 columns (own choice).
pub const HEADER_LINES: usize = 4;
/// Letters in a header line at most.
pub const HEADER_LETTERS: usize = 32;
/// The header where none is given: an invented workshop.
pub const DEMO_HEADER: [&str; 3] = ["Demo Workshop", "1 Example Lane", "(an invented address)"];

/// What is set for a ticket.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Lines of the workshop.
    pub header: Vec<String>,
    /// Who served the station.
    pub operator: Option<String>,
    /// Language.
    pub language: Language,
    /// The day on which the run began.
    pub day: NaiveDate,
}

impl Default for Setting {
    fn default() -> Self {
        let header = DEMO_HEADER.map(str::to_owned).to_vec();
        Self { header, operator: None, language: Language::En, day: date::first_day() }
    }
}

/// A phase of the job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PhaseLine {
    /// Its name in files.
    pub id: String,
    /// Its name on the paper.
    pub name: String,
    /// How it ended, for programs.
    pub outcome: Outcome,
    /// How it ended, on the paper.
    pub outcome_text: String,
    /// How long it took, s.
    pub seconds: f64,
}

/// Something told at a moment.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Moment {
    /// When, in simulated time.
    pub time: String,
    /// What.
    pub text: String,
}

/// A ticket.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ticket {
    /// [`VERSION`].
    pub version: u32,
    /// Language of all text.
    pub language: &'static str,
    /// The workshop.
    pub header: Vec<String>,
    /// What this is.
    pub title: String,
    /// How the job ended, for programs.
    pub verdict: Verdict,
    /// How the job ended.
    pub headline: String,
    /// Why it was not completed; absent where it was.
    pub reason: Option<String>,
    /// What limits all that stands here: cut off, another controller, a what-if.
    pub remarks: Vec<String>,
    /// That it is a simulation.
    pub uncertified: String,
    /// What the clock is.
    pub clock: String,
    /// Number of the job, and of how many.
    pub job: [usize; 2],
    /// Record, times, station, operator, vehicle, refrigerant.
    pub facts: Vec<Fact>,
    /// Masses.
    pub masses: Vec<Mass>,
    /// Vacuum, leak check, hoses.
    pub findings: Findings,
    /// Phases.
    pub phases: Vec<PhaseLine>,
    /// Warnings.
    pub warnings: Vec<Moment>,
    /// Trips, and what became of each.
    pub trips: Vec<Moment>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// The ticket of job `number`, from 0; nothing where it was never begun.
pub fn ticket(run: &Run, number: usize, setting: &Setting) -> Option<Ticket> {
    let (job, vehicle) = (run.jobs.get(number)?, run.service.jobs.get(number)?);
    let teller = Teller::new(setting.language);
    let seen = Seen::of(run, number)?;
    let word = |id| teller.word(id);
    let moment = |t_s: f64| date::words(date::moment(setting.day, t_s));
    Some(Ticket {
        version: VERSION,
        language: setting.language.code(),
        header: setting.header.clone(),
        title: word(words::TITLE),
        verdict: job.verdict,
        headline: word(words::headline(job.verdict)),
        reason: (job.verdict != Verdict::Pass).then(|| seen.reason(&teller)),
        remarks: remarks(run, job, &teller),
        uncertified: word(words::UNCERTIFIED),
        clock: teller.tell(&words::clock()),
        job: [number + 1, run.jobs_in_all],
        facts: facts(run, number, setting, &teller),
        masses: masses(&seen, vehicle.label_g, &teller),
        findings: findings(&seen, &teller),
        phases: job.phases.iter().map(|phase| phase_line(phase, &teller)).collect(),
        warnings: seen.warnings(&teller).map(|(t_s, text)| Moment { time: moment(t_s), text }).collect(),
        trips: seen.trips(&teller).into_iter().map(|(t_s, text)| Moment { time: moment(t_s), text }).collect(),
        cautions: [words::GAS, words::PRESSURE, words::HOLD, words::LICENCE].map(word).to_vec(),
    })
}

fn remarks(run: &Run, job: &Job, teller: &Teller) -> Vec<String> {
    let cut = run.partial && job.verdict == Verdict::Unfinished;
    let all =
        [(cut, words::CUT_OFF), (!run.controller.core, words::OWN_WORD), (!run.without.is_empty(), words::WHAT_IF)];
    let holds = all.into_iter().filter(|(holds, _)| *holds);
    holds
        .map(|(_, id)| match id {
            words::WHAT_IF => format!("{} {}", teller.word(id), run.without.join(", ")),
            _ => teller.word(id),
        })
        .collect()
}

fn facts(run: &Run, number: usize, setting: &Setting, teller: &Teller) -> Vec<Fact> {
    let (Some(job), Some(vehicle)) = (run.jobs.get(number), run.service.jobs.get(number)) else { return Vec::new() };
    let moment = |t_s: f64| date::words(date::moment(setting.day, t_s));
    let operator = setting.operator.clone().unwrap_or_else(|| teller.word(words::NOT_NAMED));
    let mut all = vec![
        (words::RECORD, format!("{}-{}-{}", run.scenario, run.seed, number + 1)),
        (words::JOB, format!("{}/{}", number + 1, run.jobs_in_all)),
        (words::BEGUN, moment(job.start_s)),
        (words::ENDED, moment(job.end_s)),
        (words::STATION, run.station.name.clone()),
        (words::OPERATOR, operator),
        (words::VEHICLE, job.vehicle.clone()),
        (words::VEHICLE_ID, vehicle.vehicle_id.clone()),
        (words::REFRIGERANT, run.service.refrigerant.label().to_owned()),
    ];
    all.push((words::OIL_KIND, run.service.new_oil.clone()));
    if vehicle.refrigerant != run.service.refrigerant {
        all.push((words::LABEL, vehicle.refrigerant.label().to_owned()));
    }
    let mut facts: Vec<Fact> =
        all.into_iter().map(|(id, text)| Fact { id: short(id), name: teller.word(id), text }).collect();
    if vehicle.high_voltage {
        let text = teller.word(words::HIGH_VOLTAGE);
        facts.push(Fact { id: short(words::HIGH_VOLTAGE), name: teller.word(words::VEHICLE), text });
    }
    facts
}

fn phase_line(phase: &super::read::Phase, teller: &Teller) -> PhaseLine {
    let kinds = valvewright_core::order::PhaseKind::ALL.into_iter().map(crate::language::phase);
    let id = kinds.into_iter().find(|id| id.strip_prefix("phase-") == Some(phase.name.as_str()));
    PhaseLine {
        id: phase.name.clone(),
        // A phase that this program does not know is told by its name.
        name: id.map_or_else(|| phase.name.clone(), |id| capital(&teller.word(id))),
        outcome: phase.outcome,
        outcome_text: teller.word(words::outcome(phase.outcome)),
        seconds: phase.seconds,
    }
}
