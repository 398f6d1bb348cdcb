//! Names with text beside them on a terminal, broken at blanks.

use std::fmt::Write;

use anstyle::Style;

/// Heads and ids.
pub const BOLD: Style = Style::new().bold();
/// What may be overlooked.
pub const SOFT: Style = Style::new().dimmed();
/// Columns of what is told in full.
pub const WIDTH: usize = 100;
/// Columns of the names at the left of what is told in full.
const NAMES: usize = 23;

/// In bold.
pub fn bold(text: impl std::fmt::Display) -> String {
    format!("{BOLD}{text}{BOLD:#}")
}

/// A name and what belongs to it.
pub fn entry(out: &mut String, name: &str, text: &str) {
    wrapped(out, &format!("  {name:<NAMES$}"), text, WIDTH);
}

/// A name and what belongs to it, line by line; nothing where there is nothing.
pub fn entries(out: &mut String, name: &str, lines: impl IntoIterator<Item = String>) {
    for (at, line) in lines.into_iter().enumerate() {
        entry(out, if at == 0 { name } else { "" }, &line);
    }
}

/// Text behind a head, broken at blanks and set in below the head's end.
pub fn wrapped(out: &mut String, head: &str, text: &str, width: usize) {
    let room = head.len();
    let (mut line, mut length) = (head.to_owned(), room);
    for word in text.split(' ') {
        let letters = word.chars().count();
        if length > room && length + letters + 1 > width {
            // Writing to a String cannot fail, here and below.
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
