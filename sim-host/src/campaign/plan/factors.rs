//! `[factors]` of a plan: scenarios, stations, keys that are varied, seeds; every value is held against every scenario when it is read.

use super::change::{Factor, REFRIGERANT, Values, changed, split};
use super::{Named, Seeds};
use crate::scenario::diagnostic::{Diagnostic, Problems, Source, nearest};
use crate::scenario::quantity::Dim;
use crate::scenario::reader::Node;
use crate::scenario::{Scenario, parse, random, shipped};
use crate::station;

/// Scenarios, stations, varied keys and seeds.
pub(super) struct Base {
    pub(super) scenarios: Vec<Named>,
    pub(super) stations: Vec<Option<String>>,
    pub(super) factors: Vec<Factor>,
    pub(super) seeds: Seeds,
}

pub(super) fn factors(mut node: Node, file: &str, p: &mut Problems) -> Option<Base> {
    let names = p.take(names(&mut node));
    let stations = p.take(node.strings("station"));
    let seeds = p.take(seeds(&mut node));
    let mut keys = Vec::new();
    for (key, of) in [(REFRIGERANT, REFRIGERANT), ("ambient", "site.ambient"), ("leak", "vehicle.leak")] {
        if node.has(key) {
            keys.push(p.take(values(&mut node, key)).map(|values| (key.to_owned(), of.to_owned(), values)));
        } else {
            // Asked for all the same, so that the list of valid keys is whole.
            p.take(node.strings(key));
        }
    }
    let mut scenarios = Vec::new();
    for name in names.into_iter().flatten() {
        match scenario(file, &name) {
            Ok(source) => scenarios.extend(p.take(healthy(&node, Named { name, source }))),
            Err((what, help)) => p.push(node.error_at("scenario", format!("factors.scenario: {what}")).with_help(help)),
        }
    }
    let stations: Vec<Option<String>> = stations?.iter().map(|name| Some(station::resolve(file, name))).collect();
    for name in stations.iter().flatten() {
        if let Err(why) = station::load(Some(name)) {
            p.push(node.error_at("station", format!("factors.station: {why}")));
        }
    }
    let stations = if stations.is_empty() { vec![None] } else { stations };
    let mut found = Vec::new();
    for (at, key, values) in keys.into_iter().collect::<Option<Vec<_>>>()? {
        fits(&node, &at, (&key, &values), (&scenarios, &stations), p);
        found.push(Factor { key, values });
    }
    if let Some(mut set) = p.take(node.opt_node("set")).flatten() {
        for key in set.keys() {
            let varied = found.iter().any(|one| one.key == key);
            if let Some(values) = p.take(may_vary(&set, key, varied)).and_then(|()| p.take(values(&mut set, key))) {
                fits(&set, key, (key, &values), (&scenarios, &stations), p);
                found.push(Factor { key: key.to_owned(), values });
            }
        }
        set.finish_into(p);
    }
    node.finish_into(p);
    Some(Base { scenarios, stations, factors: found, seeds: seeds? })
}

fn names(node: &mut Node) -> Result<Vec<String>, Diagnostic> {
    let list = node.strings("scenario")?;
    if list.is_empty() {
        return Err(node.missing("scenario", "a list of shipped scenarios or files: [\"mild_hatchback\"]"));
    }
    Ok(list)
}

/// The text of a scenario: a file beside the plan, a shipped one, a drawn one.
fn scenario(file: &str, name: &str) -> Result<Source, (String, String)> {
    let folder = std::path::Path::new(file).parent().unwrap_or_else(|| std::path::Path::new(""));
    let path = folder.join(name);
    if path.is_file() {
        let text = std::fs::read_to_string(&path);
        return text
            .map(|text| Source::new(path.display().to_string(), text))
            .map_err(|why| (format!("{} cannot be read: {why}", path.display()), "check the file".to_owned()));
    }
    if let Some(source) = shipped::source(name) {
        return Ok(source);
    }
    if let Some(drawn) = random::source(name) {
        return drawn.map_err(|bad| (bad.message, bad.help));
    }
    let known = || shipped::SHIPPED.iter().chain(shipped::QUESTIONS).map(|one| one.name);
    let near = nearest(name, known()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
    let help = format!("{near}`valvewright list` shows the shipped ones; a path counts from the plan's folder");
    Err((format!("no file and no shipped scenario is called `{name}`"), help))
}

/// A scenario of one job without faults of its own, that reads.
fn healthy(node: &Node, named: Named) -> Result<Named, Diagnostic> {
    let wrong = |what: String| node.error_at("scenario", format!("factors.scenario: {}: {what}", named.name));
    let read: Scenario = match parse::read(&named.source) {
        Ok(read) => read,
        Err(list) => {
            let first = list.first().map(ToString::to_string).unwrap_or_default();
            return Err(wrong(format!("it cannot be used: {first}")).with_help("`valvewright check` tells all of it"));
        }
    };
    if !read.then.is_empty() {
        return Err(wrong(format!("it is a row of {} jobs", 1 + read.then.len()))
            .with_help("a campaign takes scenarios of one job"));
    }
    if !read.faults.is_empty() {
        return Err(wrong("it has faults of its own".to_owned()).with_help("the plan says which faults come"));
    }
    Ok(named)
}

fn seeds(node: &mut Node) -> Result<Seeds, Diagnostic> {
    if node.holds_list("seeds") {
        /// Whole numbers up to here are exact in a file.
        const MOST: f64 = 9_007_199_254_740_992.0;
        let list = node.list_of_quantities("seeds", Dim::Number, 0.0..=MOST)?;
        if list.is_empty() || list.iter().any(|seed| seed.fract() != 0.0) {
            let wrong = node.error_at("seeds", "factors.seeds: whole numbers are needed");
            return Err(wrong.with_help("write [1, 2, 3], or how many are drawn: 3"));
        }
        return Ok(Seeds::These(list.into_iter().map(|seed| seed as u64).collect()));
    }
    Ok(Seeds::Drawn(node.opt_integer("seeds", 1..=1_000_000)?.map_or(1, |n| n as usize)))
}

/// Values of a varied key: a list of texts, or `{ from = "1 g", to = "5 g" }`.
fn values(node: &mut Node, key: &str) -> Result<Values, Diagnostic> {
    let name = node.full_name(key);
    if !node.holds_table(key) {
        let list = node.strings(key)?;
        if list.is_empty() {
            return Err(node
                .error_at(key, format!("{name}: an empty list"))
                .with_help("list values in quotes: [\"0 degC\", \"40 degC\"]"));
        }
        return Ok(Values::Each(list));
    }
    let Some(mut span) = node.opt_node(key)? else { return Err(node.missing(key, "values")) };
    let (from, to) = (span.string("from")?, span.string("to")?);
    let wrong = |what: &str, help: &str| Err(span.error_at("to", format!("{name}: {what}")).with_help(help));
    let (Some((low, unit)), Some((high, other))) = (split(&from), split(&to)) else {
        return wrong("two figures are needed", "write { from = \"0 degC\", to = \"40 degC\" }");
    };
    if unit != other {
        return wrong(&format!("`{unit}` and `{other}` are two units"), "give both figures in one unit");
    }
    let found = Values::Between { from: low, to: high, unit: unit.to_owned() };
    span.finish()?;
    Ok(found)
}

/// A key of a table of the scenario, varied once. What says who the scenario is, or is said elsewhere in the plan, is none.
fn may_vary(set: &Node, key: &str, varied: bool) -> Result<(), Diagnostic> {
    let name = set.full_name(key);
    if varied {
        return Err(set.error_at(key, format!("{name}: `{key}` is varied twice")).with_help("keep one of the two"));
    }
    if key.contains('.') || key == "time_limit" {
        return Ok(());
    }
    let wrong = set.error_at(key, format!("{name}: `{key}` is no key of a table of scenario files"));
    Err(wrong.with_help(
        "write the key in quotes with its table, such as \"vehicle.content\"; seeds are `seeds` of [factors]",
    ))
}

/// Each value has to fit each scenario on each station.
fn fits(
    node: &Node,
    at: &str,
    (key, values): (&str, &Values),
    (scenarios, stations): (&[Named], &[Option<String>]),
    p: &mut Problems,
) {
    for named in scenarios {
        for station in stations {
            for value in values.samples() {
                if let Err((what, help)) = one_fits(&named.source, station.as_deref(), key, &value) {
                    let wrong = format!("{}: \"{value}\" in {}: {what}", node.full_name(at), named.name);
                    let wrong = node.error_at(at, wrong);
                    p.push(match help {
                        Some(help) => wrong.with_help(help),
                        None => wrong,
                    });
                    return;
                }
            }
        }
    }
}

fn one_fits(source: &Source, station: Option<&str>, key: &str, value: &str) -> Result<(), (String, Option<String>)> {
    let changed = changed(source, &[(key.to_owned(), value.to_owned())]).map_err(|why| (why, None))?;
    parse::read_on(&changed, station).map(drop).map_err(|list| {
        list.into_iter().next().map_or_else(|| (String::new(), None), |first| (first.message, first.help))
    })
}
