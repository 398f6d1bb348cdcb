//! The targets that read files under libFuzzer: `VALVEWRIGHT_FUZZ=scenario files CORPUS`.
#![no_main]

#[path = "../choose.rs"]
mod choose;
#[path = "../files/mod.rs"]
mod files;

libfuzzer_sys::fuzz_target!(|data: &[u8]| choose::run(&files::TARGETS, data));
