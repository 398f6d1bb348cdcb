//! Whole job and core scan alone: `cargo bench -p valvewright-tests --bench job`.
//!
//! `whole_job` runs the demo scenario, plant, instruments, controller at 20 Hz and recorder together, without writing files;
//! its simulated time is printed once, so that the real-time factor can be read off. `core_scan` replays the frames of that
//! job through the controller alone.

use divan::counter::ItemsCount;
use std::sync::OnceLock;
use valvewright_core::frame::RawFrame;
use valvewright_core::station::Station;
use valvewright_core::units::{Instant, Millis};
use valvewright_sim::run::{Control, RunOptions, RunOutcome, run_scenario, station_config};
use valvewright_sim::scenario::{Scenario, parse, shipped};

fn demo() -> Scenario {
    let source = shipped::source(shipped::DEMO).expect("the demo is shipped");
    parse::read(&source).expect("the demo is valid")
}

fn run(scenario: &Scenario, keep_frames: bool) -> RunOutcome {
    let options = RunOptions { keep_frames, ..RunOptions::default() };
    run_scenario(scenario, &options, &mut |_| Control::Continue).expect("the demo runs")
}

fn frames() -> &'static [(u32, RawFrame)] {
    static FRAMES: OnceLock<Vec<(u32, RawFrame)>> = OnceLock::new();
    FRAMES.get_or_init(|| run(&demo(), true).frames)
}

fn main() {
    let scenario = demo();
    let result = run(&scenario, false).result;
    println!("demo job: {:.1} s simulated, {} scans", result.sim_seconds, result.ticks);
    divan::main();
}

#[divan::bench(sample_count = 30)]
fn whole_job(bencher: divan::Bencher) {
    let scenario = demo();
    bencher.bench(|| run(&scenario, false).result.trace_hash);
}

/// Time per job; the item rate is scans a second.
#[divan::bench(sample_count = 30)]
fn core_scan(bencher: divan::Bencher) {
    let (scenario, frames) = (demo(), frames());
    bencher.counter(ItemsCount::new(frames.len())).bench(|| {
        let mut station = Station::new(station_config(&scenario), Millis(0));
        let mut lit = 0u32;
        for (ms, frame) in frames {
            lit += u32::from(station.tick(Instant(*ms), frame).on.0);
            while station.take_notice().is_some() {}
        }
        lit
    });
}
