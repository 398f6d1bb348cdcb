//! The jobs of a scenario file: one vehicle with its order, or `[[vehicle]]` and `[[job]]` tables that make a row.

use std::ops::RangeInclusive;

use super::bounds::{MINUTE, plain_name};
use super::diagnostic::{Diagnostic, Problems, nearest};
use super::model::{Job, Site, Station, Vehicle};
use super::parse_fault::{called, faults};
use super::parse_order::{expect, operator, order};
use super::parse_property::properties;
use super::parse_vehicle::vehicle;
use super::quantity::Dim;
use super::reader::Node;

/// Most jobs in a row.
pub(super) const MOST_JOBS: usize = 50;
/// Time in which the vehicles change, s.
const AFTER: RangeInclusive<f64> = MINUTE..=86_400.0;
/// The same where the file says nothing, s (own choice: one drives out, one drives in, couplers on).
const USUAL: f64 = 10.0 * MINUTE;

/// The jobs in their order, in whichever form the file has them; `None` where something is wrong with one of them.
pub(super) fn jobs(
    root: &mut Node,
    site: Option<&Site>,
    station: Option<&Station>,
    p: &mut Problems,
) -> Option<Vec<Job>> {
    if root.has("job") || root.holds_list("vehicle") {
        return row(root, site, station, p);
    }
    let vehicle = p.take(root.node("vehicle")).and_then(|node| vehicle(node, None, site, station, p));
    let order = p.take(root.node("order")).and_then(|mut node| {
        let order = order(&mut node, station, vehicle.as_ref(), true, p);
        node.finish_into(p);
        order
    });
    let operator = p.take(root.opt_node("operator")).and_then(|node| operator(node, p));
    let expect = p.take(root.opt_node("expect")).and_then(|node| expect(node, order.as_ref(), p));
    let faults = faults(root, station, p);
    let named = called(faults.as_deref().unwrap_or_default());
    let properties = properties(root, station, named, p);
    // Asked for all the same, so that the list of valid keys is whole.
    p.take(root.nodes("job"));
    Some(vec![Job {
        after: 0.0,
        vehicle: vehicle?,
        order: order?,
        operator: operator?,
        expect: expect?,
        faults: faults?,
        properties: properties?,
    }])
}

fn row(root: &mut Node, site: Option<&Site>, station: Option<&Station>, p: &mut Problems) -> Option<Vec<Job>> {
    let own = "in a row each job has its own: the keys of [order] stand in its [[job]], the rest in [job.operator], [job.expect], [[job.fault]] and [[job.property]]";
    for key in ["order", "operator", "expect", "fault", "property"] {
        root.misplaced(key, own).into_iter().for_each(|wrong| p.push(wrong));
    }
    if root.holds_table("vehicle") {
        let wrong =
            root.error_at("vehicle", "[vehicle] is one vehicle, [[job]] a row of them; they do not go together");
        let help = "write [[vehicle]] and give it a `name`, or write [order] in place of [[job]]";
        p.push(wrong.with_help(help));
        return None;
    }
    let vehicles = vehicles(root, site, station, p);
    if !root.has("job") {
        let wrong = root.error_at("vehicle", "`job` is missing: nothing is ordered for the [[vehicle]] tables");
        p.push(wrong.with_help("add a [[job]] for each: `vehicle` is its name, beside the keys of [order]"));
        return None;
    }
    let nodes = p.take(some(root, "job", "the order of its vehicle: `vehicle` is that one's name"))?;
    if let Some(over) = nodes.get(MOST_JOBS) {
        let wrong = over.error_here(format!("{}: {} jobs stand in a row", over.path(), nodes.len()));
        p.push(wrong.with_help(format!("accepted: 1 to {MOST_JOBS}; put the rest into another file")));
        return None;
    }
    let mut used = vec![false; vehicles.len()];
    let mut list = Vec::new();
    let mut whole = true;
    for (at, node) in nodes.into_iter().enumerate() {
        match job(node, at == 0, &vehicles, &mut used, station, p) {
            Some(job) => list.push(job),
            None => whole = false,
        }
    }
    // A name that was mistyped in a job is told there.
    for idle in vehicles.iter().zip(used).filter(|(_, used)| whole && !used).map(|(one, _)| one) {
        let help = format!("add a [[job]] with vehicle = \"{}\", or take this table out", idle.name);
        p.push(idle.unused.clone().with_help(help));
    }
    whole.then_some(list)
}

/// A vehicle of the list.
struct Named {
    name: String,
    /// Nothing where something is wrong with it; that was told.
    vehicle: Option<Vehicle>,
    /// What is said where no job has it.
    unused: Diagnostic,
}

fn vehicles(root: &mut Node, site: Option<&Site>, station: Option<&Station>, p: &mut Problems) -> Vec<Named> {
    let found = some(root, "vehicle", "each with a `name` for its job besides the keys of [vehicle]");
    let mut list: Vec<Named> = Vec::new();
    for mut node in p.take(found).unwrap_or_default() {
        let name = p.take(plain_name(&mut node));
        let taken = list.iter().position(|one| Some(&one.name) == name.as_ref());
        if let (Some(name), Some(at)) = (&name, taken) {
            let wrong = node
                .error_at("name", format!("{}: `{name}` is the name of vehicle[{}]", node.full_name("name"), at + 1));
            p.push(
                wrong.with_help(
                    "give each vehicle a name of its own; one that comes twice has two jobs, not two tables",
                ),
            );
        }
        let unused = node.error_here(format!("{}: no job has this vehicle", node.path()));
        let vehicle = vehicle(node, name.clone(), site, station, p);
        list.extend(name.filter(|_| taken.is_none()).map(|name| Named { name, vehicle, unused }));
    }
    list
}

/// The tables of a list that must hold at least one.
fn some<'a>(root: &mut Node<'a>, key: &str, what: &str) -> Result<Vec<Node<'a>>, Diagnostic> {
    let nodes = root.nodes(key)?;
    let found = (!nodes.is_empty()).then_some(nodes);
    if root.has(key) && found.is_none() {
        return Err(root.error_at(key, format!("`{key}` is empty")).with_help(format!("add [[{key}]] tables, {what}")));
    }
    root.require(key, found, &format!("tables [[{key}]], {what}"))
}

fn job(
    mut node: Node,
    first: bool,
    vehicles: &[Named],
    used: &mut [bool],
    station: Option<&Station>,
    p: &mut Problems,
) -> Option<Job> {
    let after = p.take(node.quantity_or("after", Dim::Time, AFTER, USUAL));
    if first && node.has("after") {
        let wrong = node.error_at("after", format!("{}: no job is before this one", node.full_name("after")));
        p.push(wrong.with_help("take `after` out here; station.rested says how long the vessel has been left alone"));
    }
    let at = p.take(which(&mut node, vehicles)).flatten();
    at.into_iter().for_each(|at| used[at] = true);
    let vehicle = at.and_then(|at| vehicles[at].vehicle.clone());
    let order = order(&mut node, station, vehicle.as_ref(), first, p);
    let operator = p.take(node.opt_node("operator")).and_then(|node| operator(node, p));
    let expect = p.take(node.opt_node("expect")).and_then(|node| expect(node, order.as_ref(), p));
    let faults = faults(&mut node, station, p);
    let named = called(faults.as_deref().unwrap_or_default());
    let properties = properties(&mut node, station, named, p);
    node.finish_into(p);
    let after = if first { 0.0 } else { after? };
    Some(Job {
        after,
        vehicle: vehicle?,
        order: order?,
        operator: operator?,
        expect: expect?,
        faults: faults?,
        properties: properties?,
    })
}

/// The vehicle that a job names; none, without a word, where no vehicle has a name to be known by.
fn which(node: &mut Node, vehicles: &[Named]) -> Result<Option<usize>, Diagnostic> {
    let name = node.string("vehicle")?;
    let names = || vehicles.iter().map(|one| one.name.as_str());
    let found = names().position(|one| one == name);
    if found.is_some() || vehicles.is_empty() {
        return Ok(found);
    }
    let near = nearest(&name, names()).map(|near| format!("nearest valid name: `{near}`; ")).unwrap_or_default();
    let wrong = node.error_at("vehicle", format!("{}: no vehicle is called `{name}`", node.full_name("vehicle")));
    Err(wrong.with_help(format!("{near}known: {}", names().collect::<Vec<_>>().join(", "))))
}
