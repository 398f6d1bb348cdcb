//! Set points that are moved in a what-if: a condition acts at the figure it was moved to, its row and the others stay what they are, and what is
//! put back is as if it had never been away.

use valvewright_core::interlock::table::{ROWS, Role, Side};
use valvewright_core::interlock::{MOST_MOVED, Watch, can_move};
use valvewright_core::units::*;

use crate::interlock_bench::*;

/// Far enough that no rounding of a share of the fill limit is in question, and far less than a trip point.
fn little(watch: Watch) -> i32 {
    match watch {
        // A gram: the bench provokes it with the last gram.
        Watch::HeaterCover => 1_001,
        _ => 1,
    }
}

/// To the dangerous side, so that what just trips does not.
fn later(watch: Watch) -> i32 {
    if watch.side() == Side::High { little(watch) } else { -little(watch) }
}

#[test]
fn a_condition_acts_at_the_figure_that_its_set_point_is_moved_to() {
    let mut moved = 0;
    for row in ROWS {
        for cause in row.causes.iter().filter(|cause| can_move(cause.watch)) {
            let watch = cause.watch;
            let acts = |by: &[i32]| {
                let mut rig = Rig::new();
                provoke(watch, &mut rig.r, &mut rig.f);
                for by in by {
                    assert!(rig.locks.move_set_point(watch, *by), "{watch:?}");
                }
                if cause.role == Role::Trip {
                    return rig.time_to_trip(row.id, 40_000);
                }
                rig.step(HANDS_OFF);
                rig.locks.withheld().has(row.id).then_some(cause.hold.0)
            };
            assert_eq!(acts(&[]), Some(cause.hold.0), "{watch:?}");
            assert_eq!(acts(&[later(watch)]), None, "{watch:?} moved out of reach by one step");
            assert_eq!(acts(&[-later(watch)]), Some(cause.hold.0), "{watch:?} moved to the other side");
            assert_eq!(acts(&[later(watch), 0]), Some(cause.hold.0), "{watch:?} put back");
            moved += 1;
        }
    }
    assert_eq!(moved, 15);
}

#[test]
fn a_moved_set_point_moves_no_other() {
    let mut rig = Rig::new();
    assert!(rig.locks.move_set_point(Watch::VesselPressure, 500_000));
    rig.r.pt1.value = AbsPa(1_800_000);
    rig.run(1_000);
    let tripped = rig.locks.tripped();
    assert!(
        tripped.iter().any(|row| row.as_str() == "I29"),
        "the relief's own set point reads the same transmitter: {tripped:?}"
    );
    assert!(tripped.iter().all(|row| row.as_str() != "I03"), "{tripped:?}");
}

#[test]
fn what_compares_no_figure_is_not_moved_and_no_more_than_a_few_are() {
    let mut rig = Rig::new();
    for watch in [Watch::Door, Watch::BridgesApart, Watch::LeakVerdict] {
        assert!(!can_move(watch) && !rig.locks.move_set_point(watch, 5), "{watch:?}");
    }
    let some = [Watch::CabinetGas, Watch::FanSpeed, Watch::Suction, Watch::SupplyLow, Watch::RailLow];
    let taken = some.iter().filter(|watch| rig.locks.move_set_point(**watch, 7)).count();
    assert_eq!(taken, MOST_MOVED);
    assert!(rig.locks.move_set_point(Watch::CabinetGas, 0), "one is put back");
    assert!(rig.locks.move_set_point(Watch::RailLow, 7), "and another takes its place");
    assert_eq!(rig.locks.moved().count(), MOST_MOVED);
    // Saturated, not wrapped.
    assert!(rig.locks.move_set_point(Watch::FanSpeed, i32::MIN));
    rig.run(1_000);
}
