//! Host against board: which field of which scan differs first.

use std::fmt;

use valvewright_core::frame::{Actuator, Actuators, Outputs};
use valvewright_core::port::link::Answer;
use valvewright_core::talk::Notice;

/// The first field that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Scan, counted from 0.
    pub scan: u64,
    /// Its time on the monotonic tick, ms.
    pub at_ms: u32,
    /// The field, as a path: `outputs.on`, `notices[0]`, `state`, or deeper into the state.
    pub field: String,
    /// On the host.
    pub host: String,
    /// On the board.
    pub board: String,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let seconds = f64::from(self.at_ms) * 1e-3;
        write!(
            f,
            "scan {} (t = {seconds:.3} s): {} is {} on the host and {} on the board",
            self.scan, self.field, self.host, self.board
        )
    }
}

/// The host's half of one scan.
#[derive(Debug, Clone)]
pub struct HostScan<'a> {
    /// Outputs.
    pub outputs: &'a Outputs,
    /// Notices, oldest first.
    pub notices: &'a [Notice],
    /// Digest of the station.
    pub state: u64,
}

fn tags(on: Actuators) -> String {
    let list: Vec<_> = Actuator::ALL.into_iter().filter(|a| on.has(*a)).map(Actuator::tag).collect();
    if list.is_empty() { "nothing".to_owned() } else { list.join("+") }
}

/// Field, host, board; `None` where all is equal.
pub fn first_field(host: &HostScan<'_>, board: &Answer) -> Option<(String, String, String)> {
    let (mine, theirs) = (host.outputs, &board.outputs);
    let differs = |name: &str, a: String, b: String| Some((name.to_owned(), a, b));
    if mine.on != theirs.on {
        return differs("outputs.on", tags(mine.on), tags(theirs.on));
    }
    if mine.dropped != theirs.dropped {
        return differs("outputs.dropped", format!("{:?}", mine.dropped), format!("{:?}", theirs.dropped));
    }
    if mine.lamp != theirs.lamp {
        return differs("outputs.lamp", format!("{:?}", mine.lamp), format!("{:?}", theirs.lamp));
    }
    if mine.buzzer != theirs.buzzer {
        return differs("outputs.buzzer", mine.buzzer.to_string(), theirs.buzzer.to_string());
    }
    if mine.identifier != theirs.identifier {
        return differs("outputs.identifier", format!("{:?}", mine.identifier), format!("{:?}", theirs.identifier));
    }
    let count = host.notices.len().max(board.notices.len());
    for at in 0..count {
        let (a, b) = (host.notices.get(at), board.notices.get(at));
        if a != b {
            let word = |n: Option<&Notice>| n.map_or("none".to_owned(), |n| format!("{n:?}"));
            return differs(&format!("notices[{at}]"), word(a), word(b));
        }
    }
    if host.state != board.state {
        return differs("state", format!("{:016x}", host.state), format!("{:016x}", board.state));
    }
    None
}

/// The first line in which two states, written with `{:#?}`, differ: its path, and what stands there on either side.
///
/// ```
/// use valvewright_sim::board::compare::first_line;
/// let (a, b) = ("A {\n    b: B {\n        c: 1,\n    },\n}", "A {\n    b: B {\n        c: 2,\n    },\n}");
/// assert_eq!(first_line(a, b), Some(("b.c".to_owned(), "1".to_owned(), "2".to_owned())));
/// ```
pub fn first_line(host: &str, board: &str) -> Option<(String, String, String)> {
    // For each open bracket: the name it opened under, and how many unnamed entries were seen inside.
    let mut path: Vec<(String, usize)> = Vec::new();
    let mut theirs = board.lines();
    for line in host.lines() {
        let other = theirs.next().unwrap_or("nothing");
        let text = line.trim().trim_end_matches(',');
        let named = text.split_once(": ").map(|(name, _)| name.to_owned());
        let closes = matches!(text, "}" | "]" | ")");
        if closes {
            path.pop();
        }
        let name = named.clone().unwrap_or_else(|| {
            let at = path.last_mut().map_or(0, |(_, seen)| {
                *seen += usize::from(!closes);
                seen.saturating_sub(1)
            });
            format!("[{at}]")
        });
        if line != other {
            let mut whole: Vec<_> = path.iter().skip(1).map(|(name, _)| name.as_str()).collect();
            whole.push(&name);
            let value = |line: &str| {
                let text = line.trim().trim_end_matches(',');
                text.split_once(": ").map_or(text, |(_, value)| value).to_owned()
            };
            return Some((whole.join(".").replace(".[", "["), value(line), value(other)));
        }
        if text.ends_with(['{', '[', '(']) {
            path.push((name, 0));
        }
    }
    None
}
