//! The graph of evidence is closed: every id that is named is defined, every id that is defined is shown by a test or scenario that runs,
//! or stands in `sim-host/data/open.csv` with the reason.

use std::collections::BTreeSet;

use crate::evidence_scan::{cited, fresh, house, keep, scan};
use valvewright_core::interlock::table::ROWS;
use valvewright_sim::evidence::{Evidence, Id, Kind, Missing};

/// What keeps an id from being closed; empty where it is shown or honestly open.
fn lacks(evidence: &Evidence, id: Id) -> Option<String> {
    let title = evidence.node(id).map_or(String::new(), |node| node.title());
    let by = evidence.shown_by(id).next();
    match (by, evidence.open(id)) {
        (None, None) => Some(format!(
            "{id} ({title}) is shown by no test or scenario: mark a test that shows it with `/// Shows {id}.`, a scenario with `shows = [\"{id}\"]`, or list it \
             in sim-host/data/open.csv with the reason"
        )),
        (Some(by), Some(open)) if open.missing != Missing::Reaction => {
            Some(format!("{id} stands in sim-host/data/open.csv, and {} shows it: take the line out", by.name))
        }
        (None, Some(open)) if open.missing == Missing::Row && ROWS.iter().any(|row| Id::from(row.id) == id) => Some(
            format!("{id} is in the table now: mark a test of it, and take its line out of sim-host/data/open.csv"),
        ),
        (_, Some(open)) if open.why.trim().len() < 10 => Some(format!("{id} is open without a reason")),
        _ => None,
    }
}

#[test]
fn every_id_that_is_defined_is_shown_or_open_with_its_reason() {
    let (scan, evidence) = (scan(), fresh());
    let named = cited().0;
    let mut wrong = scan.wrong.clone();
    for id in evidence.ids() {
        let Some(mut why) = lacks(&evidence, id) else { continue };
        for (place, _, idle) in scan.idle.iter().filter(|one| one.1 == id) {
            why.push_str(&format!("\n    {place} is marked and {idle}"));
        }
        let tests =
            named.iter().filter(|(file, cite)| cite.id == id && file.contains("tests/") && file.ends_with(".rs"));
        for (file, cite) in tests.take(6) {
            why.push_str(&format!("\n    named, which does not count, in {file}:{}", cite.line));
        }
        wrong.push(why);
    }
    let open: Vec<Id> = evidence.open.iter().map(|one| one.id).collect();
    let undefined = open.iter().filter(|id| evidence.node(**id).is_none());
    wrong.extend(undefined.map(|id| format!("{id} stands in sim-host/data/open.csv and is not defined")));
    let unknown = evidence.shown.iter().filter(|one| evidence.node(one.id).is_none());
    wrong.extend(unknown.map(|one| format!("{} shows {}, which is not defined", one.name, one.id)));
    assert_eq!(
        open,
        open.iter().copied().collect::<BTreeSet<_>>().into_iter().collect::<Vec<_>>(),
        "open.csv: in order, each once"
    );
    assert!(wrong.is_empty(), "{} ids are not closed:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_id_that_is_named_is_defined() {
    let evidence = fresh();
    let (cites, mut wrong) = cited();
    assert!(cites.len() > 1_000, "only {} ids were found", cites.len());
    for (file, cite) in cites.iter().filter(|(_, cite)| evidence.node(cite.id).is_none()) {
        let near: Vec<String> = evidence.nearest(&cite.id.to_string()).iter().map(ToString::to_string).collect();
        wrong.push(format!("{file}, line {}: {} is not defined; nearest: {}", cite.line, cite.id, near.join(", ")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What the program carries is what its sources say.
#[test]
fn what_shows_an_id_is_on_record() {
    let mut made = String::from("id,by,name\n");
    for one in scan().shown {
        made.push_str(&format!("{},{},{}\n", one.id, format!("{:?}", one.by).to_lowercase(), one.name));
    }
    keep("sim-host/data/shown.csv", &made);
}

/// Ids run through from 1, each once, and every edge leads somewhere.
#[test]
fn the_tables_agree_with_each_other() {
    let evidence = Evidence::read().unwrap_or_else(|wrong| panic!("{wrong}"));
    let of = |kind: Kind| -> Vec<u16> {
        let all = evidence.hazards.iter().map(|one| one.id).chain(evidence.faults.iter().map(|one| one.id));
        let all = all.chain(evidence.laws.iter().map(|one| one.id)).chain(evidence.examples.iter().map(|one| one.id));
        all.filter(|id| id.kind == kind).map(|id| id.number).collect()
    };
    for (kind, last) in
        [(Kind::Hazard, 25), (Kind::Fault, 138), (Kind::ControllerLaw, 9), (Kind::SimulatorLaw, 9), (Kind::Example, 39)]
    {
        assert_eq!(of(kind), (1..=last).collect::<Vec<u16>>(), "{}", kind.noun());
    }
    let mut wrong = Vec::new();
    let mut say = |holds: bool, what: String| wrong.extend((!holds).then_some(what));
    let source = |id: &str| evidence.sources.iter().any(|one| one.id == id);
    for one in &evidence.hazards {
        let rows = evidence.rows_of(one.id);
        say(
            !rows.is_empty() || !one.beyond_rows.is_empty(),
            format!("{}: no row answers it, and nothing beside rows", one.id),
        );
        say(!one.defeated_by.is_empty(), format!("{}: no fault defeats its answer", one.id));
        for fault in &one.defeated_by {
            let found = evidence.faults.iter().find(|fault_| fault_.id == *fault);
            say(
                found.is_some_and(|found| found.hazards.contains(&one.id)),
                format!("{}: {fault} does not lead there", one.id),
            );
        }
        for worked in &one.worked {
            say(evidence.node(*worked).is_some(), format!("{}: {worked} is not defined", one.id));
        }
        for (at, figure) in one.figure.iter().enumerate() {
            let letter = char::from(b'a' + u8::try_from(at).expect("few figures"));
            say(figure.id == format!("{}{letter}", one.id), format!("{} is out of order", figure.id));
            say(figure.source.as_deref().is_none_or(source), format!("{}: its source is not defined", figure.id));
            say(!figure.how.is_empty() && !figure.unit.is_empty(), format!("{}: no reason or unit", figure.id));
        }
        say(!one.figure.is_empty(), format!("{}: no figure", one.id));
    }
    for one in &evidence.faults {
        say(!one.hazards.is_empty(), format!("{} leads nowhere", one.id));
        for hazard in &one.hazards {
            say(evidence.node(*hazard).is_some(), format!("{}: {hazard} is not defined", one.id));
        }
        let timed = one.budget_s.parse::<f64>().is_ok_and(|seconds| seconds > 0.0);
        say(timed || matches!(one.budget_s.as_str(), "pre" | "pt"), format!("{}: no time", one.id));
    }
    for one in &evidence.examples {
        say(source(&one.source), format!("{}: its source is not defined", one.id));
    }
    assert_eq!(wrong, Vec::<String>::new());
}

/// A source that nothing uses is no source.
#[test]
fn every_source_is_used_by_a_figure_or_named_in_the_program() {
    let evidence = Evidence::shipped();
    let mut text = String::new();
    for folder in ["core/src", "sim-host/src", "sim-host/networks", "docs", "tests/tests"] {
        collect(&house().join(folder), &mut text);
    }
    for one in &evidence.sources {
        let figures = evidence.hazards.iter().flat_map(|hazard| &hazard.figure);
        let used = evidence.examples.iter().any(|w| w.source == one.id)
            || figures.into_iter().any(|figure| figure.source.as_deref() == Some(one.id.as_str()))
            || !one.cited_as.is_empty() && text.contains(&one.cited_as);
        assert!(used, "{} ({}) is used nowhere", one.id, one.what);
        assert!(
            one.cited_as.is_empty() || text.contains(&one.cited_as),
            "{}: nothing cites it as `{}`",
            one.id,
            one.cited_as
        );
    }
}

/// Texts below a folder, without the pages that are made from the tables themselves.
fn collect(folder: &std::path::Path, text: &mut String) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let made = ["evidence.md", "worked.md", "laws.md", "evidence_graph.rs"].iter().any(|one| path.ends_with(one));
        if path.is_dir() {
            collect(&path, text);
        } else if !made && path.extension().is_some_and(|end| ["rs", "md", "toml"].iter().any(|one| end == *one)) {
            text.push_str(&std::fs::read_to_string(path).expect("a text"));
        }
    }
}

/// A hole in the graph is told with the id: shown and open, neither, a row that came, no reason.
#[test]
fn a_hole_is_told_with_its_id() {
    let mut evidence = fresh();
    evidence.shown.clear();
    evidence.open.clear();
    let (fault, row) = (Id::new(Kind::Fault, 39), Id::new(Kind::Row, 1));
    let says = |evidence: &Evidence, id: Id, what: &str| {
        let why = lacks(evidence, id).unwrap_or_else(|| panic!("{id}: nothing said, `{what}` expected"));
        assert!(why.contains(what) && why.contains(&id.to_string()), "{why}");
    };
    says(&evidence, fault, "(cabinet gas detector (AT-2): open circuit) is shown by no test or scenario");
    let open = |id, missing, why: &str| valvewright_sim::evidence::Open { id, missing, why: why.to_owned() };
    evidence.open = vec![open(fault, Missing::Showing, "no injection for it yet")];
    assert_eq!(lacks(&evidence, fault), None);
    evidence.open = vec![open(fault, Missing::Showing, " ")];
    says(&evidence, fault, "without a reason");
    evidence.open = vec![open(row, Missing::Row, "it is to come some day")];
    says(&evidence, row, "is in the table now");
    let by = valvewright_sim::evidence::By::Suite;
    evidence.shown = vec![valvewright_sim::evidence::Shown { id: fault, by, name: "a::b".to_owned() }];
    assert_eq!(lacks(&evidence, fault), None);
    evidence.open = vec![open(fault, Missing::Showing, "no injection for it yet")];
    says(&evidence, fault, "a::b shows it: take the line out");
}
