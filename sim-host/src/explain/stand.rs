//! Where the work stands by what is told of it, and what is looked at once a second only.

use valvewright_core::frame::Actuators;
use valvewright_core::interlock::{RowId, RowSet};
use valvewright_core::job::ledger::Ledger;
use valvewright_core::talk::Notice;
use valvewright_core::units::Milligram;

use crate::display::Sentence;
use crate::report::data::{Places, Refrigerant};
use crate::run::{Seen, places};
use crate::say;

/// Where the work stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stands {
    /// No order was taken.
    #[default]
    Idle,
    /// Air flow is being proven.
    Starting,
    /// A phase runs.
    Running,
    /// It is held.
    Held,
    /// The controller started anew, and the order is gone.
    Lost,
    /// The order has ended, well or not.
    Ended(bool),
}

impl Stands {
    /// Hears what was told.
    pub fn hear(&mut self, notice: &Notice) {
        *self = match (notice, *self) {
            (Notice::OrderStarted(_), _) => Self::Starting,
            (Notice::PhaseStarted(_), _) | (Notice::Resumed, Self::Held) => Self::Running,
            (Notice::Paused, _) => Self::Held,
            (Notice::Interrupted(..), _) => Self::Lost,
            (Notice::OrderEnded(well), _) => Self::Ended(*well),
            (_, now) => now,
        };
    }

    /// An order is under way.
    pub const fn busy(self) -> bool {
        matches!(self, Self::Starting | Self::Running | Self::Held)
    }

    /// The work is held.
    pub const fn is_held(self) -> bool {
        matches!(self, Self::Held)
    }

    /// What became of the work, for a stop that ends here with these rows tripped, and whether it came to an end.
    pub fn fate(self, standing: RowSet) -> (Sentence, bool) {
        let rows: Vec<String> = standing.iter().map(|id| id.to_string()).collect();
        let end = matches!(self, Self::Idle | Self::Ended(_));
        let fate = match self {
            Self::Idle => "no work was begun".into(),
            Self::Starting => "the run ended before the first phase began".into(),
            Self::Running => "the work was still under way when the run ended".into(),
            Self::Held if rows.is_empty() => {
                "the work was still held when the run ended: nobody told the station to go on".into()
            }
            Self::Held => say![format!("the work was still held when the run ended, by {}", rows.join(", "))],
            Self::Lost => "the order was lost when the controller started anew; nothing of it goes on".into(),
            Self::Ended(true) => "the order was done to its end".into(),
            Self::Ended(false) => "the order ended before its plan was met".into(),
        };
        (fate, end)
    }
}

/// Scans between two looks at the rows, and between two at the refrigerant, which cost as much as some scans (own choices).
const SLOW: u32 = 20;
const SLOWER: u32 = 1_200;

/// What is looked at now and then, so that the end of a run finds it.
#[derive(Default)]
pub struct Slow {
    scans: u32,
    /// The last look, and the last at the refrigerant, s.
    last_s: f64,
    kept_s: f64,
    wanted: Actuators,
    acting: RowSet,
    ledger: Option<Ledger>,
    places: Option<Places>,
}

impl Slow {
    /// Looks, where it is time to.
    #[inline]
    pub fn look(&mut self, seen: &Seen<'_>) {
        self.scans = self.scans.wrapping_add(1);
        if !self.scans.is_multiple_of(SLOW) {
            return;
        }
        if self.scans.is_multiple_of(SLOWER) || self.places.is_none() {
            self.keep(seen);
        }
        self.last_s = seen.t_s;
        let Some(core) = seen.core else { return };
        self.wanted = core.wanted();
        self.acting = core.interlocks().tripped().or(core.interlocks().withheld());
    }

    /// Takes down where the refrigerant is.
    pub fn keep(&mut self, seen: &Seen<'_>) {
        self.kept_s = seen.t_s;
        self.places = Some(places(seen.plant));
        self.ledger = seen.core.map(|core| core.job().ledger);
    }

    /// When it was looked last, s.
    pub const fn t_s(&self) -> f64 {
        self.last_s
    }

    /// Rows that held off what was wanted.
    pub fn holding(&self) -> RowSet {
        let holds = |id: &RowId| {
            let off = id.row().map(|row| row.trip.inhibits.or(row.withholds));
            off.is_some_and(|off| !off.and(self.wanted.without(Actuators::SAFE)).is_empty())
        };
        self.acting.iter().filter(holds).fold(RowSet::NONE, RowSet::with)
    }

    /// Where the refrigerant is; a book that went with its order is told as that.
    pub fn refrigerant(&self, stands: Stands) -> Option<Refrigerant> {
        let truth = self.places?;
        if stands == Stands::Lost {
            let book = Some("empty since the controller started anew".into());
            return Some(Refrigerant { t_s: self.kept_s, book, truth });
        }
        Some(Refrigerant { t_s: self.kept_s, book: self.ledger.map(|ledger| book(&ledger)), truth })
    }
}

/// The station's book of this order.
fn book(ledger: &Ledger) -> Sentence {
    let none = Milligram(0);
    let mut text = say![ledger.recovered, " recovered from the vehicle"];
    if ledger.charge_begun {
        text = say![text, "; ", ledger.dispensed, " let out of the vessel for the charge"];
        if ledger.in_hoses > none {
            text = say![text, ", some ", ledger.in_hoses, " of it still in hoses and manifold"];
        }
    } else {
        text = say![text, "; no charge was begun"];
    }
    if ledger.hoses_most > none {
        text = say![text, "; hoses and manifold may hold up to ", ledger.hoses_most];
    }
    for (mass, what) in [(ledger.vented, " vented by the purge"), (ledger.air, " of air came in with it")] {
        if mass > none {
            text = say![text, "; ", mass, what];
        }
    }
    text
}
