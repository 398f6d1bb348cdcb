//! How exactly a plant is integrated, for whatever it is wanted.

/// How exactly to integrate, and how long to try.
#[derive(Debug, Clone, Copy)]
pub struct Tolerance {
    /// Relative tolerance (1e-8 to 1e-2).
    pub relative: f64,
    /// Pressure that counts as nothing, Pa.
    pub pressure: f64,
    /// Longest step, s.
    pub longest: f64,
    /// Steps that may be tried per simulated second, over a stock of 20 000.
    pub budget: f64,
    /// Share of a mass's tolerance by which it may fall below nothing.
    pub below: f64,
    /// A check valve that a small head holds shut counts as open in the Jacobian: what is pumped against it opens it within a step, however
    /// long that step is.
    pub eager: bool,
}

impl Tolerance {
    /// For rigs compared with reference solutions.
    pub const RIG: Self =
        Self { relative: 1e-5, pressure: 2e-3, longest: 60.0, budget: 50.0, below: 0.1, eager: false };
    /// For whole service jobs.
    pub const STATION: Self = Self { relative: 3e-4, pressure: 0.1, ..Self::RIG };
    /// For years of services, of which sums are wanted (own choice: verdicts and sums are those of whole service jobs, in six tenths of the
    /// steps).
    pub const YEARS: Self = Self { relative: 2e-3, pressure: 0.5, below: 1.0, eager: true, ..Self::RIG };
}
