//! Whether a lesson is solved: its goals as they would be judged if the run ended now, its hazards, its answer.

use super::{Lesson, Question};
use crate::report::data::HazardLevel;
use crate::run::Simulation;

/// How far a goal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// It holds; what must hold all the time holds so far.
    Holds,
    /// Not yet.
    Open,
    /// It can hold no more on this way: go back.
    Lost,
}

/// A goal and how far it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Goal {
    /// In words.
    pub name: String,
    /// How far.
    pub stand: Stand,
}

/// The goals: the formulas in the order of the file, then the hazards that shall come about, then that no other does.
pub fn check(lesson: &Lesson, run: &Simulation) -> Vec<Goal> {
    let mut goals: Vec<Goal> = run
        .properties_so_far()
        .into_iter()
        .map(|(name, holds, certain)| Goal {
            name,
            stand: match (holds, certain) {
                (true, _) => Stand::Holds,
                (false, true) => Stand::Lost,
                (false, false) => Stand::Open,
            },
        })
        .collect();
    let come = come_about(run);
    for id in &lesson.hazards {
        let stand = if come.contains(&id.as_str()) { Stand::Holds } else { Stand::Open };
        goals.push(Goal { name: format!("{id} comes about, in this simulation"), stand });
    }
    let other: Vec<&str> = come.into_iter().filter(|id| !lesson.hazards.iter().any(|wanted| wanted == id)).collect();
    let (name, stand) = match other.is_empty() {
        true if lesson.hazards.is_empty() => ("no hazard comes about".to_owned(), Stand::Holds),
        true => ("no other hazard comes about".to_owned(), Stand::Holds),
        false => (format!("no other hazard comes about ({} did)", other.join(", ")), Stand::Lost),
    };
    goals.push(Goal { name, stand });
    goals
}

/// Hazards that came to their accident level.
pub fn come_about(run: &Simulation) -> Vec<&'static str> {
    let Some(hazards) = run.hazards() else { return Vec::new() };
    hazards.results().iter().filter(|one| one.level == HazardLevel::Accident).map(|one| one.id).collect()
}

/// Whether an answer is one of the right ones: letters and digits count, upper and lower case alike.
pub fn right(question: &Question, answer: &str) -> bool {
    let plain =
        |text: &str| text.chars().filter(|one| one.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    let given = plain(answer);
    !given.is_empty() && question.accept.iter().any(|one| plain(one) == given)
}
