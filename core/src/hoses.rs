//! Whether the hose pressure has stood for a minute that was watched throughout: liquid that boils raises it.

use crate::units::{AbsPa, Millis};

/// Time to be watched (I11).
const WINDOW: Millis = Millis::from_secs(60);
/// Rise in it from which on something gives off gas (I11).
const RISE: AbsPa = AbsPa(2_000);

/// The higher hose pressure, watched.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct HoseRest {
    /// Lowest pressure of this window.
    from: Option<AbsPa>,
    watched: Millis,
    stands: bool,
}

impl HoseRest {
    /// One scan. `gap` is the longest time between two scans that counts as watched; `pumped` while XV-6 is open, where the
    /// pump keeps pressure away and the trip of I11 watches.
    pub fn step(&mut self, dt: Millis, gap: Millis, higher: Option<AbsPa>, pumped: bool) {
        let (Some(p), true) = (higher, dt <= gap) else {
            *self = Self::default();
            return;
        };
        if pumped {
            (self.from, self.watched) = (Some(p), Millis(0));
            return;
        }
        let from = self.from.unwrap_or(p).or_less(p);
        self.watched = self.watched.plus(dt);
        if p.minus(from) >= RISE {
            *self = Self { from: Some(p), ..Self::default() };
        } else if self.watched >= WINDOW {
            *self = Self { from: Some(p), watched: Millis(0), stands: true };
        } else {
            self.from = Some(from);
        }
    }

    /// Risen by less than 20 mbar in the last whole minute, and since.
    pub const fn stands(&self) -> bool {
        self.stands
    }
}
