//! Reads a formula. What could be read in two ways is refused: a time operator before `and` wants brackets, and so do `and` beside `or`.

use super::formula::{Formula, Look, Parsed, Span};
use super::names::Names;
use super::text::{Cursor, Wrong};
use crate::scenario::quantity::Dim;

/// Brackets and operators in each other, at most: a formula that a person reads has some five.
const DEEPEST: usize = 250;
/// The longest time that a formula may look over, s: a day, which is the longest run.
const LONGEST: f64 = 86_400.0;

/// Reads a formula of these names.
///
/// # Errors
/// What is wrong, where, and what would be right.
pub fn parse(text: &str, names: &Names) -> Result<Parsed, Wrong> {
    let mut reader = Reader { cursor: Cursor::new(text), names, atoms: Vec::new(), depth: 0 };
    let formula = reader.whole()?;
    if !reader.cursor.is_at_end() {
        let (found, at) = reader.cursor.next();
        let help = "join two parts by `and`, `or`, `implies` or `until`, and close what is open";
        return Err(Wrong::new(at, format!("the formula goes on with {found}, which joins nothing"), help));
    }
    Ok(Parsed { formula, atoms: reader.atoms })
}

/// Where the reading stands.
pub(super) struct Reader<'a> {
    pub(super) cursor: Cursor<'a>,
    pub(super) names: &'a Names,
    pub(super) atoms: Vec<Look>,
    depth: usize,
}

/// How a part may be joined to the next one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bond {
    /// It is closed: an atom or a bracket, or the contrary of one.
    Closed,
    /// A time operator holds it, whose reach a reader could take to be longer.
    Time,
}

impl Reader<'_> {
    /// `whenever .. then ..`, or what `implies` and `until` join.
    fn whole(&mut self) -> Result<Formula, Wrong> {
        self.depth += 1;
        if self.depth > DEEPEST {
            let at = self.cursor.place();
            let message = format!("more than {DEEPEST} brackets and operators stand in each other");
            return Err(Wrong::new(at..at, message, "split the formula into several properties"));
        }
        let found = if self.cursor.takes("whenever") { self.whenever() } else { self.joined() };
        self.depth -= 1;
        found
    }

    /// `whenever A then B`: at all times A implies B, with the time of B behind `then`.
    fn whenever(&mut self) -> Result<Formula, Wrong> {
        let condition = self.joined()?;
        self.cursor.needs("then", "`whenever A then B`, such as `whenever row I03 then within 1 s C-1 is off`")?;
        let span = self.span(&["within", "for", "from"])?;
        let kind = span.as_ref().map(|(word, _)| *word);
        let effect = Box::new(self.whole()?);
        let effect = match (kind, span) {
            (Some("within"), Some((_, span))) => Formula::Eventually(Some(span), effect),
            (_, Some((_, span))) => Formula::Always(Some(span), effect),
            _ => *effect,
        };
        Ok(Formula::Always(None, Box::new(Formula::Implies(Box::new(condition), Box::new(effect)))))
    }

    fn joined(&mut self) -> Result<Formula, Wrong> {
        let (left, bond) = self.listed()?;
        let word = self.cursor.peek();
        if !matches!(word, "implies" | "until" | "since") {
            return Ok(left);
        }
        if bond == Bond::Time {
            return Err(self.two_ways(word));
        }
        self.cursor.word();
        let span = if word == "implies" { None } else { self.span(&["within", "from"])?.map(|(_, span)| span) };
        let left = Box::new(left);
        if word == "implies" {
            return Ok(Formula::Implies(left, Box::new(self.whole()?)));
        }
        let right = Box::new(self.listed()?.0);
        let next = self.cursor.peek();
        if matches!(next, "implies" | "until" | "since") {
            return Err(self.two_ways(next));
        }
        Ok(if word == "until" { Formula::Until(span, left, right) } else { Formula::Since(span, left, right) })
    }

    /// Parts joined by `and`, or by `or`.
    fn listed(&mut self) -> Result<(Formula, Bond), Wrong> {
        let (mut left, mut bond) = self.unary()?;
        let word = self.cursor.peek();
        if !matches!(word, "and" | "or") {
            return Ok((left, bond));
        }
        while matches!(self.cursor.peek(), "and" | "or") {
            let next = self.cursor.peek();
            if bond == Bond::Time || next != word {
                return Err(self.two_ways(next));
            }
            self.cursor.word();
            let (right, other) = self.unary()?;
            let both = (Box::new(left), Box::new(right));
            left = if word == "and" { Formula::And(both.0, both.1) } else { Formula::Or(both.0, both.1) };
            bond = other;
        }
        Ok((left, bond))
    }

    fn two_ways(&mut self, word: &str) -> Wrong {
        let at = self.cursor.place();
        let message = format!("what stands before this `{word}` can be read in two ways");
        let example = "`always (A and B)` or `(always A) and B`, `A and (B or C)` or `(A and B) or C`";
        Wrong::new(at..at + word.len(), message, format!("put brackets: {example}"))
    }

    fn unary(&mut self) -> Result<(Formula, Bond), Wrong> {
        self.depth += 1;
        if self.depth > DEEPEST {
            let at = self.cursor.place();
            let message = format!("more than {DEEPEST} brackets and operators stand in each other");
            return Err(Wrong::new(at..at, message, "split the formula into several properties"));
        }
        let found = self.unary_here();
        self.depth -= 1;
        found
    }

    fn unary_here(&mut self) -> Result<(Formula, Bond), Wrong> {
        if self.cursor.sign("(") {
            let inner = self.whole()?;
            if !self.cursor.sign(")") {
                let (found, at) = self.cursor.next();
                let help = "close the bracket with `)`, or join the parts in it";
                return Err(Wrong::new(at, format!("`)` is needed, this is {found}"), help));
            }
            return Ok((inner, Bond::Closed));
        }
        let word = self.cursor.peek();
        let taken: &[&str] = match word {
            "not" => {
                self.cursor.word();
                let (of, bond) = self.unary()?;
                return Ok((Formula::Not(Box::new(of)), bond));
            }
            "always" | "historically" => &["for", "from"],
            "never" => &["for", "within", "from"],
            "eventually" | "once" => &["within", "from"],
            "whenever" => {
                let at = self.cursor.place();
                let help = "write `(whenever A then B)`";
                return Err(Wrong::new(
                    at..at + word.len(),
                    "`whenever` reaches to the end: here it wants brackets",
                    help,
                ));
            }
            _ => return Ok((self.atom()?, Bond::Closed)),
        };
        self.cursor.word();
        let span = self.span(taken)?.map(|(_, span)| span);
        let of = Box::new(self.unary()?.0);
        let formula = match word {
            "always" => Formula::Always(span, of),
            "never" => Formula::Always(span, Box::new(Formula::Not(of))),
            "eventually" => Formula::Eventually(span, of),
            "once" => Formula::Once(span, of),
            _ => Formula::Historically(span, of),
        };
        Ok((formula, Bond::Time))
    }

    /// `within 5 s`, `for 5 s` or `from 2 s to 5 s`, as far as the operator takes it.
    fn span(&mut self, taken: &[&'static str]) -> Result<Option<(&'static str, Span)>, Wrong> {
        let word = self.cursor.peek();
        let Some(kind) = ["within", "for", "from"].into_iter().find(|one| *one == word) else { return Ok(None) };
        let (_, at) = self.cursor.word();
        if !taken.contains(&kind) {
            let fits = match kind {
                "within" => "`within` belongs to what shall come: `eventually within 5 s A`, `A until within 5 s B`",
                _ => "`for` belongs to what shall stay: `always for 5 s A`, `never for 5 s A`",
            };
            return Err(Wrong::new(at, format!("`{kind}` does not go here"), fits));
        }
        let first = self.time()?;
        if kind != "from" {
            return Ok(Some((kind, Span { from: 0.0, to: first })));
        }
        self.cursor.needs("to", "`from 2 s to 5 s`")?;
        let place = self.cursor.place();
        let to = self.time()?;
        if to < first {
            let at = place..self.cursor.place();
            return Err(Wrong::new(
                at,
                "the span ends before it begins",
                "write the nearer time first: `from 2 s to 5 s`",
            ));
        }
        Ok(Some((kind, Span { from: first, to })))
    }

    fn time(&mut self) -> Result<f64, Wrong> {
        let from = self.cursor.place();
        let (seconds, _) = self.cursor.quantity(Dim::Time)?;
        if (0.0..=LONGEST).contains(&seconds) {
            return Ok(seconds);
        }
        let at = from..self.cursor.place();
        Err(Wrong::new(at, "the time is outside the accepted range", "accepted range: 0 s to 1 d"))
    }
}
