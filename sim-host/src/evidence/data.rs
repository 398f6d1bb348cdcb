//! What evidence consists of, as it stands in `sim-host/data`: the tables, and reading them.

use serde::{Deserialize, Deserializer, Serialize};

use super::id::Id;

/// How a figure or a rule is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Known {
    /// Read in the source itself, or in a public copy of it.
    Seen,
    /// Read in a text about the source.
    Told,
    /// Worked out from what is stated beside it.
    Computed,
    /// Our own choice or our own problem.
    Own,
    /// From memory; to be confirmed before it is relied on.
    Memory,
}

impl Known {
    /// For tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Told => "told",
            Self::Computed => "computed",
            Self::Own => "own",
            Self::Memory => "memory",
        }
    }
}

/// A figure that a hazard hangs on.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// The hazard's id and a letter.
    pub id: String,
    /// Of what.
    pub what: String,
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// How it is known.
    pub mark: Known,
    /// What it was worked out from, or why.
    pub how: String,
    /// Id of the source where it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// A hazard of the analysis.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// `H01`.
    pub id: Id,
    /// What happens.
    pub title: String,
    /// What is true of the plant when the limit is passed.
    pub limit: String,
    /// What is true of it when the harm is there.
    pub accident: String,
    /// Acts that lead to it.
    #[serde(rename = "unsafe")]
    pub acts: Vec<String>,
    /// Tags of the instruments that can show it.
    pub sensing: Vec<String>,
    /// What answers it beside the rows of the table.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub beyond_rows: String,
    /// Faults that can take its answer away.
    #[serde(deserialize_with = "ranges")]
    pub defeated_by: Vec<Id>,
    /// Worked examples whose figures it uses.
    pub worked: Vec<Id>,
    /// Process safety times, and what they hang on.
    pub figure: Vec<Figure>,
}

/// A law of controller or simulator.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Law {
    /// `LC1`, `LS1`.
    pub id: Id,
    /// In one line.
    pub title: String,
    /// In full.
    pub text: String,
}

/// A worked example.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Example {
    /// `W24`.
    pub id: Id,
    /// What it is about.
    pub what: String,
    /// What is given.
    pub given: String,
    /// By which rule.
    pub rule: String,
    /// What comes of it.
    pub figure: String,
    /// In which unit.
    pub unit: String,
    /// How far off a test may be.
    pub tolerance: String,
    /// Id of the source of its numbers.
    pub source: String,
    /// Where in it.
    pub part: String,
    /// How they are known.
    pub known: Known,
}

/// Where figures come from.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// For the tables.
    pub id: String,
    /// What it is.
    pub what: String,
    /// Law, standard, manual, article, ...
    pub kind: String,
    /// How its content is known.
    pub known: Known,
    /// Words by which the sources of the program cite it; empty where only tables do.
    pub cited_as: String,
}

/// A fault of the catalogue; of its columns those that evidence needs.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Fault {
    /// `F023`.
    pub id: Id,
    /// Sensor, actuator, operator, environment, ...
    pub kind: String,
    /// What breaks.
    pub component: String,
    /// Its tag.
    pub tag: String,
    /// How.
    pub failure_mode: String,
    /// What it leads to.
    #[serde(deserialize_with = "list")]
    pub hazards: Vec<Id>,
    /// How it is found.
    pub detection: String,
    /// What has to be done.
    pub expected_safe_reaction: String,
    /// Within so many seconds; `pre` before the act, `pt` by a proof test.
    pub budget_s: String,
    /// It shows only together with a second one.
    #[serde(deserialize_with = "yes")]
    pub latent: bool,
}

impl Fault {
    /// The time for the reaction, in words.
    pub fn budget(&self) -> String {
        match self.budget_s.as_str() {
            "pre" => "before the act".to_owned(),
            "pt" => "proof test".to_owned(),
            seconds => format!("{seconds} s"),
        }
    }
}

/// What shows an id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    /// A test of the core.
    Core,
    /// A test beside the code of the simulator.
    Library,
    /// A test of simulator, command or whole jobs.
    Suite,
    /// A shipped scenario.
    Scenario,
}

/// One thing that shows an id.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Shown {
    /// The id.
    pub id: Id,
    /// What shows it.
    pub by: By,
    /// Path of the test, or name of the scenario.
    pub name: String,
}

impl Shown {
    /// The command that shows it again.
    pub fn command(&self) -> String {
        match self.by {
            By::Core => format!("cargo test -p valvewright-core --test controller -- --exact {}", self.name),
            By::Library => format!("cargo test -p valvewright-sim --lib -- --exact {}", self.name),
            By::Suite => format!("cargo test -p valvewright-tests --test suite -- --exact {}", self.name),
            By::Scenario => format!("valvewright run {}", self.name),
        }
    }
}

/// What an id lacks that nothing shows yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// The row is not in the table yet.
    Row,
    /// No test or scenario shows it.
    Showing,
    /// The expected reaction to the fault, or its budget, is not met: its scenario fails. Tests may show parts of it, such as that it is found.
    Reaction,
}

/// An id that nothing shows yet, and why.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Open {
    /// The id.
    pub id: Id,
    /// What is missing.
    pub missing: Missing,
    /// Why.
    pub why: String,
}

/// Ids of a list between commas.
fn list<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Id>, D::Error> {
    let text = String::deserialize(from)?;
    Id::parse_list(&text).map_err(serde::de::Error::custom)
}

/// Ids of a list of texts, ranges among them.
fn ranges<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Id>, D::Error> {
    let texts = Vec::<String>::deserialize(from)?;
    let lists: Result<Vec<Vec<Id>>, String> = texts.iter().map(|text| Id::parse_range(text)).collect();
    let mut ids = lists.map_err(serde::de::Error::custom)?.concat();
    ids.sort();
    Ok(ids)
}

fn yes<'de, D: Deserializer<'de>>(from: D) -> Result<bool, D::Error> {
    match String::deserialize(from)?.as_str() {
        "y" => Ok(true),
        "n" => Ok(false),
        other => Err(serde::de::Error::custom(format!("`{other}` is neither y nor n"))),
    }
}

/// The rows of a table of values between commas.
///
/// # Errors
/// The line that can't be read.
pub fn rows<T: for<'de> Deserialize<'de>>(name: &str, text: &str) -> Result<Vec<T>, String> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.deserialize().collect::<Result<_, _>>().map_err(|wrong| format!("{name}: {wrong}"))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Hazards {
    hazard: Vec<Hazard>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Laws {
    law: Vec<Law>,
}

/// The hazards of a file.
///
/// # Errors
/// What can't be read, with its line.
pub fn hazards(text: &str) -> Result<Vec<Hazard>, String> {
    toml_edit::de::from_str::<Hazards>(text).map(|all| all.hazard).map_err(|wrong| format!("hazards.toml: {wrong}"))
}

/// The laws of a file.
///
/// # Errors
/// What can't be read, with its line.
pub fn laws(text: &str) -> Result<Vec<Law>, String> {
    toml_edit::de::from_str::<Laws>(text).map(|all| all.law).map_err(|wrong| format!("laws.toml: {wrong}"))
}
