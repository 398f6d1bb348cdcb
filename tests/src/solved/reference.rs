//! Files of outside solutions: `#` lines of a head, then comma-separated columns, one of which may name the step a row belongs to.

use std::ops::Range;
use std::path::{Path, PathBuf};

use serde_json::Value;

/// An outside solution.
#[derive(Debug, Clone)]
pub struct Reference {
    /// Lines of the head without their `#`.
    pub head: Vec<String>,
    /// Columns, without that of the steps.
    pub columns: Vec<String>,
    /// Rows: name of the step (empty where there are none) and values; what is no number is NaN.
    pub rows: Vec<(String, Vec<f64>)>,
    /// Words of the cells that are no numbers, by row and column: names of fluids and the like.
    words: Vec<(usize, usize, String)>,
}

impl Reference {
    /// Reads a file.
    pub fn read(path: &Path) -> Result<Self, String> {
        let text = std::fs::read_to_string(path).map_err(|wrong| format!("{}: {wrong}", path.display()))?;
        let (head, table): (Vec<&str>, Vec<&str>) = text.lines().partition(|line| line.starts_with('#'));
        let head = head.iter().map(|line| line.trim_start_matches('#').trim().to_owned()).collect();
        let mut lines = table.into_iter().filter(|line| !line.is_empty());
        let names: Vec<&str> = lines.next().ok_or_else(|| format!("{}: empty", path.display()))?.split(',').collect();
        let phase = names.iter().position(|name| *name == "phase");
        let mut made = Self { head, columns: Vec::new(), rows: Vec::new(), words: Vec::new() };
        for (row, line) in lines.enumerate() {
            let cells: Vec<&str> = line.split(',').collect();
            if cells.len() != names.len() {
                return Err(format!(
                    "{}: row {} has {} cells, not {}",
                    path.display(),
                    row + 1,
                    cells.len(),
                    names.len()
                ));
            }
            let step = phase.map_or("", |at| cells[at]).to_owned();
            let mut values = Vec::with_capacity(cells.len());
            for (_, cell) in cells.iter().enumerate().filter(|(at, _)| Some(*at) != phase) {
                let value = cell.parse().unwrap_or_else(|_| {
                    made.words.push((row, values.len(), (*cell).to_owned()));
                    f64::NAN
                });
                values.push(value);
            }
            made.rows.push((step, values));
        }
        made.columns = names.iter().filter(|name| **name != "phase").map(|name| (*name).to_owned()).collect();
        Ok(made)
    }

    /// Position of a column.
    pub fn column(&self, name: &str) -> Result<usize, String> {
        self.columns.iter().position(|known| known == name).ok_or_else(|| format!("the reference has no column {name}"))
    }

    /// Word in a cell that is no number.
    pub fn word(&self, row: usize, column: usize) -> &str {
        self.words.iter().find(|word| (word.0, word.1) == (row, column)).map_or("", |word| word.2.as_str())
    }

    /// What a line `# <key>: ...` of the head says.
    pub fn said(&self, key: &str) -> Option<&str> {
        self.head.iter().find_map(|line| line.strip_prefix(key)?.strip_prefix(':')).map(str::trim)
    }

    /// A number among the parameters of the head.
    pub fn parameter(&self, name: &str) -> Option<f64> {
        serde_json::from_str::<Value>(self.said("params")?).ok()?.get(name)?.as_f64()
    }

    /// Steps in order: name and rows.
    pub fn steps(&self) -> Vec<(String, Range<usize>)> {
        spans(self.rows.iter().map(|row| row.0.as_str()))
    }
}

/// Runs of equal names: name and positions.
pub fn spans<'a>(names: impl Iterator<Item = &'a str>) -> Vec<(String, Range<usize>)> {
    let mut all: Vec<(String, Range<usize>)> = Vec::new();
    for (at, name) in names.enumerate() {
        match all.last_mut() {
            Some(last) if last.0 == name => last.1.end = at + 1,
            _ => all.push((name.to_owned(), at..at + 1)),
        }
    }
    all
}

/// The folder of the outside solutions.
pub fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data")
}
