//! `[[fault]]` tables of a scenario file, and the same words on the command line: which fault, how severe, from when, until when.

use valvewright_core::interlock::table::ROWS;
use valvewright_core::job::phase::Phase as Running;
use valvewright_core::order::PhaseKind;

use super::diagnostic::{Diagnostic, Problems, Source, nearest};
use super::model::{PHASE_WORDS, Phase, Station};
use super::quantity::{self, Dim};
use super::reader::{self, Node};
use crate::fault::{self, Begin, Begins, End, FaultId, Injection, Mode, Planned, When, catalogue};
use crate::logic::Condition;
use crate::logic::names::Names;
use crate::run::words::IDS;
use crate::station;

/// Keys that say when a fault begins, and those that say when it ends: one of each at most.
pub(super) const BEGINS: [&str; 6] = ["at", "phase", "step", "notice", "row", "when"];
pub(super) const ENDS: [&str; 6] = ["for", "until_at", "until_phase_ends", "until_notice", "until_row", "until"];
/// Ids of what can be injected.
const INJECTABLE: &str = r"^F(0(0[1-9]|[1-9][0-9])|1(0[0-69]|[12][0-9]|3[0-8]))$";
/// Most faults of one job.
const MOST: usize = 200;
/// A day: no run is longer, s.
const DAY: f64 = 86_400.0;

/// All faults of a job.
pub(super) fn faults(node: &mut Node, station: Option<&Station>, p: &mut Problems) -> Option<Vec<Planned>> {
    let nodes = p.take(node.nodes("fault"))?;
    if nodes.is_empty() {
        return Some(Vec::new());
    }
    if let Some(over) = nodes.get(MOST) {
        let wrong = over.error_here(format!("{}: {} faults", over.path(), nodes.len()));
        p.push(wrong.with_help(format!("accepted: up to {MOST} of one job")));
        return None;
    }
    let network = station.and_then(|one| station::load(one.network.as_deref()).ok());
    let names = Names::new(network.as_ref().map(|file| &file.network), Vec::new());
    let all: Vec<Option<Planned>> = nodes.into_iter().map(|node| fault(node, &names, p)).collect();
    all.into_iter().collect()
}

/// What formulas call the faults of a job: by their ids, of two alike the second with `/2`.
pub(crate) fn called(faults: &[Planned]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (at, one) in faults.iter().enumerate() {
        let alike = faults.iter().take(at).filter(|other| other.id == one.id).count();
        names.push(if alike == 0 { one.id.to_string() } else { format!("{}/{}", one.id, alike + 1) });
    }
    names
}

/// A fault as the command line has it: `F023 severity=0.3g/s phase=charge after=40s`. Its job, from 1, where it names one.
///
/// # Errors
/// What is wrong with it, each with its place in the text.
pub fn read_words(text: &str) -> Result<(Planned, usize), Vec<Diagnostic>> {
    let whole = Source::new("--fault", text);
    let broken = |message: &str| vec![whole.diagnose(0..0, message).with_help(words_help())];
    let mut words = shlex::split(text).ok_or_else(|| broken("a quote is open"))?.into_iter();
    let id = words.next().ok_or_else(|| broken("it is empty"))?;
    let mut toml = format!("id = {}\n", quoted(&id));
    let mut job = 1;
    for word in words {
        let (key, value) = word.split_once('=').ok_or_else(|| broken(&format!("`{word}` is no KEY=VALUE")))?;
        if key == "job" {
            let number = value.parse().ok().filter(|number| (1..=50).contains(number));
            job = number.ok_or_else(|| broken(&format!("`{value}` is no number of a job, 1 to 50")))?;
            continue;
        }
        if !key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_') || key.is_empty() {
            return Err(broken(&format!("`{key}` is no key of a fault")));
        }
        toml += &format!("{key} = {}\n", quoted(value));
    }
    let source = Source::new(format!("--fault \"{text}\""), toml);
    let document = reader::parse(&source).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let planned = fault(document.root(), &Names::default(), &mut problems);
    planned.filter(|_| problems.is_empty()).map(|planned| (planned, job)).ok_or_else(|| problems.into_list())
}

fn words_help() -> &'static str {
    "write ID KEY=VALUE ..., such as \"F023 severity=0.3g/s phase=charge after=40s\"; quote a value with blanks in it"
}

fn quoted(text: &str) -> String {
    // A text in JSON is one in TOML too.
    serde_json::Value::from(text).to_string()
}

/// One fault.
fn fault(mut node: Node, names: &Names, p: &mut Problems) -> Option<Planned> {
    let injection = p.take(injection(&mut node));
    // Every key is asked for whatever else is wrong, so that the list of valid keys is whole.
    let named = p.take(node.opt_string("mode"));
    let tag = p.take(node.opt_string("tag"));
    let severity = p.take(severity_text(&mut node));
    let begin = p.take(begin(&mut node, names));
    let end = p.take(end(&mut node, names));
    let planned = injection.and_then(|injection| {
        let mode = p.take(mode(&node, injection, named.clone()?, severity.as_ref()?.as_deref()))?;
        let tag = p.take(tag_of(&node, injection, tag?))?;
        let severity = p.take(severity_of(&node, injection, mode, severity?.as_deref()))?;
        let (begin, end) = (begin?, end?);
        p.take(fits(&node, injection, &begin, &end))?;
        Some(Planned { id: injection.id, mode: mode.name, tag, severity, begin, end })
    });
    node.finish_into(p);
    planned
}

fn injection(node: &mut Node) -> Result<&'static Injection, Diagnostic> {
    let text = node.string_like("id", INJECTABLE)?;
    let ids: Vec<&str> = catalogue::entries().iter().map(|one| one.id.as_str()).collect();
    let Some(found) = FaultId::read(&text).and_then(fault::find) else {
        let near = nearest(&text, ids.iter().copied()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
        let wrong = node.error_at("id", format!("{}: the catalogue has no fault `{text}`", node.full_name("id")));
        return Err(wrong.with_help(format!("{near}F001 to F{:03}; `valvewright fault list` shows them", ids.len())));
    };
    match found.refused {
        None => Ok(found),
        Some(why) => {
            let wrong = node.error_at("id", format!("{}: {text} cannot be injected: {why}", node.full_name("id")));
            Err(wrong.with_help("take this table out; the file would not do what it says"))
        }
    }
}

/// The way that is named; where none is, the first that takes the severity as it is written.
fn mode(
    node: &Node,
    injection: &'static Injection,
    named: Option<String>,
    severity: Option<&str>,
) -> Result<&'static Mode, Diagnostic> {
    let first = injection.modes.first();
    let Some(name) = named else {
        let fits = |mode: &&Mode| {
            severity.is_some_and(|text| mode.severity.is_some_and(|one| quantity::parse(text, one.dim).is_ok()))
        };
        let found = injection.modes.iter().find(fits).or(first);
        return found.ok_or_else(|| node.error_here("this fault has no way to be injected"));
    };
    let names: Vec<&str> = injection.modes.iter().map(|mode| mode.name).filter(|name| !name.is_empty()).collect();
    injection.modes.iter().find(|mode| mode.name == name && !name.is_empty()).ok_or_else(|| {
        let wrong = node.error_at("mode", format!("{}: {} has no mode `{name}`", node.full_name("mode"), injection.id));
        match nearest(&name, names.iter().copied()) {
            _ if names.is_empty() => wrong.with_help("it has one way only: take `mode` out"),
            Some(near) => wrong.with_help(format!("nearest: `{near}`; modes: {}", names.join(", "))),
            None => wrong.with_help(format!("modes: {}", names.join(", "))),
        }
    })
}

fn tag_of(node: &Node, injection: &Injection, tag: Option<String>) -> Result<&'static str, Diagnostic> {
    let usual = injection.tags.first().copied().unwrap_or_default();
    let Some(tag) = tag else { return Ok(usual) };
    injection.tags.iter().find(|one| **one == tag).copied().ok_or_else(|| {
        let near = nearest(&tag, injection.tags.iter().copied());
        let near = near.map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
        let wrong = node.error_at("tag", format!("{}: {} cannot be at `{tag}`", node.full_name("tag"), injection.id));
        wrong.with_help(format!("{near}accepted: {}", injection.tags.join(", ")))
    })
}

fn severity_of(node: &Node, injection: &Injection, mode: &Mode, text: Option<&str>) -> Result<Option<f64>, Diagnostic> {
    let name = node.full_name("severity");
    match (mode.severity, text) {
        (Some(severity), None) => Ok(Some(severity.usual_si())),
        (None, None) => Ok(None),
        (None, Some(_)) => {
            let wrong =
                node.error_at("severity", format!("{name}: {} is there or not, no more and no less", injection.id));
            Err(wrong.with_help("take `severity` out"))
        }
        (Some(severity), Some(text)) => severity
            .read(text)
            .map(Some)
            .map_err(|(message, help)| node.error_at("severity", format!("{name}: {message}")).with_help(help)),
    }
}

/// A severity as it is written: in quotes with its unit, or a plain number.
fn severity_text(node: &mut Node) -> Result<Option<String>, Diagnostic> {
    // Both forms are asked for whatever stands there, so that the schema knows both.
    let (text, number) = (node.opt_string("severity"), node.opt_quantity("severity", Dim::Number, f64::MIN..=f64::MAX));
    match (text, number) {
        (Ok(text), _) => Ok(text),
        (Err(_), Ok(Some(number))) => Ok(Some(quantity::short(number))),
        (Err(wrong), _) => Err(wrong),
    }
}

/// The one key of `keys` that is there.
fn only(node: &Node, keys: &[&'static str], what: &str) -> Result<Option<&'static str>, Diagnostic> {
    let there: Vec<&'static str> = keys.iter().copied().filter(|key| node.has(key)).collect();
    match there.as_slice() {
        // A step is one of its phase.
        ["phase", "step"] => Ok(Some("step")),
        [] => Ok(None),
        [one] => Ok(Some(*one)),
        [_, second, ..] => Err(node
            .error_at(second, format!("{}: `{}` both say {what}", node.path(), there.join("` and `")))
            .with_help("keep one of them")),
    }
}

fn begin(node: &mut Node, names: &Names) -> Result<Begin, Diagnostic> {
    let key = only(node, &BEGINS, "when it begins")?;
    let after = node.quantity_or("after", Dim::Time, 0.0..=DAY, 0.0)?;
    let at = node.opt_quantity("at", Dim::Time, 0.0..=DAY)?;
    let phase = node.opt_one_of("phase", &PHASE_WORDS)?;
    let step = node.opt_string("step")?;
    let notice = node.opt_word_of("notice", IDS)?;
    let row = node.opt_word_of("row", &rows())?;
    let when = node.opt_string("when")?;
    let when = match key {
        Some("phase") => When::Phase(phase_of(phase)),
        Some("step") => {
            let kind = phase.map(|word| phase_of(Some(word)));
            let kind = kind.ok_or_else(|| node.missing("phase", "the phase whose step it is"))?;
            When::Step(kind, step_of(node, kind, step.unwrap_or_default())?)
        }
        Some("notice") => When::Notice(notice_of(node, "notice", notice.unwrap_or_default())?),
        Some("row") => When::Row(row_of(node, "row", row.unwrap_or_default())?),
        Some("when") => When::Holds(condition(node, "when", &when.unwrap_or_default(), names)?),
        _ => When::Job,
    };
    Ok(Begin { when, after: after + at.unwrap_or(0.0) })
}

fn end(node: &mut Node, names: &Names) -> Result<End, Diagnostic> {
    let key = only(node, &ENDS, "when it ends")?;
    let seconds = node.opt_quantity("for", Dim::Time, 1e-3..=DAY)?;
    let at = node.opt_quantity("until_at", Dim::Time, 0.0..=DAY)?;
    let phase = node.opt_one_of("until_phase_ends", &PHASE_WORDS)?;
    let notice = node.opt_word_of("until_notice", IDS)?;
    let row = node.opt_word_of("until_row", &rows())?;
    let until = node.opt_string("until")?;
    Ok(match key {
        Some("for") => End::After(seconds.unwrap_or(DAY)),
        Some("until_at") => End::At(at.unwrap_or(DAY)),
        Some("until_phase_ends") => End::PhaseEnds(phase_of(phase)),
        Some("until_notice") => End::Notice(notice_of(node, "until_notice", notice.unwrap_or_default())?),
        Some("until_row") => End::Row(row_of(node, "until_row", row.unwrap_or_default())?),
        Some("until") => End::Holds(condition(node, "until", &until.unwrap_or_default(), names)?),
        _ => End::Never,
    })
}

/// The phase of a word that was found among [`PHASE_WORDS`].
fn phase_of(word: Option<&str>) -> PhaseKind {
    let at = word.and_then(|word| PHASE_WORDS.iter().position(|one| *one == word));
    at.and_then(|at| Phase::ALL.get(at).copied()).unwrap_or(Phase::Identify)
}

fn step_of(node: &Node, kind: PhaseKind, step: String) -> Result<String, Diagnostic> {
    let steps = Running::step_words(kind);
    if steps.contains(&step.as_str()) {
        return Ok(step);
    }
    let wrong = format!("{}: {} has no step `{step}`", node.full_name("step"), kind.name());
    Err(node.error_at("step", wrong).with_help(match nearest(&step, steps.iter().copied()) {
        _ if steps.is_empty() => "it has no steps of its own: take `step` out".to_owned(),
        Some(near) => format!("nearest: `{near}`; steps: {}", steps.join(", ")),
        None => format!("steps: {}", steps.join(", ")),
    }))
}

fn notice_of(node: &Node, key: &str, id: String) -> Result<String, Diagnostic> {
    if IDS.contains(&id.as_str()) {
        return Ok(id);
    }
    let near = nearest(&id, IDS.iter().copied()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
    let wrong = node.error_at(key, format!("{}: no notice is called `{id}`", node.full_name(key)));
    Err(wrong.with_help(format!("{near}notices: {}", IDS.join(", "))))
}

fn rows() -> Vec<&'static str> {
    ROWS.iter().map(|row| row.id.as_str()).collect()
}

fn row_of(node: &Node, key: &str, id: String) -> Result<String, Diagnostic> {
    let ids = rows();
    if ids.contains(&id.as_str()) {
        return Ok(id);
    }
    let wrong = node.error_at(key, format!("{}: no interlock row is called `{id}`", node.full_name(key)));
    Err(wrong.with_help(format!("rows: {}", ids.join(", "))))
}

/// A condition in the words of properties.
fn condition(node: &Node, key: &str, text: &str, names: &Names) -> Result<Condition, Diagnostic> {
    Condition::read(text, names).map_err(|wrong| {
        node.error_at(key, format!("{}: {}", node.full_name(key), wrong.message)).with_help(wrong.help)
    })
}

/// Whether it can begin then, and end then.
fn fits(node: &Node, injection: &Injection, begin: &Begin, end: &End) -> Result<(), Diagnostic> {
    let id = injection.id;
    let here = |what: String, help: &str| Err(node.error_here(what).with_help(help));
    match injection.begins {
        Begins::AnyTime => {}
        Begins::AtATime if begin.when == When::Job => {}
        Begins::AtATime => {
            return here(
                format!("{}: {id} is prepared from the run's beginning", node.path()),
                "say `at`, the time at which it comes",
            );
        }
        Begins::WithTheJob if begin.when == When::Job && begin.after == 0.0 => {}
        Begins::WithTheJob => {
            return here(
                format!("{}: {id} is of the order itself", node.path()),
                "take out what says when it begins: it begins with the job",
            );
        }
    }
    if injection.stays && *end != End::Never {
        return here(format!("{}: what {id} does stays", node.path()), "take out what says when it ends");
    }
    if let (When::Job, End::At(until)) = (&begin.when, end)
        && *until <= begin.after
    {
        return here(format!("{}: {id} ends before it begins", node.path()), "let `until_at` be later than `at`");
    }
    Ok(())
}
