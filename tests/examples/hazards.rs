//! What became of each hazard in the shipped scenarios, or in those named: `cargo run --release -p valvewright-tests --example hazards -- NAME`.
//! With `off` before the names nothing is judged: the two under `valgrind --tool=callgrind` tell what the monitors take.

use valvewright_sim::report::data::HazardLevel;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::{parse, shipped};

fn main() {
    let (options, wanted): (Vec<String>, Vec<String>) = std::env::args().skip(1).partition(|word| word == "off");
    let names = shipped::SHIPPED.iter().map(|one| one.name);
    for name in names.filter(|name| wanted.is_empty() || wanted.iter().any(|one| one == name)) {
        let source = shipped::source(name).expect("it is shipped");
        let scenario = parse::read(&source).expect("it reads");
        let options = RunOptions { no_samples: true, no_hazards: !options.is_empty(), ..RunOptions::default() };
        let result = run_scenario(&scenario, &options, &mut |_| Control::Continue).expect("it runs").result;
        println!("{name}: {}, exit {}", result.verdict.word(), result.exit_code());
        for one in &result.hazards {
            if !wanted.is_empty() || one.level > HazardLevel::None || one.unseen_t_s.is_some() {
                println!(
                    "  {} {:8} margin {:6.3} at {:8.1} s: {:.4} {} {} (alert {:?}, accident {:?}, unseen {:?}, {:?})",
                    one.id,
                    one.level.word(),
                    one.worst_margin,
                    one.worst_t_s,
                    one.figure.value,
                    one.figure.unit,
                    one.figure.what,
                    one.alert_t_s,
                    one.accident_t_s,
                    one.unseen_t_s,
                    one.not_judged,
                );
            }
        }
    }
}
