//! Evidence for programs and spreadsheets.

use serde_json::{Value, json};

use super::{Evidence, Id, Node, Shown, Where};
use crate::matrix::words;

fn of(node: Node<'_>) -> Value {
    match node {
        Node::Hazard(one) => json!(one),
        Node::Fault(one) => json!(one),
        Node::Law(one) => json!(one),
        Node::Example(one) => json!(one),
        Node::Row(row) => {
            json!({ "why": row.why.text(), "hazards": words::hazards(row).map(Id::from).collect::<Vec<_>>() })
        }
        Node::RowToCome(one) => json!({ "why": one.why }),
    }
}

/// What shows an id.
pub fn shown(evidence: &Evidence, id: Id) -> Value {
    let record = |one: &Shown| json!({ "by": one.by, "name": one.name, "command": one.command() });
    evidence.shown_by(id).map(record).collect()
}

/// Faults that can defeat a row.
pub fn faults(evidence: &Evidence, id: Id) -> Value {
    let Some(Node::Row(row)) = evidence.node(id) else { return json!([]) };
    let record =
        |(fault, at): (&super::Fault, Where)| json!({ "id": fault.id, "at": at, "what": Node::Fault(fault).title() });
    evidence.faults_of(row).into_iter().map(record).collect()
}

/// One id: what it stands for, what lies around it, what shows it; `None` where it is not defined.
pub fn record(evidence: &Evidence, id: Id) -> Option<Value> {
    let node = evidence.node(id)?;
    let mut record = json!({
        "id": id,
        "kind": id.kind.noun(),
        "title": node.title(),
        "is": of(node),
        "around": evidence.around(id),
        "shown_by": shown(evidence, id),
    });
    if let Some(open) = evidence.open(id) {
        record["open"] = json!({ "missing": open.missing, "why": open.why });
    }
    if let Node::Row(_) = node {
        record["defeated_by"] = faults(evidence, id);
    }
    Some(record)
}

/// Every id.
pub fn all(evidence: &Evidence) -> Value {
    evidence.ids().into_iter().filter_map(|id| record(evidence, id)).collect()
}

/// One line an id: what it stands for, what lies around it, what shows it, or why nothing does.
///
/// # Errors
/// None on memory; the writer's type says so.
pub fn csv(evidence: &Evidence, one: Option<Id>) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(["id", "kind", "title", "around", "shown by", "open"])?;
    for id in one.map_or_else(|| evidence.ids(), |id| vec![id]) {
        let around: Vec<String> = evidence.around(id).iter().map(ToString::to_string).collect();
        let shown: Vec<String> = evidence.shown_by(id).map(Shown::command).collect();
        writer.write_record([
            id.to_string(),
            id.kind.noun().to_owned(),
            evidence.node(id).map_or(String::new(), |node| node.title()),
            around.join(" "),
            shown.join("; "),
            evidence.open(id).map_or(String::new(), |open| open.why.clone()),
        ])?;
    }
    let bytes = writer.into_inner().map_err(|wrong| wrong.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
