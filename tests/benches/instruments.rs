//! Cost of one frame: all instruments of the reference station, at rest and while motors run and an analysis is under way.

use divan::Bencher;
use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::sense::identifier::request;
use valvewright_sim::instrument::{InstrumentSpec, Instruments, Truth};

fn main() {
    divan::main();
}

/// A thousand frames per sample, so that the clock's own cost does not show; divide by a thousand.
const FRAMES: u32 = 1000;

fn run(bencher: Bencher, truth: Truth, mut outputs: Outputs) {
    let mut instruments = Instruments::new(&InstrumentSpec::default(), 1);
    let mut frame = RawFrame::default();
    instruments.frame(0.0, 0.05, &truth, &Outputs::default(), None, &mut frame);
    instruments.frame(0.0, 0.05, &truth, &outputs, None, &mut frame);
    outputs.identifier.clear();
    bencher.counter(divan::counter::ItemsCount::new(FRAMES)).bench_local(|| {
        for _ in 0..FRAMES {
            instruments.frame(0.0, 0.05, divan::black_box(&truth), &outputs, None, &mut frame);
        }
        frame.analog[0]
    });
}

#[divan::bench]
fn thousand_frames_at_rest(bencher: Bencher) {
    run(bencher, Truth::default(), Outputs::default());
}

#[divan::bench]
fn thousand_frames_shaken_and_sampling(bencher: Bencher) {
    let truth = Truth { motors_running: true, ..Truth::default() };
    run(bencher, truth, Outputs { identifier: request(1), ..Outputs::default() });
}
