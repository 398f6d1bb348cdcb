//! Puts the memory map where the linker looks for it.
use std::{env, fs, path::PathBuf};

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    // The image that tells its state as text is a tool, not held to the design's budget.
    let map = if env::var_os("CARGO_FEATURE_EXPLAIN").is_some() { "memory-explain.x" } else { "memory-board.x" };
    fs::copy(map, out.join("memory.x")).expect("OUT_DIR can be written");
    println!("cargo:rustc-link-search={}", out.display());
    println!("cargo:rerun-if-changed={map}");
    if env::var_os("CARGO_FEATURE_LOG").is_some() {
        println!("cargo:rustc-link-arg-bins=-Tdefmt.x");
    }
}
