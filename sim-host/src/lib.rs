//! A simulated refrigerant service station around the controller that a real one would run, as a library. The command `valvewright` is
//! a thin layer over it.
//!
//! Data flows one way: `scenario` describes a job, `station` the machine that does it, `plant` moves the gas, `instrument` turns truth into frames, a `controller` answers,
//! `run` joins them, `report` tells; `display` decides in which units, `language` in which of its languages what the controller tells, `matrix` tells the interlock table, `evidence` what it answers and what shows
//! that it does. `explain` says why a run stopped, `papers` writes the ticket of each service and the books of refrigerant. `board` joins controllers
//! that are not in this process, `flash` is a memory to break a record store on. The plant knows nothing of the controller.
//!
//! This is a simulator with an uncertified design. The gas is flammable and under pressure: nothing here replaces local codes and
//! licensed practice.
//!
//! # A job from beginning to end
//!
//! A [`scenario::Scenario`] is a file read: site, station, vehicle, order, operator, expectations. [`run::run_scenario`] runs it, and
//! the result says what the station showed and what was true.
//!
//! ```
//! use valvewright_sim::run::{Control, RunOptions, run_scenario};
//! use valvewright_sim::scenario::{parse, shipped};
//!
//! let source = shipped::source("large_leak").unwrap();
//! let scenario = parse::read(&source).unwrap();
//! let run = run_scenario(&scenario, &RunOptions::default(), &mut |_| Control::Continue).unwrap();
//! assert_eq!(run.result.verdict.word(), "refused");
//! assert!(run.result.expectations.iter().all(|one| one.held));
//! assert!(run.trace.channel("pt1").unwrap().values.len() > 100);
//! ```
//!
//! # A run as a value
//!
//! [`run::Simulation`] is that run between two scans: step it, read any signal of the plant in SI units, change a parameter, copy it. A
//! copy goes on to the same hash as the original would ([`run::Simulation::fork`], some microseconds where no samples are kept).
//!
//! ```
//! # use valvewright_sim::run::{RunOptions, Simulation};
//! # use valvewright_sim::scenario::{parse, shipped};
//! # let scenario = parse::read(&shipped::source("mild_hatchback").unwrap()).unwrap();
//! let options = RunOptions { no_samples: true, ..RunOptions::default() };
//! let mut run = Simulation::new(&scenario, &options).unwrap();
//! run.run_until(300.0).unwrap();
//! let mut weak = run.fork();
//! weak.set_parameter("C-1.speed", 12.0).unwrap(); // half of its 24 revolutions a second
//! run.run_until(400.0).unwrap();
//! weak.run_until(400.0).unwrap();
//! assert!(weak.signal("hose_low.p").unwrap() > run.signal("hose_low.p").unwrap());
//! ```
//!
//! Several orders one after another on one station are one run: a scenario with `[[vehicle]]` and `[[job]]`
//! ([`scenario::Scenario::jobs`]).
//!
//! # Faults and onlookers
//!
//! [`run::Seams`] lends two things to a scan: something that breaks and mends ([`run::Disturb`] sees a [`run::Scene`]: plant,
//! instruments, actuators, operator, and the machine under the controller), and something that only looks ([`run::Observe`]). A run
//! with nothing there does not pay for it.
//!
//! ```
//! # use valvewright_sim::run::{Control, RunOptions, Scene, Seams, Simulation, complete};
//! # use valvewright_sim::scenario::{parse, shipped};
//! # let scenario = parse::read(&shipped::source("mild_hatchback").unwrap()).unwrap();
//! use valvewright_core::frame::Actuator;
//! use valvewright_sim::run::Hold;
//!
//! let mut stuck = |scene: &mut Scene<'_>| {
//!     if scene.t_s >= 600.0 {
//!         scene.holds.set(Actuator::Xv7, Hold::On);
//!     }
//! };
//! let run = Simulation::new(&scenario, &RunOptions::default()).unwrap();
//! let mut seams = Seams { faults: Some(&mut stuck), observer: None };
//! let result = complete(run, &mut seams, &mut |_| Control::Continue).unwrap().result;
//! assert!(result.interlocks.iter().any(|row| row.id == "I20" || row.id == "I19"));
//! assert!(result.reached.escaped_g > 1.0);
//! ```
//!
//! # A controller of your own
//!
//! Implement [`controller::Controller`] and give it to [`run::run_controller`]; or write a program in any language that speaks the line
//! of `valvewright_core::port::link` over its standard streams or a serial port. What a result says of it is then its own word beside
//! the truth; rows, readings and ledger are the core's alone and are left out.
//!
//! # The plant without a controller
//!
//! [`plant::Plant`] runs any network of volumes and elements, from a file ([`plant::parse`]) or from data ([`plant::spec`]);
//! [`plant::rig`] runs one under a schedule. [`fluid::Fluid`] answers for properties.
//!
//! ```
//! use valvewright_sim::fluid::{Fluid, FluidKind};
//! let p = Fluid::get(FluidKind::R1234yf).p_sat(298.15);
//! assert!((p - 6.83e5).abs() < 0.01e5, "R-1234yf boils at 25 degC under some 6.8 bar: {p} Pa");
//! ```
//!
//! # Examples
//!
//! In `sim-host/examples`, run with `cargo run --release -p valvewright-sim --example NAME`:
//!
//! | name | shows |
//! | --- | --- |
//! | `own_controller` | a controller of your own, to be copied |
//! | `worst_moment` | a fork at the worst moment, with a fault in the copy |
//! | `rig_from_code` | a plant built from data and read by its signals |
//! | `property_table` | saturation of both refrigerants as CSV |
//! | `read_trace.py` | the Arrow trace of a run in Polars |

pub mod board;
pub mod campaign;
pub mod cli;
pub mod controller;
pub mod display;
pub mod evidence;
pub mod explain;
pub mod fault;
pub mod flash;
pub mod fluid;
pub mod hazard;
pub mod instrument;
pub mod language;
pub mod lesson;
pub mod logic;
pub mod matrix;
pub mod panel;
pub mod papers;
pub mod plant;
pub mod report;
pub mod run;
pub mod scenario;
pub mod shop;
pub mod station;
pub mod years;
