//! Piecewise parabolas over uniform integer knots: whole-number arithmetic that cannot fail.
//!
//! Any argument is held at the ends of the curve, so a broken sensor gives an end value and never a stop.

/// A function tabulated at `start + k * step`: value at the knot, and deviation from the chord at mid-interval.
pub(super) struct Curve {
    /// Abscissa of the first knot.
    pub(super) start: i32,
    /// Distance of the knots, positive.
    pub(super) step: i32,
    /// Value at each knot.
    pub(super) knots: &'static [i32],
    /// The least curvature.
    pub(super) least: i32,
    /// What the curvature behind each knot is above it; the last is unused.
    pub(super) bows: &'static [u16],
}

impl Curve {
    /// The value at `x`, rounded to nearest.
    pub(super) fn at(&self, x: i32) -> i32 {
        let step = i64::from(self.step.max(1));
        let run = i64::from(x).saturating_sub(i64::from(self.start)).max(0);
        let last = self.knots.len().saturating_sub(2);
        let k = usize::try_from(run / step).unwrap_or(last).min(last);
        let (Some(&a), Some(&b), Some(&bow)) =
            (self.knots.get(k), self.knots.get(k.saturating_add(1)), self.bows.get(k))
        else {
            return 0;
        };
        let c = self.least.saturating_add(i32::from(bow));
        let f = run.saturating_sub((k as i64).saturating_mul(step)).min(step);
        let (a, b, c) = (i64::from(a), i64::from(b), i64::from(c));
        // The widest product, 4 c f (step - f) of the inverse curve, stays under 2^58: step < 2^22, |c| < 2^12.
        let chord = b.saturating_sub(a).saturating_mul(f);
        let bow = c.saturating_mul(4).saturating_mul(f).saturating_mul(step.saturating_sub(f)) / step;
        let add = div_round(chord.saturating_add(bow), step);
        clamp_i32(a.saturating_add(add))
    }
}

/// `n / d` rounded to nearest, for positive `d`.
fn div_round(n: i64, d: i64) -> i64 {
    let d = d.max(1);
    n.saturating_add(d / 2).div_euclid(d)
}

/// The nearest `i32`.
pub(super) fn clamp_i32(v: i64) -> i32 {
    i32::try_from(v).unwrap_or(if v < 0 { i32::MIN } else { i32::MAX })
}
