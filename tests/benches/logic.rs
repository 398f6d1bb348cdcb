//! What a property costs: `cargo bench -p valvewright-tests --bench logic`.
//!
//! First monitors alone on a made-up run, then whole runs of the demo with and without properties, taking turns; the best of all
//! rounds counts. The budget is 50 ns a scan for a formula of usual size, told where it is broken.

use std::hint::black_box;
use std::process::ExitCode;
use std::time::Instant as Clock;

use valvewright_sim::logic::monitor::Monitor;
use valvewright_sim::logic::names::Names;
use valvewright_sim::logic::parse;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::Scenario;
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{parse as file, shipped};
use valvewright_sim::station;

const ROUNDS: usize = 15;
/// Scans of the made-up run: about those of a job.
const SCANS: usize = 60_000;
/// ns a scan, for a formula of usual size.
const BUDGET: f64 = 50.0;

/// Formulas, and whether each is of usual size.
const FORMULAS: [(&str, bool); 8] = [
    ("always vessel.p < 16 bar", true),
    ("whenever XV-5 is on then XV-10 is on", true),
    ("whenever row I03 then within 1 s C-1 is off", true),
    ("whenever (XV-7 is on and AT-2 > 5 %) then within 500 ms XV-7 is off", true),
    ("always (PT-1 - vessel.p < 300 mbar and vessel.p - PT-1 < 300 mbar)", true),
    ("whenever C-1 is on then (eventually within 2 min C-1 is off) or vessel.p < 15 bar", true),
    ("whenever vessel.p > 5 bar then (vessel.p > 4 bar) until within 30 s (PT-1 < 8 bar)", false),
    ("always (vessel.p > 1 bar implies eventually (hose_low.p < 2 bar))", false),
];

fn names() -> Names {
    Names::new(Some(&station::load(None).expect("shipped").network), Vec::new())
}

/// Margins that wander and switch, each scan another.
fn margins(atoms: usize) -> Vec<Vec<f64>> {
    let at = |scan: usize| {
        let of = |atom: usize| {
            let x = scan as f64 * 0.003 + atom as f64;
            if atom.is_multiple_of(2) {
                x.sin() + 1.2
            } else if (scan / 700).is_multiple_of(2) {
                f64::INFINITY
            } else {
                f64::NEG_INFINITY
            }
        };
        (0..atoms).map(of).collect()
    };
    (0..SCANS).map(at).collect()
}

/// ns a scan of a monitor alone.
fn alone(text: &str) -> f64 {
    let parsed = parse::parse(text, &names()).expect("reads");
    let trace = margins(parsed.atoms.len());
    let mut best = f64::INFINITY;
    for _ in 0..ROUNDS {
        let mut monitor = Monitor::new(&parsed.formula, 0.05).expect("whole scans");
        let started = Clock::now();
        for scan in &trace {
            monitor.scan(black_box(scan));
        }
        best = best.min(started.elapsed().as_secs_f64());
        black_box(monitor.finish());
    }
    best / SCANS as f64 * 1e9
}

fn demo(extra: &str) -> Scenario {
    let text = shipped::source(shipped::DEMO).expect("shipped").text + extra;
    file::read(&Source::new("demo.toml", text)).expect("reads")
}

/// Seconds and scans of a whole run.
fn whole(scenario: &Scenario) -> (f64, u64) {
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let result = run_scenario(scenario, &options, &mut |_| Control::Continue).expect("runs").result;
    (result.wall_seconds, result.ticks)
}

fn main() -> ExitCode {
    println!("monitor alone, ns a scan");
    let mut over = 0;
    for (text, usual) in FORMULAS {
        let cost = alone(text);
        let broken = usual && cost > BUDGET;
        over += usize::from(broken);
        println!("{cost:7.1}  {text}{}", if broken { "   OVER THE BUDGET" } else { "" });
    }
    println!("in a run of the demo with all there is to it, ns a scan");
    let usual: Vec<&str> = FORMULAS.iter().filter(|(_, usual)| *usual).map(|(text, _)| *text).collect();
    let tables = |list: &[&str]| {
        let one = |(at, text): (usize, &&str)| format!("\n[[property]]\nname = \"p{at}\"\nformula = \"{text}\"\n");
        list.iter().enumerate().map(one).collect::<String>()
    };
    let jobs = [demo(""), demo(&tables(&usual[2..3])), demo(&tables(&usual))];
    let mut best = [f64::INFINITY; 3];
    let mut scans = 1;
    for _ in 0..ROUNDS {
        for (best, job) in best.iter_mut().zip(&jobs) {
            let (seconds, ticks) = whole(job);
            *best = best.min(seconds);
            scans = ticks;
        }
    }
    let cost = |of: usize| (best[of] - best[0]) / scans as f64 * 1e9;
    println!("{:7.1}  the scan without properties", best[0] / scans as f64 * 1e9);
    println!("{:7.1}  one property more: {}", cost(1), usual[2]);
    println!("{:7.1}  {} properties more, {:.1} each", cost(2), usual.len(), cost(2) / usual.len() as f64);
    if over == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
