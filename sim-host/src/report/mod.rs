//! Results for readers and programs: the data of a run and its writers.

mod axis;
mod chart;
mod cursor;
pub mod data;
mod lane;
pub mod page;
