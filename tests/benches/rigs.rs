//! Plant speed: the reference rigs and a whole service on the workshop network. `cargo bench -p valvewright-tests --bench rigs`.

use divan::Bencher;
use valvewright_sim::plant::rig::{RigSpec, Step, parse_rig, run_rig, shipped_text};
use valvewright_sim::scenario::diagnostic::Source;

fn main() {
    divan::main();
}

fn parsed(name: &str, text: &str) -> RigSpec {
    parse_rig(&Source::new(name, text)).unwrap_or_else(|all| panic!("{}", all[0]))
}

/// Rows only at the ends of steps: the integrator alone.
fn silent(steps: &mut [Step]) {
    for step in steps {
        step.output = 1e6;
        silent(&mut step.round);
    }
}

#[divan::bench(args = ["a2", "a3", "b1", "b2", "c1", "c2", "d1", "d2", "e2"])]
fn reference_rig(bencher: Bencher, name: &str) {
    let spec = parsed(name, shipped_text(name).expect("a shipped rig"));
    bencher.bench_local(|| run_rig(&spec, |_| true).expect("runs"));
}

#[divan::bench(args = [1e-3, 3e-4, 1e-5])]
fn whole_service(bencher: Bencher, tolerance: f64) {
    let mut spec = parsed("workshop", include_str!("../data/rigs/workshop.toml"));
    spec.tolerance = tolerance;
    silent(&mut spec.steps);
    bencher.bench_local(|| run_rig(&spec, |_| true).expect("runs"));
}
