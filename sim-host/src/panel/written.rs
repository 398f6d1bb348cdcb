//! What was done by hand as a scenario file: the file it began from, with the acts and faults at their times.

use std::fmt::Write;

use toml_edit::{DocumentMut, Item, Table, value};
use valvewright_core::token::Part;

use super::altered::Altered;
use super::start::Start;
use crate::scenario::model::Act;

/// Something that was done, s since the job began.
#[derive(Debug, Clone, PartialEq)]
pub enum Deed {
    /// The operator did this.
    Act(f64, Act),
    /// This part was put in and this code typed for it.
    Exchanged(f64, Part, String),
    /// This broke: keys and values of its table, and until when.
    Broke(f64, Vec<(String, String)>, Option<f64>),
    /// The interlock table is another since: rows are left out, set points moved, which no scenario file can say.
    Altered(f64, Altered),
}

impl Deed {
    /// When.
    pub const fn at(&self) -> f64 {
        match self {
            Self::Act(t, _) | Self::Exchanged(t, ..) | Self::Broke(t, ..) | Self::Altered(t, _) => *t,
        }
    }
}

/// Faults that had broken by then (`before`) and were healed later: when, and their places in the run, of which `files` are of its file.
pub fn heals(all: &[Deed], before: &[Deed], files: usize) -> Vec<(f64, usize)> {
    let ends = |deeds: &[Deed]| -> Vec<Option<f64>> {
        let end = |deed: &Deed| if let Deed::Broke(_, _, until) = deed { Some(*until) } else { None };
        deeds.iter().filter_map(end).collect()
    };
    let pairs = ends(before).into_iter().zip(ends(all)).enumerate();
    let mut list: Vec<(f64, usize)> =
        pairs.filter_map(|(at, (was, is))| is.filter(|_| was.is_none()).map(|t| (t, files + at))).collect();
    list.sort_by(|a, b| a.0.total_cmp(&b.0));
    list
}

/// The file's text.
///
/// # Errors
/// What was done cannot be said in a scenario file, and why.
pub fn scenario(start: &Start, deeds: &[Deed], hash: (f64, &str)) -> Result<String, String> {
    if let Some(row) = deeds.iter().find(|one| matches!(one, Deed::Altered(..))) {
        let t = row.at();
        return Err(format!(
            "the interlock table was altered at {t} s: a scenario file has no interlock table. Go back to before that time, or give a row to \
             `valvewright run --without ROW` from the beginning"
        ));
    }
    let mut file: DocumentMut = start.source.text.parse().map_err(|why| format!("the scenario's text: {why}"))?;
    if start.by_hand {
        let operator = file.entry("operator").or_insert(Item::Table(Table::new()));
        operator["answers"] = value("none");
    }
    let mut text = String::new();
    let (t, hash) = hash;
    let _ = writeln!(
        text,
        "# Played by hand on the panel of Valvewright up to {t} s, where its trace had the hash {hash}."
    );
    if let Some(note) = &start.note {
        let _ = writeln!(text, "# {note}");
    }
    text += &file.to_string();
    for deed in deeds {
        match deed {
            Deed::Act(t, act) => {
                let _ = write!(text, "\n[[operator.act]]\ndo = \"{}\"\nat = \"{t} s\"\n", act.word());
            }
            Deed::Exchanged(t, part, code) => {
                let (part, code) = (part.name(), serde_json::Value::from(code.as_str()));
                let _ = write!(
                    text,
                    "\n[[operator.act]]\ndo = \"exchange\"\npart = \"{part}\"\ncode = {code}\nat = \"{t} s\"\n"
                );
            }
            Deed::Broke(t, keys, until) => {
                text += "\n[[fault]]\n";
                for (key, value) in keys {
                    let _ = writeln!(text, "{key} = {}", serde_json::Value::from(value.as_str()));
                }
                let _ = writeln!(text, "at = \"{t} s\"");
                if let Some(until) = until {
                    let _ = writeln!(text, "until_at = \"{until} s\"");
                }
            }
            Deed::Altered(..) => {}
        }
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::{Altered, Deed, Start, scenario};
    use crate::scenario::diagnostic::Source;
    use crate::scenario::model::Act;

    fn start(text: &str, by_hand: bool) -> Start {
        Start::of(Source::new("x.toml", text), by_hand)
    }

    #[test]
    fn a_switched_row_cannot_be_saved_and_says_from_when_on() {
        let deeds = [Deed::Act(1.0, Act::Reset), Deed::Altered(12.5, Altered::default())];
        let wrong = scenario(&start("title = \"x\"", false), &deeds, (20.0, "0"));
        assert!(wrong.as_ref().is_err_and(|why| why.contains("12.5 s") && why.contains("--without")), "{wrong:?}");
    }

    #[test]
    fn questions_left_to_the_page_are_answered_by_nobody_else_in_the_file() {
        let of = start("title = \"x\"\n[operator]\nanswers = \"confirm\"\n", true);
        let text = scenario(&of, &[], (0.0, "0"));
        assert!(text.as_ref().is_ok_and(|text| text.contains("answers = \"none\"")), "{text:?}");
    }
}
