//! The `valvewright` command.

fn main() {}
