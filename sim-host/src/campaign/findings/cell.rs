//! Tables of a report, whatever form they are given.

use serde::Serialize;

/// What a cell stands out by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tone {
    /// A text.
    #[default]
    Plain,
    /// A figure, set to the right.
    Figure,
    /// A command.
    Command,
    /// At the alert level.
    Alert,
    /// At the accident level.
    Accident,
}

/// A cell.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Cell {
    /// What stands in it.
    pub text: String,
    /// What it stands out by.
    pub tone: Tone,
}

/// A table with what it says.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Section {
    /// Its place on the page.
    pub id: &'static str,
    /// Its title.
    pub title: String,
    /// What the figures mean.
    pub notes: Vec<String>,
    /// Heads of the columns; empty where there is nothing to show.
    pub head: Vec<&'static str>,
    /// Its rows.
    pub rows: Vec<Vec<Cell>>,
}
