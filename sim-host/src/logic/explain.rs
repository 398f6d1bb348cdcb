//! A formula in a sentence, for people who did not write it.

use super::formula::{Formula, Parsed, Span};
use crate::scenario::quantity::{self, Dim};

impl Parsed {
    /// What must hold, as one sentence without a full stop.
    pub fn sentence(&self) -> String {
        self.say(&self.formula)
    }

    fn say(&self, formula: &Formula) -> String {
        match formula {
            Formula::Atom(at) => self.atoms.get(*at).map(|look| look.yes.clone()).unwrap_or_default(),
            Formula::Not(of) => self.contrary(of),
            Formula::And(a, b) => format!("{} and {}", self.part(a, "and"), self.part(b, "and")),
            Formula::Or(a, b) => format!("{} or {}", self.part(a, "or"), self.part(b, "or")),
            Formula::Implies(a, b) => format!("if {}, then {}", self.say(a), self.say(b)),
            Formula::Always(None, of) => match &**of {
                Formula::Not(never) => format!("at no time {}", self.part(never, "")),
                Formula::Implies(a, b) => format!("whenever {}, then {}", self.say(a), self.say(b)),
                of => format!("at all times {}", self.part(of, "")),
            },
            Formula::Eventually(None, of) => format!("at some time {}", self.part(of, "")),
            Formula::Always(Some(span), of) => match &**of {
                Formula::Not(never) => format!("at no time {} {}", ahead(*span, "within"), self.part(never, "")),
                of => format!("all the time {} {}", ahead(*span, "for"), self.part(of, "")),
            },
            Formula::Eventually(Some(span), of) => {
                format!("some time {} {}", ahead(*span, "within"), self.part(of, ""))
            }
            Formula::Until(span, a, b) => {
                let when = span
                    .map(|span| ahead(span, "within"))
                    .map_or("before the end".to_owned(), |when| format!("some time {when}"));
                format!("{} until {}, which comes {when}", self.part(a, ""), self.part(b, ""))
            }
            Formula::Historically(None, of) => format!("up to then always {}", self.part(of, "")),
            Formula::Once(None, of) => format!("up to then at some time {}", self.part(of, "")),
            Formula::Historically(Some(span), of) => format!("all the time {} {}", back(*span), self.part(of, "")),
            Formula::Once(Some(span), of) => format!("some time {} {}", back(*span), self.part(of, "")),
            Formula::Since(span, a, b) => {
                let when = span.map(back).map_or("before".to_owned(), |when| format!("some time {when}"));
                format!("{} since {}, which came {when}", self.part(a, ""), self.part(b, ""))
            }
        }
    }

    fn contrary(&self, of: &Formula) -> String {
        match of {
            Formula::Atom(at) => self.atoms.get(*at).map(|look| look.no.clone()).unwrap_or_default(),
            Formula::Not(of) => self.say(of),
            other => format!("it is not so that {}", self.part(other, "")),
        }
    }

    /// A part in brackets where it could be read as going on; parts that `joint` joins go on alike.
    fn part(&self, of: &Formula, joint: &str) -> String {
        let plain = match of {
            Formula::Atom(_) => true,
            Formula::Not(of) => matches!(**of, Formula::Atom(_)),
            Formula::And(..) => joint == "and",
            Formula::Or(..) => joint == "or",
            _ => false,
        };
        if plain { self.say(of) } else { format!("({})", self.say(of)) }
    }
}

fn time(seconds: f64) -> String {
    let unit = match seconds {
        s if s >= 120.0 && s % 60.0 == 0.0 => "min",
        s if s > 0.0 && s < 1.0 => "ms",
        _ => "s",
    };
    quantity::text(Dim::Time, seconds, Some(unit))
}

fn ahead(span: Span, word: &str) -> String {
    if span.from > 0.0 {
        format!("from {} to {} later", time(span.from), time(span.to))
    } else {
        format!("{word} the next {}", time(span.to))
    }
}

fn back(span: Span) -> String {
    if span.from > 0.0 {
        format!("from {} to {} before", time(span.to), time(span.from))
    } else {
        format!("within the last {}", time(span.to))
    }
}
