//! Walks over a formula's text: words, signs, and quantities with the units of what they are compared with.

use std::ops::Range;

use crate::scenario::quantity::{self, Dim};

/// What is wrong with a formula, and where in its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Bytes of the text.
    pub at: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

impl Wrong {
    pub(super) fn new(at: Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { at, message: message.into(), help: help.into() }
    }
}

/// Words of the language; nothing else is called so.
const WORDS: [&str; 24] = [
    "not",
    "and",
    "or",
    "implies",
    "always",
    "never",
    "eventually",
    "until",
    "whenever",
    "then",
    "within",
    "for",
    "from",
    "to",
    "once",
    "historically",
    "since",
    "is",
    "row",
    "told",
    "fault",
    "stands",
    "withholds",
    "acts",
];

/// A place in the text.
#[derive(Clone, Copy)]
pub(super) struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Cursor<'a> {
    pub const fn new(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn skip(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    /// Whether nothing follows.
    pub fn is_at_end(&mut self) -> bool {
        self.skip();
        self.rest().is_empty()
    }

    /// Where the next thing begins.
    pub fn place(&mut self) -> usize {
        self.skip();
        self.at
    }

    /// The word that comes next, without taking it: letters and digits, and what names hold besides.
    pub fn peek(&mut self) -> &'a str {
        self.skip();
        let rest = self.rest();
        if !rest.starts_with(|c: char| c.is_alphabetic() || c == '_') {
            return "";
        }
        let end = rest.find(|c: char| !(c.is_alphanumeric() || "_-+./".contains(c))).unwrap_or(rest.len());
        rest.get(..end).unwrap_or_default()
    }

    /// Takes the next word; its place.
    pub fn word(&mut self) -> (&'a str, Range<usize>) {
        let word = self.peek();
        let from = self.at;
        self.at += word.len();
        (word, from..self.at)
    }

    /// Takes this word, if it is next.
    pub fn takes(&mut self, word: &str) -> bool {
        let is = self.peek() == word;
        if is {
            self.at += word.len();
        }
        is
    }

    /// Takes this sign, if it is next.
    pub fn sign(&mut self, sign: &str) -> bool {
        self.skip();
        let is = self.rest().starts_with(sign);
        if is {
            self.at += sign.len();
        }
        is
    }

    /// The next word or sign in the words of a message.
    pub fn next(&mut self) -> (String, Range<usize>) {
        let word = self.peek();
        let from = self.at;
        if !word.is_empty() {
            return (format!("`{word}`"), from..from + word.len());
        }
        match self.rest().chars().next() {
            None => ("the end".to_owned(), from..from),
            Some(one) => (format!("`{one}`"), from..from + one.len_utf8()),
        }
    }

    /// Takes this word, which must come next in this form.
    pub fn needs(&mut self, word: &str, form: &str) -> Result<(), Wrong> {
        if self.takes(word) {
            return Ok(());
        }
        let (found, at) = self.next();
        Err(Wrong::new(at, format!("`{word}` is needed, this is {found}"), format!("write {form}")))
    }

    /// Whether a quantity comes next.
    pub fn is_at_number(&mut self) -> bool {
        self.skip();
        self.rest().starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c))
    }

    /// Takes a quantity of this dimension; its SI value, and how it was written.
    pub fn quantity(&mut self, dim: Dim) -> Result<(f64, &'a str), Wrong> {
        self.skip();
        let rest = self.rest();
        let number = number_length(rest);
        if number == 0 {
            let (found, at) = self.next();
            let example = quantity::text(dim, 1.0, dim.units().next());
            let message = format!("{} is needed, this is {found}", dim.noun());
            return Err(Wrong::new(at, message, format!("write a number with its unit, such as {example}")));
        }
        let behind = rest.get(number..).unwrap_or_default();
        let blanks = behind.len() - behind.trim_start().len();
        let units = dim.units().filter(|unit| is_unit(behind.trim_start(), unit));
        let unit = units.max_by_key(|unit| unit.len()).map(|unit| blanks + unit.len());
        let length = number + unit.unwrap_or_else(|| wrong_unit_length(behind, dim));
        let written = rest.get(..length).unwrap_or(rest);
        let at = self.at..self.at + length;
        let read = quantity::parse(written, dim).map_err(|wrong| Wrong::new(at, wrong.message, wrong.help))?;
        self.at += length;
        Ok((read.si, written.trim()))
    }
}

/// Bytes of the number at the start.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes.iter().skip(from).take_while(|b| b.is_ascii_digit()).count();
    let mut at = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let whole = digits(at);
    at += whole;
    let mut some = whole > 0;
    if bytes.get(at) == Some(&b'.') {
        let part = digits(at + 1);
        some |= part > 0;
        at += 1 + part;
    }
    if !some {
        return 0;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let signed = at + 1 + usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        if digits(signed) > 0 {
            at = signed + digits(signed);
        }
    }
    at
}

/// Whether the text begins with this unit, and the unit ends there.
fn is_unit(text: &str, unit: &str) -> bool {
    let rest = text.strip_prefix(unit);
    rest.is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphanumeric() || "/^²³".contains(c)))
}

/// Bytes of what stands in the place of a unit: the next word, unless it is one of the language or the dimension takes bare numbers.
fn wrong_unit_length(behind: &str, dim: Dim) -> usize {
    let blanks = behind.len() - behind.trim_start().len();
    let text = behind.trim_start();
    let end = text.find(|c: char| c.is_whitespace() || c == ')' || c == '(').unwrap_or(text.len());
    let word = text.get(..end).unwrap_or_default();
    let none = word.is_empty() || WORDS.contains(&word) || (dim.takes_bare_number() && blanks > 0 && word == "is");
    if none { 0 } else { blanks + end }
}
