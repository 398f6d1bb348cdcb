//! Scenario files: what is described, how it is read, and what is said when it cannot be.
//!
//! A file is read by [`parse::read`] into a [`model::Scenario`], plain data in SI; what went wrong comes back as a list of
//! [`diagnostic::Diagnostic`]. [`judge::judge_job`] holds a result against what the file expects.

pub mod bounds;
pub mod diagnostic;
pub mod expect;
mod fault_files;
mod jobs;
pub mod judge;
pub mod model;
mod oil;
pub mod order_text;
pub mod parse;
pub mod parse_fault;
mod parse_order;
mod parse_property;
mod parse_row;
mod parse_vehicle;
pub mod quantity;
pub mod random;
pub mod reader;
pub mod schema;
pub mod shipped;
mod values;

pub use jobs::JobView;
pub use model::Scenario;
