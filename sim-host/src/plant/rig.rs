//! Rigs: a bare network under a schedule, without any controller. A rig is one TOML file; `run_rig` gives its series.
//!
//! A `[[step]]` sets openings, then waits `for` a time or `until` a condition. A step that holds steps of its own repeats them
//! until its condition holds at the end of a round. `[[sweep]]` runs the schedule for every combination of starting values.

use super::parse;
use super::spec::{Amount, NetworkSpec};
use crate::scenario::diagnostic::{Diagnostic, Problems, Source};
use crate::scenario::quantity::{self, Dim};
use crate::scenario::reader::{self, Node};

pub use super::rig_run::{Column, RigSeries, Row, run_rig};
pub use super::shipped::{shipped, shipped_text};

/// Longest time a step may take, s.
const LONGEST: f64 = 1e7;

/// A rig, ready to run.
#[derive(Debug, Clone)]
pub struct RigSpec {
    /// What it shows, one line.
    pub title: String,
    /// The network.
    pub network: NetworkSpec,
    /// The schedule.
    pub steps: Vec<Step>,
    /// Starting values to go through.
    pub sweep: Vec<SweepAxis>,
    /// Row interval where a step gives none, s.
    pub output: f64,
    /// Integration tolerance.
    pub tolerance: f64,
}

/// One step of the schedule.
#[derive(Debug, Clone)]
pub struct Step {
    /// Name, the `phase` of its rows.
    pub name: String,
    /// Openings commanded at its start.
    pub set: Vec<(String, f64)>,
    /// Ends when this holds.
    pub until: Option<Condition>,
    /// Ends after this time at the latest, s.
    pub longest: f64,
    /// Row interval, s.
    pub output: f64,
    /// Steps to repeat.
    pub round: Vec<Step>,
}

/// A condition on one signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// Signal name.
    pub signal: String,
    /// How it is compared.
    pub test: Test,
    /// With what, SI.
    pub value: f64,
}

/// How a condition compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Test {
    /// Falls below.
    Below,
    /// Rises above.
    Above,
    /// Has risen since the step began by.
    RisesBy,
    /// Has fallen since the step began by.
    FallsBy,
}

/// Starting values of one quantity.
#[derive(Debug, Clone)]
pub struct SweepAxis {
    /// Volume it belongs to.
    pub volume: String,
    /// Which quantity.
    pub what: Swept,
    /// Values, SI.
    pub values: Vec<f64>,
}

/// What a sweep can vary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Swept {
    /// Starting temperature, K.
    Temperature,
    /// Refrigerant mass, kg.
    Refrigerant,
    /// Air mass, kg.
    Air,
}

impl Swept {
    const ALL: &[(&str, Self, Dim)] = &[
        ("temperature", Self::Temperature, Dim::Temperature),
        ("refrigerant", Self::Refrigerant, Dim::Mass),
        ("air", Self::Air, Dim::Mass),
    ];

    /// The key it is written with.
    pub fn key(self) -> &'static str {
        Self::ALL.iter().find(|one| one.1 == self).map_or("", |one| one.0)
    }

    /// Puts a value into a network.
    pub fn apply(self, network: &mut NetworkSpec, volume: &str, value: f64) {
        if let Some(volume) = network.volume_mut(volume) {
            match self {
                Self::Temperature => volume.fill.temperature = value,
                Self::Refrigerant => volume.fill.refrigerant = Amount::Mass(value),
                Self::Air => volume.fill.air = Amount::Mass(value),
            }
        }
    }
}

/// Reads a rig file.
pub fn parse_rig(source: &Source) -> Result<RigSpec, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut root = document.root();
    let mut problems = Problems::new();
    let title = problems.take(root.string("title")).unwrap_or_default();
    let output = problems.take(root.quantity_or("output", Dim::Time, 1e-3..=1e6, 1.0)).unwrap_or(1.0);
    let tolerance = problems.take(root.quantity_or("tolerance", Dim::Number, 1e-8..=1e-2, 1e-5)).unwrap_or(1e-5);
    let network = parse::network_part(&mut root, &mut problems);
    let mut steps = Vec::new();
    let mut sweep = Vec::new();
    if let Some(network) = &network {
        for mut node in problems.take(root.nodes("step")).unwrap_or_default() {
            steps.extend(problems.take(step(&mut node, network, output, 0)));
            node.finish_into(&mut problems);
        }
        for mut node in problems.take(root.nodes("sweep")).unwrap_or_default() {
            sweep.extend(problems.take(axis(&mut node, network)));
            node.finish_into(&mut problems);
        }
    }
    root.finish_into(&mut problems);
    match network {
        Some(network) if problems.is_empty() => Ok(RigSpec { title, network, steps, sweep, output, tolerance }),
        _ => Err(problems.into_list()),
    }
}

fn step(node: &mut Node, network: &NetworkSpec, output: f64, depth: usize) -> Result<Step, Diagnostic> {
    let name = node.string("name")?;
    let output = node.quantity_or("output", Dim::Time, 1e-3..=1e6, output)?;
    let mut set = Vec::new();
    if let Some(mut table) = node.opt_node("set")? {
        for key in table.keys() {
            if !network.elements.iter().any(|element| element.name == key) {
                let known: Vec<&str> = network.elements.iter().map(|element| element.name.as_str()).collect();
                return Err(table
                    .error_at(key, format!("there is no element `{key}`"))
                    .with_help(format!("elements: {}", known.join(", "))));
            }
            set.push((key.to_owned(), table.quantity(key, Dim::Fraction, 0.0..=1.0)?));
        }
    }
    let until = match node.opt_string("until")? {
        Some(text) => {
            Some(condition(&text, network).map_err(|(message, help)| node.error_at("until", message).with_help(help))?)
        }
        None => None,
    };
    let longest = node.opt_quantity("for", Dim::Time, 0.0..=LONGEST)?;
    let mut round = Vec::new();
    if depth < 4 {
        for mut inner in node.nodes("step")? {
            round.push(step(&mut inner, network, output, depth + 1)?);
            inner.finish()?;
        }
    }
    if !round.is_empty() && round.iter().all(|inner| inner.longest <= 0.0) {
        return Err(node
            .error_at("step", "a repeated round takes no time")
            .with_help("give one of its steps a `for` above 0 s"));
    }
    let longest = match (longest, &until) {
        (Some(longest), _) => longest,
        (None, Some(_)) => 86_400.0,
        (None, None) => {
            return Err(node
                .error_here(format!("step `{name}` never ends"))
                .with_help("give `for` (a time) or `until` (a condition), or both"));
        }
    };
    Ok(Step { name, set, until, longest, output, round })
}

/// `<signal> < <quantity>`, `<signal> > <quantity>`, `<signal> rises by <quantity>`, `<signal> falls by <quantity>`.
fn condition(text: &str, network: &NetworkSpec) -> Result<Condition, (String, String)> {
    let shapes = "write `loop.p < 40 kPa`, `loop.m > 480 g`, `loop.m rises by 500 g` or `vessel.m falls by 500 g`";
    let parts = [("<", Test::Below), (">", Test::Above), ("rises by", Test::RisesBy), ("falls by", Test::FallsBy)];
    let found = parts.iter().find_map(|(sign, test)| text.split_once(sign).map(|(left, right)| (left, *test, right)));
    let Some((signal, test, value)) = found else {
        return Err((format!("`{text}` is no condition"), shapes.to_owned()));
    };
    let signal = signal.trim().to_owned();
    let (owner, field) = signal.rsplit_once('.').ok_or((format!("`{signal}` is no signal"), shapes.to_owned()))?;
    let known = network.volumes.iter().map(|v| v.name.as_str()).chain(network.elements.iter().map(|e| e.name.as_str()));
    if !known.clone().any(|name| name == owner) {
        let list: Vec<&str> = known.collect();
        return Err((format!("`{owner}` is no volume or element"), format!("known: {}", list.join(", "))));
    }
    let difference = matches!(test, Test::RisesBy | Test::FallsBy);
    let dim = match super::signal::unit(field) {
        Some("Pa") if difference => Dim::PressureDifference,
        Some("K") if difference => Dim::TemperatureDifference,
        Some("Pa") => Dim::Pressure,
        Some("K") => Dim::Temperature,
        Some("kg") => Dim::Mass,
        Some("kg/s") => Dim::MassFlow,
        Some("W") => Dim::Power,
        Some("A") => Dim::Current,
        Some("m3") => Dim::Volume,
        Some(_) => Dim::Fraction,
        None => {
            return Err((
                format!("`{field}` is no signal of `{owner}`"),
                format!("signals: {}", super::signal::all_fields()),
            ));
        }
    };
    let value = quantity::parse(value.trim(), dim).map_err(|wrong| (wrong.message, wrong.help))?;
    Ok(Condition { signal, test, value: value.si })
}

fn axis(node: &mut Node, network: &NetworkSpec) -> Result<SweepAxis, Diagnostic> {
    let names: Vec<&str> = network.volumes.iter().map(|volume| volume.name.as_str()).collect();
    let volume = node.one_of("volume", &names)?.to_owned();
    for (key, what, dim) in Swept::ALL {
        if node.has(key) {
            let range = if *dim == Dim::Mass { 0.0..=200.0 } else { 203.15..=363.15 };
            let values = node.list_of_quantities(key, *dim, range)?;
            if values.is_empty() || values.len() > 1000 {
                return Err(node
                    .error_at(key, "a sweep needs 1 to 1000 values")
                    .with_help("write a list, such as [\"10 degC\", \"25 degC\"]"));
            }
            return Ok(SweepAxis { volume, what: *what, values });
        }
    }
    Err(node
        .error_here("a sweep names nothing to vary")
        .with_help("give one list: `temperature`, `refrigerant` or `air`"))
}
