//! The scenarios that come with the program.

use super::diagnostic::{Source, nearest};

/// Run when the command is given no arguments.
pub const DEMO: &str = "mild_hatchback";

/// A shipped scenario: its name and its text.
pub struct Shipped {
    /// Name for the command line; the same as in the text.
    pub name: &'static str,
    /// The TOML text.
    pub text: &'static str,
}

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(Shipped { name: $name, text: include_str!(concat!("../../scenarios/", $name, ".toml")) }),*]
    };
}

/// Every shipped scenario, the demo first.
pub const SHIPPED: &[Shipped] =
    shipped!["mild_hatchback", "hot_yard", "cold_morning", "small_leak", "large_leak", "wet_circuit"];

/// The source of a shipped scenario.
pub fn source(name: &str) -> Option<Source> {
    SHIPPED.iter().find(|one| one.name == name).map(|one| Source::new(format!("{name}.toml"), one.text))
}

/// The shipped name nearest to `name`, also where `name` is a path.
pub fn nearest_name(name: &str) -> Option<&'static str> {
    let stem = std::path::Path::new(name).file_stem().and_then(|stem| stem.to_str()).unwrap_or(name);
    nearest(stem, SHIPPED.iter().map(|one| one.name))
}
