//! A controller in front of an abstract plant, and what may never be seen of it: for the bounded proofs and the fuzz targets.
#![allow(dead_code)]

pub mod bench;
pub mod plant;
pub mod watch;
