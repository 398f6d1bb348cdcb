//! Reads TOML tables key by key, so that every value comes with its place in the file and no unknown key goes unseen.

use std::ops::{Range, RangeInclusive};

use toml_edit::{Item, TableLike, Value};

use super::diagnostic::{Diagnostic, Problems, Source, nearest};
use super::quantity::{self, Dim, Quantity};

/// A parsed file.
#[derive(Debug)]
pub struct Document {
    source: Source,
    toml: toml_edit::Document<String>,
}

/// Parses a source as TOML. A broken file is one diagnostic at the place where reading stopped.
pub fn parse(source: &Source) -> Result<Document, Diagnostic> {
    match toml_edit::Document::parse(source.text.clone()) {
        Ok(toml) => Ok(Document {
            source: source.clone(),
            toml,
        }),
        Err(broken) => {
            let span = broken.span().unwrap_or(0..0);
            let reason = broken.message().trim().replace('\n', "; ");
            Err(source
                .diagnose(span, format!("broken TOML: {reason}"))
                .with_help("TOML wants `key = value` lines, text in \"quotes\", and [table] heads"))
        }
    }
}

impl Document {
    /// The table of the whole file.
    pub fn root(&self) -> Node<'_> {
        Node {
            source: &self.source,
            table: self.toml.as_table(),
            path: String::new(),
            span: 0..0,
            asked: Vec::new(),
        }
    }
}

/// One table of a file. Keys that were read are remembered; [`Node::finish`] reports the others.
pub struct Node<'a> {
    source: &'a Source,
    table: &'a dyn TableLike,
    path: String,
    span: Range<usize>,
    asked: Vec<String>,
}

impl<'a> Node<'a> {
    /// Dotted path of this table, empty for the root.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Whether the key is there. Does not count as reading it.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// The keys of this table in the order of the file.
    pub fn keys(&self) -> Vec<&'a str> {
        self.table.iter().map(|(key, _)| key).collect()
    }

    fn find(&mut self, key: &str) -> Option<&'a Item> {
        if !self.asked.iter().any(|one| one == key) {
            self.asked.push(key.to_owned());
        }
        self.table.get(key)
    }

    fn full_name(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    fn place(&self) -> String {
        if self.path.is_empty() {
            "at the top of the file".to_owned()
        } else {
            format!("in [{}]", self.path)
        }
    }

    /// A diagnostic at the value of `key`, or at this table if the key is absent.
    pub fn error_at(&self, key: &str, message: impl Into<String>) -> Diagnostic {
        let span = self
            .table
            .get(key)
            .and_then(Item::span)
            .or_else(|| self.key_span(key));
        self.source
            .diagnose(span.unwrap_or_else(|| self.span.clone()), message)
    }

    /// A diagnostic at the head of this table.
    pub fn error_here(&self, message: impl Into<String>) -> Diagnostic {
        self.source.diagnose(self.span.clone(), message)
    }

    fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.table
            .get_key_value(key)
            .and_then(|(key, _)| key.span())
    }

    /// A key that must be there is not. A slip of the pen among the unread keys is named in its place.
    fn missing(&self, key: &str, wanted: &str) -> Diagnostic {
        let unread = self
            .table
            .iter()
            .map(|(one, _)| one)
            .filter(|one| !self.asked.iter().any(|a| a == one));
        let slip = nearest(
            key,
            unread.filter(|one| strsim::osa_distance(one, key) <= 2 && key.len() > 3),
        );
        if let Some(slip) = slip {
            let span = self.key_span(slip).unwrap_or_else(|| self.span.clone());
            return self
                .source
                .diagnose(
                    span,
                    format!("unknown key `{slip}` {}; `{key}` is missing", self.place()),
                )
                .with_help(format!("nearest valid key: `{key}` ({wanted})"));
        }
        self.error_here(format!("`{key}` is missing {}", self.place()))
            .with_help(format!("add `{key}`: {wanted}"))
    }

    fn quantity_of(
        &self,
        key: &str,
        item: &Item,
        dim: Dim,
        range: &RangeInclusive<f64>,
    ) -> Result<f64, Diagnostic> {
        let parsed = match item.as_value() {
            Some(value) => read_quantity(value, dim),
            None => Err((
                format!("`{key}` is a table, {} is needed", dim.noun()),
                "write `key = value`".to_owned(),
            )),
        };
        let accepted = || quantity::range_text(dim, range, None);
        let quantity = parsed.map_err(|(message, help)| {
            self.error_at(key, format!("{}: {message}", self.full_name(key)))
                .with_help(format!("{help}; accepted range: {}", accepted()))
        })?;
        quantity.within(dim, range).map_err(|accepted| {
            let written = item
                .span()
                .and_then(|span| self.source.text.get(span))
                .unwrap_or_default();
            self.error_at(
                key,
                format!(
                    "{}: {written} is outside the accepted range",
                    self.full_name(key)
                ),
            )
            .with_help(format!("accepted range: {accepted}"))
        })
    }

    /// The value of a key that must be there, in SI.
    pub fn quantity(
        &mut self,
        key: &str,
        dim: Dim,
        range: RangeInclusive<f64>,
    ) -> Result<f64, Diagnostic> {
        match self.find(key) {
            Some(item) => self.quantity_of(key, item, dim, &range),
            None => {
                let wanted = format!(
                    "{}, {}",
                    dim.noun(),
                    quantity::range_text(dim, &range, None)
                );
                Err(self.missing(key, &wanted))
            }
        }
    }

    /// The value of a key that may be left out, in SI.
    pub fn opt_quantity(
        &mut self,
        key: &str,
        dim: Dim,
        range: RangeInclusive<f64>,
    ) -> Result<Option<f64>, Diagnostic> {
        self.find(key)
            .map(|item| self.quantity_of(key, item, dim, &range))
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
        let Some(item) = self.find(key) else {
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
                    self.source
                        .diagnose(place.clone(), format!("{name}: {message}"))
                        .with_help(help)
                })?;
                read.within(dim, &range).map_err(|accepted| {
                    self.source
                        .diagnose(
                            place,
                            format!("{name}: a value is outside the accepted range"),
                        )
                        .with_help(format!("accepted range: {accepted}"))
                })
            })
            .collect()
    }

    fn wrong_kind(&self, key: &str, item: &Item, wanted: &str) -> Diagnostic {
        self.error_at(
            key,
            format!(
                "{}: {wanted} is needed, this is {}",
                self.full_name(key),
                kind_of(item)
            ),
        )
        .with_help(format!("write {wanted}"))
    }

    /// Text that may be left out.
    pub fn opt_string(&mut self, key: &str) -> Result<Option<String>, Diagnostic> {
        let Some(item) = self.find(key) else {
            return Ok(None);
        };
        match item.as_str() {
            Some(text) => Ok(Some(text.to_owned())),
            None => Err(self.wrong_kind(key, item, "text in quotes")),
        }
    }

    /// Text that must be there.
    pub fn string(&mut self, key: &str) -> Result<String, Diagnostic> {
        self.opt_string(key)?
            .ok_or_else(|| self.missing(key, "text in quotes"))
    }

    /// An array of texts; absent means empty.
    pub fn strings(&mut self, key: &str) -> Result<Vec<String>, Diagnostic> {
        let Some(item) = self.find(key) else {
            return Ok(Vec::new());
        };
        let texts = item
            .as_array()
            .and_then(|list| list.iter().map(|v| v.as_str().map(str::to_owned)).collect());
        texts.ok_or_else(|| self.wrong_kind(key, item, "a list of texts in quotes"))
    }

    /// One word of `options`, which may be left out.
    pub fn opt_one_of<'o>(
        &mut self,
        key: &str,
        options: &[&'o str],
    ) -> Result<Option<&'o str>, Diagnostic> {
        let Some(text) = self.opt_string(key)? else {
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
        Err(self
            .error_at(
                key,
                format!("{}: `{text}` is not known here", self.full_name(key)),
            )
            .with_help(help))
    }

    /// One word of `options`, which must be there.
    pub fn one_of<'o>(&mut self, key: &str, options: &[&'o str]) -> Result<&'o str, Diagnostic> {
        self.opt_one_of(key, options)?
            .ok_or_else(|| self.missing(key, &format!("one of {}", options.join(", "))))
    }

    /// `true` or `false`, or `default` where it is left out.
    pub fn bool_or(&mut self, key: &str, default: bool) -> Result<bool, Diagnostic> {
        let Some(item) = self.find(key) else {
            return Ok(default);
        };
        item.as_bool()
            .ok_or_else(|| self.wrong_kind(key, item, "true or false"))
    }

    /// A whole number that may be left out.
    pub fn opt_integer(
        &mut self,
        key: &str,
        range: RangeInclusive<i64>,
    ) -> Result<Option<i64>, Diagnostic> {
        let Some(item) = self.find(key) else {
            return Ok(None);
        };
        let Some(value) = item.as_integer() else {
            return Err(self.wrong_kind(key, item, "a whole number"));
        };
        if range.contains(&value) {
            return Ok(Some(value));
        }
        Err(self
            .error_at(
                key,
                format!(
                    "{}: {value} is outside the accepted range",
                    self.full_name(key)
                ),
            )
            .with_help(format!(
                "accepted range: {} to {}",
                range.start(),
                range.end()
            )))
    }

    /// A whole number that must be there.
    pub fn integer(&mut self, key: &str, range: RangeInclusive<i64>) -> Result<i64, Diagnostic> {
        let wanted = format!("a whole number, {} to {}", range.start(), range.end());
        self.opt_integer(key, range)?
            .ok_or_else(|| self.missing(key, &wanted))
    }

    fn child(&self, key: &str, item: &'a Item) -> Option<Node<'a>> {
        let table = item.as_table_like()?;
        let span = item
            .span()
            .or_else(|| self.key_span(key))
            .unwrap_or_else(|| self.span.clone());
        Some(Node {
            source: self.source,
            table,
            path: self.full_name(key),
            span,
            asked: Vec::new(),
        })
    }

    /// A table that may be left out.
    pub fn opt_node(&mut self, key: &str) -> Result<Option<Node<'a>>, Diagnostic> {
        let Some(item) = self.find(key) else {
            return Ok(None);
        };
        match self.child(key, item) {
            Some(node) => Ok(Some(node)),
            None => Err(self.wrong_kind(key, item, &format!("a table [{}]", self.full_name(key)))),
        }
    }

    /// A table that must be there.
    pub fn node(&mut self, key: &str) -> Result<Node<'a>, Diagnostic> {
        self.opt_node(key)?
            .ok_or_else(|| self.missing(key, &format!("a table [{}]", self.full_name(key))))
    }

    /// An array of tables (`[[key]]`, or a list of `{ .. }`); absent means empty.
    pub fn nodes(&mut self, key: &str) -> Result<Vec<Node<'a>>, Diagnostic> {
        let Some(item) = self.find(key) else {
            return Ok(Vec::new());
        };
        let numbered = |at: usize, table: &'a dyn TableLike, span: Option<Range<usize>>| Node {
            source: self.source,
            table,
            path: format!("{}[{}]", self.full_name(key), at + 1),
            span: span.unwrap_or_else(|| self.span.clone()),
            asked: Vec::new(),
        };
        if let Some(tables) = item.as_array_of_tables() {
            return Ok(tables
                .iter()
                .enumerate()
                .map(|(at, t)| numbered(at, t, t.span()))
                .collect());
        }
        let wanted = format!("tables [[{}]]", self.full_name(key));
        let Some(array) = item.as_array() else {
            return Err(self.wrong_kind(key, item, &wanted));
        };
        let inline = |(at, value): (usize, &'a Value)| {
            value
                .as_inline_table()
                .map(|t| numbered(at, t as &dyn TableLike, value.span()))
        };
        let all: Option<Vec<_>> = array.iter().enumerate().map(inline).collect();
        all.ok_or_else(|| self.wrong_kind(key, item, &wanted))
    }

    /// Every entry of this table as a named table, in the order of the file: for `[volumes.loop]`, `[volumes.vessel]` and the like.
    pub fn named_nodes(&mut self) -> Result<Vec<(&'a str, Node<'a>)>, Diagnostic> {
        self.keys()
            .into_iter()
            .map(
                |key| match self.find(key).and_then(|item| self.child(key, item)) {
                    Some(node) => Ok((key, node)),
                    None => Err(self
                        .error_at(key, format!("`{key}` {} is no table", self.place()))
                        .with_help(format!(
                            "every entry here is a table: [{}]",
                            self.full_name(key)
                        ))),
                },
            )
            .collect()
    }

    /// Every key that nobody asked for, each with the nearest valid key.
    pub fn unknown_keys(&self) -> Vec<Diagnostic> {
        let unread = self
            .table
            .iter()
            .filter(|(key, _)| !self.asked.iter().any(|one| one == key));
        unread
            .map(|(key, _)| {
                let span = self.key_span(key).unwrap_or_else(|| self.span.clone());
                let valid = self.asked.join(", ");
                let help = match nearest(key, self.asked.iter().map(String::as_str)) {
                    Some(near) => format!("nearest valid key: `{near}`; valid keys: {valid}"),
                    None => format!("valid keys: {valid}"),
                };
                self.source
                    .diagnose(span, format!("unknown key `{key}` {}", self.place()))
                    .with_help(help)
            })
            .collect()
    }

    /// Reports the first key that nobody asked for. Call it after the last read.
    pub fn finish(self) -> Result<(), Diagnostic> {
        self.unknown_keys().into_iter().next().map_or(Ok(()), Err)
    }

    /// Like [`Node::finish`], but hands every unknown key to `problems`.
    pub fn finish_into(self, problems: &mut Problems) {
        for one in self.unknown_keys() {
            problems.push(one);
        }
    }
}

fn read_quantity(value: &Value, dim: Dim) -> Result<Quantity, (String, String)> {
    let read = match value {
        Value::String(text) => quantity::parse(text.value(), dim),
        Value::Integer(number) => quantity::bare(*number.value() as f64, dim),
        Value::Float(number) => quantity::bare(*number.value(), dim),
        other => {
            let message = format!("{} is needed, this is {}", dim.noun(), other.type_name());
            return Err((
                message,
                format!("write {} in quotes, with its unit", dim.noun()),
            ));
        }
    };
    read.map_err(|wrong| (wrong.message, wrong.help))
}

fn kind_of(item: &Item) -> &'static str {
    match item {
        Item::None => "nothing",
        Item::Value(value) => value.type_name(),
        Item::Table(_) => "a table",
        Item::ArrayOfTables(_) => "an array of tables",
    }
}
