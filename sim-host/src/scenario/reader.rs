//! Reads TOML tables key by key, so that every value comes with its place in the file and no unknown key goes unseen.

use std::cell::RefCell;
use std::ops::{Range, RangeInclusive};

use toml_edit::{Item, TableLike, Value};

use super::diagnostic::{Diagnostic, Problems, Source, nearest};
use super::quantity::Dim;

/// A parsed file.
#[derive(Debug)]
pub struct Document {
    source: Source,
    toml: toml_edit::Document<String>,
    record: Option<Record>,
}

/// What the tables of a file were asked for, table by table: the paths and the keys.
type Record = RefCell<Vec<(String, Vec<Asked>)>>;

/// A key that was asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The key.
    pub key: String,
    /// What it may hold; the first is the usual one.
    pub kinds: Vec<Kind>,
    /// It must be there.
    pub required: bool,
}

/// What a key may hold.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// A quantity in a range, SI.
    Quantity(Dim, RangeInclusive<f64>),
    /// A list of quantities.
    Quantities(Dim),
    /// Any text.
    Text,
    /// Text of this form, as a regular expression.
    Like(&'static str),
    /// A list of texts.
    Texts,
    /// A list of texts of this form.
    TextsLike(&'static str),
    /// A list of these words.
    Words(Vec<String>),
    /// One of these words.
    Word(Vec<String>),
    /// `true` or `false`.
    Flag,
    /// A whole number in a range.
    Whole(RangeInclusive<i64>),
    /// A table.
    Table,
    /// An array of tables.
    Tables,
}

/// Parses a source as TOML. A broken file is one diagnostic at the place where reading stopped.
pub fn parse(source: &Source) -> Result<Document, Diagnostic> {
    match toml_edit::Document::parse(source.text.clone()) {
        Ok(toml) => Ok(Document { source: source.clone(), toml, record: None }),
        Err(broken) => {
            let span = broken.span().unwrap_or(0..0);
            if broken.message().contains("duplicate key") {
                let key = source.text.get(span.clone()).unwrap_or("a key");
                return Err(source
                    .diagnose(span.clone(), format!("`{key}` is given twice"))
                    .with_help("keep one of them"));
            }
            let reason = broken.message().trim().replace('\n', "; ");
            Err(source
                .diagnose(span, format!("broken TOML: {reason}"))
                .with_help("TOML wants `key = value` lines, text in \"quotes\", and [table] heads"))
        }
    }
}

impl Document {
    /// The same, keeping a record of what is asked of it, to derive a schema from.
    #[must_use]
    pub fn recording(self) -> Self {
        Self { record: Some(Record::default()), ..self }
    }

    /// What was asked of each table that was read to its end.
    pub fn recorded(self) -> Vec<(String, Vec<Asked>)> {
        self.record.map(RefCell::into_inner).unwrap_or_default()
    }

    /// The table of the whole file.
    pub fn root(&self) -> Node<'_> {
        Node {
            source: &self.source,
            table: self.toml.as_table(),
            path: String::new(),
            span: 0..0,
            asked: Vec::new(),
            misplaced: Vec::new(),
            record: self.record.as_ref(),
        }
    }
}

/// One table of a file. Keys that were read are remembered; [`Node::finish`] reports the others.
pub struct Node<'a> {
    pub(super) source: &'a Source,
    table: &'a dyn TableLike,
    path: String,
    pub(super) span: Range<usize>,
    asked: Vec<Asked>,
    /// Keys that are out of place here; a diagnostic speaks of each.
    misplaced: Vec<String>,
    record: Option<&'a Record>,
}

impl<'a> Node<'a> {
    /// Dotted path of this table, empty for the root.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Name of the file.
    pub fn file(&self) -> &str {
        &self.source.name
    }

    /// Whether the key is there. Does not count as reading it.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// The keys of this table in the order of the file.
    pub fn keys(&self) -> Vec<&'a str> {
        self.table.iter().map(|(key, _)| key).collect()
    }

    pub(super) fn find(&mut self, key: &str, kind: Kind) -> Option<&'a Item> {
        match self.asked.iter_mut().find(|one| one.key == key) {
            Some(again) => again.kinds.push(kind),
            None => self.asked.push(Asked { key: key.to_owned(), kinds: vec![kind], required: false }),
        }
        self.table.get(key)
    }

    /// Notes that a key must be there, and says so where it is not.
    pub(super) fn require<T>(&mut self, key: &str, found: Option<T>, wanted: &str) -> Result<T, Diagnostic> {
        for one in self.asked.iter_mut().filter(|one| one.key == key) {
            one.required = true;
        }
        found.ok_or_else(|| self.missing(key, wanted))
    }

    fn was_asked(&self, key: &str) -> bool {
        self.asked.iter().any(|one| one.key == key) || self.misplaced.iter().any(|one| one == key)
    }

    /// A diagnostic for a key that exists but means nothing here, where it is given; [`Node::finish`] is then silent on it.
    pub fn misplaced(&mut self, key: &str, why: impl Into<String>) -> Option<Diagnostic> {
        self.table.contains_key(key).then(|| {
            self.misplaced.push(key.to_owned());
            let span = self.key_span(key).unwrap_or_else(|| self.span.clone());
            self.source.diagnose(span, format!("`{key}` is out of place {}", self.place())).with_help(why)
        })
    }

    /// A key of this table with the path of the table.
    pub fn full_name(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn place(&self) -> String {
        if self.path.is_empty() { "at the top of the file".to_owned() } else { format!("in [{}]", self.path) }
    }

    /// Where the value of `key` stands in the file.
    pub(super) fn value_span(&self, key: &str) -> Option<Range<usize>> {
        self.table.get(key).and_then(Item::span)
    }

    /// A diagnostic at the value of `key`, or at this table if the key is absent.
    pub fn error_at(&self, key: &str, message: impl Into<String>) -> Diagnostic {
        let span = self.table.get(key).and_then(Item::span).or_else(|| self.key_span(key));
        self.source.diagnose(span.unwrap_or_else(|| self.span.clone()), message)
    }

    /// A diagnostic at the head of this table.
    pub fn error_here(&self, message: impl Into<String>) -> Diagnostic {
        self.source.diagnose(self.span.clone(), message)
    }

    fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.table.get_key_value(key).and_then(|(key, _)| key.span())
    }

    /// A key that must be there is not. A slip of the pen among the unread keys is named in its place.
    pub fn missing(&self, key: &str, wanted: &str) -> Diagnostic {
        let unread = self.table.iter().map(|(one, _)| one).filter(|one| !self.was_asked(one));
        let slip = nearest(key, unread.filter(|one| strsim::osa_distance(one, key) <= 2 && key.len() > 3));
        if let Some(slip) = slip {
            let span = self.key_span(slip).unwrap_or_else(|| self.span.clone());
            return self
                .source
                .diagnose(span, format!("unknown key `{slip}` {}; `{key}` is missing", self.place()))
                .with_help(format!("nearest valid key: `{key}` ({wanted})"));
        }
        self.error_here(format!("`{key}` is missing {}", self.place())).with_help(format!("add `{key}`: {wanted}"))
    }

    fn child(&self, key: &str, item: &'a Item) -> Option<Node<'a>> {
        let table = item.as_table_like()?;
        let span = item.span().or_else(|| self.key_span(key)).unwrap_or_else(|| self.span.clone());
        Some(Node {
            source: self.source,
            table,
            path: self.full_name(key),
            span,
            asked: Vec::new(),
            misplaced: Vec::new(),
            record: self.record,
        })
    }

    /// Whether the key holds a table.
    pub fn holds_table(&self, key: &str) -> bool {
        self.table.get(key).is_some_and(|item| item.as_table_like().is_some())
    }

    /// Whether the key holds a list, of tables or of anything.
    pub fn holds_list(&self, key: &str) -> bool {
        self.table.get(key).is_some_and(|item| item.is_array_of_tables() || item.is_array())
    }

    /// A table that may be left out.
    pub fn opt_node(&mut self, key: &str) -> Result<Option<Node<'a>>, Diagnostic> {
        let Some(item) = self.find(key, Kind::Table) else {
            return Ok(None);
        };
        match self.child(key, item) {
            Some(node) => Ok(Some(node)),
            None => Err(self.wrong_kind(key, item, &format!("a table [{}]", self.full_name(key)))),
        }
    }

    /// A table that must be there.
    pub fn node(&mut self, key: &str) -> Result<Node<'a>, Diagnostic> {
        let wanted = format!("a table [{}]", self.full_name(key));
        let found = self.opt_node(key)?;
        self.require(key, found, &wanted)
    }

    /// An array of tables (`[[key]]`, or a list of `{ .. }`); absent means empty.
    pub fn nodes(&mut self, key: &str) -> Result<Vec<Node<'a>>, Diagnostic> {
        let Some(item) = self.find(key, Kind::Tables) else {
            return Ok(Vec::new());
        };
        let numbered = |at: usize, table: &'a dyn TableLike, span: Option<Range<usize>>| Node {
            source: self.source,
            table,
            path: format!("{}[{}]", self.full_name(key), at + 1),
            span: span.unwrap_or_else(|| self.span.clone()),
            asked: Vec::new(),
            misplaced: Vec::new(),
            record: self.record,
        };
        if let Some(tables) = item.as_array_of_tables() {
            return Ok(tables.iter().enumerate().map(|(at, t)| numbered(at, t, t.span())).collect());
        }
        let wanted = format!("tables [[{}]]", self.full_name(key));
        let Some(array) = item.as_array() else {
            return Err(self.wrong_kind(key, item, &wanted));
        };
        let inline = |(at, value): (usize, &'a Value)| {
            value.as_inline_table().map(|t| numbered(at, t as &dyn TableLike, value.span()))
        };
        let all: Option<Vec<_>> = array.iter().enumerate().map(inline).collect();
        all.ok_or_else(|| self.wrong_kind(key, item, &wanted))
    }

    /// Every entry of this table as a named table, in the order of the file: for `[volumes.loop]`, `[volumes.vessel]` and the like.
    pub fn named_nodes(&mut self) -> Result<Vec<(&'a str, Node<'a>)>, Diagnostic> {
        self.keys()
            .into_iter()
            .map(|key| match self.find(key, Kind::Table).and_then(|item| self.child(key, item)) {
                Some(node) => Ok((key, node)),
                None => Err(self
                    .error_at(key, format!("`{key}` {} is no table", self.place()))
                    .with_help(format!("every entry here is a table: [{}]", self.full_name(key)))),
            })
            .collect()
    }

    /// Every key that nobody asked for, each with the nearest valid key.
    pub fn unknown_keys(&self) -> Vec<Diagnostic> {
        let unread = self.table.iter().filter(|(key, _)| !self.was_asked(key));
        unread
            .map(|(key, _)| {
                let span = self.key_span(key).unwrap_or_else(|| self.span.clone());
                let valid = self.asked.iter().map(|one| one.key.as_str()).collect::<Vec<_>>().join(", ");
                let help = match nearest(key, self.asked.iter().map(|one| one.key.as_str())) {
                    Some(near) => format!("nearest valid key: `{near}`; valid keys: {valid}"),
                    None => format!("valid keys: {valid}"),
                };
                self.source.diagnose(span, format!("unknown key `{key}` {}", self.place())).with_help(help)
            })
            .collect()
    }

    /// Reports the first key that nobody asked for. Call it after the last read.
    pub fn finish(self) -> Result<(), Diagnostic> {
        let first = self.unknown_keys().into_iter().next();
        self.keep_record();
        first.map_or(Ok(()), Err)
    }

    fn keep_record(self) {
        if let Some(record) = self.record {
            record.borrow_mut().push((self.path, self.asked));
        }
    }

    /// Like [`Node::finish`], but hands every unknown key to `problems`.
    pub fn finish_into(self, problems: &mut Problems) {
        for one in self.unknown_keys() {
            problems.push(one);
        }
        self.keep_record();
    }
}

pub(super) fn kind_of(item: &Item) -> &'static str {
    match item {
        Item::None => "nothing",
        Item::Value(value) => value.type_name(),
        Item::Table(_) => "a table",
        Item::ArrayOfTables(_) => "an array of tables",
    }
}
