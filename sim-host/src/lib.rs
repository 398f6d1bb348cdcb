//! Plant, instruments, scenarios and reports around the controller core.
//!
//! Data flows one way: `scenario` describes a job, `station` the machine that does it, `plant` moves the gas, `instrument` turns truth into frames, the core answers,
//! `controller` says what may drive a station, `run` joins them, `report` tells; `display` decides in which units, `matrix` tells the interlock table. `board` puts a microcontroller where the core was. The plant knows nothing of the controller.

pub mod board;
pub mod cli;
pub mod controller;
pub mod display;
pub mod fluid;
pub mod instrument;
pub mod matrix;
pub mod plant;
pub mod report;
pub mod run;
pub mod scenario;
pub mod station;
