//! The plans that come with the program.

use crate::scenario::diagnostic::Source;

/// A shipped plan.
pub struct Shipped {
    /// Name for the command line; the same as in the text.
    pub name: &'static str,
    /// The TOML text.
    pub text: &'static str,
}

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(Shipped { name: $name, text: include_str!(concat!("../../../campaigns/", $name, ".toml")) }),*]
    };
}

/// Every shipped plan.
pub const SHIPPED: &[Shipped] =
    shipped!["quick", "all_single", "pairs", "pairs_main", "weather", "swarm", "ablation", "set_points"];

/// The text of the shipped plan of that name.
pub fn source(name: &str) -> Option<Source> {
    SHIPPED.iter().find(|one| one.name == name).map(|one| Source::new(format!("{name}.toml"), one.text))
}
