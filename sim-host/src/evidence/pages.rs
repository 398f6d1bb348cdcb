//! Pages of the book that are made from evidence: hazards with all that hangs on them, the laws, the worked examples with their sources.

use std::fmt::Write;

use super::text::{capital, counts, list, state};
use super::{By, Evidence, Id, Kind, Known, Missing, Node, Shown};

/// How the pages are renewed.
const MADE: &str =
    "a test keeps it so, and `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- evidence` renews it";

/// A cell of a table: its bars would end it.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}

/// Where the page of an id is: hazards, faults and rows that are to come on the page of evidence, rows on that of the table.
pub fn link(id: Id) -> String {
    let anchor = id.to_string().to_lowercase();
    match id.kind {
        Kind::Hazard => format!("[{id}](evidence.md#{anchor})"),
        Kind::Row => format!("[{id}](interlock-table.md#{anchor})"),
        Kind::ControllerLaw | Kind::SimulatorLaw => format!("[{id}](laws.md#{anchor})"),
        Kind::Fault => id.to_string(),
        Kind::Example => format!("[{id}](worked.md)"),
    }
}

fn links(ids: &[Id]) -> String {
    ids.iter().map(|id| link(*id)).collect::<Vec<_>>().join(", ")
}

fn shown(one: &Shown) -> String {
    match one.by {
        By::Core => format!("`{}` (core)", one.name),
        By::Library | By::Suite => format!("`{}`", one.name),
        By::Scenario => format!("scenario `{}`", one.name),
    }
}

/// What shows an id, or why nothing does.
pub fn shown_cell(evidence: &Evidence, id: Id) -> String {
    let all: Vec<String> = evidence.shown_by(id).map(shown).collect();
    if all.is_empty() { state(evidence, id) } else { all.join(", ") }
}

/// The page of evidence.
pub fn evidence(evidence: &Evidence) -> String {
    let mut out = format!(
        "# Evidence\n\nWhat can go wrong, which row of the [interlock table](interlock-table.md) answers it, which faults can take the answer away, and which test \
         or scenario shows it. Made from `sim-host/data` and the table of the core; {MADE}. `valvewright matrix --evidence` prints it, \
         `valvewright matrix --evidence F023` one id in full.\n\n\
         A test shows an id where its own lines say so (`/// Shows I03, F001.`), a scenario where its key `shows` names it; an id that is only talked about is \
         not shown. Names before `(core)` are tests of the controller alone: `cargo test -p valvewright-core --test controller -- --exact NAME`. \
         Other names are tests of whole jobs: `cargo test -p valvewright-tests --test suite -- --exact NAME`. A scenario is run by `valvewright run NAME`.\n\n\
         | | shown | of |\n| --- | --- | --- |\n"
    );
    // Writing to a String cannot fail, here and below.
    for (kind, shown, of) in counts(evidence) {
        let _ = writeln!(out, "| {} | {shown} | {of} |", kind.noun());
    }
    out.push_str("\nWhat is not shown, or not met, is listed with its reason [at the end](#not-shown-or-not-met-yet). Laws have a [page](laws.md) of their own, as have [worked examples](worked.md).\n");
    for one in &evidence.hazards {
        hazard(&mut out, evidence, one);
    }
    out.push_str("\n## Not shown or not met yet\n\n| id | what | what is missing | why |\n| --- | --- | --- | --- |\n");
    for one in &evidence.open {
        let title = match one.missing {
            Missing::Row => String::new(),
            Missing::Showing | Missing::Reaction => evidence.node(one.id).map_or(String::new(), |node| node.title()),
        };
        let missing = match one.missing {
            Missing::Row => "the row",
            Missing::Showing => "a test or scenario",
            Missing::Reaction => "the reaction in time",
        };
        let _ = writeln!(out, "| {} | {} | {missing} | {} |", one.id, cell(&title), cell(&one.why));
    }
    out
}

fn hazard(out: &mut String, evidence: &Evidence, one: &super::Hazard) {
    let _ = writeln!(
        out,
        "\n## {}\n\n**{}.** Limit: {}. Accident: {}.\n",
        one.id,
        capital(&one.title),
        one.limit,
        one.accident
    );
    let _ = writeln!(out, "- Leads there: {}.", one.acts.join("; "));
    if !one.sensing.is_empty() {
        let _ = writeln!(out, "- Can be seen by: {}.", one.sensing.join(", "));
    }
    let rows: Vec<Id> = evidence.rows_of(one.id).into_iter().map(|row| Id::from(row.id)).collect();
    if !rows.is_empty() {
        let _ = writeln!(out, "- Answered by: {}.", links(&rows));
    }
    if !one.beyond_rows.is_empty() {
        let _ = writeln!(out, "- Beside rows: {}.", one.beyond_rows);
    }
    if !one.worked.is_empty() {
        let _ = writeln!(out, "- Worked examples: {}.", links(&one.worked));
    }
    let _ = writeln!(out, "- Shown by: {}.", shown_cell(evidence, one.id));
    out.push_str("\n| figure | of what | | known | from |\n| --- | --- | --- | --- | --- |\n");
    for figure in &one.figure {
        let source = figure.source.as_deref().and_then(|id| evidence.sources.iter().find(|one| one.id == id));
        let from = source.map_or(figure.how.clone(), |source| format!("{}; {}", figure.how, source.what));
        let _ = writeln!(
            out,
            "| {} | {} | {} {} | {} | {} |",
            figure.id,
            cell(&figure.what),
            figure.value,
            figure.unit,
            figure.mark.word(),
            cell(&from)
        );
    }
    out.push_str("\n| fault | what breaks | rows it can defeat | found by | safe reaction | within | shown by |\n| --- | --- | --- | --- | --- | --- | --- |\n");
    let of = |fault: &&super::Fault| fault.hazards.contains(&one.id);
    for fault in evidence.faults.iter().filter(of) {
        let rows: Vec<Id> = evidence.around(fault.id).into_iter().filter(|id| rows.contains(id)).collect();
        let _ = writeln!(
            out,
            "| {} | {} ({}): {}{} | {} | {} | {} | {} | {} |",
            fault.id,
            cell(&fault.component),
            fault.tag,
            cell(&fault.failure_mode),
            if fault.latent { " *(latent)*" } else { "" },
            links(&rows),
            cell(&fault.detection),
            cell(&fault.expected_safe_reaction),
            fault.budget(),
            shown_cell(evidence, fault.id),
        );
    }
}

/// One id in full; nothing where it is not defined.
pub fn section(evidence: &Evidence, id: Id) -> Option<String> {
    let node = evidence.node(id)?;
    let mut out = String::new();
    if let Node::Hazard(one) = node {
        hazard(&mut out, evidence, one);
        return Some(out.trim_start().to_owned());
    }
    let _ = writeln!(out, "## {id}\n\n**{}.**", capital(&node.title()));
    if let Node::Law(law) = node {
        let _ = writeln!(out, "\n{}", law.text);
    }
    let around = evidence.around(id);
    if !around.is_empty() {
        let _ = writeln!(out, "\n- Beside it: {}.", links(&around));
    }
    let _ = writeln!(out, "\n- Shown by: {}.", shown_cell(evidence, id));
    Some(out)
}

/// The page of the laws.
pub fn laws(evidence: &Evidence) -> String {
    let mut out = format!(
        "# Laws\n\nWhat controller and simulator are built to. A comment in the sources that names a law by its id leads here. Made from `sim-host/data/laws.toml`; {MADE}.\n"
    );
    for (kind, head) in [(Kind::ControllerLaw, "The controller"), (Kind::SimulatorLaw, "The simulator")] {
        let _ = writeln!(out, "\n## {head}");
        for law in evidence.laws.iter().filter(|law| law.id.kind == kind) {
            let _ = writeln!(
                out,
                "\n### {}\n\n**{}.** {}\n\nShown by: {}.",
                law.id,
                capital(&law.title),
                law.text,
                shown_cell(evidence, law.id)
            );
        }
    }
    out
}

/// The page of worked examples and sources.
pub fn worked(evidence: &Evidence) -> String {
    let mut out = format!(
        "# Worked examples and sources\n\nProblems with known answers that programs are held to. Figures were worked again with CoolProp 8.0.0 where they need \
         properties. R = 8.314462618 J/(mol K), 1 atm = 101 325 Pa, 1 inHg = 3 386.389 Pa, 1 psi = 6 894.757 Pa, a year = 365.25 d. Made from \
         `sim-host/data/examples.csv` and `sources.csv`; {MADE}.\n\n"
    );
    for (known, meaning) in KNOWN {
        let _ = writeln!(out, "- *{}*: {meaning}", known.word());
    }
    out.push_str("\n| id | what | given | rule | figure | unit | within | source | known | used by | shown by |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for one in &evidence.examples {
        let source =
            if one.part.is_empty() { format!("`{}`", one.source) } else { format!("`{}` {}", one.source, one.part) };
        let cells = [
            one.id.to_string(),
            cell(&one.what),
            cell(&one.given),
            cell(&one.rule),
            cell(&one.figure),
            cell(&one.unit),
            cell(&one.tolerance),
            cell(&source),
            one.known.word().to_owned(),
            links(&evidence.around(one.id)),
            shown_cell(evidence, one.id),
        ];
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push_str("\n## Sources\n\n| source | what it is | kind | known | used by |\n| --- | --- | --- | --- | --- |\n");
    for one in &evidence.sources {
        let examples: Vec<Id> = evidence.examples.iter().filter(|w| w.source == one.id).map(|w| w.id).collect();
        let figures = evidence.hazards.iter().flat_map(|hazard| &hazard.figure);
        let figures =
            figures.filter(|figure| figure.source.as_deref() == Some(&one.id)).map(|figure| figure.id.clone());
        let mut used: Vec<String> = figures.collect();
        if !examples.is_empty() {
            used.insert(0, list(&examples));
        }
        let _ = writeln!(
            out,
            "| `{}` | {} | {} | {} | {} |",
            one.id,
            cell(&one.what),
            one.kind,
            one.known.word(),
            used.join(", ")
        );
    }
    out
}

/// What the marks of knowledge mean.
const KNOWN: [(Known, &str); 5] = [
    (Known::Seen, "read in the source named, or in a public copy of it"),
    (Known::Told, "read in a text about the source, not in the source"),
    (Known::Computed, "worked out from what stands beside it"),
    (Known::Own, "our own choice or our own problem; only the rule is common knowledge"),
    (Known::Memory, "from memory, to be confirmed before it is relied on"),
];
