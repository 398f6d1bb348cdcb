//! The properties of a scenario's job: each a name and a formula, whose mistakes are told where they stand in the file.

use std::ops::Range;

use super::diagnostic::{Diagnostic, Problems};
use super::model::Station;
use super::reader::Node;
use crate::logic::names::Names;
use crate::logic::window::Steps;
use crate::logic::{Property, Wrong, formula::Formula, parse};
use crate::station;

/// Most properties of one job.
const MOST: usize = 100;

/// The properties of a job, whose faults are called so; `None` where something is wrong with one of them.
pub(super) fn properties(
    node: &mut Node,
    station: Option<&Station>,
    faults: Vec<String>,
    p: &mut Problems,
) -> Option<Vec<Property>> {
    let nodes = p.take(node.nodes("property"))?;
    if nodes.is_empty() {
        return Some(Vec::new());
    }
    if let Some(over) = nodes.get(MOST) {
        let wrong = over.error_here(format!("{}: {} properties", over.path(), nodes.len()));
        p.push(wrong.with_help(format!("accepted: up to {MOST} of one job")));
        return None;
    }
    let network = station.and_then(|one| station::load(one.network.as_deref()).ok());
    let names = Names::new(network.as_ref().map(|file| &file.network), faults);
    let period = station.map(|station| station.scan);
    let mut list: Vec<Property> = Vec::new();
    let mut whole = true;
    for node in nodes {
        match property(node, &names, period, &list, p) {
            Some(one) => list.push(one),
            None => whole = false,
        }
    }
    whole.then_some(list)
}

fn property(
    mut node: Node,
    names: &Names,
    period: Option<f64>,
    before: &[Property],
    p: &mut Problems,
) -> Option<Property> {
    let name = p.take(name(&mut node, before));
    let why = p.take(node.opt_string("why"));
    let text = p.take(node.string("formula"));
    let parsed = text.as_ref().and_then(|text| {
        let read = parse::parse(text, names).map_err(|wrong| at_place(&node, text, &wrong));
        p.take(read.and_then(|parsed| match period.and_then(|period| between(&parsed.formula, period)) {
            Some((from, to)) => {
                let what = format!("{}: no scan lies from {from} s to {to} s", node.full_name("formula"));
                let scan = period.unwrap_or_default() * 1e3;
                Err(node
                    .error_at("formula", what)
                    .with_help(format!("there is a scan every {scan} ms: take a longer time")))
            }
            None => Ok(parsed),
        }))
    });
    node.finish_into(p);
    Some(Property { name: name?, formula: text?.trim().to_owned(), why: why?, parsed: parsed? })
}

/// What reports call it: one line, each another.
fn name(node: &mut Node, before: &[Property]) -> Result<String, Diagnostic> {
    let name = node.string_like("name", r"^[^\x00-\x1f\x7f]*\S[^\x00-\x1f\x7f]*$")?;
    let wrong = |what: String| node.error_at("name", format!("{}: {what}", node.full_name("name")));
    if name.trim().is_empty() || name.chars().count() > 100 || name.chars().any(char::is_control) {
        return Err(wrong("a property is called by one short line".to_owned()).with_help("1 to 100 characters"));
    }
    if let Some(at) = before.iter().position(|one| one.name == name) {
        let wrong = wrong(format!("`{name}` is the name of property[{}]", at + 1));
        return Err(wrong.with_help("give each property a name of its own"));
    }
    Ok(name)
}

/// A span of the formula in which no scan lies, s.
fn between(formula: &Formula, period: f64) -> Option<(f64, f64)> {
    let own = formula.span().filter(|span| Steps::of(*span, period).is_none()).map(|span| (span.from, span.to));
    own.or_else(|| formula.parts().into_iter().find_map(|part| between(part, period)))
}

/// The place of a mistake in the file: within the text, where that stands in the file as it is meant.
fn at_place(node: &Node, text: &str, wrong: &Wrong) -> Diagnostic {
    let message = format!("{}: {}", node.full_name("formula"), wrong.message);
    let here = node.error_at("formula", message.clone());
    let inner = node.value_span("formula").and_then(|Range { start, end }| {
        let raw = node.source.text.get(start..end)?;
        Some(start + raw.find(text)? + wrong.at.start)
    });
    let told = inner.map_or(here, |at| node.source.diagnose(at..at, message));
    told.with_help(wrong.help.clone())
}
