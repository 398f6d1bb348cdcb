//! A first-order lag, stepped exactly.

/// Exact for an input that is constant over the step; 1 where the lag is nil.
pub(super) fn share_covered(dt_s: f64, lag_s: f64) -> f64 {
    if lag_s > 0.0 { -(-dt_s / lag_s).exp_m1() } else { 1.0 }
}
