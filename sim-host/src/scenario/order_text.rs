//! The order of a scenario's text, apart from the rest: what stands in its `[order]`, and another one in its place.
//!
//! Promises: nothing but the keys of `[order]` comes in, judged as they are in a whole file; what is wrong is told with its place in the text that was
//! given; all else of the scenario stays, but expectations of phases that are no longer ordered, which are named.

use toml_edit::{DocumentMut, Item, Table};

use super::diagnostic::{Diagnostic, Problems, Source};
use super::model::{Order, Phase, Scenario};
use super::parse_order::order;
use super::{parse, reader};

/// What the text is called where something is wrong with it.
const NAME: &str = "order";

/// A scenario's text with another order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reordered {
    /// The whole text.
    pub source: Source,
    /// Phases that something was expected of and that are not ordered any more: that was taken out.
    pub dropped: Vec<String>,
}

fn document(source: &Source) -> Result<DocumentMut, Vec<Diagnostic>> {
    let broken = |why: toml_edit::TomlError| vec![source.diagnose(why.span().unwrap_or(0..0), why.message())];
    source.text.parse().map_err(broken)
}

/// What stands in `[order]`, with its head; none where each job of a row has its own.
pub fn part(source: &Source) -> Option<String> {
    let mut file = document(source).ok()?;
    let mut alone = DocumentMut::new();
    alone.as_table_mut().insert(NAME, file.as_table_mut().remove(NAME)?);
    Some(alone.to_string().trim_start_matches('\n').to_owned())
}

/// The order that a text gives for the first job of this scenario.
fn read(text: &Source, of: &Scenario) -> Result<Order, Vec<Diagnostic>> {
    let parsed = reader::parse(text).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let mut root = parsed.root();
    let only = "only the keys of [order] can be changed here, below a line [order]; the rest of the scenario stays as it is, its station and its files too";
    for key in root.keys().into_iter().filter(|key| *key != NAME) {
        root.misplaced(key, only).into_iter().for_each(|wrong| problems.push(wrong));
    }
    let found = problems.take(root.node(NAME)).and_then(|mut node| {
        let found = order(&mut node, Some(&of.station), Some(&of.vehicle), true, &mut problems);
        node.finish_into(&mut problems);
        found
    });
    root.finish_into(&mut problems);
    found.filter(|_| problems.is_empty()).ok_or_else(|| problems.into_list())
}

/// What stands above a table's head: empty lines and comments.
fn prefix(of: Option<&Table>) -> String {
    of.and_then(|table| table.decor().prefix()).and_then(|prefix| prefix.as_str()).unwrap_or_default().to_owned()
}

/// The text of a scenario, `of`, with another order in place of the one that is there, on another station than it names where one is given.
///
/// # Errors
/// All that is wrong with the order's text, or what of the rest does not go with it.
pub fn with_order(
    source: &Source,
    of: &Scenario,
    text: &str,
    station: Option<&str>,
) -> Result<Reordered, Vec<Diagnostic>> {
    let given = Source::new(NAME, text);
    let wanted = read(&given, of)?;
    let mut file = document(source)?;
    let other = document(&given)?;
    let after = other.trailing().as_str().unwrap_or_default().to_owned();
    let mut table = other.into_table().remove(NAME).and_then(|item| item.into_table().ok()).unwrap_or_default();
    let old = file.get(NAME).and_then(Item::as_table);
    let before = prefix(old);
    let (place, gap) = (old.and_then(Table::position), &before[..before.len() - before.trim_start().len()]);
    let comments = prefix(Some(&table)).trim().to_owned();
    let lines = [comments.as_str(), after.trim()].into_iter().filter(|one| !one.is_empty());
    let above: String = lines.map(|one| format!("{one}\n")).collect();
    let prefix = if gap.is_empty() { format!("\n{above}") } else { format!("{gap}{above}") };
    table.set_position(place);
    table.set_implicit(false);
    table.set_dotted(false);
    table.decor_mut().set_prefix(prefix);
    file.insert(NAME, Item::Table(table));
    let dropped = drop_expectations(&mut file, &wanted);
    let made = Source::new(source.name.clone(), file.to_string());
    parse::read_on(&made, station)?;
    Ok(Reordered { source: made, dropped })
}

/// What is expected of phases that are not ordered makes a file unreadable.
fn drop_expectations(file: &mut DocumentMut, wanted: &Order) -> Vec<String> {
    let expect = file.get_mut("expect").and_then(Item::as_table_like_mut);
    let phases = expect.and_then(|expect| expect.get_mut("phases")).and_then(Item::as_table_like_mut);
    let Some(phases) = phases else { return Vec::new() };
    let gone = Phase::ALL.into_iter().filter(|phase| !wanted.has(*phase)).map(Phase::name);
    gone.filter(|name| phases.remove(name).is_some()).map(str::to_owned).collect()
}
