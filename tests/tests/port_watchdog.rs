//! The watchdog is fed by whole scans only: no stage left out, doubled or swapped, and no clock that stands.

use proptest::prelude::*;
use valvewright_core::frame::{Actuators, Outputs};
use valvewright_core::port::board::{BoardFault, Flow, Inbox, Stage};
use valvewright_core::units::Instant;

use crate::port_bench::{End, WiredBoard, parts};

fn whole(tick: u32) -> [Stage; 3] {
    [Stage::Read, Stage::Judged(Instant(tick)), Stage::Applied]
}

fn pass(flow: &mut Flow, stages: [Stage; 3]) {
    for stage in stages {
        flow.pass(stage);
    }
}

#[test]
fn whole_scans_are_complete_across_the_wrap_of_the_tick() {
    let mut flow = Flow::new();
    for scan in 0..10_000u32 {
        pass(&mut flow, whole((u32::MAX - 100_000).wrapping_add(scan * 50)));
        assert!(flow.complete(), "scan {scan}");
    }
    assert_eq!(flow.scan(), 10_000);
}

#[test]
fn a_clock_that_stands_is_not_complete() {
    let mut flow = Flow::new();
    pass(&mut flow, whole(50));
    assert!(flow.complete());
    pass(&mut flow, whole(50));
    assert!(!flow.complete());
}

#[test]
fn what_was_once_broken_stays_broken() {
    let mut flow = Flow::default();
    assert!(!flow.complete(), "no stage at all");
    pass(&mut flow, whole(50));
    assert!(!flow.complete() && flow.broken());
}

#[test]
fn an_early_stage_of_the_next_scan_does_not_stand_for_one_of_this() {
    // Four marks in the first scan, two in the second: six in all, as two whole scans have.
    let mut flow = Flow::new();
    pass(&mut flow, whole(50));
    flow.pass(Stage::Read);
    let first = flow.complete();
    flow.pass(Stage::Judged(Instant(100)));
    flow.pass(Stage::Applied);
    assert_eq!((first, flow.complete()), (false, false));
}

fn stage() -> impl Strategy<Value = Stage> {
    prop_oneof![
        Just(Stage::Read),
        prop_oneof![Just(100u32), any::<u32>()].prop_map(|tick| Stage::Judged(Instant(tick))),
        Just(Stage::Applied),
    ]
}

/// A whole scan with one thing wrong, which chance alone would seldom make.
fn nearly_whole() -> impl Strategy<Value = Vec<Stage>> {
    let at = 0usize..3;
    prop_oneof![
        at.clone().prop_map(|at| [&whole(100)[..at], &whole(100)[at + 1..]].concat()),
        at.clone().prop_map(|at| [&whole(100)[..=at], &whole(100)[at..]].concat()),
        (at.clone(), at).prop_map(|(a, b)| {
            let mut stages = whole(100).to_vec();
            stages.swap(a, b);
            stages
        }),
        prop::collection::vec(stage(), 0..9),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

    #[test]
    fn only_a_whole_scan_is_complete(before in 0u32..4, stages in nearly_whole()) {
        let mut flow = Flow::new();
        for scan in 0..before {
            pass(&mut flow, whole(scan));
            prop_assert!(flow.complete());
        }
        for stage in &stages {
            flow.pass(*stage);
        }
        let due = match stages.as_slice() {
            [Stage::Read, Stage::Judged(at), Stage::Applied] => before == 0 || at.0 != before - 1,
            _ => false,
        };
        prop_assert_eq!(flow.complete(), due, "{:?}", stages);
    }

    #[test]
    fn a_board_feeds_its_watchdog_after_whole_scans_only(scans in prop::collection::vec(nearly_whole(), 1..4), good in 1u32..4) {
        let (end, inbox) = (End::default(), Inbox::new());
        let mut board = WiredBoard::new(parts(&end), &inbox);
        let script: Vec<Vec<Stage>> =
            (0..good).map(|scan| whole(1_000 + scan).to_vec()).chain(scans).collect();
        let (mut intact, mut last) = (true, None);
        for (scan, stages) in script.iter().enumerate() {
            for stage in stages {
                match stage {
                    Stage::Read => drop(board.read()),
                    Stage::Judged(now) => board.judged(*now),
                    Stage::Applied => drop(board.apply(&Outputs { on: Actuators::ALL, ..Outputs::default() })),
                }
            }
            intact &= matches!(stages.as_slice(), [Stage::Read, Stage::Judged(at), Stage::Applied] if last != Some(*at));
            last = stages.iter().rev().find_map(|stage| if let Stage::Judged(at) = stage { Some(*at) } else { None });
            let fed_before = end.0.borrow().fed;
            prop_assert_eq!(board.finish(), intact, "scan {} of {:?}", scan, script);
            prop_assert_eq!(end.0.borrow().fed - fed_before, u32::from(intact));
            prop_assert_eq!(board.fault(), if intact { None } else { Some(BoardFault::Flow) });
            if !intact {
                prop_assert_eq!(end.0.borrow().on(), Some(Actuators::SAFE), "safe without waiting for the watchdog");
            }
        }
    }
}
