//! Bounded proofs in their long form: `cargo run --release -p valvewright-tests --example proof -- MODEL [OPTIONS]`. See `docs/model.md`.

#[path = "../model/mod.rs"]
mod model;
#[path = "../model/stand/mod.rs"]
mod stand;

use std::process::ExitCode;

use model::{Bounded, Found, explore, replay};
use valvewright_core::row::{RowId, RowSet};

/// What it can do.
const HELP: &str = "proof MODEL [OPTIONS]

MODEL         locks (interlocks), pairs (two causes at once), drive, job (the whole station), codes, or all
--depth N     acts of a way, 1 to 12; each model has its own
--threads N   1 to 64; 2
--from TEXT   of job: only starts with this in their name
--without ROW of job: a row that is left out, such as HS-1
--planted     with an error that must be found (locks, drive, codes)
--replay WAY  goes a way again, as a finding tells it: 3/0.12.4

Exit codes: 0 nothing forbidden is seen, 1 something is, 64 wrong use. The simulated station is an uncertified design.";

/// How often progress is told.
const PACE: std::time::Duration = std::time::Duration::from_secs(10);

struct Asked {
    model: String,
    depth: Option<u8>,
    threads: usize,
    from: String,
    without: RowSet,
    planted: bool,
    replay: Option<String>,
}

fn number<T: std::str::FromStr + PartialOrd + std::fmt::Display>(
    name: &str,
    text: &str,
    from: T,
    to: T,
) -> Result<T, String> {
    let value = text.parse().ok().filter(|value| *value >= from && *value <= to);
    value.ok_or_else(|| format!("{name} is `{text}`: it takes {from} to {to}"))
}

fn asked() -> Result<Asked, String> {
    let mut args = std::env::args().skip(1);
    let model = args.next().ok_or("which model?")?;
    let mut asked = Asked {
        model,
        depth: None,
        threads: 2,
        from: String::new(),
        without: RowSet::NONE,
        planted: false,
        replay: None,
    };
    while let Some(name) = args.next() {
        if name == "--planted" {
            asked.planted = true;
            continue;
        }
        let value = args.next().ok_or_else(|| format!("{name} takes a value, or is no option"))?;
        match name.as_str() {
            "--depth" => asked.depth = Some(number("--depth", &value, 1, 12)?),
            "--threads" => asked.threads = number("--threads", &value, 1, 64)?,
            "--from" => asked.from = value,
            "--without" => {
                let row = RowId::ALL.into_iter().find(|row| row.as_str() == value);
                let row = row.ok_or_else(|| format!("--without is `{value}`: it takes I01 to I31 or HS-1"))?;
                asked.without = asked.without.with(row);
            }
            "--replay" => asked.replay = Some(value),
            other => return Err(format!("`{other}` is no option")),
        }
    }
    Ok(asked)
}

/// Explores or replays one model; whether nothing forbidden was seen.
fn run<M: Bounded>(name: &str, model: M, asked: &Asked) -> Result<bool, String>
where
    M::State: Clone + std::hash::Hash + PartialEq + std::fmt::Debug + Send + Sync + 'static,
    M::Action: Clone + PartialEq + std::fmt::Debug + Send + Sync + 'static,
{
    if let Some(way) = &asked.replay {
        let wrong = replay(&model, way, |act, state| {
            println!("{act}{}", M::wrong(state).map_or(String::new(), |what| format!("  <- {what}")))
        })?;
        return Ok(wrong.is_none());
    }
    let starts = model.starts().len();
    if starts == 0 {
        return Err(format!("no start has `{}` in its name: try power-on, recover, charge", asked.from));
    }
    eprintln!("{name}: from {starts} starts");
    let told = std::cell::Cell::new(std::time::Instant::now());
    let found = explore(model, asked.threads, |tried, unique| {
        if told.get().elapsed() > PACE {
            told.set(std::time::Instant::now());
            eprintln!("{name}: {tried} acts, {unique} states that differ");
        }
    });
    let Found { unique, tried, took, unseen, way } = found;
    println!("{name}: {starts} starts, {tried} acts, {unique} states that differ, {:.1} s", took.as_secs_f64());
    if let Some(way) = &way {
        println!("  found: {}\n  way {}: {}", way.wrong, way.numbers, way.acts.join(", "));
    } else if !unseen.is_empty() {
        println!("  never reached, so that this shows little: {}", unseen.join(", "));
    }
    // Some of the starts need not reach what all of them do.
    Ok(way.is_none() && (unseen.is_empty() || !asked.from.is_empty()))
}

fn main() -> ExitCode {
    let asked = match asked() {
        Ok(asked) => asked,
        Err(what) => {
            eprintln!("{what}\n\n{HELP}");
            return ExitCode::from(64);
        }
    };
    let depth = |usual: u8| asked.depth.unwrap_or(usual);
    let planted = asked.planted;
    let one = |name: &str| match name {
        "locks" => run(name, model::locks::Locks { depth: depth(6), together: 1, bounces: planted }, &asked),
        "pairs" => run(name, model::locks::Locks { depth: depth(4), together: 2, bounces: planted }, &asked),
        "drive" => run(name, model::drive::Drives { depth: depth(5), at_once: planted }, &asked),
        "job" => run(name, model::job::Jobs::new(depth(3), &asked.from, asked.without), &asked),
        "codes" => run(name, model::codes::Codes::new(depth(4), planted, true), &asked),
        other => Err(format!("`{other}` is no model: locks, pairs, drive, job, codes, all")),
    };
    let wanted =
        if asked.model == "all" { vec!["locks", "pairs", "drive", "job", "codes"] } else { vec![asked.model.as_str()] };
    let mut held = true;
    for name in wanted {
        match one(name) {
            Ok(well) => held &= well,
            Err(what) => {
                eprintln!("{what}\n\n{HELP}");
                return ExitCode::from(64);
            }
        }
    }
    if held { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
