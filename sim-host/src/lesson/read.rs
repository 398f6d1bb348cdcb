//! From a lesson's file to a [`Lesson`]: every mistake with its place, and the scenario that is made of it.

use std::fmt::Write;

use toml_edit::DocumentMut;
use valvewright_core::order::PhaseKind;

use super::{Lesson, Question, Solution, Step, What};
use crate::hazard::CATALOGUE;
use crate::scenario::bounds::plain_name;
use crate::scenario::diagnostic::{Diagnostic, Problems, Source};
use crate::scenario::model::Act;
use crate::scenario::quantity::Dim;
use crate::scenario::reader::{self, Node};
use crate::scenario::{parse, shipped};

/// Longest time of a lesson, s.
const LONGEST: f64 = 86_400.0;

/// Keys of a table and their texts.
type Keys = Vec<(String, String)>;

/// Reads a lesson, or says everything that is wrong with it.
///
/// # Errors
/// What is wrong, each with its place.
pub fn read(source: &Source) -> Result<Lesson, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let lesson = read_root(document.root(), &mut problems);
    let lesson = lesson.filter(|_| problems.is_empty()).ok_or_else(|| problems.into_list())?;
    // The formulas are read with the scenario that they look at.
    parse::read(&lesson.scenario)?;
    Ok(lesson)
}

fn read_root(mut root: Node, p: &mut Problems) -> Option<Lesson> {
    let name = p.take(plain_name(&mut root));
    let title = p.take(root.string("title"));
    let about = p.take(root.string("about"));
    let minutes = p.take(root.integer("minutes", 1..=120));
    let base = p.take(base(&mut root));
    let by_hand = p.take(root.bool_or("by_hand", false));
    let from_phase = p.take(phase(&mut root));
    let from = p.take(root.quantity_or("from", Dim::Time, 0.0..=LONGEST, 0.0));
    let task = p.take(root.string("task"));
    let hints = p.take(root.strings("hints"));
    let teacher = p.take(root.string("teacher"));
    let shows_faults = p.take(root.bool_or("shows_faults", false));
    let hazards = p.take(hazards(&mut root));
    let question = p.take(root.opt_node("question")).map(|node| node.and_then(|node| read_question(node, p)));
    let goals = p.take(root.nodes("goal")).and_then(|nodes| tables(nodes, &["name", "formula", "why"], p));
    let faults = p.take(root.nodes("fault")).and_then(|nodes| tables(nodes, &[], p));
    let solution = p.take(root.node("solution")).and_then(|node| read_solution(node, p));
    let nothing = goals.as_ref().is_some_and(Vec::is_empty)
        && hazards.as_ref().is_some_and(Vec::is_empty)
        && question.as_ref().is_some_and(Option::is_none);
    if nothing {
        let wrong = root.error_here("the lesson has nothing to be checked by");
        p.push(wrong.with_help("give it [[goal]] tables, `hazards`, or a [question]"));
    }
    let (name, title) = (name?, title?);
    let scenario = p.take(compose(&root, base?, (&name, &title), &[("fault", &faults?), ("property", &goals?)]));
    root.finish_into(p);
    Some(Lesson {
        scenario: scenario?,
        name,
        title,
        about: about?,
        minutes: minutes?,
        by_hand: by_hand?,
        from_phase: from_phase?,
        from: from?,
        task: flowing(&task?),
        hints: hints?,
        teacher: flowing(&teacher?),
        shows_faults: shows_faults?,
        question: question?,
        hazards: hazards?,
        solution: solution?,
    })
}

/// Text as it flows on a page: where a line of the file ends is of no matter, an empty line parts paragraphs.
fn flowing(text: &str) -> String {
    let paragraphs = text.trim().split("\n\n").map(|one| one.split_whitespace().collect::<Vec<_>>().join(" "));
    paragraphs.collect::<Vec<_>>().join("\n\n")
}

/// The shipped scenario that the lesson takes place in.
fn base(root: &mut Node) -> Result<Source, Diagnostic> {
    let name = root.string("scenario")?;
    let names: Vec<&str> = shipped::SHIPPED.iter().chain(shipped::QUESTIONS).map(|one| one.name).collect();
    shipped::source(&name).ok_or_else(|| {
        let wrong = root.error_at("scenario", format!("scenario: `{name}` is not shipped"));
        wrong.with_help(format!("accepted: {}, and those of upkeep and of faults", names.join(", ")))
    })
}

fn phase(root: &mut Node) -> Result<Option<PhaseKind>, Diagnostic> {
    let names = PhaseKind::ALL.map(PhaseKind::name);
    let found = root.opt_one_of("from_phase", &names)?;
    Ok(found.and_then(|name| PhaseKind::ALL.into_iter().find(|one| one.name() == name)))
}

fn hazards(root: &mut Node) -> Result<Vec<String>, Diagnostic> {
    let list = root.strings("hazards")?;
    let ids: Vec<&str> = CATALOGUE.iter().map(|one| one.id.word()).collect();
    match list.iter().find(|one| !ids.contains(&one.as_str())) {
        Some(wrong) => Err(root
            .error_at("hazards", format!("hazards: `{wrong}` is no hazard"))
            .with_help(format!("accepted: {}", ids.join(", ")))),
        None => Ok(list),
    }
}

fn read_question(mut node: Node, p: &mut Problems) -> Option<Question> {
    let ask = p.take(node.string("ask"));
    let accept = p.take(node.strings("accept"));
    if accept.as_ref().is_some_and(Vec::is_empty) {
        p.push(node.error_here("[question] accepts no answer").with_help("give it `accept`, a list of right answers"));
    }
    node.finish_into(p);
    Some(Question { ask: ask?, accept: accept? })
}

/// Tables of texts, key by key; with `known` no other keys.
fn tables(nodes: Vec<Node>, known: &[&str], p: &mut Problems) -> Option<Vec<Keys>> {
    let mut all = Vec::new();
    for mut node in nodes {
        let keys: Vec<&str> = node.keys().into_iter().filter(|key| known.is_empty() || known.contains(key)).collect();
        let mut table = Vec::new();
        for key in keys {
            let value = p.take(node.string(key))?;
            table.push((key.to_owned(), value));
        }
        node.finish_into(p);
        all.push(table);
    }
    Some(all)
}

fn read_solution(mut node: Node, p: &mut Problems) -> Option<Solution> {
    let answer = p.take(node.opt_string("answer"));
    let as_asked = p.take(node.bool_or("as_asked", false));
    let until = p.take(node.quantity("until", Dim::Time, 0.0..=LONGEST));
    let mut steps = Vec::new();
    for step in p.take(node.nodes("step")).unwrap_or_default() {
        steps.extend(read_step(step, p));
    }
    node.finish_into(p);
    Some(Solution { answer: answer?, as_asked: as_asked?, steps, until: until? })
}

fn read_step(mut node: Node, p: &mut Problems) -> Option<Step> {
    let at = p.take(node.quantity("at", Dim::Time, 0.0..=LONGEST));
    let act = p.take(node.opt_one_of("act", &Act::WORDS))?.map(|word| What::Act(word.to_owned()));
    let broken = p.take(node.opt_string("break"))?.map(|words| What::Break(in_keys(&words)));
    let healed = p.take(node.opt_integer("heal", 0..=99))?.map(|place| What::Heal(place as usize));
    let without = p.take(node.opt_string("without"))?.map(What::Without);
    let with = p.take(node.opt_string("with"))?.map(What::With);
    let mut found: Vec<What> = [act, broken, healed, without, with].into_iter().flatten().collect();
    let what = found.pop().filter(|_| found.is_empty());
    if what.is_none() {
        p.push(node.error_here("a step does one thing").with_help("one of act, break, heal, without, with"));
    }
    node.finish_into(p);
    Some(Step { at: at?, what: what? })
}

/// `F001 mode=held tag=PT-1` as keys and values.
fn in_keys(words: &str) -> Vec<(String, String)> {
    let one = |word: &str| {
        word.split_once('=').map_or(("id".to_owned(), word.to_owned()), |(a, b)| (a.to_owned(), b.to_owned()))
    };
    words.split_whitespace().map(one).collect()
}

/// The scenario of a lesson: the shipped one under its own name, without what that expects, with these tables at its end.
fn compose(
    root: &Node,
    base: Source,
    (name, title): (&str, &str),
    lists: &[(&str, &[Keys])],
) -> Result<Source, Diagnostic> {
    let mut file: DocumentMut = base
        .text
        .parse()
        .map_err(|why| root.error_at("scenario", format!("scenario: its text cannot be read: {why}")))?;
    if file.contains_key("job") {
        let wrong = root.error_at("scenario", "scenario: a row of several jobs cannot be a lesson");
        return Err(wrong.with_help("name a scenario of one job"));
    }
    for gone in ["expect", "property", "shows", "summary"] {
        file.remove(gone);
    }
    file["name"] = toml_edit::value(name);
    file["title"] = toml_edit::value(title);
    Ok(Source::new(format!("{name}, composed"), written(&file.to_string(), lists)))
}

/// A scenario's text with tables of these names at its end.
fn written(text: &str, lists: &[(&str, &[Keys])]) -> String {
    let mut text = text.to_owned();
    for (head, tables) in lists {
        for table in *tables {
            let _ = write!(text, "\n[[{head}]]\n");
            for (key, value) in table {
                let _ = writeln!(text, "{key} = {}", serde_json::Value::from(value.as_str()));
            }
        }
    }
    text
}
