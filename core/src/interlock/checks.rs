//! What the interlock table must hold to, asserted while compiling: a table that does not is no program.

#[cfg(feature = "words")]
use super::table::ANSWERED;
use super::table::ROWS;
use super::terms::*;
use crate::frame::{Actuator, Actuators};
use crate::row::ROW_COUNT;
use Actuator::{C1, H1, H2, K1, P1, Xv4, Xv6};

const fn condition_holds_together(c: &Condition) -> bool {
    let (trip, clear) = (c.trip.number(), c.clear.number());
    c.trip.unit() == c.clear.unit()
        && match c.watch.side() {
            Side::High => clear < trip && c.trip.unit() != Level::State.unit(),
            Side::Low => clear > trip && c.trip.unit() != Level::State.unit(),
            Side::State => c.trip.unit() == Level::State.unit(),
        }
}

#[cfg(feature = "words")]
const fn answers(row: &Row, hazard: u8) -> bool {
    let mut i = 0;
    while i < row.also.all().len() {
        if row.also.all()[i].0 == hazard {
            return true;
        }
        i += 1;
    }
    row.hazard.0 == hazard
}

/// An output that must not be on alone is stopped wherever its partner is: the gate only takes away, and must not leave a
/// compressor against a shut valve, an open way into a standing pump, or a heater behind one contactor.
const fn stops_partners(off: Actuators) -> bool {
    (!off.has(Xv4) || off.has(C1)) && (!off.has(P1) || off.has(Xv6)) && off.has(H1) == off.has(H2)
}

const _: () = {
    assert!(ROWS.len() == ROW_COUNT);
    let mut r = 0;
    while r < ROWS.len() {
        let row = &ROWS[r];
        assert!(row.id.place() == r, "ids out of order");
        assert!(r == 0 || row.id as u8 > ROWS[r - 1].id as u8, "two rows with one number, or out of order");
        assert!(row.hazard.0 >= 1 && row.hazard.0 <= 25);
        assert!(!row.trip.inhibits.has(K1) && !row.withholds.has(K1), "the fan is never inhibited");
        assert!(row.trip.forces.0 & !Actuators::SAFE.0 == 0, "only the fan may be forced on");
        assert!(row.trip.stops.0 & !Actuators::of(&[P1]).0 == 0, "only P-1 has a valve to wait for");
        assert!(row.trip.stops.is_empty() || row.trip.inhibits.has(Xv6));
        assert!(stops_partners(row.trip.inhibits) && stops_partners(row.withholds));
        assert!(!row.causes.is_empty());
        let (mut trips, mut permits) = (false, false);
        let mut c = 0;
        while c < row.causes.len() {
            let condition = &row.causes[c];
            assert!(condition_holds_together(condition), "units differ or no hysteresis");
            match condition.role {
                Role::Trip => trips = true,
                Role::Permit => permits = true,
            }
            c += 1;
        }
        assert!(trips || row.trip.inhibits.is_empty(), "an effect without cause");
        assert!(
            row.trip.drops.is_empty() || !row.trip.inhibits.is_empty(),
            "a relay is dropped under outputs that stay on"
        );
        let cut = Actuators::ALL.without(row.trip.drops.leave(Actuators::ALL));
        assert!(cut.without(row.trip.inhibits).is_empty(), "an output is asked for behind a relay that is held open");
        assert!(permits == row.permissive(), "a permission that withholds nothing, or the reverse");
        r += 1;
    }
};

/// What a row answers stands beside its words.
#[cfg(feature = "words")]
const _: () = {
    let mut h = 0;
    while h < ANSWERED.len() {
        let (mut found, mut r) = (false, 0);
        while r < ROWS.len() {
            found |= answers(&ROWS[r], ANSWERED[h]);
            r += 1;
        }
        assert!(found, "a hazard without an answer");
        h += 1;
    }
};
