//! One program for several targets: which of them it is stands in the environment.

use std::sync::OnceLock;

/// What a target does with an input.
type Run = fn(&[u8]);
static CHOSEN: OnceLock<Run> = OnceLock::new();

/// Runs the target that `VALVEWRIGHT_FUZZ` names.
pub fn run(targets: &[(&'static str, Run)], data: &[u8]) {
    let chosen = CHOSEN.get_or_init(|| {
        let name = std::env::var("VALVEWRIGHT_FUZZ").unwrap_or_default();
        match targets.iter().find(|(one, _)| *one == name) {
            Some((_, run)) => *run,
            None => {
                let names: Vec<_> = targets.iter().map(|(name, _)| *name).collect();
                eprintln!("VALVEWRIGHT_FUZZ names no target of this program, which has: {}", names.join(", "));
                std::process::exit(64)
            }
        }
    });
    chosen(data);
}
