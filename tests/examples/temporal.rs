//! Writes formulas with traces and our values of them, one pair a line as JSON, for the comparison with rtamt:
//! `cargo run --release -p valvewright-tests --example temporal -- [COUNT] [FIRST_SEED]`, 1 000 from seed 0 without.

use std::process::ExitCode;

use serde_json::{Value, json};
use valvewright_sim::logic::stream::values;
use valvewright_tests::random_formulas::{NAMES, pair};

/// JSON has no word for what is without measure.
fn number(value: f64) -> Value {
    if value.is_finite() { json!(value) } else { json!(if value > 0.0 { "inf" } else { "-inf" }) }
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let word = |at: usize, usual: u64| words.get(at).map_or(Ok(usual), |word| word.parse::<u64>());
    let (Ok(count), Ok(first)) = (word(0, 1_000), word(1, 0)) else {
        eprintln!("give COUNT and FIRST_SEED at most");
        return ExitCode::from(64);
    };
    for seed in first..first + count {
        let pair = pair(seed);
        let Ok(ours) = values(&pair.formula, 1.0, &pair.margins()) else {
            eprintln!("seed {seed}: a span lies between two scans");
            return ExitCode::FAILURE;
        };
        let trace: serde_json::Map<String, Value> =
            NAMES.iter().zip(&pair.trace).map(|(name, values)| ((*name).to_owned(), json!(values))).collect();
        let ours: Vec<Value> = ours.into_iter().map(number).collect();
        println!("{}", json!({ "seed": seed, "formula": pair.rtamt(), "trace": trace, "ours": ours }));
    }
    ExitCode::SUCCESS
}
