//! A simulated NOR flash with the honest rules of the real ones: an erase sets ones, a program clears bits, and whatever was cut off is neither
//! done nor undone.
//!
//! [`NorSim`] is what a driver would be, behind the traits of `embedded-storage`; `cells` are its bits; [`Cut`] takes its power in
//! mid-operation; [`Worn`], [`NorSim::flip`], [`NorSim::unsettle`] and [`NorSim::ignore`] break it. Same seed, same bits.

mod cells;
mod chip;
mod image;
mod times;

pub use cells::Cells;
pub use chip::{Broken, Counts, Cut, NorSim, Share, Worn};
pub use image::{Image, NoImage};
pub use times::Times;
