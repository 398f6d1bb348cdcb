//! What is known of a connection, whose it is and when it ends; questions, answers and notices.

use crate::bench::Bench;

/// A station that stands coupled, its scales at rest.
pub fn coupled() -> Bench {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench
}
