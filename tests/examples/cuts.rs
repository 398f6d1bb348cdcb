//! Power goes at every step of the flash in whole jobs: `cargo run --release -p valvewright-tests --example cuts -- [all|NAME]...`, those of the
//! tests without a name. `quick` in front tries what the tests try.

use std::io::Write;
use std::process::ExitCode;
use std::time::Instant;

use valvewright_core::token::Typed;
use valvewright_tests::job_cuts::{Count, brown_outs, pairs, singles};

const NAMES: [&str; 4] = ["gas_detector_test", "vessel_scale_calibration", "filter_drier_exchange", "mild_hatchback"];

fn tell(what: &str, name: &str, started: Instant, done: Result<Count, String>) -> bool {
    let seconds = started.elapsed().as_secs_f64();
    match &done {
        Ok(count) => println!("{what} in {name}, {seconds:.1} s: {count:?}"),
        Err(wrong) => println!("{what} in {name}: {wrong}"),
    }
    // A pipe that is shut takes no more lines, and the result stands in the exit code.
    let _shut = std::io::stdout().flush();
    done.is_ok()
}

fn main() -> ExitCode {
    let mut names: Vec<String> = std::env::args().skip(1).collect();
    let quick = names.first().is_some_and(|first| first == "quick");
    if quick {
        names.remove(0);
    }
    if names.is_empty() {
        names = NAMES.map(str::to_owned).to_vec();
    }
    let (shares, stride, every) = if quick { (1, 8, 12) } else { (5, 1, 1) };
    let mut well = true;
    for name in &names {
        eprintln!("{name} ...");
        let code = (name == "filter_drier_exchange").then(|| Typed::read("48002-ZJKS8-NGPR9-R")).flatten();
        let now = Instant::now();
        well &= tell("single cuts", name, now, singles(name, shares, code));
        let now = Instant::now();
        well &= tell("brown-outs", name, now, brown_outs(name, every));
        let now = Instant::now();
        well &= tell("pairs of cuts", name, now, pairs(name, stride));
    }
    if well { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
