//! Shared helpers of the test suites: reference data, whole simulated jobs, and a scripted bench around the bare controller.

pub mod bench;
pub mod job_runs;
pub mod random_rigs;
pub mod rig_reference;
