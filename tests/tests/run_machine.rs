//! The machine under the controller stalls, starts anew and miscounts at any moment of drawn rows, while the plant's figures change and
//! the operator does what nobody planned: nothing panics, hardware drops what is not renewed, and the books close.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use valvewright_core::frame::Actuators;
use valvewright_core::kept::Boot;
use valvewright_core::talk::Command;
use valvewright_sim::run::{Hand, RunOptions, Scene, Seams, Simulation, Stand};
use valvewright_tests::random_rows::row;

/// Rows, each on another station than the one before; `VALVEWRIGHT_ROWS=1000` tries so many.
const ROWS: u64 = 30;
/// Figures of the plant that change, and into what.
const FIGURES: [(&str, f64); 6] = [
    ("P-1.speed", 0.1),
    ("C-1.speed", 3.0),
    ("leak.diameter", 1e-3),
    ("ambient.temperature", 318.0),
    ("XV-1.leak_by", 0.01),
    ("no.such", 1.0),
];

struct Draw(Xoshiro256PlusPlus);

impl Draw {
    fn below(&mut self, n: u64) -> u64 {
        ((u128::from(self.0.next_u64()) * u128::from(n)) >> 64) as u64
    }
}

/// What is wrong now, and until when.
#[derive(Default)]
struct Machine {
    stalled_until: f64,
    ahead_ms: u32,
    stalled_for: f64,
}

fn disturb(draw: &mut Draw, machine: &mut Machine, scene: &mut Scene<'_>) {
    // Some three times a minute of 50 ms scans.
    if draw.below(400) == 0 {
        match draw.below(8) {
            0 | 1 => machine.stalled_until = scene.t_s + [0.06, 0.3, 0.7, 8.0][draw.below(4) as usize],
            2 if draw.below(8) == 0 => scene.platform.restart = Some(Boot::PowerOn),
            3 => machine.ahead_ms = machine.ahead_ms.wrapping_add([1, 40, 700, u32::MAX][draw.below(4) as usize]),
            4 => {
                let (name, value) = FIGURES[draw.below(6) as usize];
                // A network without that figure has nothing to change.
                let _absent = scene.plant.set_param(name, value);
            }
            5 => scene.operator.command = None,
            6 => {
                scene.operator.command =
                    Some([Command::Pause, Command::Resume, Command::Reset][draw.below(3) as usize].clone())
            }
            _ => scene.operator.hands.push(
                [
                    Hand::Coupled(false),
                    Hand::Coupled(true),
                    Hand::Door(true),
                    Hand::Door(false),
                    Hand::Release,
                    Hand::ShutCouplers,
                ][draw.below(6) as usize],
            ),
        }
    }
    scene.platform.stalled = scene.t_s < machine.stalled_until;
    scene.platform.ahead_ms = machine.ahead_ms;
}

#[test]
fn whatever_the_machine_does_the_outputs_drop_and_the_books_close() {
    let (mut ran, mut dropped) = (0, 0);
    let rows = std::env::var("VALVEWRIGHT_ROWS").ok().and_then(|count| count.parse().ok()).unwrap_or(ROWS);
    for seed in 0..rows {
        let station = (seed % 2 == 1).then_some("fleet_yard");
        let Ok(scenario) = row(50_000 + seed, station) else { continue };
        let options = RunOptions { no_samples: true, ..RunOptions::default() };
        let mut run = Simulation::new(&scenario, &options).expect("it begins");
        let (mut draw, mut machine) = (Draw(Xoshiro256PlusPlus::seed_from_u64(seed)), Machine::default());
        loop {
            let t = run.time();
            let mut faults = |scene: &mut Scene<'_>| disturb(&mut draw, &mut machine, scene);
            let stand = run.scan(&mut Seams { faults: Some(&mut faults), observer: None }).expect("a scan");
            machine.stalled_for =
                if t < machine.stalled_until { machine.stalled_for + scenario.station.scan } else { 0.0 };
            if machine.stalled_for > 0.61 {
                dropped += 1;
                assert_eq!(run.outputs().on, Actuators::SAFE, "row {seed} at {t} s");
            }
            if stand != Stand::Running {
                break;
            }
        }
        ran += 1;
        let r = run.finish().result;
        assert!(
            r.ledger.error_g.abs() < 1e-6 && r.mass_balance_rel < 1e-9,
            "row {seed}: {:?} {:?}",
            r.ledger,
            r.plant_fault
        );
        assert!(
            r.jobs.iter().all(|job| job.recovered_g.truth.is_finite() && job.charged_g.truth.is_finite()),
            "row {seed}"
        );
        // A vehicle brimful of liquid, air and water bursts the tables in one of some two hundred.
        assert!(rows > ROWS || r.plant_fault.is_none(), "row {seed}: {:?}", r.plant_fault);
    }
    assert!(ran > 20 && dropped > 1_000, "{ran} rows, {dropped} scans without a controller");
}
