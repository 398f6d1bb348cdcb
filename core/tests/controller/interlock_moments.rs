//! Hold times of the interlocks in company: what one row does to the time of another.

use valvewright_core::interlock::{RowId, Watch};

use crate::interlock_bench::{Rig, calm, provoke};

/// Two seconds without air trip I28; nearly two, then air, then two again, whatever other row trips just before.
#[test]
fn a_hold_begins_anew_beside_a_row_that_trips() {
    let mut rig = Rig::new();
    provoke(Watch::AirFlow, &mut rig.r, &mut rig.f);
    rig.run(1_900);
    assert!(!rig.tripped(RowId::I28));
    (rig.r, rig.f) = calm();
    rig.run(1_000);
    provoke(Watch::DischargeSwitch, &mut rig.r, &mut rig.f);
    rig.run(50);
    assert!(rig.tripped(RowId::I03) && !rig.tripped(RowId::I28));
    provoke(Watch::AirFlow, &mut rig.r, &mut rig.f);
    assert_eq!(rig.time_to_trip(RowId::I28, 10_000), Some(2_000));
}
