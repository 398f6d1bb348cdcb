//! What a session begins from: a scenario, shipped, drawn or a file's, or a lesson.

use crate::lesson::{self, Lesson};
use crate::scenario::diagnostic::Source;
use crate::scenario::model::Answers;
use crate::scenario::{Scenario, order_text, parse, random, shipped};

/// What a session begins from.
#[derive(Debug, Clone)]
pub struct Start {
    /// The scenario's text.
    pub source: Source,
    /// Another station than it names.
    pub station: Option<String>,
    /// Questions are left to whoever sits at the page.
    pub by_hand: bool,
    /// The lesson that it is, and whether its hints may be read; the source is then the lesson's.
    pub lesson: Option<(Lesson, bool)>,
    /// What a saved file says of an order that was changed.
    pub note: Option<String>,
}

impl Start {
    /// A scenario, not on another station.
    pub const fn of(source: Source, by_hand: bool) -> Self {
        Self { source, station: None, by_hand, lesson: None, note: None }
    }

    /// A lesson.
    pub fn of_lesson(lesson: Lesson, may_hint: bool) -> Self {
        Self {
            source: lesson.scenario.clone(),
            station: None,
            by_hand: lesson.by_hand,
            lesson: Some((lesson, may_hint)),
            note: None,
        }
    }

    pub(super) fn scenario(&self) -> Result<Scenario, String> {
        let read = parse::read_on(&self.source, self.station.as_deref());
        let mut scenario = read.map_err(|list| list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?;
        if self.by_hand {
            scenario.operator.answers = Answers::None;
        }
        Ok(scenario)
    }

    /// What a run from time 0 begins from: a shipped or drawn scenario, or the one at hand.
    ///
    /// # Errors
    /// No such scenario is shipped.
    pub fn another(&self, scenario: Option<&str>, by_hand: Option<bool>) -> Result<Self, String> {
        let by_hand = by_hand.unwrap_or(self.by_hand);
        let Some(name) = scenario else { return Ok(Self { by_hand, ..self.clone() }) };
        let drawn = || random::source(name).map(|drawn| drawn.map_err(|bad| bad.message));
        let source = shipped::source(name).map(Ok).or_else(drawn);
        let source = source.unwrap_or_else(|| Err(format!("`{name}` is no shipped scenario, and not random:SEED")))?;
        Ok(Self { station: self.station.clone(), ..Self::of(source, by_hand) })
    }

    /// Why its order cannot be changed on a page, where it cannot.
    pub fn order_stays(&self) -> Option<&'static str> {
        if self.lesson.is_some() {
            return Some("the order is the lesson's: begin a scenario (Begin anew, above) to give one of your own");
        }
        let row = "this scenario is a row of jobs, and each has an order of its own in its [[job]]: change the file, or begin a scenario of one job";
        order_text::part(&self.source).is_none().then_some(row)
    }

    /// The same with another order, given as the text of its `[order]`; `of` is the scenario as it was read.
    ///
    /// # Errors
    /// The order stays, or what is wrong with the text, each with its place in it.
    pub fn with_order(&self, of: &Scenario, text: &str) -> Result<Self, String> {
        if let Some(why) = self.order_stays() {
            return Err(why.to_owned());
        }
        let made = order_text::with_order(&self.source, of, text, self.station.as_deref());
        let made = made.map_err(|list| list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?;
        let mut note = "Its [order] was changed on the panel.".to_owned();
        if !made.dropped.is_empty() {
            note += &format!(
                " What was expected of phases that are no longer ordered was taken out: {}.",
                made.dropped.join(", ")
            );
        }
        Ok(Self { source: made.source, note: Some(note), ..self.clone() })
    }

    /// What a shipped lesson begins from. Hints stay switched off where they were.
    ///
    /// # Errors
    /// No such lesson is shipped.
    pub fn to_lesson(&self, name: &str) -> Result<Self, String> {
        let may_hint = self.lesson.as_ref().is_none_or(|(_, may)| *may);
        let found = lesson::shipped(name).ok_or_else(|| {
            let names: Vec<&str> = lesson::LESSONS.iter().map(|(name, _)| *name).collect();
            format!("`{name}` is no lesson; accepted: {}", names.join(", "))
        })?;
        Ok(Self::of_lesson(found, may_hint))
    }
}
