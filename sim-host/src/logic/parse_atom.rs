//! Reads what a formula looks at in one scan: a comparison of signals, a state, a row, a notice, a fault.

use valvewright_core::row::RowId;

use super::formula::{Atom, Fact, Formula, Look, Signal};
use super::names::{self, Named};
use super::parse::Reader;
use super::text::Wrong;
use crate::run::words::IDS;
use crate::scenario::diagnostic::nearest;
use crate::scenario::quantity::Dim;

/// Comparisons of one formula, at most.
const MOST_ATOMS: usize = 200;

impl Reader<'_> {
    fn keep(&mut self, atom: Atom, yes: String, no: String) -> Result<Formula, Wrong> {
        if self.atoms.len() >= MOST_ATOMS {
            let at = self.cursor.place();
            let message = format!("the formula has more than {MOST_ATOMS} comparisons");
            return Err(Wrong::new(at..at, message, "split it into several properties"));
        }
        self.atoms.push(Look { atom, yes, no });
        Ok(Formula::Atom(self.atoms.len() - 1))
    }

    /// What can be seen in one scan, the contrary of a state included.
    pub(super) fn atom(&mut self) -> Result<Formula, Wrong> {
        let (word, at) = self.cursor.word();
        match word {
            "" => {
                let (found, at) = self.cursor.next();
                let help = "write a comparison such as `vessel.p < 16 bar`, a state such as `XV-5 is on`, or a formula in brackets";
                return Err(Wrong::new(at, format!("something to look at is needed, this is {found}"), help));
            }
            "row" => return self.row(),
            "told" => return self.told(),
            "fault" => return self.fault(),
            _ => {}
        }
        let found = self.names.find(word).map_err(|no| Wrong::new(at.clone(), no.message, no.help));
        match found {
            Ok(Named::Signal(signal, dim)) => self.comparison(word, signal, dim),
            Ok(Named::States(states)) => self.state(word, &states),
            Err(wrong) => Err(as_operator(word, &at).unwrap_or(wrong)),
        }
    }

    fn row(&mut self) -> Result<Formula, Wrong> {
        let (id, at) = self.cursor.word();
        let ids = || RowId::ALL.into_iter().map(RowId::as_str);
        let Some(row) = RowId::ALL.into_iter().find(|row| row.as_str() == id) else {
            let near = nearest(id, ids()).map(|near| format!("nearest row: `{near}`; ")).unwrap_or_default();
            let help = format!("{near}rows: {}", ids().collect::<Vec<_>>().join(", "));
            return Err(Wrong::new(at, format!("there is no interlock row `{id}`"), help));
        };
        if self.cursor.takes("withholds") {
            let (yes, no) = (format!("row {id} withholds"), format!("row {id} does not withhold"));
            return self.keep(Atom::Is(Fact::Withheld(row)), yes, no);
        }
        self.cursor.takes("stands");
        self.keep(Atom::Is(Fact::Row(row)), format!("row {id} stands"), format!("row {id} does not stand"))
    }

    fn told(&mut self) -> Result<Formula, Wrong> {
        let (id, at) = self.cursor.word();
        let Some(place) = IDS.iter().position(|one| *one == id) else {
            let near =
                nearest(id, IDS.iter().copied()).map(|near| format!("nearest notice: `{near}`; ")).unwrap_or_default();
            let help = format!("{near}notices: {}", IDS.join(", "));
            return Err(Wrong::new(at, format!("there is no notice `{id}`"), help));
        };
        self.keep(Atom::Is(Fact::Told(place)), format!("{id} is told"), format!("{id} is not told"))
    }

    fn fault(&mut self) -> Result<Formula, Wrong> {
        let (name, at) = self.cursor.word();
        let place = self.names.fault(name).map_err(|no| Wrong::new(at, no.message, no.help))?;
        self.cursor.takes("acts");
        self.keep(Atom::Is(Fact::Fault(place)), format!("fault {name} acts"), format!("fault {name} does not act"))
    }

    fn state(&mut self, name: &str, states: &names::States) -> Result<Formula, Wrong> {
        let words: Vec<&str> = states.iter().map(|(word, ..)| *word).collect();
        let form = format!("`{name} is {}`", words.first().copied().unwrap_or_default());
        self.cursor.needs("is", &form)?;
        let contrary = self.cursor.takes("not");
        let (word, at) = self.cursor.word();
        let Some((_, fact, yes)) = states.iter().find(|(one, ..)| *one == word) else {
            let near = nearest(word, words.iter().copied()).map(|near| format!("nearest word: `{near}`; "));
            let help = format!("{}write one of: {}", near.unwrap_or_default(), words.join(", "));
            return Err(Wrong::new(at, format!("`{name}` is never `{word}`"), help));
        };
        let words = |of: bool| states.iter().find(|(_, other, side)| other == fact && *side == of);
        let say = |of: bool, none: &str| match words(of) {
            Some((word, ..)) => format!("{name} is {word}"),
            None => format!("{name} is {none}{word}"),
        };
        let atom = self.keep(Atom::Is(fact.clone()), say(true, ""), say(false, "not "))?;
        Ok(if *yes == contrary { Formula::Not(Box::new(atom)) } else { atom })
    }

    fn comparison(&mut self, name: &str, signal: Signal, dim: Dim) -> Result<Formula, Wrong> {
        let (mut terms, mut words, mut dim) = (vec![(false, signal)], name.to_owned(), dim);
        loop {
            let from = self.cursor.place();
            let minus = self.cursor.sign("-");
            if !minus && !self.cursor.sign("+") {
                break;
            }
            let (other, signal) = self.signal(dim)?;
            if names::difference(dim) != dim && (!minus || terms.len() > 1) {
                let help = format!("of these, write a difference of two: `{name} - {other}`");
                let at = from..self.cursor.place();
                let message = format!("this sum says nothing: {} counts from its own zero", dim.noun());
                return Err(Wrong::new(at, message, help));
            }
            words += &format!(" {} {other}", if minus { "-" } else { "+" });
            terms.push((minus, signal));
        }
        if terms.len() > 1 {
            dim = names::difference(dim);
        }
        let (below, strict, sign, contrary) = self.order(&words)?;
        let (limit, written) = if self.cursor.is_at_number() {
            let (limit, written) = self.cursor.quantity(dim)?;
            (limit, written.to_owned())
        } else {
            let (other, signal) = self.signal(dim)?;
            terms.push((true, signal));
            (0.0, other)
        };
        let atom = Atom::Compare { terms, below, strict, limit, dim, scale: names::scale(dim) };
        self.keep(atom, format!("{words} {sign} {written}"), format!("{words} {contrary} {written}"))
    }

    /// A further signal of a comparison, which must be of the same kind.
    fn signal(&mut self, dim: Dim) -> Result<(String, Signal), Wrong> {
        let (other, at) = self.cursor.word();
        if other.is_empty() {
            let (found, at) = self.cursor.next();
            let help = format!("write a quantity or a signal that is {}", dim.noun());
            return Err(Wrong::new(at, format!("{} is needed, this is {found}", dim.noun()), help));
        }
        match self.names.find(other).map_err(|no| Wrong::new(at.clone(), no.message, no.help))? {
            Named::Signal(signal, same) if same == dim => Ok((other.to_owned(), signal)),
            Named::Signal(_, wrong) => {
                let message = format!("`{other}` is {}, {} is needed", wrong.noun(), dim.noun());
                Err(Wrong::new(at, message, "compare what is of one kind"))
            }
            Named::States(_) => {
                let help = "what is in one of some states is asked for with `is`";
                Err(Wrong::new(at, format!("`{other}` has no value to compare"), help))
            }
        }
    }

    /// Below or above, and whether the limit itself is out.
    fn order(&mut self, words: &str) -> Result<(bool, bool, &'static str, &'static str), Wrong> {
        for (sign, below, strict, shown, contrary) in [
            ("<=", true, false, "<=", ">"),
            ("≤", true, false, "<=", ">"),
            (">=", false, false, ">=", "<"),
            ("≥", false, false, ">=", "<"),
            ("<", true, true, "<", ">="),
            (">", false, true, ">", "<="),
        ] {
            if self.cursor.sign(sign) {
                return Ok((below, strict, shown, contrary));
            }
        }
        let (found, at) = self.cursor.next();
        let message = format!("a comparison is needed behind `{words}`, this is {found}");
        Err(Wrong::new(at, message, "write <, <=, > or >= and a quantity; a signal is hardly ever equal to one"))
    }
}

/// A word in the place of a name that is rather a mistyped operator.
fn as_operator(word: &str, at: &std::ops::Range<usize>) -> Option<Wrong> {
    const OPERATORS: [&str; 8] = ["not", "always", "never", "eventually", "whenever", "once", "historically", "row"];
    let near =
        OPERATORS.into_iter().find(|one| strsim::osa_distance(one, &word.to_lowercase()) <= 2 && word.len() > 2)?;
    Some(Wrong::new(at.clone(), format!("nothing is called `{word}`"), format!("nearest word: `{near}`")))
}
