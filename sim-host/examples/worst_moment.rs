//! A fork at the worst moment: one job, copied while it charges, and a fault in the copy alone.
//!
//! `cargo run --release -p valvewright-sim --example worst_moment`. The copy costs microseconds, so a thousand moments are no matter.

use valvewright_core::frame::Scale;
use valvewright_core::job::PhaseKind;
use valvewright_sim::instrument::ScaleHealth;
use valvewright_sim::run::{Control, RunOptions, Scene, Seams, Simulation, Stand, complete};
use valvewright_sim::scenario::{parse, shipped};

fn main() {
    let source = shipped::source(shipped::DEMO).expect("the demo is shipped");
    let scenario = parse::read(&source).expect("it reads");
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let mut run = Simulation::new(&scenario, &options).expect("the demo has a plant");

    // The moment at which most refrigerant is on its way into the vehicle.
    let flow = |run: &Simulation| run.signal("XV-5+XV-10+XV-1.flow").unwrap_or(0.0);
    let (mut worst, mut most) = (None, 0.0);
    while run.step().expect("the built-in controller answers") == Stand::Running {
        if run.phase() == Some(PhaseKind::Charge) && flow(&run) > most * 1.01 {
            most = flow(&run);
            worst = Some(run.fork());
        }
    }
    let worst = worst.expect("the demo charges");
    println!("worst moment: {:.2} s, {:.1} g/s", worst.time(), most * 1e3);

    // From there on one bridge of the vessel scale repeats what it last said, in the copy alone.
    let mut stick = |scene: &mut Scene<'_>| scene.instruments.set_scale(Scale::Wt1A, ScaleHealth::Frozen);
    let mut seams = Seams { faults: Some(&mut stick), observer: None };
    let sick = complete(worst.fork(), &mut seams, &mut |_| Control::Continue).expect("it runs").result;
    let well = complete(worst, &mut Seams::default(), &mut |_| Control::Continue).expect("it runs").result;
    for (name, result) in [("well", &well), ("WT-1A frozen", &sick)] {
        let rows: Vec<&str> = result.interlocks.iter().map(|one| one.id.as_str()).collect();
        println!(
            "{name:<13} verdict {:<10} charged {:6.1} g in truth, tripped: {rows:?}",
            result.verdict.word(),
            result.charged_g.truth
        );
    }
    assert_eq!(well.trace_hash, run.hash(), "a fork goes on to the hash of the run that was not forked");
    assert!(sick.charged_g.truth < well.charged_g.truth + 15.0, "a frozen bridge does not overcharge");
}
