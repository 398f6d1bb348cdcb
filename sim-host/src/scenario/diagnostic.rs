//! What is wrong with a file, said so that it can be mended: where, what, and what would be right.

use std::fmt;
use std::ops::Range;

use serde::Serialize;

/// At most this many diagnostics are kept for one file; more would bury the first.
pub const MOST_DIAGNOSTICS: usize = 20;

/// A text to be read, with the name that diagnostics print.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// File name as the user wrote it, or the name of a shipped text.
    pub name: String,
    /// The whole text.
    pub text: String,
}

impl Source {
    /// A source from a name and its text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into() }
    }

    /// Line and column, both from 1, of a byte offset. Columns count characters, not bytes.
    pub fn position(&self, offset: usize) -> (usize, usize) {
        let mut end = offset.min(self.text.len());
        while !self.text.is_char_boundary(end) {
            end -= 1;
        }
        let before = &self.text[..end];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = before.matches('\n').count() + 1;
        (line, before[line_start..].chars().count() + 1)
    }

    /// A diagnostic at the start of `span`.
    pub fn diagnose(&self, span: Range<usize>, message: impl Into<String>) -> Diagnostic {
        let (line, column) = self.position(span.start);
        Diagnostic { file: self.name.clone(), line, column, message: message.into(), help: None }
    }
}

/// One thing wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// Name of the file.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// The accepted range, the nearest valid key, what to do.
    pub help: Option<String>,
}

impl Diagnostic {
    /// The same with a help line.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}", self.file, self.line, self.column, self.message)?;
        match &self.help {
            Some(help) => write!(f, "\n  help: {help}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Diagnostic {}

/// Collects what is wrong over a whole file, so that one run of `check` shows all of it.
#[derive(Debug, Default)]
pub struct Problems {
    list: Vec<Diagnostic>,
}

impl Problems {
    /// An empty collection.
    pub fn new() -> Self {
        Self::default()
    }

    /// Keeps a diagnostic, unless one stands at the same place already (the first is the better one) or the list is full.
    pub fn push(&mut self, one: Diagnostic) {
        let same_place = |d: &Diagnostic| d.line == one.line && d.column == one.column && d.file == one.file;
        if self.list.len() < MOST_DIAGNOSTICS && !self.list.iter().any(same_place) {
            self.list.push(one);
        }
    }

    /// The value of `result`, or `None` after keeping its diagnostic.
    pub fn take<T>(&mut self, result: Result<T, Diagnostic>) -> Option<T> {
        result.map_err(|one| self.push(one)).ok()
    }

    /// Whether nothing is wrong so far.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The diagnostics in the order of the file.
    pub fn into_list(mut self) -> Vec<Diagnostic> {
        self.list.sort_by_key(|d| (d.line, d.column));
        self.list
    }
}

/// The candidate nearest to `wanted`, if any is near enough to be a slip of the pen.
pub fn nearest<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted_lower = wanted.to_lowercase();
    candidates
        .into_iter()
        .map(|one| {
            let lower = one.to_lowercase();
            let edits = strsim::osa_distance(&wanted_lower, &lower);
            let likeness = strsim::jaro_winkler(&wanted_lower, &lower);
            (edits, likeness, one)
        })
        .filter(|&(edits, likeness, one)| edits <= 1 + one.len() / 4 || likeness > 0.82)
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
        .map(|(_, _, one)| one)
}
