//! Integer saturation tables for each supported refrigerant.

/// Refrigerants the station is built for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Refrigerant {
    /// R-1234yf, ASHRAE 34 class A2L.
    R1234yf,
    /// R-134a, class A1.
    R134a,
}
