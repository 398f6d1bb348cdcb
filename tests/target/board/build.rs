//! Puts the memory map where the linker looks for it.
use std::{env, fs, path::PathBuf};

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    // The images at the end of a line, those that tell what they do, and those with a planted defect or traps are tools, not held to the design's budget.
    let has = |feature: &str| env::var_os(format!("CARGO_FEATURE_{feature}")).is_some();
    let tool = ["LOG", "LOOP_ON_PANIC", "WITH_A_PANIC", "WITH_A_FLOAT", "WITH_A_DOUBLE", "WITH_A_HEAP"].iter().any(|one| has(one));
    let map = match (has("EXPLAIN"), has("NO_PANICS") && !tool) {
        (true, _) => "memory-explain.x",
        (false, true) => "memory-board.x",
        (false, false) => "memory-line.x",
    };
    fs::copy(map, out.join("memory.x")).expect("OUT_DIR can be written");
    // cortex-m-rt asks for names of a device's interrupts: this board gives none of them one.
    fs::write(out.join("device.x"), "").expect("OUT_DIR can be written");
    println!("cargo:rustc-link-search={}", out.display());
    println!("cargo:rerun-if-changed={map}");
    if env::var_os("CARGO_FEATURE_LOG").is_some() {
        println!("cargo:rustc-link-arg-bins=-Tdefmt.x");
    }
}
