//! Development aid.
use valvewright_sim::{run::*, scenario};
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let src = scenario::shipped::source(&a[1]).unwrap_or_else(|| scenario::diagnostic::Source::new(a[1].clone(), std::fs::read_to_string(&a[1]).unwrap()));
    let sc = match scenario::parse::read(&src) { Ok(s) => s, Err(e) => { for d in e { eprintln!("{d}") } return } };
    let out = run_scenario(&sc, &RunOptions::default(), &mut |_| Control::Continue);
    let out = match out { Ok(o) => o, Err(e) => { eprintln!("{e}"); return } };
    let r = &out.result;
    for n in &r.notices { println!("{:9.2} {:18} {}", n.t_s, n.id, n.text) }
    for p in &r.phases { println!("{:12} {:?} {:.1} {}", p.name, p.outcome, p.seconds, p.detail) }
    println!("verdict {:?} sim {:.1} wall {:.4} speed {:.0} ticks {} hash {}", r.verdict, r.sim_seconds, r.wall_seconds, r.speed, r.ticks, r.trace_hash);
    println!("recovered {:?} charged {:?} oil {:.1}/{:.1}", r.recovered_g, r.charged_g, r.oil_drained_ml, r.oil_drained_ml_true);
    println!("mass {:e} rel {:e} energy {:e}", r.mass_balance_error_g, r.mass_balance_rel, r.energy_balance_error_rel);
    for e in &r.expectations { println!("{} {} {}", e.held, e.name, e.detail) }
    if let Some(step) = a.get(2).and_then(|s| s.parse::<usize>().ok()) {
        let t = &out.trace;
        println!("t {}", t.channels.iter().map(|c| c.spec.name.clone()).collect::<Vec<_>>().join(" "));
        for i in (0..t.time_s.len()).step_by(step) {
            println!("{:.1} {}", t.time_s[i], t.channels.iter().map(|c| format!("{:.4}", c.values[i])).collect::<Vec<_>>().join(" "));
        }
    }
}
