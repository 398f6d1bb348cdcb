//! A lesson's own solution, played without a browser: what a teacher tries a lesson with.

use super::session::Session;
use super::start::Start;
use crate::lesson::{Goal, Lesson, What, check, right};

/// What came of a lesson that was played by its own solution, and of the same lesson when nobody does anything.
#[derive(Debug, Clone)]
pub struct Played {
    /// When all goals held and the answer was right, s.
    pub solved_s: Option<f64>,
    /// The goals at the end.
    pub goals: Vec<Goal>,
    /// The answer that the solution gives is right, or nothing is asked.
    pub answered: bool,
    /// It solves itself: every goal holds though nothing was done, and nothing is asked.
    pub by_itself: bool,
}

/// Plays it.
///
/// # Errors
/// A step of the solution cannot be done, and why.
pub fn solve(lesson: &Lesson) -> Result<Played, String> {
    let mut idle = Session::new(Start::of_lesson(lesson.clone(), true))?;
    while idle.step()? {}
    let by_itself = idle.learning().is_some_and(|one| one.solved().is_some());

    let mut session = Session::new(Start::of_lesson(lesson.clone(), true))?;
    let mut answered = 0;
    let mut steps = lesson.solution.steps.iter().peekable();
    loop {
        let t = session.run().time() - session.run().began();
        while let Some(step) = steps.next_if(|step| step.at <= t + 1e-6) {
            done(&mut session, &step.what).map_err(|why| format!("the solution at {t} s: {why}"))?;
        }
        if lesson.solution.as_asked
            && let Some(asked) = session.run().station().job().asked()
            && asked.number != answered
        {
            answered = asked.number;
            session.act("do_as_asked")?;
        }
        if t >= lesson.solution.until || !session.step()? {
            break;
        }
    }
    if let Some(left) = steps.next() {
        return Err(format!("the solution has a step at {} s, which the run does not come to", left.at));
    }
    let fits = match (&lesson.question, &lesson.solution.answer) {
        (Some(question), Some(answer)) => right(question, answer),
        (None, None) => true,
        _ => false,
    };
    if let (Some(_), Some(answer)) = (&lesson.question, &lesson.solution.answer) {
        let (learning, run) = session.learn()?;
        // That it is wrong is said below.
        let _ = learning.answer(answer, run);
    }
    let goals = check(lesson, session.run());
    let solved_s = session.learning().and_then(super::learning::Learning::solved);
    Ok(Played { solved_s, goals, answered: fits, by_itself })
}

fn done(session: &mut Session, what: &What) -> Result<(), String> {
    match what {
        What::Act(word) => session.act(word),
        What::Break(keys) => {
            let keys: Vec<(&str, &str)> = keys.iter().map(|(key, value)| (key.as_str(), value.as_str())).collect();
            session.break_now(&keys)
        }
        What::Heal(place) => session.heal(*place),
        What::Without(row) => session.leave_out(row, true),
        What::With(row) => session.leave_out(row, false),
    }
}
