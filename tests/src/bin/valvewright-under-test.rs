//! The `valvewright` command once more, as a binary of this package, so that its whole-program tests get it built by `cargo test`.

fn main() -> std::process::ExitCode {
    valvewright_sim::cli::main()
}
