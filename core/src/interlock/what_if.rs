//! Rows that are taken to be not there and set points that are moved, so that a student sees what each of them is for, and a test that each of
//! them is missed. Behind the feature `what-if`, which no firmware has.

use core::hash::{Hash, Hasher};

use super::causes::Causes;
use super::facts::Facts;
use super::table::FLAT;
use super::terms::Side;
use super::{Interlocks, RowSet};
use crate::row::Watch;
use crate::sense::Readings;
use crate::units::{AbsPa, Milligram};

/// Most set points that are moved at once.
pub const MOST_MOVED: usize = 4;

/// Rows that are left out, and set points that are moved, each by how much in the unit of its reading. It is no part of the state that host and
/// board are compared by: it never changes while they run.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct WhatIf {
    without: RowSet,
    moved: [Option<(Watch, i32)>; MOST_MOVED],
}

impl WhatIf {
    /// The table as it is.
    pub(super) const NOTHING: Self = Self { without: RowSet::NONE, moved: [None; MOST_MOVED] };

    pub(super) const fn without(&self) -> RowSet {
        self.without
    }
}

impl Hash for WhatIf {
    fn hash<H: Hasher>(&self, _: &mut H) {}
}

/// Whether the set point of a condition is a figure that can be moved: it compares one reading, or the worse of a pair, with a number.
pub const fn can_move(watch: Watch) -> bool {
    !matches!(watch.side(), Side::State) && !matches!(watch, Watch::BridgesApart)
}

impl Interlocks {
    /// From the next evaluation on these rows neither trip nor withhold anything.
    pub const fn leave_out(&mut self, rows: RowSet) {
        self.what_if.without = rows;
    }

    /// Rows that are left out.
    pub const fn left_out(&self) -> RowSet {
        self.what_if.without
    }

    /// From the next evaluation on trip and clear point of this condition lie higher by so much, in the unit of its reading (0: where the
    /// table has them). False where it cannot be moved ([`can_move`]) or [`MOST_MOVED`] others are.
    pub fn move_set_point(&mut self, watch: Watch, by: i32) -> bool {
        let own = self.what_if.moved.iter().position(|one| one.is_some_and(|(moved, _)| moved == watch));
        let free = || self.what_if.moved.iter().position(Option::is_none);
        let Some(place) = own.or_else(free).and_then(|at| self.what_if.moved.get_mut(at)).filter(|_| can_move(watch))
        else {
            return false;
        };
        *place = Some((watch, by)).filter(|_| by != 0);
        true
    }

    /// The set points that are moved.
    pub fn moved(&self) -> impl Iterator<Item = (Watch, i32)> + use<> {
        self.what_if.moved.into_iter().flatten()
    }

    /// The conditions of this scan: those of a moved set point as its reading would give them if it were as much lower.
    #[inline]
    pub(super) fn look(&self, r: &Readings, f: &Facts) -> Causes {
        let causes = Causes::of(r, f);
        if self.what_if.moved == [None; MOST_MOVED] { causes } else { self.with_moved(causes, r, f) }
    }

    #[cold]
    fn with_moved(&self, mut causes: Causes, r: &Readings, f: &Facts) -> Causes {
        for (watch, by) in self.moved() {
            let (lower, facts) = shifted(watch, by, r, f);
            let found = Causes::of(&lower, &facts);
            let bit = 1_u64.wrapping_shl(watch as u32);
            causes.breach = causes.breach & !bit | found.breach & bit;
            causes.clear = causes.clear & !bit | found.clear & bit;
        }
        causes
    }
}

/// Readings and facts in which what the condition compares is lower by so much.
fn shifted(watch: Watch, by: i32, r: &Readings, f: &Facts) -> (Readings, Facts) {
    let (mut r, mut f) = (*r, *f);
    let less = |value: &mut i32| *value = value.saturating_sub(by);
    match watch {
        Watch::CabinetGas => less(&mut r.at2.value.0),
        Watch::VesselPressure | Watch::ReliefNear => less(&mut r.pt1.value.0),
        Watch::SeparatorPressure => less(&mut r.pt5.value.0),
        Watch::PumpAdmission | Watch::PumpInlet => f.barometer = AbsPa(f.barometer.0.saturating_add(by)),
        Watch::Suction => {
            less(&mut r.pt2.value.0);
            less(&mut r.pt3.value.0);
        }
        Watch::DischargeTemperature => less(&mut r.tt2.value.0),
        Watch::HeaterSkin => less(&mut r.tt3.value.0),
        Watch::MotorCurrent => less(&mut r.it1.value.0),
        Watch::FanSpeed => less(&mut r.st1.value.0),
        Watch::SupplyLow => less(&mut r.et1.value.0),
        Watch::RailLow => less(&mut r.et2.value.0),
        Watch::HeaterCover => {
            less(&mut r.wt1a.mass.value.0);
            less(&mut r.wt1b.mass.value.0);
        }
        Watch::VesselFill => {
            let at = FLAT.get(watch as usize).map_or(1_000, |(one, _)| one.trip.number()).max(1);
            let limit = i64::from(f.fill_limit.0).saturating_mul(i64::from(at.saturating_add(by))) / i64::from(at);
            f.fill_limit = Milligram(i32::try_from(limit).unwrap_or(i32::MAX));
        }
        _ => {}
    }
    (r, f)
}
