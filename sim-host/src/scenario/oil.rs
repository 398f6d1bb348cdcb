//! Kinds of compressor oil, as scenario files name them.

use serde::Serialize;

/// Compressor oils.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum OilKind {
    /// Polyalkylene glycol, ISO VG 46.
    #[serde(rename = "PAG 46")]
    Pag46,
    /// Polyalkylene glycol, ISO VG 100.
    #[serde(rename = "PAG 100")]
    Pag100,
    /// Polyol ester, ISO VG 68; insulates, for compressors driven by high voltage.
    #[serde(rename = "POE 68")]
    Poe68,
}

impl OilKind {
    /// Words of scenario files, in the order of [`OilKind::ALL`].
    pub const WORDS: [&'static str; 3] = ["PAG 46", "PAG 100", "POE 68"];
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Pag46, Self::Pag100, Self::Poe68];
}
