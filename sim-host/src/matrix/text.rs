//! The table for a terminal: all rows on one screen of 80 columns, or one row in full.

use std::fmt::Write;

use anstyle::Style;
use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{ROWS, Role, Row};

use super::{key, marks, words};
use crate::display::Display;

const BOLD: Style = Style::new().bold();
const SOFT: Style = Style::new().dimmed();
/// Columns of a small terminal.
const SCREEN: usize = 80;
/// Columns of a row in full.
const WIDTH: usize = 100;
/// Columns of the names at the left of a row in full.
const NAMES: usize = 23;

fn bold(text: impl std::fmt::Display) -> String {
    format!("{BOLD}{text}{BOLD:#}")
}

/// Every row with its marks, then what each is there for.
pub fn overview() -> String {
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
        let _ = writeln!(out, "{} {}", bold(format!("{:<6}", row.id)), words::hazard(row.hazard));
    }
    let _ = writeln!(out, "\n{SOFT}One row in full: valvewright matrix I11. As a page: --format html.{SOFT:#}");
    out
}

/// One row in full.
pub fn full(row: &Row, display: &Display) -> String {
    let mut out = format!("{}  {}\n\n", bold(row.id), row.why);
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
    entry(&mut out, "To clear", row.reset);
    for (at, one) in words::hazards(row).enumerate() {
        entry(&mut out, if at == 0 { "Answers" } else { "" }, &format!("{one} {}", words::hazard(one)));
    }
    let _ = writeln!(out, "\n{SOFT}{}{SOFT:#}", display.setting());
    out
}

/// A name and what belongs to it.
fn entry(out: &mut String, name: &str, text: &str) {
    wrapped(out, &format!("  {name:<NAMES$}"), text, WIDTH);
}

/// Text behind a head, broken at blanks and set in below the head's end.
fn wrapped(out: &mut String, head: &str, text: &str, width: usize) {
    let room = head.len();
    let (mut line, mut length) = (head.to_owned(), room);
    for word in text.split(' ') {
        let letters = word.chars().count();
        if length > room && length + letters + 1 > width {
            let _ = write!(line, "\n{:room$}", "");
            length = room;
        }
        if length > room {
            line.push(' ');
            length += 1;
        }
        line.push_str(word);
        length += letters;
    }
    let _ = writeln!(out, "{line}");
}
