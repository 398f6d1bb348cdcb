//! Results for readers and programs: the data of a run and its writers.
//!
//! [`data`] is what a run leaves behind; [`text`] tells it in a terminal, [`page`] in a browser or in print, [`files`] to programs.

pub mod axis;
mod chart;
mod cursor;
pub mod data;
mod driver;
pub mod files;
mod hazards;
mod jobs;
pub mod junit;
mod lane;
pub mod page;
mod proof;
mod properties;
pub mod service;
mod shown;
pub mod stops;
pub mod text;
