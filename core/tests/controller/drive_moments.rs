//! The drive to the scan: when each output follows what was asked for. Changes are dated one scan late, so that each wait is a
//! scan longer than its time.

use Actuator::*;
use valvewright_core::drive::*;
use valvewright_core::frame::{Actuator, Actuators, Feeds};
use valvewright_core::interlock::Inhibits;
use valvewright_core::units::{Instant, Millis};

use crate::drive_order::{FREE, Rig, SCAN};

/// When each output changes, ms after the request, within so many ms.
fn changes(rig: &mut Rig, want: &[Actuator], ms: u32) -> Vec<(u32, Actuator, bool)> {
    let mut seen = Vec::new();
    for at in (0..ms).step_by(SCAN as usize) {
        let before = rig.on;
        rig.step(want, &FREE);
        for one in Actuator::ALL {
            if rig.on.has(one) != before.has(one) {
                seen.push((at, one, rig.on.has(one)));
            }
        }
    }
    seen
}

#[test]
fn a_recovery_starts_and_stops_in_its_order() {
    let mut rig = Rig::rested();
    let path = [K1, Xv1, Xv3, Xv4, C1];
    let started = changes(&mut rig, &path, 10_000);
    assert_eq!(started, [(0, Xv1, true), (0, Xv3, true), (0, Xv4, true), (0, K1, true), (350, C1, true)]);
    let stopped = changes(&mut rig, &[K1], 10_000);
    assert_eq!(stopped, [(0, Xv1, false), (0, Xv3, false), (50, C1, false), (600, Xv4, false)]);
}

/// Asked for and taken back at once, a motor runs its shortest time; the compressor then waits for its three minutes.
#[test]
fn a_motor_that_is_taken_back_runs_its_shortest_time() {
    let mut rig = Rig::rested();
    rig.until(&[Xv4, C1], C1, true);
    assert_eq!(changes(&mut rig, &[], 10_000), [(2_000, C1, false), (2_550, Xv4, false)]);
    rig.until(&[Xv4, P1], P1, true);
    assert_eq!(changes(&mut rig, &[], 10_000)[..], [(0, Xv4, false), (2_000, P1, false)]);
    // Off for two seconds at least, too.
    rig.until(&[P1], P1, true);
    rig.until(&[], P1, false);
    assert_eq!(changes(&mut rig, &[P1], 10_000), [(2_000, P1, true)]);
}

#[test]
fn a_compressor_rests_three_minutes() {
    let mut rig = Rig::rested();
    rig.until(&[Xv4, C1], C1, true);
    rig.until(&[], C1, false);
    assert_eq!(rig.drive.ready_in(rig.now), Millis(0), "not dated yet");
    rig.step(&[], &FREE);
    assert_eq!(rig.drive.ready_in(rig.now), RESTART_DELAY);
    (0..1_800).for_each(|_| rig.step(&[Xv4, C1], &FREE));
    assert_eq!(rig.drive.ready_in(rig.now), Millis(90_000));
    (0..1_799).for_each(|_| rig.step(&[Xv4, C1], &FREE));
    assert!(!rig.on.has(C1) && rig.drive.ready_in(rig.now) == Millis(50));
    rig.step(&[Xv4, C1], &FREE);
    assert!(rig.on.has(C1));
    rig.step(&[Xv4, C1], &FREE);
    assert_eq!(rig.drive.ready_in(rig.now), Millis(0), "while it runs");
}

#[test]
fn a_pump_leads_and_follows_by_two_seconds() {
    let mut rig = Rig::rested();
    assert_eq!(changes(&mut rig, &[Xv6, P1], 10_000), [(0, P1, true), (2_050, Xv6, true)]);
    assert_eq!(changes(&mut rig, &[], 10_000), [(0, Xv6, false), (2_050, P1, false)]);
}

#[test]
fn a_valve_is_open_and_shut_for_a_scan_at_least() {
    let mut rig = Rig::rested();
    rig.step(&[Xv1], &FREE);
    rig.step(&[], &FREE);
    assert!(rig.on.has(Xv1), "open for a scan");
    rig.step(&[], &FREE);
    assert!(!rig.on.has(Xv1));
    rig.step(&[Xv1], &FREE);
    assert!(!rig.on.has(Xv1), "shut for a scan");
    rig.step(&[Xv1], &FREE);
    assert!(rig.on.has(Xv1));
}

#[test]
fn the_heater_goes_in_the_scan_that_takes_it_back() {
    let mut rig = Rig::rested();
    rig.until(&[H1, H2, K1], H2, true);
    rig.step(&[], &FREE);
    assert_eq!(rig.on, Actuators::NONE);
    // And the fan comes in the scan that asks for it, however short it stood.
    rig.step(&[K1], &FREE);
    assert_eq!(rig.on, Actuators::SAFE);
}

#[test]
fn motors_start_a_quarter_of_a_second_apart() {
    let mut rig = Rig::rested();
    let started = changes(&mut rig, &[Xv4, C1, P1, H1, H2, K1], 30_000);
    let due = [(0, Xv4, true), (0, P1, true), (0, K1, true), (250, H1, true), (500, C1, true), (20_300, H2, true)];
    assert_eq!(started, due);
}

/// Each of a forbidden pair opens 150 ms after the other shut, and a scan for its dating.
#[test]
fn the_dead_time_of_a_pair_is_a_hundred_and_fifty_milliseconds() {
    for (a, b, _) in FORBIDDEN {
        for (first, second) in [(*a, *b), (*b, *a)] {
            let mut rig = Rig::rested();
            changes(&mut rig, &[first, P1], 5_000);
            let swapped = changes(&mut rig, &[second, P1], 5_000);
            assert_eq!(swapped, [(0, first, false), (200, second, true)], "{} to {}", first.tag(), second.tag());
        }
    }
}

/// A request while its opponent is on opens nothing until it has gone, and one taken back meanwhile nothing at all.
#[test]
fn what_an_inhibit_takes_away_goes_at_once_and_comes_back_in_order() {
    let mut rig = Rig::rested();
    let path = [K1, Xv1, Xv3, Xv4, C1];
    changes(&mut rig, &path, 5_000);
    rig.step(&path, &Inhibits { off: Actuators::of(&[Xv3]), force: Actuators::NONE, drop: Feeds::NONE });
    assert_eq!(rig.on, Actuators::of(&[K1, Xv1, Xv4, C1]), "no minimum time holds it");
    rig.step(&path, &FREE);
    assert!(!rig.on.has(Xv3), "its shortest time shut");
    rig.step(&path, &FREE);
    assert!(rig.on.has(Xv3));
    rig.step(&path, &Inhibits { off: Actuators::NONE, force: Actuators::of(&[K1]), drop: Feeds::NONE });
    rig.step(&[], &Inhibits { off: Actuators::NONE, force: Actuators::of(&[K1]), drop: Feeds::NONE });
    assert!(rig.on.has(K1), "held on");
}

/// After half an hour of rest every mark is forgotten, so that none looks fresh when the tick comes round.
#[test]
fn a_delay_of_ones_own_is_kept() {
    let mut drive = Drive::with_restart_delay(Millis(1_000));
    assert_eq!(drive.ready_in(Instant(0)), Millis(1_000));
    let (mut now, mut on) = (Instant(0), Actuators::NONE);
    let mut started = None;
    for _ in 0..100 {
        now = now.after(Millis(SCAN));
        on = gate(drive.sequence(now, Actuators::of(&[Xv4, C1]), &FREE, on), &FREE);
        if on.has(C1) {
            started = started.or(Some(now.0));
        }
    }
    assert_eq!(started, Some(1_050));
}
