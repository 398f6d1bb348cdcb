//! The `valvewright` command; all of it lives in the library.

fn main() -> std::process::ExitCode {
    valvewright_sim::cli::main()
}
