//! Shared helpers of the test suites: solved cases, whole simulated jobs, and a scripted bench around the bare controller.

#[path = "../../core/tests/controller/bench.rs"]
pub mod bench;
pub mod fault_scenes;
pub mod flow_reference;
pub mod gateless;
pub mod harms;
pub mod job_cuts;
pub mod job_runs;
pub mod law_reference;
pub mod random_formulas;
pub mod random_rigs;
pub mod random_rows;
pub mod random_stations;
pub mod rig_reference;
pub mod sensing;
pub mod solved;
