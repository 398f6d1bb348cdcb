//! What `valvewright-log` has to print of the firmware `values`: the same values, written by the host with `Debug`.

use std::fmt::Debug;

#[path = "../../../board/src/samples.rs"]
mod samples;

/// What can be written.
trait Told: Debug {
    fn told(&self, name: &str) {
        println!("info {name} {self:?}");
    }
}

impl<T: Debug + ?Sized> Told for T {}

fn main() {
    samples::tell();
}
