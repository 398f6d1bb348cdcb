//! A message: the id of a text and its arguments, and how they become a sentence.

use std::borrow::Cow;

use fluent_bundle::{FluentArgs, FluentValue};
use valvewright_core::units::{AbsPa, CentiKelvin, Milligram};

use super::catalogue::formatted;
use super::figures::{self, number};
use crate::display::{Amount, Display, Language, Say, Sentence};
use crate::say;

/// A figure's place in a text, until the display has written it: letters of the private use area, which no text has.
const PLACES: std::ops::RangeInclusive<char> = '\u{e000}'..='\u{e0ff}';

/// An argument of a text.
#[derive(Clone, Debug, PartialEq)]
pub enum Arg {
    /// A quantity, which the display writes.
    Figure(Amount),
    /// A whole number; a text may select by its plural.
    Whole(i64),
    /// A number with so many decimals.
    Number(f64, usize),
    /// A number as a power of ten with so many decimals: `1.2e-6`.
    Power(f64, usize),
    /// A tag or the id of a row: the same in all languages.
    Tag(&'static str),
    /// The first of these words: the text selects by it, and knows no others.
    Choice(&'static str, &'static [&'static str]),
    /// Another message.
    Message(Message),
    /// A text whose English is the core's own; other languages have it under this id.
    Core(String, &'static str),
}

impl From<Amount> for Arg {
    fn from(one: Amount) -> Self {
        Self::Figure(one)
    }
}

impl From<AbsPa> for Arg {
    fn from(one: AbsPa) -> Self {
        Self::Figure(Amount::Pressure(f64::from(one.0)))
    }
}

impl From<CentiKelvin> for Arg {
    fn from(one: CentiKelvin) -> Self {
        Self::Figure(Amount::Temperature(f64::from(one.0) / 100.0))
    }
}

impl From<Milligram> for Arg {
    fn from(one: Milligram) -> Self {
        Self::Figure(Amount::Mass(f64::from(one.0) / 1e6))
    }
}

impl From<Message> for Arg {
    fn from(one: Message) -> Self {
        Self::Message(one)
    }
}

impl Arg {
    /// A figure or a message in English; nothing for what is neither.
    pub fn sentence(&self) -> Sentence {
        match self {
            Self::Figure(amount) => say![*amount],
            Self::Message(message) => message.sentence(),
            _ => Sentence::default(),
        }
    }
}

/// Something to be told.
#[derive(Clone, Debug, PartialEq)]
pub struct Message {
    /// Id of its text in the files of each language.
    pub id: &'static str,
    /// Its arguments by the names they have in the texts.
    pub args: Vec<(&'static str, Arg)>,
}

impl From<&'static str> for Message {
    fn from(id: &'static str) -> Self {
        Self { id, args: Vec::new() }
    }
}

impl Message {
    /// The message with one more argument.
    #[must_use]
    pub fn with(mut self, name: &'static str, arg: impl Into<Arg>) -> Self {
        self.args.push((name, arg.into()));
        self
    }

    /// The text with the place of each figure in it, the figures apart.
    fn filled(&self, language: Language, figures: &mut Vec<Amount>) -> Cow<'static, str> {
        if self.args.is_empty() {
            return self.text(language, None);
        }
        let mut args = FluentArgs::with_capacity(self.args.len());
        for (name, arg) in &self.args {
            let value = match arg {
                Arg::Figure(amount) => {
                    let place =
                        u32::try_from(figures.len()).ok().and_then(|at| char::from_u32(*PLACES.start() as u32 + at));
                    figures.push(*amount);
                    FluentValue::from(place.unwrap_or_default().to_string())
                }
                Arg::Whole(value) => FluentValue::from(*value),
                Arg::Number(value, places) => FluentValue::from(number(language, format!("{value:.places$}"))),
                Arg::Power(value, places) => FluentValue::from(number(language, format!("{value:.places$e}"))),
                Arg::Tag(word) | Arg::Choice(word, _) => FluentValue::from(*word),
                Arg::Message(message) => FluentValue::from(message.filled(language, figures)),
                Arg::Core(_, english) if language == Language::En => FluentValue::from(*english),
                Arg::Core(id, english) => {
                    FluentValue::from(formatted(language, id, None).unwrap_or(Cow::Borrowed(english)))
                }
            };
            args.set(*name, value);
        }
        self.text(language, Some(&args))
    }

    /// A language that lacks the text, which is tested not to be, tells it in English rather than not at all.
    fn text(&self, language: Language, args: Option<&FluentArgs<'_>>) -> Cow<'static, str> {
        let text = formatted(language, self.id, args).or_else(|| formatted(Language::En, self.id, args));
        text.unwrap_or(Cow::Borrowed(self.id))
    }

    /// In English, with its figures as quantities.
    pub fn sentence(&self) -> Sentence {
        let mut figures = Vec::new();
        let mut told = Sentence::default();
        match self.filled(Language::En, &mut figures) {
            Cow::Borrowed(text) => text.say(&mut told),
            Cow::Owned(text) => parts(&text, &figures, |part| match part {
                Part::Words(words) => words.to_owned().say(&mut told),
                Part::Figure(amount) => amount.say(&mut told),
            }),
        }
        told
    }

    /// As the display tells it, in its language and units.
    pub fn on(&self, display: &Display) -> String {
        let mut figures = Vec::new();
        let text = self.filled(display.language, &mut figures);
        let mut told = String::with_capacity(text.len() + 8 * figures.len());
        parts(&text, &figures, |part| match part {
            Part::Words(words) => told.push_str(words),
            Part::Figure(amount) => told.push_str(&figures::words(display, amount)),
        });
        told
    }

    /// Calls `look` with this message and every one within it.
    pub fn each(&self, look: &mut impl FnMut(&Self)) {
        look(self);
        for (_, arg) in &self.args {
            if let Arg::Message(message) = arg {
                message.each(look);
            }
        }
    }
}

enum Part<'a> {
    Words(&'a str),
    Figure(Amount),
}

/// The text taken apart at the places of its figures.
fn parts<'a>(text: &'a str, figures: &[Amount], mut each: impl FnMut(Part<'a>)) {
    let mut from = 0;
    for (at, letter) in text.char_indices().filter(|(_, letter)| PLACES.contains(letter)) {
        each(Part::Words(&text[from..at]));
        let place = letter as usize - *PLACES.start() as usize;
        figures.get(place).copied().map(Part::Figure).into_iter().for_each(&mut each);
        from = at + letter.len_utf8();
    }
    each(Part::Words(&text[from..]));
}
