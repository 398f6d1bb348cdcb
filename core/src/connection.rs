//! What is known of the vehicle on the hoses, and since when: one owner, so that no fact outlives its connection.
//!
//! Whoever finds something out says so by a verb and asks by a question; nobody writes a fact. A refused gas stays refused
//! until the couplers move. A found leak stays until they move, or until a hold passes after a new evacuation: a second
//! look at the same vacuum mends nothing (I14, own reading). Looking anew takes an earlier pass back,
//! so that a look that is broken off leaves no pass behind.

use crate::row::{Watch, WatchSet};
use crate::units::Millis;
use crate::verdict::{GasVerdict, LeakResult, LeakVerdict};

/// How long an identification stays valid for the start of a recovery (I05).
pub const IDENTITY_VALID: Millis = Millis::from_secs(600);
/// How long a leak verdict stays valid for the start of a charge (I14).
pub const LEAK_VALID: Millis = Millis::from_secs(1800);
/// A gap between two scans longer than this may have been another vehicle: nobody has both couplers on one in less time
/// (own choice; a board's watchdog restarts the controller long before, with the same effect).
pub const UNWATCHED: Millis = Millis::from_secs(10);

/// Facts of one connection, from couplers on to couplers off.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Connection {
    gas: GasVerdict,
    /// Ages saturate: after the tick has wrapped (49.7 days) an old fact is still old.
    gas_age: Millis,
    leak: LeakResult,
    leak_age: Millis,
    /// No evacuation since a hold found a leak.
    leak_stands: bool,
    recovered: bool,
    charged: bool,
    open_to_air: bool,
    /// Found drained, evacuated, or opened on the operator's word, and not charged since.
    drained: bool,
    /// It holds air or nitrogen and no refrigerant: the operator says so, or a pressure test filled it.
    by_hand: bool,
    /// The last evacuation ended above the depth that was ordered.
    shallow: bool,
    /// PT-4 was seen to fall from the top of its span into vacuum.
    gauge_fell: bool,
    /// The last recovery drew air.
    draws_air: bool,
    /// Whether an order named its compressor a high-voltage one; once it did, that stands.
    high_voltage: Option<bool>,
}

impl Connection {
    /// Verdict on the gas.
    pub const fn gas(&self) -> GasVerdict {
        self.gas
    }
    /// Result of the last vacuum hold that was judged.
    pub const fn leak(&self) -> LeakResult {
        self.leak
    }
    /// Time since the gas verdict; means nothing while there is none.
    pub const fn gas_age(&self) -> Millis {
        self.gas_age
    }
    /// Time since the leak verdict; means nothing while there is none.
    pub const fn leak_age(&self) -> Millis {
        self.leak_age
    }
    /// The refrigerant was recovered to its end and none charged since (I11).
    pub const fn recovered(&self) -> bool {
        self.recovered
    }
    /// A charge was begun since the last evacuation: a second one would come on top of it (hazard H06), and what the hoses
    /// hold is the vessel's own.
    pub const fn charged(&self) -> bool {
        self.charged
    }
    /// The identifier saw next to nothing but air, and the circuit was neither evacuated nor charged since (I11).
    pub const fn open_to_air(&self) -> bool {
        self.open_to_air
    }

    /// Whether the circuit holds no refrigerant worth recovering (I11): recovered, found drained, or opened to air as the identifier or the
    /// operator says.
    pub const fn circuit_empty(&self) -> bool {
        self.recovered || self.drained || self.open_to_air
    }
    /// Whether what it holds may be let out into the open: air or nitrogen, and no refrigerant.
    pub const fn may_be_released(&self) -> bool {
        self.open_to_air || self.by_hand
    }
    /// Whether PT-4 was seen to fall into vacuum on this connection: a gauge stuck in vacuum proves no tightness (I14).
    pub const fn gauge_proven(&self) -> bool {
        self.gauge_fell
    }

    /// Whether the last evacuation did not reach the depth of its order: no hold behind it says tight.
    pub const fn shallow(&self) -> bool {
        self.shallow
    }

    /// Whether a recovery drew air, and the gas was neither found pure nor the circuit evacuated since (I07).
    pub const fn draws_air(&self) -> bool {
        self.draws_air
    }
    /// Whether an order on this connection named its compressor a high-voltage one (I15).
    pub fn high_voltage(&self) -> bool {
        self.high_voltage == Some(true)
    }
    /// Of the conditions of the interlock table that speak of the connection alone, those that do not stand.
    pub fn well(&self) -> WatchSet {
        let air = if self.draws_air { WatchSet::NONE } else { WatchSet::of(&[Watch::DrawsAir]) };
        let oil = if self.high_voltage == Some(false) { WatchSet::of(&[Watch::OilVoltage]) } else { WatchSet::NONE };
        air.or(oil)
    }

    /// Whether the gas was found fit for the vessel, however long ago.
    pub fn pure(&self) -> bool {
        self.gas == GasVerdict::Pure
    }
    /// Whether it was found to be another gas than this station's (H04).
    pub fn foreign(&self) -> bool {
        matches!(self.gas, GasVerdict::Foreign | GasVerdict::FlammableForeign)
    }
    /// Whether a recovery may begin (I05).
    pub fn may_recover(&self) -> bool {
        self.pure() && self.gas_age <= IDENTITY_VALID
    }
    /// Whether the last hold passed, however long ago.
    pub fn tight(&self) -> bool {
        self.leak.verdict == LeakVerdict::Tight
    }
    /// Whether the last hold passed within the time for which it counts (I14).
    pub fn freshly_tight(&self) -> bool {
        self.tight() && self.leak_age <= LEAK_VALID
    }
    /// Whether a charge may begin: after one that was broken off the verdict is spent, for the circuit is not the empty one
    /// that was judged.
    pub fn may_charge(&self) -> bool {
        self.freshly_tight() && !self.charged
    }

    /// Time since the last scan went by, watched or not: a fact ages all the same.
    pub(crate) fn age(&mut self, dt: Millis) {
        self.gas_age = self.gas_age.plus(dt);
        self.leak_age = self.leak_age.plus(dt);
    }
    /// The couplers moved, or may have moved: nothing is known.
    pub(crate) fn moved(&mut self) {
        *self = Self::default();
    }
    /// An identification begins.
    pub(crate) fn identify_anew(&mut self) {
        if !refused(self.gas) {
            self.gas = GasVerdict::Unknown;
        }
    }
    /// Samples were judged; `nothing_but_air` where they hold no refrigerant worth a name. Returns the verdict that counts:
    /// an earlier refusal stands.
    pub(crate) fn gas_judged(&mut self, verdict: GasVerdict, nothing_but_air: bool) -> GasVerdict {
        if !refused(self.gas) {
            (self.gas, self.gas_age) = (verdict, Millis(0));
        }
        self.draws_air &= !self.pure();
        self.open_to_air = nothing_but_air;
        self.gas
    }
    /// A recovery met its end.
    pub(crate) fn recovery_done(&mut self) {
        (self.recovered, self.by_hand) = (true, false);
    }
    /// A recovery drew air.
    pub(crate) fn air_drawn(&mut self) {
        self.draws_air = true;
    }
    /// An order says whether the vehicle has a high-voltage compressor.
    pub(crate) fn told_voltage(&mut self, high: bool) {
        if self.high_voltage != Some(true) {
            self.high_voltage = Some(high);
        }
    }
    /// The hoses stand where a drained circuit does.
    pub(crate) fn found_drained(&mut self) {
        self.drained = true;
    }
    /// The operator says that it was opened and holds no refrigerant, or fills it with nitrogen.
    pub(crate) fn holds_none(&mut self) {
        (self.drained, self.by_hand) = (true, true);
    }
    /// A pressure test fell: a leak, as if a hold had found it.
    pub(crate) fn pressure_fell(&mut self) {
        self.leak = LeakResult { verdict: LeakVerdict::Leak, ..LeakResult::default() };
        (self.leak_age, self.leak_stands) = (Millis(0), true);
    }
    /// PT-4 fell from the top of its span into vacuum.
    pub(crate) fn gauge_fell(&mut self) {
        self.gauge_fell = true;
    }
    /// An evacuation met its end, `deep` where that is the depth of its order.
    pub(crate) fn evacuated(&mut self, deep: bool) {
        self.shallow = !deep;
        // What was open to air is empty now.
        self.drained |= self.open_to_air;
        (self.charged, self.leak_stands, self.open_to_air, self.by_hand) = (false, false, false, false);
        self.draws_air = false;
    }
    /// A vacuum hold begins.
    pub(crate) fn hold_anew(&mut self) {
        if self.leak.verdict != LeakVerdict::Leak {
            self.leak = LeakResult::default();
        }
    }
    /// A hold was judged. Returns the verdict that counts: a leak that was found stands until the circuit was evacuated.
    pub(crate) fn leak_judged(&mut self, result: LeakResult) -> LeakVerdict {
        if !self.leak_stands {
            (self.leak, self.leak_age) = (result, Millis(0));
            self.leak_stands = result.verdict == LeakVerdict::Leak;
        }
        self.leak.verdict
    }
    /// The charge valves are about to open.
    pub(crate) fn charge_begins(&mut self) {
        (self.charged, self.recovered, self.open_to_air, self.drained) = (true, false, false, false);
        self.by_hand = false;
    }
}

/// Whether this verdict keeps the gas out of the vessel until the couplers move (I05).
const fn refused(verdict: GasVerdict) -> bool {
    matches!(verdict, GasVerdict::Air | GasVerdict::Foreign | GasVerdict::FlammableForeign)
}
