//! Runs networks drawn from seeds and judges them: `cargo run --release -p valvewright-tests --example networks -- [COUNT] [FIRST_SEED]`,
//! 1000 from seed 0 without. `--write DIR` keeps the rig file of each that fails, to be run with `valvewright rig`; `--text` prints the
//! network of FIRST_SEED and runs nothing.

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
    text: bool,
}

fn wanted() -> Result<Wanted, String> {
    let mut made = Wanted { count: 1000, first: 0, write: None, text: false };
    let mut numbers = Vec::new();
    let mut rest = std::env::args().skip(1);
    while let Some(one) = rest.next() {
        match one.as_str() {
            "--write" => made.write = Some(rest.next().ok_or("--write needs a folder")?.into()),
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
    /// Count and first seeds of each class.
    classes: BTreeMap<String, (u64, Vec<u64>)>,
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
    for (class, (count, seeds)) in &found.classes {
        println!("{count:6}  {class}; seeds {seeds:?}");
    }
    ExitCode::from(u8::from(found.failed > 0))
}

fn one(seed: u64, wanted: &Wanted, found: &mut Found) {
    let text = text(seed);
    let started = Instant::now();
    let verdict = judge(&text);
    found.slowest = found.slowest.max((started.elapsed(), seed));
    found.faults += u64::from(verdict.fault.is_some());
    found.steps += verdict.steps;
    found.seconds += verdict.seconds;
    if verdict.failures.is_empty() {
        return;
    }
    found.failed += 1;
    for failure in &verdict.failures {
        println!("seed {seed} {failure}");
        let (count, seeds) = found.classes.entry(failure.class.clone()).or_default();
        *count += 1;
        if seeds.len() < 5 {
            seeds.push(seed);
        }
    }
    let Some(folder) = &wanted.write else { return };
    let path = folder.join(format!("network-{seed}.toml"));
    match std::fs::create_dir_all(folder).and_then(|()| std::fs::write(&path, text)) {
        Ok(()) => println!("  valvewright rig {}", path.display()),
        Err(wrong) => eprintln!("networks: {} cannot be written: {wrong}", path.display()),
    }
}
