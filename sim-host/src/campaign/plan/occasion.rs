//! A moment at which a fault comes: a time, a share of a step, or what scenario files say of a begin.

use valvewright_core::job::phase::Phase as Running;
use valvewright_core::order::PhaseKind;

use crate::scenario::diagnostic::nearest;
use crate::scenario::model::{PHASE_WORDS, Phase};
use crate::scenario::quantity::{self, Dim};

/// The word of a plan for what lies between phases and before the first.
pub const BETWEEN: &str = "between_phases";

/// A moment.
#[derive(Clone, Debug, PartialEq)]
pub enum Occasion {
    /// With the job.
    Job,
    /// At this time of the job, s.
    At(f64),
    /// When a step is so far, 0 in its first scan and 1 in its last, of all times that the healthy job comes to it.
    Step {
        /// The phase; none between phases.
        phase: Option<PhaseKind>,
        /// Its step, empty where it has none.
        step: &'static str,
        /// How far.
        share: f64,
    },
    /// In the words of `--fault`, such as `row=I11`.
    Begins(String),
    /// As the fault itself says.
    Own,
}

impl Occasion {
    /// For people and tables: `charge fill 50 %`.
    pub fn words(&self) -> String {
        match self {
            Self::Job => "with the job".to_owned(),
            Self::At(t) => format!("at {}", quantity::text(Dim::Time, *t, None)),
            Self::Step { phase, step, share } => {
                let phase = phase.map_or(BETWEEN, PhaseKind::name);
                let step = if step.is_empty() { String::new() } else { format!(" {step}") };
                format!("{phase}{step} {:.0} %", share * 100.0)
            }
            Self::Begins(words) => words.clone(),
            Self::Own => String::new(),
        }
    }
}

/// Shares of a step at so many moments: its first scan, its last, and those between; its middle where it is one.
pub(in crate::campaign) fn shares(each: u32) -> Vec<f64> {
    match each {
        0 => Vec::new(),
        1 => vec![0.5],
        _ => (0..each).map(|k| f64::from(k) / f64::from(each - 1)).collect(),
    }
}

/// A moment as a plan names it: `charge fill 50 %`, `recover`, `between_phases 0 %`.
///
/// # Errors
/// What is wrong, and what would be right.
pub(super) fn step(text: &str) -> Result<Occasion, (String, String)> {
    let (words, share) = share_of(text)?;
    let mut words = words.split_whitespace();
    let phase = words.next().ok_or_else(|| {
        ("it names no phase".to_owned(), "write a phase, its step and how far it is: \"charge fill 50 %\"".to_owned())
    })?;
    let kind = match PHASE_WORDS.iter().position(|one| *one == phase) {
        Some(at) => Phase::ALL.get(at).copied(),
        None if phase == BETWEEN => None,
        None => {
            let all: Vec<&str> = PHASE_WORDS.iter().copied().chain([BETWEEN]).collect();
            let near = nearest(phase, all.iter().copied());
            let near = near.map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
            return Err((format!("there is no phase `{phase}`"), format!("{near}phases: {}", all.join(", "))));
        }
    };
    let known: &[&'static str] = kind.map_or(&[], Running::step_words);
    let named = words.next().unwrap_or_default();
    if words.next().is_some() {
        return Err((format!("`{text}` has words too many"), "write \"charge fill 50 %\"".to_owned()));
    }
    if known.is_empty() && named.is_empty() {
        return Ok(Occasion::Step { phase: kind, step: "", share });
    }
    match known.iter().find(|one| **one == named) {
        Some(step) => Ok(Occasion::Step { phase: kind, step, share }),
        None if known.is_empty() => Err((format!("{phase} has no steps"), format!("write \"{phase} 50 %\""))),
        None => {
            let what = if named.is_empty() { "a step is missing".to_owned() } else { format!("no step `{named}`") };
            let near = nearest(named, known.iter().copied());
            let near = near.map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
            Err((what, format!("{near}steps of {phase}: {}", known.join(", "))))
        }
    }
}

/// What stands before the share, and the share; 0 where none is written.
fn share_of(text: &str) -> Result<(&str, f64), (String, String)> {
    let trimmed = text.trim();
    let Some(rest) = trimmed.strip_suffix('%') else {
        return Ok((trimmed, 0.0));
    };
    let rest = rest.trim_end();
    let start = rest.rfind(char::is_whitespace).map_or(0, |at| at + 1);
    let share = rest[start..].parse::<f64>().ok().filter(|share| (0.0..=100.0).contains(share));
    let share = share.ok_or_else(|| {
        (format!("`{} %` is no share of a step", &rest[start..]), "accepted range: 0 % to 100 %".to_owned())
    })?;
    Ok((&rest[..start], share / 100.0))
}
