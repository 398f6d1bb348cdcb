//! Rows of the interlock table and the checks behind them: what a fault makes them do, and what does not free them.

use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::interlock::table::ROWS;
use valvewright_core::interlock::{RowId, RowSet};
use valvewright_core::job::PhaseKind;
use valvewright_core::talk::Notice;

use crate::bench::{Bench, FlowSwitch, order};

/// A vehicle and hoses under vacuum, the vessel a little warm.
fn vacuum(bench: &mut Bench) {
    bench.world.p_vessel = 750_000.0;
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
}

/// Starts this phase alone and waits until it runs.
fn begin(bench: &mut Bench, id: u16, phase: PhaseKind) {
    bench.start(id, order(&[phase]));
    assert!(bench.until(70, |b| b.station.job().phase() == Some(phase)), "{:?}", bench.notices);
}

/// Stored latches must mean the same row in a program whose table has gained one.
#[test]
fn a_rows_bit_is_its_printed_number() {
    for row in ROWS {
        let printed = row.id.as_str().strip_prefix('I').map_or(63, |n| n.parse().expect("a number"));
        assert_eq!(RowSet::one(row.id).0, 1 << printed, "{}", row.id);
        assert_eq!(row.id.row().map(|r| r.id), Some(row.id));
    }
    let rows: Vec<RowId> = RowSet::ALL.iter().collect();
    assert_eq!(rows, RowId::ALL);
}

/// A leak check in its hold, with both service valves open.
fn holding() -> Bench {
    let mut bench = Bench::new();
    vacuum(&mut bench);
    bench.seconds(5);
    begin(&mut bench, 1, PhaseKind::LeakCheck);
    assert!(bench.until(20, |b| b.on().has(Actuator::Xv1)));
    bench
}

#[test]
fn a_contact_that_stops_acts_in_the_scan_that_reads_it_open() {
    let contacts = [
        (Switches::HS1_A_RELEASED, RowId::Hs1),
        (Switches::HS1_B_RELEASED, RowId::Hs1),
        (Switches::ZS1_DOOR_SHUT, RowId::I28),
        (Switches::PSH1_HEALTHY, RowId::I03),
        (Switches::LS2_NOT_HIGH, RowId::I10),
    ];
    for (contact, row) in contacts {
        let mut bench = holding();
        bench.world.open = contact;
        bench.scan(None);
        assert!(bench.station.interlocks().tripped().has(row), "{row}");
        let off = row.row().expect("in the table").trip.inhibits;
        assert!(bench.on().and(off).is_empty(), "{row}: {:?}", bench.on());
    }
}

/// Bounce on the way back must not free anything: a released button counts after three scans closed without a gap.
#[test]
fn a_stop_that_bounces_while_closing_stays_open() {
    let mut bench = holding();
    let stop = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;
    bench.world.open = stop;
    bench.seconds(1);
    for open in [0, stop, 0, 0, stop, 0, 0] {
        bench.world.open = open;
        bench.scan(None);
        assert!(bench.station.interlocks().standing().has(RowId::Hs1));
    }
    bench.scan(None);
    assert!(!bench.station.interlocks().standing().has(RowId::Hs1), "three scans closed");
    assert_eq!(bench.on(), Actuators::SAFE, "and nothing opens before a reset and a resume");
}

/// Gas at 40 % LFL for three seconds, then none.
fn after_gas() -> Bench {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.world.lfl = 40.0;
    bench.seconds(3);
    bench.world.lfl = 0.0;
    bench.seconds(2);
    assert!(bench.station.interlocks().standing().has(RowId::I01));
    bench
}

#[test]
fn late_scans_are_no_part_of_a_clear_time() {
    let mut bench = after_gas();
    for _ in 0..100 {
        bench.scan_after(30_000, None);
    }
    assert!(bench.station.interlocks().standing().has(RowId::I01), "fifty minutes, none of them watched");
    bench.seconds(62);
    assert!(!bench.station.interlocks().standing().has(RowId::I01), "a minute that was");
}

/// A trip's hold protects by being short: what is seen on both sides of a gap stood in it.
#[test]
fn a_stall_does_not_put_off_a_trip() {
    let mut bench = holding();
    bench.world.flow = FlowSwitch::StuckOpen;
    for _ in 0..3 {
        bench.scan(None);
    }
    assert!(bench.station.interlocks().tripped().is_empty(), "two seconds are allowed");
    bench.scan_after(2_000, None);
    assert!(bench.station.interlocks().tripped().has(RowId::I28));
}

#[test]
fn late_scans_are_no_part_of_the_air_changes() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Identify]));
    assert!(bench.until(30, |b| b.notices.contains(&Notice::ProvingAir)));
    bench.seconds(5);
    for _ in 0..10 {
        bench.scan_after(46_000, None);
    }
    assert!(!bench.until(38, |b| b.notices.contains(&Notice::AirProven)), "some 5 s and 38 s of 45 s were watched");
    assert!(bench.until(10, |b| b.notices.contains(&Notice::AirProven)), "{:?}", bench.notices);
}
