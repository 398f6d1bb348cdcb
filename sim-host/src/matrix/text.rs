//! The table for a terminal: all rows on one screen of 80 columns, or one row in full.

use std::fmt::Write;

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{ROWS, Role, Row};

use super::{key, marks, words};
use crate::display::Display;
use crate::display::wrap::{SOFT, bold, entries, entry, wrapped};
use crate::evidence::{self, Evidence};

/// Columns of a small terminal.
const SCREEN: usize = 80;

/// Every row with its marks, then what each is there for.
pub fn overview(evidence: &Evidence) -> String {
    let mut out = format!("{}\n", bold("Interlock table"));
    wrapped(&mut out, "", &key(), SCREEN);
    out.push('\n');
    // A valve's column has its number; the letters stand before the first.
    let heads = Actuator::ALL.map(|one| one.tag().strip_prefix("XV-").unwrap_or(one.tag()));
    let width = |head: &str| head.len().max(2) + 1;
    // Writing to a String cannot fail, here and below.
    let _ = write!(out, "{SOFT}row XV-");
    for head in heads {
        let _ = write!(out, "{head:>0$}", width(head));
    }
    let _ = writeln!(out, " latch      answers{SOFT:#}");
    for row in ROWS {
        let _ = write!(out, "{}   ", bold(format!("{:<4}", row.id)));
        for (one, head) in Actuator::ALL.into_iter().zip(heads) {
            let mark = marks(row, one);
            let _ = write!(out, "{:>1$}", if mark.is_empty() { "." } else { &mark }, width(head));
        }
        let hazards: Vec<String> = words::hazards(row).map(|one| one.to_string()).collect();
        let _ = writeln!(out, " {:<10} {}", words::latch(row.latch), hazards.join(","));
    }
    out.push('\n');
    for row in ROWS {
        let _ = writeln!(out, "{} {}", bold(format!("{:<6}", row.id)), evidence.hazard_title(row.hazard));
    }
    let _ = writeln!(
        out,
        "\n{SOFT}One row in full: valvewright matrix I11. As a page: --format html.{SOFT:#}\n{SOFT}Which faults can defeat each, which tests show it: --evidence.{SOFT:#}"
    );
    out
}

/// One row in full.
pub fn full(row: &Row, evidence: &Evidence, display: &Display) -> String {
    let mut out = format!("{}  {}\n\n", bold(row.id), row.why.text());
    for one in row.causes {
        let (name, gone) = match one.role {
            Role::Trip => ("trips when", "  clears"),
            Role::Permit => ("withheld", "  given"),
        };
        entry(&mut out, name, &words::acts(one).on(display));
        entry(&mut out, gone, &words::clears(one).on(display));
    }
    entry(&mut out, "bad input", "counts as tripped at once");
    out.push('\n');
    for (what, list) in words::effects(row) {
        entry(&mut out, what, &list.join(", "));
    }
    entry(&mut out, "Latch", &format!("{}: {}", words::latch(row.latch), words::latch_sentence(row.latch)));
    entry(&mut out, "To clear", row.reset.text());
    entries(&mut out, "Answers", words::hazards(row).map(|one| format!("{one} {}", evidence.hazard_title(one))));
    evidence::proof(&mut out, row, evidence);
    let _ = writeln!(out, "\n{SOFT}{}{SOFT:#}", display.setting());
    out
}
