//! Shared helpers of the test suites: where the reference data lies and how it is read.

pub mod rig_reference;
