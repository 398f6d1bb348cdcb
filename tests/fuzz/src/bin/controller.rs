//! The targets of the controller under libFuzzer: `VALVEWRIGHT_FUZZ=codes controller CORPUS`.
#![no_main]

#[path = "../choose.rs"]
mod choose;
#[path = "../controller/mod.rs"]
mod controller;
#[path = "../../../model/stand/mod.rs"]
mod stand;

libfuzzer_sys::fuzz_target!(|data: &[u8]| choose::run(&controller::TARGETS, data));
