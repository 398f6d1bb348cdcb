//! The order on the page: its phases with what each is set to and how far it is, its text, and whether that may be another.

use serde_json::{Value, json};

use super::session::Session;
use crate::explain;
use crate::run::{Simulation, words};
use crate::scenario::order_text;

/// The phases of the order at hand, each done, at hand or to come.
pub fn plan(run: &Simulation) -> Vec<Value> {
    let (order, job) = (run.order(), run.station().job());
    let over = !job.busy() && !job.records().is_empty();
    let one = |phase: &valvewright_core::order::PhaseKind| {
        let done = job.records().iter().rev().find(|one| one.kind == *phase);
        let stand = match done {
            Some(record) => words::outcome(record.outcome).to_string(),
            None if job.phase() == Some(*phase) => "at hand".to_owned(),
            None if over => "not come to".to_owned(),
            None => "to come".to_owned(),
        };
        json!({
            "phase": phase.name(), "set": explain::setting(order, *phase), "stand": stand, "is_done": done.is_some(),
            "s": done.map(|record| f64::from(record.lasted.0) * 1e-3),
        })
    };
    order.phases.iter().map(one).collect()
}

/// The text of the order, and why it stays as it is where it does.
pub fn shown(session: &Session) -> Value {
    let start = session.start();
    json!({ "text": order_text::part(&start.source), "stays": start.order_stays(), "changed": start.note })
}
