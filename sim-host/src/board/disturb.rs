//! Ways to spoil a line on purpose, and how they are written on the command line: `lost@600s`.

use std::str::FromStr;

use valvewright_core::units::Millis;

/// What happens to the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A packet gets lost.
    Lost,
    /// A packet comes twice.
    Repeated,
    /// A packet comes with a flipped bit.
    Broken,
    /// The next packet comes only after the line's patience.
    Late,
    /// Nothing comes any more; only a board whose clock runs can tell.
    Silent,
    /// The line is pulled.
    Unplugged,
}

impl Kind {
    /// Every kind with its name on the command line.
    pub const ALL: [(&'static str, Self); 6] = [
        ("lost", Self::Lost),
        ("repeated", Self::Repeated),
        ("broken", Self::Broken),
        ("late", Self::Late),
        ("silent", Self::Silent),
        ("unplugged", Self::Unplugged),
    ];
}

/// A kind and the simulated time at which it happens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Disturbance {
    /// What.
    pub kind: Kind,
    /// When.
    pub at: Millis,
}

impl FromStr for Disturbance {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let kinds = || Kind::ALL.map(|(name, _)| name).join(", ");
        let (kind, at) = text.split_once('@').ok_or_else(|| {
            format!("`{text}` names no time: write KIND@SECONDS, such as lost@600s; KIND is one of {}", kinds())
        })?;
        let (_, kind) = Kind::ALL
            .into_iter()
            .find(|(name, _)| *name == kind)
            .ok_or_else(|| format!("`{kind}` is no way to disturb a line: use one of {}", kinds()))?;
        let seconds = at.strip_suffix('s').unwrap_or(at).parse::<f64>().ok();
        let seconds = seconds.filter(|s| (0.0..=86_400.0).contains(s));
        let seconds =
            seconds.ok_or_else(|| format!("`{at}` is no time: write seconds from 0s to 86400s, such as 600s"))?;
        Ok(Self { kind, at: Millis((seconds * 1e3).round() as u32) })
    }
}
