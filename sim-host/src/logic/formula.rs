//! A formula of temporal logic as plain data: what is compared, how it is joined, over which time.

use valvewright_core::frame::{Actuator, Analog, Lamp, Scale};
use valvewright_core::order::PhaseKind;
use valvewright_core::row::RowId;

use crate::scenario::quantity::Dim;

/// A time after a scan, or before it, from the one to the other, s, both counted in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The nearer end.
    pub from: f64,
    /// The farther end.
    pub to: f64,
}

/// A formula. What looks ahead or back over all the run has no span.
#[derive(Clone, Debug, PartialEq)]
pub enum Formula {
    /// Something that can be seen in one scan; its place in [`Parsed::atoms`].
    Atom(usize),
    /// The contrary.
    Not(Box<Self>),
    /// Both.
    And(Box<Self>, Box<Self>),
    /// One of them at least.
    Or(Box<Self>, Box<Self>),
    /// Where the first holds, the second does.
    Implies(Box<Self>, Box<Self>),
    /// In every scan to come.
    Always(Option<Span>, Box<Self>),
    /// In a scan to come.
    Eventually(Option<Span>, Box<Self>),
    /// The first holds until the second does, which does come.
    Until(Option<Span>, Box<Self>, Box<Self>),
    /// In every scan so far.
    Historically(Option<Span>, Box<Self>),
    /// In a scan before, or now.
    Once(Option<Span>, Box<Self>),
    /// The second did come, and the first holds since.
    Since(Option<Span>, Box<Self>, Box<Self>),
}

impl Formula {
    /// The parts that stand right under this one.
    pub fn parts(&self) -> Vec<&Self> {
        match self {
            Self::Atom(_) => Vec::new(),
            Self::Not(of)
            | Self::Always(_, of)
            | Self::Eventually(_, of)
            | Self::Historically(_, of)
            | Self::Once(_, of) => vec![of],
            Self::And(a, b) | Self::Or(a, b) | Self::Implies(a, b) | Self::Until(_, a, b) | Self::Since(_, a, b) => {
                vec![a, b]
            }
        }
    }

    /// The time it looks over.
    pub const fn span(&self) -> Option<Span> {
        match self {
            Self::Always(span, _)
            | Self::Eventually(span, _)
            | Self::Historically(span, _)
            | Self::Once(span, _)
            | Self::Until(span, ..)
            | Self::Since(span, ..) => *span,
            _ => None,
        }
    }
}

/// Something with a value in every scan.
#[derive(Clone, Debug, PartialEq)]
pub enum Signal {
    /// Of the plant, by its name.
    Plant(String),
    /// What a transmitter puts on its loop, by its range.
    Loop(Analog),
    /// What a bridge converts, by its calibration.
    Bridge(Scale),
}

/// Something that is so or not so in every scan.
#[derive(Clone, Debug, PartialEq)]
pub enum Fact {
    /// The controller has it on, and the common relay before it is not dropped.
    On(Actuator),
    /// The contact is closed as wired; its bit.
    Closed(u16),
    /// The lamp has this colour.
    Lamp(Lamp),
    /// The buzzer sounds.
    Buzzer,
    /// This phase runs, or none.
    Phase(Option<PhaseKind>),
    /// The row is tripped, by its cause or by its latch.
    Row(RowId),
    /// The row withholds its permission; no trip.
    Withheld(RowId),
    /// A notice of this id is given in this scan; its place in the list of ids.
    Told(usize),
    /// The fault of this place in the scenario's list acts.
    Fault(usize),
    /// The service door is shut, in truth.
    DoorShut,
    /// The couplers are on the vehicle, in truth.
    Coupled,
    /// The emergency stop is pressed, in truth.
    Stop,
}

/// What is looked at in one scan.
#[derive(Clone, Debug, PartialEq)]
pub enum Atom {
    /// The sum of the signals, each taken as it is or off it, is below the limit or above it.
    Compare {
        /// The signals; true for one that is taken off.
        terms: Vec<(bool, Signal)>,
        /// Below or above.
        below: bool,
        /// The limit itself is not good enough.
        strict: bool,
        /// The limit, SI.
        limit: f64,
        /// What is compared.
        dim: Dim,
        /// What one of the margin is, SI.
        scale: f64,
    },
    /// A fact.
    Is(Fact),
}

/// Something that a formula looks at, with words for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// What.
    pub atom: Atom,
    /// That it is so.
    pub yes: String,
    /// That it is not so.
    pub no: String,
}

/// A formula that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Parsed {
    /// The formula.
    pub formula: Formula,
    /// What it looks at.
    pub atoms: Vec<Look>,
}

impl Parsed {
    /// Whether it looks at rows, which only the core has.
    pub fn asks_for_rows(&self) -> bool {
        self.atoms.iter().any(|look| matches!(look.atom, Atom::Is(Fact::Row(_) | Fact::Withheld(_))))
    }
}
