//! The words of `replay`.

use std::path::PathBuf;

use clap::Args;

use crate::board::Joined;

/// Every fault of the catalogue, as `--faults` takes it.
pub const ALL_FAULTS: &str = "all";

/// What `replay` takes.
#[derive(Debug, Args)]
pub struct ReplayArgs {
    /// Shipped scenarios, files, random:SEED, noise:SEED, or "fault:F102 mode=repeat at=5min" [default: all shipped, 100 random jobs, 4 streams of noise].
    #[arg(value_name = "NAME|FILE")]
    pub names: Vec<String>,
    /// How many random jobs, random:0 and on.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub random: Option<u32>,
    /// How many streams of noise frames.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(0..=1_000))]
    pub noise: Option<u32>,
    /// A faulted job for each way of these faults of the catalogue: F023, F070-F076, or several with commas [default: all of them].
    #[arg(long, value_name = "IDS", num_args = 0..=1, default_missing_value = ALL_FAULTS)]
    pub faults: Option<String>,
    /// Where the board is: semihosting or uart in the emulator, or serial:PORT[@BAUD].
    #[arg(long, default_value = "semihosting", value_name = "LINE")]
    pub board: Joined,
    /// Firmware image of the board [default: target/firmware/loop_<LINE>].
    #[arg(long, value_name = "ELF")]
    pub firmware: Option<PathBuf>,
    /// Image that can tell its state, to name the field that differs [default: target/firmware/explain, where it is].
    #[arg(long, value_name = "ELF")]
    pub explain: Option<PathBuf>,
    /// Count the instructions of each scan; slower.
    #[arg(long)]
    pub count: bool,
    /// Boards at once [default: one for each processor].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=64))]
    pub jobs: Option<u32>,
}
