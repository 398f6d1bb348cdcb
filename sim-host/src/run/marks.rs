//! What a run notes on its way for the result.

/// Contents at the moments the result speaks of, kg.
#[derive(Debug, Clone, Default)]
pub(super) struct Marks {
    /// Station at the start of the first recovery, and after the last.
    pub(super) before_recovery: Option<f64>,
    pub(super) after_recovery: Option<f64>,
    /// Vehicle at the start of the charge.
    pub(super) charge_start: Option<f64>,
    pub(super) used_oil_start: f64,
}
