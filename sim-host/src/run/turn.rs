//! Where a row of jobs stands, and its account.

/// Where a row of jobs stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Turn {
    /// An order runs, or its operator is there.
    Served,
    /// The order ended at that time, s.
    Ended(f64),
    /// The vehicle is about to leave at the first time, the next order is given at the second, s.
    Leaving(f64, f64),
    /// The next vehicle is there and gets its couplers; the order is given at this time, s.
    Coming(f64),
    /// It is coupled.
    Coupled(f64),
    /// The controller was lost between two orders, s.
    Lost(f64),
}

/// Refrigerant of the station over a row, kg.
#[derive(Debug, Clone, Default)]
pub(super) struct Account {
    /// In the station at the start.
    pub(super) start: f64,
    /// In the vehicle that is there when it came.
    pub(super) came: f64,
    /// What vehicles brought that are gone, less what they took away.
    pub(super) before: f64,
    /// What vessels that were put in brought, less what those that were taken out took away.
    pub(super) exchanged: f64,
}
