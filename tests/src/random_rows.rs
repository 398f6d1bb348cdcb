//! Rows of jobs put together from drawn scenarios: vehicles, orders and operators of several seeds on the station of the first.

use std::fmt::Write;

use valvewright_sim::report::data::{JobResult, RunResult, Verdict};
use valvewright_sim::run::{Control, RunOptions, Simulation, Stand, run_scenario};
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::model::Phase;
use valvewright_sim::scenario::{JobView, Scenario, parse, random};

/// What hoses and manifold may still hold of the vehicle before, where no clearing was ordered, g.
const HOSES: f64 = 60.0;
/// Air through a hole into vacuum, Pa m3/s per m2, as in the example `jobs`.
const INFLOW: f64 = 0.6 * 0.0404 * 101_325.0 * 287.0 * 17.1;

/// So far apart lie the seeds of the jobs of one row.
const STRIDE: u64 = 1_000_003;
/// Most jobs of a row, and the pauses between them.
const JOBS: u64 = 6;
const AFTER: [&str; 4] = ["1 min", "4 min", "10 min", "45 min"];

/// The tables of a drawn scenario: what stands before `[vehicle]`, the vehicle, order and operator.
fn parts(text: &str) -> [&str; 4] {
    let at = |heading: &str| text.find(heading).unwrap_or(text.len());
    let (vehicle, order, operator) = (at("\n[vehicle]\n"), at("\n[order]\n"), at("\n[operator]\n"));
    [&text[..vehicle], &text[vehicle..order], &text[order..operator], &text[operator..]]
}

/// The text of the row of that seed.
pub fn text(seed: u64) -> String {
    let count = 2 + seed % (JOBS - 1);
    let drawn: Vec<String> = (0..count).map(|k| random::text(seed.wrapping_add(k * STRIDE))).collect();
    let mut row = parts(&drawn[0])[0].to_owned();
    let mut jobs = String::new();
    for (k, one) in drawn.iter().enumerate() {
        let [_, vehicle, order, operator] = parts(one);
        row.push_str(&vehicle.replace("\n[vehicle]\n", &format!("\n[[vehicle]]\nname = \"v{k}\"\n")));
        let after = AFTER[(seed / 7 + k as u64) as usize % AFTER.len()];
        let after = if k > 0 { format!("after = \"{after}\"\n") } else { String::new() };
        let heading = format!("\n[[job]]\nvehicle = \"v{k}\"\n{after}");
        let _infallible = write!(jobs, "{}", order.replace("\n[order]\n", &heading));
        let operator = operator.replace("\n[operator]\n", "\n[job.operator]\n");
        jobs.push_str(&operator.replace("[[operator.act]]", "[[job.operator.act]]"));
    }
    row + &jobs
}

/// The row of that seed on a station, the usual one where none is named.
///
/// # Errors
/// What the file says wrong, such as a first charge that the vessel cannot give.
pub fn row(seed: u64, station: Option<&str>) -> Result<Scenario, Vec<Diagnostic>> {
    parse::read_on(&Source::new(format!("row-{seed}.toml"), text(seed)), station)
}

/// What an observer of the plant saw at one moment, g.
#[derive(Clone, Copy, Debug, Default)]
struct Look {
    t: f64,
    vehicle: f64,
    escaped: f64,
    station: f64,
}

fn look(run: &Simulation) -> Look {
    let read = |name: &str| run.signal(name).unwrap_or(0.0) * 1e3;
    let parts =
        |volume: &str| ["m", "m_dissolved", "m_second"].iter().map(|p| read(&format!("{volume}.{p}"))).sum::<f64>();
    let vehicle = ["vehicle_high", "vehicle_low", "accumulator"].map(parts).iter().sum();
    let balance = run.plant().balance();
    let all = (balance.inventory_kg + balance.second_kg) * 1e3;
    let escaped = (balance.out_kg + balance.second_out_kg) * 1e3;
    Look { t: run.time(), vehicle, escaped, station: all - vehicle }
}

/// Runs a row and tells how many jobs it came to and what is wrong with its result; with `thorough`, that copies of it go on to the same
/// hash and that a trace changes nothing.
pub fn judge(scenario: &Scenario, thorough: bool) -> (usize, Vec<String>) {
    let bare = RunOptions { no_samples: true, ..RunOptions::default() };
    let mut run = match Simulation::new(scenario, &bare) {
        Ok(run) => run,
        Err(why) => return (0, vec![format!("does not begin: {why}")]),
    };
    let (mut looks, mut forks, mut most) = (vec![look(&run)], Vec::new(), 0.0_f64);
    loop {
        match run.step() {
            Ok(Stand::Running) => {}
            Ok(_) => break,
            Err(why) => return (0, vec![format!("stops: {why}")]),
        }
        if run.scans().is_multiple_of(20) {
            looks.push(look(&run));
            most = most.max(run.signal("vessel.m").unwrap_or(0.0) * 1e3);
        }
        if thorough && run.scans().is_multiple_of(40_000) && forks.len() < 8 {
            forks.push(run.fork());
        }
    }
    looks.push(look(&run));
    let rated = f64::from(run.config().vessel_rated.0) * 1e-3;
    let limit = f64::from(run.config().leak_limit) * 1e-6;
    let hash = run.hash();
    let result = run.finish().result;
    let mut wrong = Vec::new();
    whole(scenario, &result, &mut wrong);
    if most > rated {
        wrong.push(format!("{most:.0} g in a vessel of {rated} g"));
    }
    for (at, (job, of)) in result.jobs.iter().zip(scenario.jobs()).enumerate() {
        one(job, of, &looks, limit, &mut |what| wrong.push(format!("job {}: {what}", at + 1)));
    }
    for mut fork in forks {
        let at = fork.time();
        while fork.step().is_ok_and(|stand| stand == Stand::Running) {}
        if fork.hash() != hash {
            wrong.push(format!("a copy made at {at} s goes another way"));
        }
    }
    if thorough {
        let traced = run_scenario(scenario, &RunOptions::default(), &mut |_| Control::Continue);
        let traced = traced.map(|run| run.result);
        if traced.as_ref().map(|r| (&r.trace_hash, &r.jobs)).ok() != Some((&hash, &result.jobs)) {
            wrong.push("another result with a trace".to_owned());
        }
    }
    (result.jobs.len(), wrong)
}

/// What holds of the whole row.
fn whole(scenario: &Scenario, result: &RunResult, wrong: &mut Vec<String>) {
    let jobs = 1 + scenario.then.len();
    let cut = result.jobs.last().is_some_and(|job| job.verdict == Verdict::Unfinished);
    if result.jobs.len() > jobs || result.jobs.len() < jobs && !(cut && result.exit_code() == 2) {
        wrong.push(format!("{} of {jobs} jobs, exit code {}", result.jobs.len(), result.exit_code()));
    }
    if let Some(fault) = &result.plant_fault {
        wrong.push(format!("plant fault: {fault}"));
    }
    if result.ledger.error_g.abs() > 1e-6 {
        wrong.push(format!("books: {:?}", result.ledger));
    }
    for account in &result.balances {
        if account.error.abs() > 1e-6 * account.scale.max(1.0) {
            wrong.push(format!("{account:?}"));
        }
    }
}

/// What holds of each job.
fn one(job: &JobResult, of: JobView<'_>, looks: &[Look], limit: f64, wrong: &mut dyn FnMut(String)) {
    let at = |t: f64| looks.iter().rev().find(|look| look.t <= t + 1e-6).copied().unwrap_or_default();
    let (start, end) = (at(job.start_s), at(job.end_s));
    // Looks are up to two seconds away, and a coupler may move some gas in that time.
    let near = 12.0;
    let gone = end.escaped - start.escaped;
    if (job.reached.escaped_g - gone).abs() > near {
        wrong(format!("escaped {:.1} g, seen {gone:.1} g", job.reached.escaped_g));
    }
    if job.charged_g.truth > end.vehicle + near
        || job.recovered_g.truth > start.vehicle.max(of.vehicle.content * 1e3) + HOSES
    {
        wrong(format!("{:?} {:?} of {start:?} {end:?}", job.recovered_g, job.charged_g));
    }
    let gained = end.station - start.station;
    let booked = start.vehicle - end.vehicle - gone;
    if (gained - booked).abs() > near {
        wrong(format!("the station gained {gained:.1} g, the vehicle gave {booked:.1} g"));
    }
    for phase in &job.phases {
        // A recovery or a charge asks for what it rests on, ordered or not.
        let ordered = phase.name == "identify" || of.order.phases.iter().any(|one| one.name() == phase.name);
        if phase.seconds > job.seconds() + 0.2 || !ordered {
            wrong(format!("{} {} s of {} s", phase.name, phase.seconds, job.seconds()));
        }
    }
    if job.phases.is_empty() && job.verdict == Verdict::Pass {
        wrong("passed without a phase".to_owned());
    }
    if job.phases.iter().all(|p| p.name != "recover")
        && job.recovered_g.truth.abs() > 1e-9
        && job.verdict != Verdict::Unfinished
    {
        wrong(format!("recovered without recovery: {:?}", job.recovered_g));
    }
    let has = |phase: Phase| of.order.phases.contains(&phase);
    let off = job.charged_g.truth - job.charged_g.target.unwrap_or(0.0);
    // Without a clearing the hoses keep what is in them, and the station says how much.
    let whole = has(Phase::ClearHoses) && of.vehicle.leak == 0.0;
    if job.verdict == Verdict::Pass && has(Phase::Charge) && (off > 15.0 || off < -15.0 && whole) {
        wrong(format!("passed with {:?}", job.charged_g));
    }
    let shown = job.recovered_g.off();
    if job.verdict == Verdict::Pass && shown.abs() > 30.0 {
        wrong(format!("recovered {:?}", job.recovered_g));
    }
    let hole = std::f64::consts::PI * of.vehicle.leak.powi(2) / 4.0 * INFLOW;
    match job.leak.verdict.as_str() {
        "leak" if of.vehicle.leak == 0.0 => wrong("tight told as leak".to_owned()),
        "pass" if hole > 2.0 * limit => wrong("a leak told as tight".to_owned()),
        _ => {}
    }
}
