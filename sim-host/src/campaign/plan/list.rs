//! `[[run]]` tables of a plan: each one run, said in full.

use super::Listed;
use super::change::changed;
use super::factors::Base;
use crate::scenario::diagnostic::{Diagnostic, Problems, nearest};
use crate::scenario::reader::Node;
use crate::scenario::{parse, parse_fault};
use crate::station;

/// One run.
pub(super) fn run(mut node: Node, base: Option<&Base>, p: &mut Problems) -> Option<Listed> {
    let scenario = p.take(node.string("scenario"));
    let station = p.take(node.opt_string("station"));
    let seed = p.take(node.opt_integer("seed", 0..=i64::MAX));
    let words = p.take(node.strings("faults"));
    let changes = p.take(node.opt_node("set")).and_then(|set| changes(set, p));
    let mut faults = Vec::new();
    for words in words? {
        match parse_fault::read_words(&words) {
            Ok((planned, _)) => faults.push((words, planned)),
            Err(list) => {
                for one in list.into_iter().take(1) {
                    let wrong = node.error_at("faults", format!("{}: `{words}`: {}", node.path(), one.message));
                    p.push(Diagnostic { help: one.help, ..wrong });
                }
            }
        }
    }
    let base = base?;
    let names = base.scenarios.iter().map(|one| one.name.as_str());
    let scenario = p.take(place(&node, "scenario", &scenario?, names))?;
    let station = match station? {
        None => 0,
        Some(name) => {
            let name = station::resolve(node.file(), &name);
            let known = base.stations.iter().map(|one| one.as_deref().unwrap_or("the scenario's own"));
            p.take(place(&node, "station", &name, known))?
        }
    };
    let (named, changes) = (base.scenarios.get(scenario)?, changes?);
    let on = base.stations.get(station)?;
    let read = changed(&named.source, &changes)
        .map_err(|why| (why, None))
        .and_then(|source| parse::read_on(&source, on.as_deref()).map_err(first));
    if let Err((what, help)) = read {
        let wrong = node.error_at("set", format!("{}: {}: {what}", node.path(), named.name));
        p.push(Diagnostic { help, ..wrong });
    }
    node.finish_into(p);
    Some(Listed { scenario, station, changes, seed: seed?.unwrap_or(1).unsigned_abs(), faults })
}

fn first(list: Vec<Diagnostic>) -> (String, Option<String>) {
    list.into_iter().next().map_or_else(|| (String::new(), None), |one| (one.message, one.help))
}

/// The place of a name in a list of [factors].
fn place<'a>(
    node: &Node,
    key: &str,
    name: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize, Diagnostic> {
    known.clone().position(|one| one == name).ok_or_else(|| {
        let near = nearest(name, known.clone()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
        let list = known.collect::<Vec<_>>().join(", ");
        let wrong = node.error_at(key, format!("{}: `{name}` is not in [factors]", node.full_name(key)));
        wrong.with_help(format!("{near}listed there: {list}"))
    })
}

/// Keys and values that are set in this run.
fn changes(set: Option<Node>, p: &mut Problems) -> Option<Vec<(String, String)>> {
    let Some(mut set) = set else { return Some(Vec::new()) };
    let mut found = Vec::new();
    for key in set.keys() {
        if let Some(value) = p.take(set.string(key)) {
            found.push((key.to_owned(), value));
        }
    }
    set.finish_into(p);
    Some(found)
}
