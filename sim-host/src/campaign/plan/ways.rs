//! The ways to fail that a plan asks for: faults, classes or all of them, in which mode, at which device, how severe.

use crate::fault::{self, Begins, FaultId, Injection, Mode, Planned, catalogue};
use crate::scenario::diagnostic::{Diagnostic, Problems, nearest};
use crate::scenario::parse_fault;
use crate::scenario::quantity::{self, Dim};
use crate::scenario::reader::Node;

/// A fault in one way, at one device, of one severity.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// The words for a command line, without when it begins: `F023 mode=creep`.
    pub words: String,
    /// The same as it was read; it begins with the job.
    pub planned: Planned,
}

impl Way {
    /// It comes at a moment, and not only with the job.
    pub fn has_a_moment(&self) -> bool {
        self.planned.injection().is_none_or(|one| one.begins != Begins::WithTheJob)
    }
}

/// Modes or devices of a fault: the usual one, or all.
const EXTENT: [&str; 2] = ["usual", "all"];

/// Which modes, devices and severities.
struct Extent {
    modes: bool,
    tags: bool,
    /// Severities as shares of the usual one.
    shares: Vec<f64>,
}

/// The ways of `[faults]`.
pub(super) fn of_table(node: &mut Node, p: &mut Problems) -> Option<Vec<Way>> {
    let which = p.take(which(node));
    let modes = p.take(node.opt_one_of("modes", &EXTENT));
    let tags = p.take(node.opt_one_of("tags", &EXTENT));
    let shares = p.take(node.list_of_quantities("severities", Dim::Fraction, 1e-3..=10.0));
    let all = |word: Option<&str>| word == Some(EXTENT[1]);
    let extent = Extent { modes: all(modes?), tags: all(tags?), shares: shares? };
    Some(which?.into_iter().flat_map(|one| ways(one, &extent)).collect())
}

fn which(node: &mut Node) -> Result<Vec<&'static Injection>, Diagnostic> {
    let can = || fault::injections().filter(|one| one.refused.is_none());
    if !node.holds_list("which") {
        let word = node.opt_one_of("which", &["all", "none"])?;
        return Ok(if word == Some("all") { can().collect() } else { Vec::new() });
    }
    let mut found: Vec<&'static Injection> = Vec::new();
    for text in node.strings("which")? {
        let of_class: Vec<&'static Injection> = can().filter(|one| one.entry().kind == text).collect();
        if !of_class.is_empty() {
            found.extend(of_class);
            continue;
        }
        let one = FaultId::read(&text).and_then(fault::find).ok_or_else(|| unknown(node, &text))?;
        if let Some(why) = one.refused {
            let wrong =
                node.error_at("which", format!("{}: {text} cannot be injected: {why}", node.full_name("which")));
            return Err(wrong.with_help("take it out of the list"));
        }
        found.push(one);
    }
    found.sort_by_key(|one| one.id);
    found.dedup_by_key(|one| one.id);
    Ok(found)
}

/// The ways of one fault, each of the usual severity: every mode and device, or the usual ones.
pub fn of_fault(of: &'static Injection, every: bool) -> Vec<Way> {
    ways(of, &Extent { modes: every, tags: every, shares: Vec::new() })
}

fn unknown(node: &Node, text: &str) -> Diagnostic {
    let mut classes: Vec<&str> = catalogue::entries().iter().map(|one| one.kind.as_str()).collect();
    classes.sort_unstable();
    classes.dedup();
    let ids = catalogue::entries().iter().map(|one| one.id.as_str());
    let near = nearest(text, classes.iter().copied().chain(ids));
    let near = near.map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
    let wrong = format!("{}: no fault and no class is called `{text}`", node.full_name("which"));
    let help = format!("{near}\"all\", F001 to F{:03}, or a class: {}", catalogue::entries().len(), classes.join(", "));
    node.error_at("which", wrong).with_help(help)
}

fn ways(of: &'static Injection, extent: &Extent) -> Vec<Way> {
    let take = |all: bool, n: usize| if all { n } else { n.min(1) };
    let mut list = Vec::new();
    for mode in &of.modes[..take(extent.modes, of.modes.len())] {
        for tag in &of.tags[..take(extent.tags, of.tags.len())] {
            let severities = severities(mode, &extent.shares);
            let made = severities.into_iter().filter_map(|severity| way(of, mode, tag, severity.as_deref()).ok());
            list.extend(made);
        }
    }
    list
}

/// Severities at these shares of the usual one, kept within the accepted range, each once; what would be no fault is left out. None stands
/// for the usual one.
fn severities(mode: &Mode, shares: &[f64]) -> Vec<Option<String>> {
    let Some(severity) = mode.severity.filter(|_| !shares.is_empty()) else { return vec![None] };
    let neutral = if severity.neutral.is_nan() { 0.0 } else { severity.neutral };
    let (low, high) = (severity.range.0.min(severity.range.1), severity.range.0.max(severity.range.1));
    let mut found: Vec<Option<String>> = Vec::new();
    for share in shares {
        let figure = (neutral + share * (severity.usual - neutral)).clamp(low, high);
        let text = format!("{} {}", quantity::short(figure), severity.unit).trim().to_owned();
        let text = Some(text).filter(|_| (figure - severity.usual).abs() > 1e-9 * severity.usual.abs());
        let fits = text.as_deref().is_none_or(|text| severity.read(text).is_ok());
        if fits && !found.contains(&text) {
            found.push(text);
        }
    }
    if found.is_empty() { vec![None] } else { found }
}

/// One way, by the words in which the command line would have it.
fn way(of: &Injection, mode: &Mode, tag: &str, severity: Option<&str>) -> Result<Way, Vec<Diagnostic>> {
    let mut words = of.id.to_string();
    let mut add = |key: &str, value: &str| words += &format!(" {key}={}", quoted(value));
    if !mode.name.is_empty() {
        add("mode", mode.name);
    }
    if of.tags.len() > 1 {
        add("tag", tag);
    }
    if let Some(severity) = severity {
        add("severity", severity);
    }
    let (planned, _) = parse_fault::read_words(&words)?;
    Ok(Way { words, planned })
}

/// A word of a command line, quoted where a shell would take it apart.
pub(in crate::campaign) fn quoted(word: &str) -> String {
    shlex::try_quote(word).map_or_else(|_| word.to_owned(), std::borrow::Cow::into_owned)
}

/// The ways of one `[[fault]]` table: every mode, device and severity that it lists, each with each.
pub(super) fn of_one(mut node: Node, p: &mut Problems) -> Option<Vec<Way>> {
    let id = p.take(node.string("id"));
    let lists = ["mode", "tag", "severity"].map(|key| p.take(node.strings(key)));
    let [modes, tags, severities] = lists;
    let (id, modes, tags, severities) = (id?, modes?, tags?, severities?);
    let or_usual = |list: Vec<String>| -> Vec<Option<String>> {
        if list.is_empty() { vec![None] } else { list.into_iter().map(Some).collect() }
    };
    let (tags, severities) = (or_usual(tags), or_usual(severities));
    let mut found = Vec::new();
    for mode in or_usual(modes) {
        for tag in &tags {
            for severity in &severities {
                let mut words = quoted(&id);
                for (key, value) in [("mode", &mode), ("tag", tag), ("severity", severity)] {
                    words += &value.as_ref().map(|value| format!(" {key}={}", quoted(value))).unwrap_or_default();
                }
                match parse_fault::read_words(&words) {
                    Ok((planned, _)) => found.push(Way { words, planned }),
                    Err(list) => list.into_iter().take(1).for_each(|one| p.push(placed(&node, &one))),
                }
            }
        }
    }
    node.finish_into(p);
    Some(found)
}

/// What is wrong with words that were made of a table, at the key that they are of.
fn placed(node: &Node, wrong: &Diagnostic) -> Diagnostic {
    let key = ["id", "mode", "tag", "severity"].into_iter().find(|key| wrong.message.starts_with(&format!("{key}:")));
    let found = node.error_at(key.unwrap_or("id"), format!("{}: {}", node.path(), wrong.message));
    Diagnostic { help: wrong.help.clone(), ..found }
}
