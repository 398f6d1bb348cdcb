//! What of all that was told belongs on the ticket of one job, and as what: a figure, a finding, a warning, the reason of its end.

use serde::Serialize;
use valvewright_core::interlock::RowId;
use valvewright_core::talk::Notice;
use valvewright_core::verdict::{LeakVerdict, Outcome};

use super::read::{Job, Run, Told, Trip};
use super::teller::{Fact, Teller, short};
use super::words;
use crate::display::Amount;
use crate::language::{self, Message};
use crate::report::data::Verdict;

/// An avoirdupois ounce, g: exact by the international pound of 1959.
pub const OUNCE: f64 = 28.349_523_125;

/// A mass on the paper.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mass {
    /// Which, for programs.
    pub id: &'static str,
    /// Its name on the paper.
    pub name: String,
    /// To the mg, g; absent where the station did not say it.
    pub g: Option<f64>,
    /// The same in avoirdupois ounces, to a thousandth.
    pub oz: Option<f64>,
    /// What stands in place of a figure.
    pub text: Option<String>,
}

/// Findings in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Findings {
    /// What the gas of the vehicle was found to be.
    pub gas: Fact,
    /// End of the evacuation.
    pub vacuum: Fact,
    /// The leak check.
    pub leak: Fact,
    /// What hoses and manifold hold.
    pub hoses: Fact,
    /// What the vehicle got, where it was told.
    pub vehicle: Option<String>,
}

/// What was told of a job, and in the time before it that no job has.
pub struct Seen<'a> {
    run: &'a Run,
    job: &'a Job,
    /// End of the job before, s.
    before: f64,
}

/// What a notice is on a ticket.
#[derive(PartialEq, Eq)]
enum Role {
    /// It has a place of its own.
    Placed,
    /// A warning.
    Warning,
    /// The course of a job, which no ticket has.
    Course,
}

fn role(of: &Notice) -> Role {
    match of {
        Notice::PhaseEnded(..)
        | Notice::Tripped(..)
        | Notice::Cleared(_)
        | Notice::Recovered(_)
        | Notice::OilDrained(_)
        | Notice::OilInjected(_)
        | Notice::Vacuum(_)
        | Notice::Leak(_)
        | Notice::Charged(_)
        | Notice::Purged(_)
        | Notice::Gas(_)
        | Notice::HosesCleared(_)
        | Notice::HosesHold(_)
        | Notice::VehicleHolds(..) => Role::Placed,
        Notice::Interrupted(..)
        | Notice::Refused(_)
        | Notice::AirNotProven
        | Notice::AirTaken(_)
        | Notice::MoisturePlateau(_)
        | Notice::PressureTest(..)
        | Notice::NitrogenLeft
        | Notice::DryingAgain
        | Notice::ChargeStall(_)
        | Notice::UnusualCharge(..)
        | Notice::VesselExcess(_)
        | Notice::LateScan(_)
        | Notice::Unsound(..)
        | Notice::Sound(_)
        | Notice::CodeRefused(..)
        | Notice::Exchanged(..)
        | Notice::WeightOff(_)
        | Notice::Worn(..)
        | Notice::NotStored => Role::Warning,
        Notice::OrderStarted(_)
        | Notice::OrderEnded(_)
        | Notice::ProvingAir
        | Notice::AirProven
        | Notice::PhaseStarted(_)
        | Notice::Paused
        | Notice::Resumed
        | Notice::Asked(_)
        | Notice::LowSamplePressure(_)
        | Notice::Sampled(..)
        | Notice::RecoveryHold(_)
        | Notice::RecoveryRestart(_)
        | Notice::WarmingVessel
        | Notice::PurgeCosts(_)
        | Notice::StaticPressure(..)
        | Notice::DrawnIn(_)
        | Notice::LineStands(_)
        | Notice::CodeAwaited(_)
        | Notice::Filled(_)
        | Notice::VesselHolds(_)
        | Notice::Release => Role::Course,
    }
}

impl<'a> Seen<'a> {
    /// Of job `number`, from 0.
    pub fn of(run: &'a Run, number: usize) -> Option<Self> {
        let job = run.jobs.get(number)?;
        let before = number.checked_sub(1).and_then(|at| run.jobs.get(at)).map_or(f64::NEG_INFINITY, |one| one.end_s);
        Some(Self { run, job, before })
    }

    /// Told since the job before.
    fn told(&self) -> impl Iterator<Item = &'a Told> {
        let (from, to) = (self.before, self.job.end_s);
        self.run.notices.iter().filter(move |one| from < one.t_s && one.t_s <= to)
    }

    /// Told in the job itself, as far as this program knows it.
    pub fn notices(&self) -> impl DoubleEndedIterator<Item = (f64, &'a Notice)> {
        let (from, to) = (self.job.start_s, self.job.end_s);
        let known = self.run.notices.iter().filter_map(|one| one.told.as_ref().map(|told| (one.t_s, told)));
        known.filter(move |(t_s, _)| from <= *t_s && *t_s <= to)
    }

    /// Warnings with their times. What this program does not know is told in the words of the one that wrote it.
    pub fn warnings(&self, teller: &Teller) -> impl Iterator<Item = (f64, String)> {
        self.told().filter_map(|one| match &one.told {
            Some(notice) if role(notice) == Role::Warning => Some((one.t_s, teller.tell(&language::notice(notice)))),
            Some(_) => None,
            None => Some((one.t_s, one.text.clone())),
        })
    }

    /// Trips with their times, and whether each stood when the job ended.
    pub fn trips(&self, teller: &Teller) -> Vec<(f64, String)> {
        let (from, to) = (self.before, self.job.end_s);
        let trips = self.run.interlocks.iter().filter(|one| from < one.t_s && one.t_s <= to);
        trips.map(|one| (one.t_s, self.trip(one, teller))).collect()
    }

    fn trip(&self, one: &Trip, teller: &Teller) -> String {
        let row = RowId::ALL.into_iter().find(|row| row.as_str() == one.id);
        let first = self.run.notices.iter().find_map(|told| match &told.told {
            Some(Notice::Tripped(id, first)) if Some(*id) == row && told.t_s == one.t_s => Some(*first),
            _ => None,
        });
        let reading = first.map_or_else(|| one.reading.clone(), |first| teller.tell(&language::reading(first)));
        let end = match (one.cleared_t_s.filter(|t_s| *t_s <= self.job.end_s), row.and_then(RowId::row)) {
            (Some(t_s), _) => teller.tell(&words::released((t_s - one.t_s).round() as i64)),
            (None, Some(row)) => teller.tell(&words::stands(row.id.as_str(), row.reset.text())),
            (None, None) => String::new(),
        };
        format!("{} {reading}. {end}", one.id).trim_end().to_owned()
    }

    /// Why the job was not completed, in a sentence.
    pub fn reason(&self, teller: &Teller) -> String {
        let first = |of: fn(&Notice) -> bool| self.notices().map(|(_, one)| one).find(|one| of(one));
        let bad = |of: &Notice| matches!(of, Notice::PhaseEnded(_, Outcome::Failed(_) | Outcome::Aborted));
        let lost = |of: &Notice| matches!(of, Notice::Interrupted(..) | Notice::AirNotProven);
        // A refusal ends an order only before its first phase; later ones are of other commands.
        let before = |of: &Notice| matches!(of, Notice::Refused(_));
        let refused = || first(before).filter(|_| self.job.phases.is_empty());
        if let Some(notice) = first(bad).or_else(|| first(lost)).or_else(refused) {
            return teller.tell(&language::notice(notice));
        }
        teller.word(if self.job.verdict == Verdict::Unfinished { words::CUT_OFF } else { words::NO_REASON })
    }

    /// The job.
    pub const fn job(&self) -> &'a Job {
        self.job
    }
}

/// The masses of a job. `label_g` is what the vehicle's label says.
pub fn masses(seen: &Seen<'_>, label_g: f64, teller: &Teller) -> Vec<Mass> {
    let (job, core) = (seen.job, seen.run.controller.core);
    let unsaid = if core { words::NONE } else { words::NOT_SAID };
    let injected = seen.sum(|one| if let Notice::OilInjected(mass) = one { Some(*mass) } else { None });
    let purged = seen.sum(|one| if let Notice::Purged(mass) = one { Some(*mass) } else { None });
    let line = |id: &'static str, g: Option<f64>, instead: &'static str| {
        let fine = |value: f64| (value * 1e3).round() / 1e3;
        Mass {
            id: short(id),
            name: teller.word(id),
            g: g.map(fine),
            oz: g.map(|g| fine(g / OUNCE)),
            text: g.is_none().then(|| teller.word(instead)),
        }
    };
    let mut all = vec![
        line(words::RECOVERED, seen.recovered(), words::NOT_SAID),
        line(words::OIL_DRAINED, seen.drained(), words::NOT_SAID),
        line(words::OIL_NEW, injected, unsaid),
        line(words::LABEL, Some(label_g), words::NOT_SAID),
        line(words::ORDERED, job.charged_g.target, words::NOT_ORDERED),
        line(words::CHARGED, seen.charged(), words::NOT_SAID),
    ];
    if purged.is_some() {
        all.push(line(words::PURGED, purged, words::NONE));
    }
    all
}

/// The findings of a job.
pub fn findings(seen: &Seen<'_>, teller: &Teller) -> Findings {
    let fact = |id, text| Fact { id: short(id), name: teller.word(id), text };
    let last = |of: fn(&Notice) -> bool| seen.notices().rev().map(|(_, one)| one).find(|one| of(one));
    let tell = |one: &Notice| teller.tell(&language::notice(one));
    let vacuum = seen.notices().rev().find_map(|(_, one)| match one {
        Notice::Vacuum(p) => Some(language::figure(teller.display(), Amount::Pressure(f64::from(p.0)))),
        _ => None,
    });
    let hoses = last(|one| matches!(one, Notice::HosesCleared(_) | Notice::HosesHold(_))).map(tell);
    let gas = seen
        .notices()
        .rev()
        .find_map(|(_, one)| if let Notice::Gas(of) = one { Some(language::gas(*of)) } else { None });
    Findings {
        gas: fact(words::GAS_FOUND, teller.word(gas.unwrap_or(words::NOT_CHECKED))),
        vacuum: fact(words::VACUUM, vacuum.unwrap_or_else(|| teller.word(words::NONE))),
        leak: fact(words::LEAK, leak(seen, teller)),
        hoses: fact(words::HOSES, hoses.unwrap_or_else(|| teller.word(words::NOT_SAID))),
        vehicle: last(|one| matches!(one, Notice::VehicleHolds(..))).map(tell),
    }
}

/// What the leak check found, in the station's own words, which say how little the hold could see. A finding that no longer counts when
/// the job ends is not told as one.
fn leak(seen: &Seen<'_>, teller: &Teller) -> String {
    let last =
        seen.notices().rev().find_map(|(_, one)| if let Notice::Leak(found) = one { Some(*found) } else { None });
    let Some(found) = last else { return teller.word(words::NOT_CHECKED) };
    let counts = match found.verdict {
        LeakVerdict::Tight => "pass",
        LeakVerdict::Leak => "leak",
        LeakVerdict::Moisture => "moisture",
        LeakVerdict::Unknown => "not_checked",
    };
    let told: Message = language::notice(&Notice::Leak(found));
    match (found.verdict, seen.job.leak.verdict == counts) {
        (_, true) => teller.tell(&told),
        // What was found bad stays told, though it binds nobody any more.
        (LeakVerdict::Leak | LeakVerdict::Moisture, false) => {
            format!("{} {}", teller.tell(&told), teller.word(words::LAPSED))
        }
        (LeakVerdict::Tight | LeakVerdict::Unknown, false) => teller.word(words::LAPSED),
    }
}
