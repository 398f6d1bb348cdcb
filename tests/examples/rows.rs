//! Runs rows of jobs drawn from seeds and holds what was said of each job against what was so:
//! `cargo run --release -p valvewright-tests --example rows -- [COUNT] [FIRST_SEED] [STATION]`, 200 from seed 0 without. Leaves with 1 where
//! something is wrong; each is told with its seed.

use std::process::ExitCode;
use std::time::Instant;

use valvewright_tests::random_rows::{judge, row};

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, usual: u64| words.get(at).map_or(Ok(usual), |word| word.parse());
    let (Ok(count), Ok(first)) = (number(0, 200), number(1, 0)) else {
        eprintln!("give COUNT, FIRST_SEED and STATION at most");
        return ExitCode::from(64);
    };
    let station = words.get(2).map(String::as_str);
    let (started, mut runs, mut jobs, mut wrong) = (Instant::now(), 0, 0, 0);
    for seed in first..first + count {
        let Ok(scenario) = row(seed, station) else { continue };
        let (of, found) = judge(&scenario, seed % 8 == 0);
        (runs, jobs) = (runs + 1, jobs + of);
        for what in found {
            println!("{seed}: {what}");
            wrong += 1;
        }
    }
    println!("{runs} rows of {jobs} jobs in {:.0} s, {wrong} things wrong", started.elapsed().as_secs_f64());
    if wrong == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
