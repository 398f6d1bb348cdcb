//! The rigs that come with the program, embedded so that they run by name.

/// Name and TOML text of every shipped rig, in order.
pub fn shipped() -> &'static [(&'static str, &'static str)] {
    SHIPPED
}

/// Text of the shipped rig of that name.
pub fn shipped_text(name: &str) -> Option<&'static str> {
    SHIPPED.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

const SHIPPED: &[(&str, &str)] = &[
    ("a1", include_str!("../../rigs/a1.toml")),
    ("a2", include_str!("../../rigs/a2.toml")),
    ("a3", include_str!("../../rigs/a3.toml")),
    ("b1", include_str!("../../rigs/b1.toml")),
    ("b2", include_str!("../../rigs/b2.toml")),
    ("b3", include_str!("../../rigs/b3.toml")),
    ("c1", include_str!("../../rigs/c1.toml")),
    ("c2", include_str!("../../rigs/c2.toml")),
    ("c3", include_str!("../../rigs/c3.toml")),
    ("c4", include_str!("../../rigs/c4.toml")),
    ("d1", include_str!("../../rigs/d1.toml")),
    ("d2", include_str!("../../rigs/d2.toml")),
    ("e1", include_str!("../../rigs/e1.toml")),
    ("e2", include_str!("../../rigs/e2.toml")),
    ("f3a30", include_str!("../../rigs/f3a30.toml")),
    ("f3a40", include_str!("../../rigs/f3a40.toml")),
    ("f3b", include_str!("../../rigs/f3b.toml")),
    ("f3b134", include_str!("../../rigs/f3b134.toml")),
    ("f4a", include_str!("../../rigs/f4a.toml")),
    ("f4b", include_str!("../../rigs/f4b.toml")),
    ("f4c", include_str!("../../rigs/f4c.toml")),
    ("f5a", include_str!("../../rigs/f5a.toml")),
    ("f5b", include_str!("../../rigs/f5b.toml")),
    ("f5c", include_str!("../../rigs/f5c.toml")),
    ("f5d", include_str!("../../rigs/f5d.toml")),
    ("f5e", include_str!("../../rigs/f5e.toml")),
    ("f5f", include_str!("../../rigs/f5f.toml")),
    ("f5g", include_str!("../../rigs/f5g.toml")),
    ("f6a", include_str!("../../rigs/f6a.toml")),
    ("f6b", include_str!("../../rigs/f6b.toml")),
    ("f6c", include_str!("../../rigs/f6c.toml")),
];
