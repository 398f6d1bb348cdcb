//! Recovery, evacuation and the leak check on the bare controller.

use crate::bench::{Bench, order};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};

fn outcome(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().last().map(|r| r.outcome)
}

/// Until the order has ended, at most so many seconds.
fn ends_within(bench: &mut Bench, seconds: u32) -> bool {
    bench.until(seconds, |b| !b.station.job().busy())
}

#[test]
fn a_broken_hose_gauge_is_no_high_pressure_to_the_oil_drain() {
    for broken in [(-1e6, 36_000.0), (36_000.0, -1e6)] {
        let mut bench = Bench::new();
        (bench.world.p_low, bench.world.p_high) = broken;
        bench.seconds(5);
        bench.start(1, order(&[PhaseKind::DrainOil]));
        assert!(ends_within(&mut bench, 200));
        assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::ReadingBad)), "{broken:?}");
    }
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::DrainOil]));
    assert!(ends_within(&mut bench, 200));
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::PressureTooHigh)), "6 bar");
}
