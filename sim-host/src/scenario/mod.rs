//! Scenario files: what is described, how it is read, and what is said when it cannot be.

pub mod diagnostic;
pub mod quantity;
pub mod reader;
