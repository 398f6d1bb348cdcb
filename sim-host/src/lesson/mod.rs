//! Lessons: a start, a task and a check, as data that a teacher writes.
//!
//! Promises: a lesson is checked by what a scenario is checked by, formulas over the run and hazards judged by the truth, and by nothing
//! else but a question that is answered in words; a run that a lesson began is a scenario, and can be saved and replayed as one. `read` is the
//! file, `check` holds a run against it, `shipped` are those that come with the program.

mod check;
mod read;
mod shipped;

pub use check::{Goal, Stand, check, come_about, right};
pub use read::read;
pub use shipped::{LESSONS, shipped};

use valvewright_core::order::PhaseKind;

use crate::scenario::diagnostic::Source;

/// A lesson.
#[derive(Debug, Clone)]
pub struct Lesson {
    /// What it is called by.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// What is learnt.
    pub about: String,
    /// How long it takes a student, min.
    pub minutes: i64,
    /// Questions of the station are left to the student.
    pub by_hand: bool,
    /// The student comes in when this phase begins, or at the start.
    pub from_phase: Option<PhaseKind>,
    /// So much later, s.
    pub from: f64,
    /// What is to be done.
    pub task: String,
    /// What helps, one after another.
    pub hints: Vec<String>,
    /// For whoever teaches.
    pub teacher: String,
    /// What broke by the lesson's own file is shown to the student.
    pub shows_faults: bool,
    /// The question and the answers that are right.
    pub question: Option<Question>,
    /// Hazards that shall come to their accident level in truth: these, and no others.
    pub hazards: Vec<String>,
    /// One way to do it.
    pub solution: Solution,
    /// The scenario that it begins from, whose properties are the goals.
    pub scenario: Source,
}

/// What is asked in words.
#[derive(Debug, Clone)]
pub struct Question {
    /// The question.
    pub ask: String,
    /// Answers that are right, upper and lower case alike.
    pub accept: Vec<String>,
}

/// One way to do it.
#[derive(Debug, Clone, Default)]
pub struct Solution {
    /// What is answered.
    pub answer: Option<String>,
    /// Each question of the station is answered when it comes: what it asks for is done, then yes.
    pub as_asked: bool,
    /// What is done, in the order of its times.
    pub steps: Vec<Step>,
    /// When it is over, s.
    pub until: f64,
}

/// Something that is done.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// When, s since the job began.
    pub at: f64,
    /// What.
    pub what: What,
}

/// What can be done in a lesson.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// The operator does this: a word of `[[operator.act]]`.
    Act(String),
    /// This breaks: id and, after it, keys and values as on the command line.
    Break(Vec<(String, String)>),
    /// The fault with this place in the run, from 0, heals.
    Heal(usize),
    /// This row is taken out.
    Without(String),
    /// This row is put back.
    With(String),
}
