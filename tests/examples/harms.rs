//! Breaks one device at a time in whole jobs and prints what the station said beside what was true:
//! `cargo run --release -p valvewright-tests --example harms -- [NAME] [SEED]`, all of them without; with a name also every notice.

use std::process::ExitCode;

use valvewright_tests::harms::{HARMS, Harm, Told};
use valvewright_tests::sensing::FAULTS;

fn line(harm: &Harm, told: &Told) {
    let (r, s) = (&told.result, &told.seen);
    println!("{}: {} after {:.0} min", harm.name, r.verdict.word(), r.sim_seconds / 60.0);
    let rows: Vec<String> = told.rows().iter().map(|(id, after)| format!("{id} +{after:.0} s")).collect();
    match s.broke {
        Some(broke) => println!("    broke at {broke:.0} s; rows: {}", rows.join(", ")),
        None => println!("    nothing broke"),
    }
    if let Some((phase, why)) = told.given_up() {
        println!("    {phase}: {why}");
    }
    println!(
        "    charged {:.1} true, {:.1} shown; in the vehicle at most {:.1}; recovered {:.1} true, {:.1} shown, g; leak {}, truly {:.0} to {:.0} Pa",
        r.charged_g.truth,
        r.charged_g.shown.unwrap_or(f64::NAN),
        s.vehicle_most,
        r.recovered_g.truth,
        r.recovered_g.shown.unwrap_or(f64::NAN),
        r.leak.verdict,
        s.held[0],
        s.held[1]
    );
    println!(
        "    vessel at most {:.0} g, {:.2} bar; vented {:.1} g, {:.1} in the first pull; new oil gone {:.1} g, used oil {:.1} g ({:.1} mL shown); pump blown {:.0} s, {:.2} s of it fed, \
         {:.1} g and {:.2} bar at its inlet; no air {:.0} s{}",
        s.vessel_most,
        s.vessel_p * 1e-5,
        s.vented,
        s.vented_pulling,
        s.new_oil,
        s.used_oil,
        r.oil_drained_ml.unwrap_or(f64::NAN),
        s.blown,
        s.fed,
        s.inlet_most,
        s.inlet_p * 1e-5,
        s.airless,
        r.plant_fault.as_ref().map_or(String::new(), |fault| format!("; PLANT FAULT {fault}"))
    );
}

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let (name, seed) = (words.next(), words.next().map(|seed| seed.parse()));
    let seed = match seed.transpose() {
        Ok(seed) => seed,
        Err(_) => {
            eprintln!("the seed is a whole number");
            return ExitCode::from(64);
        }
    };
    let all = HARMS.iter().chain(FAULTS.iter().map(|fault| &fault.harm));
    let wanted: Vec<&Harm> = all.filter(|one| name.as_ref().is_none_or(|name| name == one.name)).collect();
    if wanted.is_empty() {
        let names: Vec<&str> = HARMS.iter().map(|one| one.name).collect();
        eprintln!("no such harm; there are: {}", names.join(", "));
        return ExitCode::from(64);
    }
    for harm in wanted {
        let told = harm.run(seed);
        line(harm, &told);
        if name.is_some() {
            print!("{}", told.replay());
        }
    }
    ExitCode::SUCCESS
}
