//! The self-test after power-on: the common relays open and close, seen by the rail's volts and by the coils behind them.
//!
//! Promises: nothing is energised by it; a station that did not pass starts nothing. Single outputs are not tried here, for none may be
//! opened before air, gas and tightness are known (I28, I05, I14), and no test goes round the gate: each coil is read back in every
//! scan of its use instead, and cut off by these relays in the second scan that differs (I19).

use crate::frame::Feeds;
use crate::units::{Millis, Millivolt};

/// How long the relays are held open, and closed, before ET-2 is looked at: ten times its filter (own choice).
const SETTLED: Millis = Millis(500);
/// Below this the rail is dead: what a discharged filter may still hold (own choice).
const DEAD: Millivolt = Millivolt(5_000);
/// From this on it is alive: 90 % of 24 V, where I30 clears.
const ALIVE: Millivolt = Millivolt(21_600);

/// Where the test stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SelfTest {
    /// Relays open, so long.
    Open(Millis),
    /// Relays closed, nothing on, so long.
    Closed(Millis),
    /// It passed.
    #[default]
    Passed,
    /// The rail does not follow its relay: welded, or dead.
    Failed,
}

impl SelfTest {
    /// At power-on.
    pub const fn waking() -> Self {
        Self::Open(Millis(0))
    }
    /// Whether the rail did not follow its relay.
    pub const fn failed(self) -> bool {
        matches!(self, Self::Failed)
    }
    /// Whether it has passed.
    pub const fn passed(self) -> bool {
        matches!(self, Self::Passed)
    }
    /// Relays that it holds open.
    pub const fn drops(self) -> Feeds {
        if let Self::Open(_) = self { Feeds::ALL } else { Feeds::NONE }
    }

    /// One scan; `rail` is ET-2 where it can be read, `held` says that a row holds the rail's relay open, which is then waited for. True in
    /// the scan in which it passed.
    pub fn step(&mut self, dt: Millis, rail: Option<Millivolt>, held: bool) -> bool {
        let before = *self;
        *self = match before {
            Self::Open(t) if t < SETTLED => Self::Open(t.plus(dt)),
            Self::Open(_) if rail.is_some_and(|v| v < DEAD) => Self::Closed(Millis(0)),
            Self::Closed(_) if held => Self::Closed(Millis(0)),
            Self::Closed(t) if t < SETTLED => Self::Closed(t.plus(dt)),
            Self::Closed(_) if rail.is_some_and(|v| v >= ALIVE) => Self::Passed,
            Self::Open(_) | Self::Closed(_) => Self::Failed,
            Self::Passed | Self::Failed => before,
        };
        *self == Self::Passed && before != Self::Passed
    }
}
