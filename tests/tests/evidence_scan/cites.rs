//! Finds the ids that a text names, in code and comments alike: single ones, ranges, and laws by their number.

use std::sync::LazyLock;

use regex_lite::Regex;
use valvewright_sim::evidence::{Id, Kind};

/// An id that a text names.
#[derive(Clone, Debug, PartialEq)]
pub struct Cite {
    /// The id.
    pub id: Id,
    /// In this line, from 1.
    pub line: usize,
}

/// A first id, and what may follow it: a hyphen and a second one.
static IDS: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"\b(LC|LS|F|H|I|W)(\d+)(\w*)(?:(?:-|–| to )(?:(LC|LS|F|H|I|W)?(\d+)(\w*)))?").expect("a pattern")
});
static LAWS: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"\b[Ll]aws? (\d+)(?: of the (controller|simulator))?").expect("a pattern"));
/// The emergency stop, whose id is its tag.
static STOP: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"\bHS-1\b").expect("a pattern"));

/// Whether a line may hold an id at all: most don't, and this is quick.
fn may_hold(line: &str) -> bool {
    let head = |two: &[u8]| matches!(two, [b'F' | b'H' | b'I' | b'W' | b'C' | b'S', b'0'..=b'9']);
    line.as_bytes().windows(2).any(head) || line.contains("HS-1") || line.contains("aw ") || line.contains("aws ")
}

/// The ids that a text names, and what is wrong with what looks like one.
pub fn read(text: &str) -> (Vec<Cite>, Vec<String>) {
    let (mut cites, mut wrong) = (Vec::new(), Vec::new());
    for (at, line) in text.lines().enumerate().filter(|(_, line)| may_hold(line)) {
        let at = at + 1;
        for found in IDS.captures_iter(line) {
            let part = |number: usize| found.get(number).map_or("", |one| one.as_str());
            match ids(part(1), part(2), part(3), part(4), part(5), part(6)) {
                Ok(list) => cites.extend(list.into_iter().map(|id| Cite { id, line: at })),
                Err(why) => wrong.push(format!("line {at}: {why}")),
            }
        }
        for found in LAWS.captures_iter(line) {
            let number = found[1].parse().unwrap_or(0);
            match found.get(2).map(|one| one.as_str()) {
                Some("controller") => cites.push(Cite { id: Id::new(Kind::ControllerLaw, number), line: at }),
                Some(_) => cites.push(Cite { id: Id::new(Kind::SimulatorLaw, number), line: at }),
                None => wrong.push(format!("line {at}: `{}`: of the controller or of the simulator?", &found[0])),
            }
        }
        cites.extend(STOP.find_iter(line).filter_map(|_| Some(Cite { id: Id::parse("HS-1")?, line: at })));
    }
    (cites, wrong)
}

/// The ids of one find; none where it only looks like one.
fn ids(head: &str, digits: &str, tail: &str, head2: &str, digits2: &str, tail2: &str) -> Result<Vec<Id>, String> {
    let whole = format!("{head}{digits}");
    // The letter of a figure; any other word that goes on is a name of its own.
    let figure =
        head == "H" && digits.len() == 2 && tail.len() == 1 && tail.starts_with(|one: char| one.is_ascii_lowercase());
    if !tail.is_empty() && !figure {
        return Ok(Vec::new());
    }
    let Some(first) = Id::parse(&whole) else {
        // Outputs and devices have one digit after these letters.
        return if digits.len() < 2 { Ok(Vec::new()) } else { Err(format!("`{whole}` looks like an id and is none")) };
    };
    if digits2.is_empty() || figure || !tail2.is_empty() {
        return Ok(vec![first]);
    }
    if head2.is_empty() {
        // A count or a unit may follow a hyphen; three digits after three, or two after two, mean ids.
        let short = digits2.len() == digits.len() && head != "W" && digits.len() > 1;
        return if short { Err(format!("`{whole}-{digits2}`: write both ends in full")) } else { Ok(vec![first]) };
    }
    Id::parse_range(&format!("{whole}-{head2}{digits2}"))
}
