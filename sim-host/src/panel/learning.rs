//! A lesson in the making: its hints, the answers that were given, and when it was solved.
//!
//! Promises: what counts as solved is [`crate::lesson::check`], asked once in each simulated second and when a page is shown; a way that is
//! left takes with it what was solved on it, but not the hints that were read nor the answers that were tried.

use serde_json::{Value, json};

use crate::lesson::{self, Goal, Lesson};
use crate::run::Simulation;

/// Most answers that are kept.
const ANSWERS: usize = 200;
/// Longest answer, characters.
const LONGEST: usize = 200;

/// A lesson and how far a student is with it.
#[derive(Debug, Clone)]
pub struct Learning {
    /// The lesson.
    pub lesson: Lesson,
    /// Whether hints may be read.
    may_hint: bool,
    /// Hints that were read.
    hints: usize,
    /// Answers with the simulated time, s.
    answers: Vec<(f64, String)>,
    /// When the right one was given, s.
    right: Option<f64>,
    /// When all held, s, and the hash of the run then.
    solved: Option<(f64, String)>,
}

impl Learning {
    /// At its beginning.
    pub const fn new(lesson: Lesson, may_hint: bool) -> Self {
        Self { lesson, may_hint, hints: 0, answers: Vec::new(), right: None, solved: None }
    }

    /// When it was solved, s.
    pub fn solved(&self) -> Option<f64> {
        self.solved.as_ref().map(|(t, _)| *t)
    }

    /// Looks whether it is solved by now.
    pub fn look(&mut self, run: &Simulation) {
        let answered = self.lesson.question.is_none() || self.right.is_some();
        if self.solved.is_some() || !answered {
            return;
        }
        if lesson::check(&self.lesson, run).iter().all(|goal| goal.stand == lesson::Stand::Holds) {
            self.solved = Some((run.time(), run.hash()));
        }
    }

    /// The run went back to `t` s.
    pub fn back(&mut self, t: f64) {
        self.solved.take_if(|(at, _)| *at > t);
    }

    /// One more hint.
    ///
    /// # Errors
    /// There is none left, or the teacher switched them off.
    pub fn hint(&mut self) -> Result<(), String> {
        if !self.may_hint {
            return Err("hints are switched off in this lesson".to_owned());
        }
        if self.hints >= self.lesson.hints.len() {
            return Err("there are no more hints".to_owned());
        }
        self.hints += 1;
        Ok(())
    }

    /// An answer to the lesson's question.
    ///
    /// # Errors
    /// It is not right, too long, or nothing was asked.
    pub fn answer(&mut self, text: &str, run: &Simulation) -> Result<(), String> {
        let question = self.lesson.question.as_ref().ok_or("this lesson asks nothing in words")?;
        if text.chars().count() > LONGEST {
            return Err(format!("answer: longer than {LONGEST} characters"));
        }
        if self.answers.len() >= ANSWERS {
            return Err(format!("more than {ANSWERS} answers were tried: begin the lesson anew"));
        }
        self.answers.push((run.time(), text.to_owned()));
        if !lesson::right(question, text) {
            return Err(format!("`{text}` is not the answer"));
        }
        self.right.get_or_insert(run.time());
        self.look(run);
        Ok(())
    }

    /// What a page shows of it.
    pub fn shown(&self, run: &Simulation) -> Value {
        let Self { lesson, .. } = self;
        let stands = |goal: &Goal| match goal.stand {
            lesson::Stand::Holds => "holds",
            lesson::Stand::Open => "open",
            lesson::Stand::Lost => "lost on this way: go back",
        };
        let goals: Vec<Value> =
            lesson::check(lesson, run).iter().map(|goal| json!({ "name": goal.name, "stand": stands(goal) })).collect();
        json!({
            "name": lesson.name, "title": lesson.title, "about": lesson.about, "minutes": lesson.minutes, "task": lesson.task,
            "hints": lesson.hints.iter().take(self.hints).collect::<Vec<_>>(),
            "hints_left": if self.may_hint { lesson.hints.len() - self.hints } else { 0 },
            "may_hint": self.may_hint,
            "question": lesson.question.as_ref().map(|one| &one.ask),
            "tried": self.answers.len(), "answered": self.right.is_some(),
            "goals": goals, "solved_s": self.solved.as_ref().map(|(t, _)| t),
        })
    }

    /// What came of it, to be handed in.
    pub fn result(&self, run: &Simulation, written: Result<String, String>) -> Value {
        let (scenario, unsaid) = match written {
            Ok(text) => (Some(text), None),
            Err(why) => (None, Some(why)),
        };
        json!({
            "schema": "valvewright-lesson-1",
            "lesson": self.lesson.name, "title": self.lesson.title,
            "solved": self.solved.is_some(),
            "solved_s": self.solved.as_ref().map(|(t, _)| t),
            "solved_hash": self.solved.as_ref().map(|(_, hash)| hash),
            "hints_allowed": self.may_hint, "hints_read": self.hints,
            "answers": self.answers.iter().map(|(t, text)| json!({ "t_s": t, "text": text })).collect::<Vec<_>>(),
            "goals": lesson::check(&self.lesson, run).iter().map(|goal| json!({
                "name": goal.name,
                "holds": goal.stand == lesson::Stand::Holds,
            })).collect::<Vec<_>>(),
            "ended_s": run.time(), "hash": run.hash(),
            "scenario": scenario, "scenario_cannot_be_written": unsaid,
        })
    }
}
