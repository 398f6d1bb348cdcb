//! Runs networks drawn from seeds and judges them: `cargo run --release -p valvewright-tests --example networks -- [COUNT] [FIRST_SEED]`,
//! 1000 from seed 0 without. Failures and faults are told by class: what was said, without its numbers and names. `--write DIR` keeps the
//! rig file of each that fails, to be run with `valvewright rig`; `--faults` keeps and tells those that end in a fault as well; `--text`
//! prints the network of FIRST_SEED and runs nothing.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use valvewright_tests::random_rigs::{judge, text};

/// What was asked for.
struct Wanted {
    count: u64,
    first: u64,
    write: Option<PathBuf>,
    faults: bool,
    text: bool,
}

/// Seeds that are told of a class.
const MOST_SEEDS: usize = 12;

/// Count and first seeds of each class.
type Classes = BTreeMap<String, (u64, Vec<u64>)>;

fn wanted() -> Result<Wanted, String> {
    let mut made = Wanted { count: 1000, first: 0, write: None, faults: false, text: false };
    let mut numbers = Vec::new();
    let mut rest = std::env::args().skip(1);
    while let Some(one) = rest.next() {
        match one.as_str() {
            "--write" => made.write = Some(rest.next().ok_or("--write needs a folder")?.into()),
            "--faults" => made.faults = true,
            "--text" => made.text = true,
            _ => numbers.push(one.parse::<u64>().map_err(|_| format!("`{one}` is no count, seed or option"))?),
        }
    }
    match numbers[..] {
        [] => {}
        [count] => made.count = count,
        [count, first] => (made.count, made.first) = (count, first),
        _ => return Err("give COUNT and FIRST_SEED at most".to_owned()),
    }
    if made.count == 0 {
        return Err("COUNT must be 1 or more".to_owned());
    }
    Ok(made)
}

/// What was found so far.
#[derive(Default)]
struct Found {
    failed: u64,
    faults: u64,
    steps: u64,
    seconds: f64,
    failures: Classes,
    causes: Classes,
    slowest: (Duration, u64),
}

fn main() -> ExitCode {
    let wanted = match wanted() {
        Ok(wanted) => wanted,
        Err(wrong) => {
            eprintln!("networks: {wrong}");
            return ExitCode::from(64);
        }
    };
    if wanted.text {
        print!("{}", text(wanted.first));
        return ExitCode::SUCCESS;
    }
    // A panic is a finding and told with its seed.
    std::panic::set_hook(Box::new(|_| {}));
    let (mut found, started, mut told) = (Found::default(), Instant::now(), Instant::now());
    for done in 0..wanted.count {
        one(wanted.first.wrapping_add(done), &wanted, &mut found);
        if told.elapsed() > Duration::from_secs(2) {
            told = Instant::now();
            eprintln!("{} of {}, {} failed, {} faults", done + 1, wanted.count, found.failed, found.faults);
        }
    }
    let wall = started.elapsed().as_secs_f64();
    println!(
        "{} networks in {wall:.1} s: {} failed, {} ended in a fault; {} steps over {:.0} h; slowest {:.1} s (seed {})",
        wanted.count,
        found.failed,
        found.faults,
        found.steps,
        found.seconds / 3600.0,
        found.slowest.0.as_secs_f64(),
        found.slowest.1
    );
    table("failures", &found.failures);
    table("faults", &found.causes);
    ExitCode::from(u8::from(found.failed > 0))
}

fn table(title: &str, classes: &Classes) {
    println!("{title}:");
    let mut all: Vec<_> = classes.iter().collect();
    all.sort_by_key(|(_, (count, _))| std::cmp::Reverse(*count));
    for (class, (count, seeds)) in all {
        println!("{count:6}  {class}; seeds {seeds:?}");
    }
}

fn count(classes: &mut Classes, class: String, seed: u64) {
    let (count, seeds) = classes.entry(class).or_default();
    *count += 1;
    if seeds.len() < MOST_SEEDS {
        seeds.push(seed);
    }
}

fn one(seed: u64, wanted: &Wanted, found: &mut Found) {
    let text = text(seed);
    let started = Instant::now();
    let verdict = judge(&text);
    found.slowest = found.slowest.max((started.elapsed(), seed));
    found.faults += u64::from(verdict.fault.is_some());
    found.steps += verdict.steps;
    found.seconds += verdict.seconds;
    if let Some(fault) = &verdict.fault {
        count(&mut found.causes, fault.class.clone(), seed);
        if wanted.faults {
            println!("seed {seed} ends in a fault: {}", fault.words);
        }
    }
    for failure in &verdict.failures {
        println!("seed {seed} {failure}");
        count(&mut found.failures, failure.class.clone(), seed);
    }
    found.failed += u64::from(!verdict.failures.is_empty());
    if verdict.failures.is_empty() && !(wanted.faults && verdict.fault.is_some()) {
        return;
    }
    let Some(folder) = &wanted.write else { return };
    let path = folder.join(format!("network-{seed}.toml"));
    match std::fs::create_dir_all(folder).and_then(|()| std::fs::write(&path, text)) {
        Ok(()) => println!("  valvewright rig {}", path.display()),
        Err(wrong) => eprintln!("networks: {} cannot be written: {wrong}", path.display()),
    }
}
