//! Results for readers and programs: the data of a run and its writers.

pub mod data;
