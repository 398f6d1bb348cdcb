//! Values out of a table: quantities with units, words, texts, numbers. Every refusal names what is accepted.

use std::ops::RangeInclusive;

use toml_edit::{Item, Value};

use super::diagnostic::{Diagnostic, nearest};
use super::quantity::{self, Dim, Quantity};
use super::reader::{Kind, Node, kind_of};

impl Node<'_> {
    /// Reads a value in `range`; what lies outside is told with `told`.
    fn quantity_of(
        &self,
        key: &str,
        item: &Item,
        dim: Dim,
        range: &RangeInclusive<f64>,
        told: &RangeInclusive<f64>,
    ) -> Result<f64, Diagnostic> {
        let parsed = match item.as_value() {
            Some(value) => read_quantity(value, dim),
            None => Err((format!("`{key}` is a table, {} is needed", dim.noun()), "write `key = value`".to_owned())),
        };
        let accepted = || quantity::range_text(dim, told, None);
        let quantity = parsed.map_err(|(message, help)| {
            self.error_at(key, format!("{}: {message}", self.full_name(key)))
                .with_help(format!("{help}; accepted range: {}", accepted()))
        })?;
        quantity.within(dim, range).map_err(|accepted| {
            let accepted = if range == told { accepted } else { quantity::range_text(dim, told, quantity.unit()) };
            let written = item.span().and_then(|span| self.source.text.get(span)).unwrap_or_default();
            self.error_at(key, format!("{}: {written} is outside the accepted range", self.full_name(key)))
                .with_help(format!("accepted range: {accepted}"))
        })
    }

    /// The value of a key that must be there, in SI.
    pub fn quantity(&mut self, key: &str, dim: Dim, range: RangeInclusive<f64>) -> Result<f64, Diagnostic> {
        let wanted = format!("{}, {}", dim.noun(), quantity::range_text(dim, &range, None));
        let found = self.opt_quantity(key, dim, range)?;
        self.require(key, found, &wanted)
    }

    /// The value of a key that may be left out, in SI.
    pub fn opt_quantity(&mut self, key: &str, dim: Dim, range: RangeInclusive<f64>) -> Result<Option<f64>, Diagnostic> {
        self.opt_quantity_judged_later(key, dim, range.clone(), range)
    }

    /// The value of a key that may be left out, in SI, taken within `range` and told as accepted within the narrower `told`: for a
    /// value that the caller judges in words of its own.
    pub fn opt_quantity_judged_later(
        &mut self,
        key: &str,
        dim: Dim,
        range: RangeInclusive<f64>,
        told: RangeInclusive<f64>,
    ) -> Result<Option<f64>, Diagnostic> {
        self.find(key, Kind::Quantity(dim, told.clone()))
            .map(|item| self.quantity_of(key, item, dim, &range, &told))
            .transpose()
    }

    /// The value of a key, or `default` (SI) where it is left out.
    pub fn quantity_or(
        &mut self,
        key: &str,
        dim: Dim,
        range: RangeInclusive<f64>,
        default: f64,
    ) -> Result<f64, Diagnostic> {
        Ok(self.opt_quantity(key, dim, range)?.unwrap_or(default))
    }

    /// An array of quantities of one dimension, in SI; absent means empty.
    pub fn list_of_quantities(
        &mut self,
        key: &str,
        dim: Dim,
        range: RangeInclusive<f64>,
    ) -> Result<Vec<f64>, Diagnostic> {
        let Some(item) = self.find(key, Kind::Quantities(dim)) else {
            return Ok(Vec::new());
        };
        let Some(array) = item.as_array() else {
            return Err(self.wrong_kind(key, item, &format!("a list, each {}", dim.noun())));
        };
        array
            .iter()
            .map(|value| {
                let place = value.span().unwrap_or_else(|| self.span.clone());
                let name = self.full_name(key);
                let read = read_quantity(value, dim).map_err(|(message, help)| {
                    self.source.diagnose(place.clone(), format!("{name}: {message}")).with_help(help)
                })?;
                read.within(dim, &range).map_err(|accepted| {
                    let written = value.span().and_then(|span| self.source.text.get(span)).unwrap_or("a value");
                    self.source
                        .diagnose(place, format!("{name}: {written} is outside the accepted range"))
                        .with_help(format!("accepted range: {accepted}"))
                })
            })
            .collect()
    }

    pub(super) fn wrong_kind(&self, key: &str, item: &Item, wanted: &str) -> Diagnostic {
        self.error_at(key, format!("{}: {wanted} is needed, this is {}", self.full_name(key), kind_of(item)))
            .with_help(format!("write {wanted}"))
    }

    /// Text that may be left out.
    pub fn opt_string(&mut self, key: &str) -> Result<Option<String>, Diagnostic> {
        self.text(key, Kind::Text)
    }

    fn text(&mut self, key: &str, kind: Kind) -> Result<Option<String>, Diagnostic> {
        let Some(item) = self.find(key, kind) else {
            return Ok(None);
        };
        match item.as_str() {
            Some(text) => Ok(Some(text.to_owned())),
            None => Err(self.wrong_kind(key, item, "text in quotes")),
        }
    }

    /// Text that must be there.
    pub fn string(&mut self, key: &str) -> Result<String, Diagnostic> {
        let found = self.opt_string(key)?;
        self.require(key, found, "text in quotes")
    }

    /// The same; the caller holds it against this form, which stands in the schema.
    pub fn string_like(&mut self, key: &str, form: &'static str) -> Result<String, Diagnostic> {
        let found = self.text(key, Kind::Like(form))?;
        self.require(key, found, "text in quotes")
    }

    /// Text that may be left out; the caller holds it against these words, which stand in the schema.
    pub(super) fn opt_word_of(&mut self, key: &str, words: &[&str]) -> Result<Option<String>, Diagnostic> {
        self.text(key, Kind::Word(words.iter().map(|one| (*one).to_owned()).collect()))
    }

    /// An array of texts; absent means empty.
    pub fn strings(&mut self, key: &str) -> Result<Vec<String>, Diagnostic> {
        self.texts(key, Kind::Texts)
    }

    /// An array of texts; the caller holds each against these words, which stand in the schema.
    pub(super) fn strings_of(&mut self, key: &str, words: &[&str]) -> Result<Vec<String>, Diagnostic> {
        self.texts(key, Kind::Words(words.iter().map(|one| (*one).to_owned()).collect()))
    }

    /// An array of texts; the caller holds each against this form, which stands in the schema.
    pub(super) fn strings_like(&mut self, key: &str, form: &'static str) -> Result<Vec<String>, Diagnostic> {
        self.texts(key, Kind::TextsLike(form))
    }

    fn texts(&mut self, key: &str, kind: Kind) -> Result<Vec<String>, Diagnostic> {
        let Some(item) = self.find(key, kind) else {
            return Ok(Vec::new());
        };
        let texts = item.as_array().and_then(|list| list.iter().map(|v| v.as_str().map(str::to_owned)).collect());
        texts.ok_or_else(|| self.wrong_kind(key, item, "a list of texts in quotes"))
    }

    /// One word of `options`, which may be left out.
    pub fn opt_one_of<'o>(&mut self, key: &str, options: &[&'o str]) -> Result<Option<&'o str>, Diagnostic> {
        let words = options.iter().map(|one| (*one).to_owned()).collect();
        let Some(text) = self.text(key, Kind::Word(words))? else {
            return Ok(None);
        };
        if let Some(found) = options.iter().find(|one| **one == text) {
            return Ok(Some(found));
        }
        let all = options.join(", ");
        let help = match nearest(&text, options.iter().copied()) {
            Some(near) => format!("nearest valid value: `{near}`; accepted: {all}"),
            None => format!("accepted: {all}"),
        };
        Err(self.error_at(key, format!("{}: `{text}` is not known here", self.full_name(key))).with_help(help))
    }

    /// One word of `options`, which must be there.
    pub fn one_of<'o>(&mut self, key: &str, options: &[&'o str]) -> Result<&'o str, Diagnostic> {
        let found = self.opt_one_of(key, options)?;
        self.require(key, found, &format!("one of {}", options.join(", ")))
    }

    /// `true` or `false`, or `default` where it is left out.
    pub fn bool_or(&mut self, key: &str, default: bool) -> Result<bool, Diagnostic> {
        let Some(item) = self.find(key, Kind::Flag) else {
            return Ok(default);
        };
        item.as_bool().ok_or_else(|| self.wrong_kind(key, item, "true or false"))
    }

    /// A whole number that may be left out.
    pub fn opt_integer(&mut self, key: &str, range: RangeInclusive<i64>) -> Result<Option<i64>, Diagnostic> {
        let Some(item) = self.find(key, Kind::Whole(range.clone())) else {
            return Ok(None);
        };
        let Some(value) = item.as_integer() else {
            return Err(self.wrong_kind(key, item, "a whole number"));
        };
        if range.contains(&value) {
            return Ok(Some(value));
        }
        Err(self
            .error_at(key, format!("{}: {value} is outside the accepted range", self.full_name(key)))
            .with_help(format!("accepted range: {} to {}", range.start(), range.end())))
    }

    /// A whole number that must be there.
    pub fn integer(&mut self, key: &str, range: RangeInclusive<i64>) -> Result<i64, Diagnostic> {
        let wanted = format!("a whole number, {} to {}", range.start(), range.end());
        let found = self.opt_integer(key, range)?;
        self.require(key, found, &wanted)
    }
}

fn read_quantity(value: &Value, dim: Dim) -> Result<Quantity, (String, String)> {
    let read = match value {
        Value::String(text) => quantity::parse(text.value(), dim),
        Value::Integer(number) => quantity::bare(*number.value() as f64, dim),
        Value::Float(number) => quantity::bare(*number.value(), dim),
        other => {
            let message = format!("{} is needed, this is {}", dim.noun(), other.type_name());
            return Err((message, format!("write {} in quotes, with its unit", dim.noun())));
        }
    };
    read.map_err(|wrong| (wrong.message, wrong.help))
}
