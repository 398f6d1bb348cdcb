//! A controller of your own: it only dries a circuit, and the plant shows what came of it.
//!
//! `cargo run --release -p valvewright-sim --example own_controller`. Copy this file to begin with: what a controller must do stands in
//! `valvewright_sim::controller`. This is a simulator; nothing here may be let near a real machine.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuator, Actuators, Analog, COUNTS_AT_24_MA, Outputs, RawFrame};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::kept::Start;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{AbsPa, Instant, Millis};
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
use valvewright_sim::display::STANDARD;
use valvewright_sim::report::page;
use valvewright_sim::run::{Control, RunOptions, run_controller};
use valvewright_sim::scenario::{parse, shipped};

/// Gives up where this is not enough to reach the depth that was ordered.
const LONGEST: Millis = Millis(90 * 60_000);

/// Pulls a vacuum for as long and as deep as was ordered, and says so. It trusts its gauge and nothing else.
#[derive(Clone, Default)]
struct Dryer {
    /// What PT-4 shows at 4 and at 20 mA, Pa.
    gauge: (i32, i32),
    /// Since when, for how long and how deep.
    job: Option<(Instant, Millis, AbsPa)>,
}

impl Dryer {
    /// What the vacuum gauge reads, Pa.
    fn vacuum(&self, frame: &RawFrame) -> f64 {
        let milliamp = f64::from(frame.analog[Analog::Pt4 as usize]) * 24.0 / f64::from(COUNTS_AT_24_MA);
        let (low, high) = (f64::from(self.gauge.0), f64::from(self.gauge.1));
        low + (high - low) * (milliamp - 4.0) / 16.0
    }
}

impl Controller for Dryer {
    fn who(&self) -> Who {
        Who::program("dryer")
    }

    fn begin(&mut self, config: &StationConfig, _: &Start) -> Result<(), Trouble> {
        let channel = config.sense.channels[Analog::Pt4 as usize];
        *self = Self { gauge: (channel.low(), channel.high()), job: None };
        Ok(())
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if let Some(Command::Start { id, order }) = &frame.command {
            self.job = Some((now, order.evacuate, order.depth));
            notices.extend([Notice::OrderStarted(*id), Notice::PhaseStarted(PhaseKind::Evacuate)]);
        }
        let mut on = Actuators::SAFE;
        if let Some((since, length, depth)) = self.job {
            let (p, t) = (self.vacuum(frame), now.since(since));
            let deep = p <= f64::from(depth.0);
            if t >= LONGEST || t >= length && deep {
                let (outcome, well) =
                    if deep { (Outcome::Done, true) } else { (Outcome::Failed(GiveUp::NoVacuum), false) };
                notices.push(Notice::Vacuum(AbsPa(p.max(0.0) as i32)));
                notices.extend([Notice::PhaseEnded(PhaseKind::Evacuate, outcome), Notice::OrderEnded(well)]);
                self.job = None;
            } else {
                on = Actuators::of(&[Actuator::P1, Actuator::Xv6, Actuator::Xv1, Actuator::Xv2, Actuator::K1]);
            }
        }
        Ok(Scan::Done(Outputs { on, ..Outputs::default() }))
    }
}

fn main() {
    let source = shipped::source("new_condenser").expect("a shipped scenario: a circuit that was opened");
    let scenario = parse::read(&source).expect("it reads");
    let run = run_controller(&scenario, &RunOptions::default(), Dryer::default(), &mut |_| Control::Continue)
        .expect("a type in this process can always be had");
    for notice in &run.result.notices {
        println!("{:7.1} s  {}", notice.t_s, notice.text);
    }
    // A folder as argument gets the report.
    if let Some(folder) = std::env::args().nth(1) {
        let path = std::path::Path::new(&folder).join("report.html");
        std::fs::write(&path, page::page(&scenario, &run.result, &run.trace, &STANDARD)).expect("the folder is there");
        println!("report: {}", path.display());
    }
    let vacuum = run.trace.channel("vehicle_vacuum").and_then(|channel| channel.values.last().copied());
    let vacuum = vacuum.expect("the vehicle's pressure is recorded");
    println!("by its own word: {}; in truth the vehicle stands at {vacuum:.2} mbar", run.result.verdict.word());
    assert!(vacuum < 10.0, "the circuit is under vacuum");
}
