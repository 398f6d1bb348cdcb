//! The table as the book prints it, in Markdown.

use std::fmt::Write;

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{ROWS, Row};

use super::{key, marks, words};
use crate::display::Display;
use crate::evidence::{Evidence, Id, Where, list, pages};

/// The whole page of the book: the table, and a section for each row.
pub fn book(evidence: &Evidence, display: &Display) -> String {
    let mut out = format!(
        "# Interlock table\n\nMade from `core/src/interlock/table.rs`; a test keeps it so. `valvewright matrix` prints it too. How to \
         read it: [interlock course](interlocks.md). {}\n\n| row |",
        key()
    );
    // Writing to a String cannot fail, here and below.
    for one in Actuator::ALL {
        let _ = write!(out, " {} |", one.tag());
    }
    out.push_str(" latch |\n| --- |");
    out.push_str(&" --- |".repeat(Actuator::ALL.len() + 1));
    for row in ROWS {
        let _ = write!(out, "\n| [{0}](#{1}) |", row.id, row.id.as_str().to_lowercase());
        for one in Actuator::ALL {
            let _ = write!(out, " {} |", marks(row, one));
        }
        let _ = write!(out, " {} |", words::latch(row.latch));
    }
    out.push('\n');
    for row in ROWS {
        out.push('\n');
        out.push_str(&section(row, evidence, display));
    }
    out
}

/// One row in full.
pub fn section(row: &Row, evidence: &Evidence, display: &Display) -> String {
    let hazards: Vec<String> = words::hazards(row)
        .map(|one| format!("{} ({})", pages::link(one.into()), evidence.hazard_title(one)))
        .collect();
    let mut out = format!("## {}\n\nAnswers {}: {}.\n\n", row.id, hazards.join(", "), row.why.text());
    for one in row.causes {
        let _ = writeln!(out, "- {}", words::cause(one).on(display));
    }
    out.push('\n');
    for (what, list) in words::effects(row) {
        let _ = writeln!(out, "{what}: {}.\n", list.join(", "));
    }
    let _ = writeln!(out, "Latch: {}. To clear: {}.\n", words::latch_sentence(row.latch), row.reset.text());
    let faults = evidence.faults_of(row);
    for place in Where::ALL {
        let ids: Vec<Id> = faults.iter().filter(|one| one.1 == place).map(|one| one.0.id).collect();
        if !ids.is_empty() {
            let _ = writeln!(out, "Can be defeated {}: {}.\n", place.words(), list(&ids));
        }
    }
    let _ = writeln!(out, "Shown by: {}.", pages::shown_cell(evidence, Id::from(row.id)));
    out
}
