//! What is known of a connection, whose it is and when it ends; questions, answers and notices.

use valvewright_core::job::PhaseKind;

use crate::bench::{Bench, order};

/// A station that stands coupled, its scales at rest.
pub fn coupled() -> Bench {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench
}

/// An order up to its question about the sample filter.
pub fn asked(bench: &mut Bench, id: u16, phases: &[PhaseKind]) {
    bench.start(id, order(phases));
    assert!(bench.until(100, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
}
