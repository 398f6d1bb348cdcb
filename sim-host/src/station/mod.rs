//! A station as one file: its network, and in `[controller]` what its controller must know of it. What follows from the network is
//! taken from there; what is stated besides must agree with it, and a contradiction is told with both places.

mod agree;
mod controller;
mod derive;
mod elements;
mod facts;
mod file;
mod hoses;
mod names;
mod told;
mod transmitters;

pub use controller::key_of;
pub use facts::Facts;
pub use file::{Rating, SHIPPED, Shipped, StationFault, StationFile, load, rating, read, resolve, source};
pub use names::stages;
pub use told::Told;
pub use transmitters::{Transmitter, transmitter};
