//! Piecewise parabolas over uniform integer knots, and base-2 logarithms in q24: whole-number arithmetic that cannot fail.
//!
//! Any argument is held at the ends of the curve, so a broken sensor gives an end value and never a stop.

use super::tables::{EXP2, LOG2};

/// A function tabulated at `start + k * step`: value at the knot, and deviation from the chord at mid-interval.
pub(super) struct Curve {
    /// Abscissa of the first knot.
    pub(super) start: i32,
    /// Distance of the knots, positive.
    pub(super) step: i32,
    /// Value and curvature of each knot; the last curvature is unused.
    pub(super) knots: &'static [(i32, i32)],
}

impl Curve {
    /// The value at `x`, rounded to nearest.
    pub(super) fn at(&self, x: i32) -> i32 {
        let step = i64::from(self.step.max(1));
        let run = i64::from(x).saturating_sub(i64::from(self.start)).max(0);
        let last = self.knots.len().saturating_sub(2);
        let k = usize::try_from(run / step).unwrap_or(last).min(last);
        let (Some(&(a, c)), Some(&(b, _))) = (self.knots.get(k), self.knots.get(k.saturating_add(1))) else {
            return 0;
        };
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

/// 2^(y / 2^24), rounded; 4e-6 relative from the straight segments. Zero for very negative `y`, `i32::MAX` from y = 31 on.
pub(super) fn exp2_q24(y: i32) -> i32 {
    let whole = y >> 24;
    let part = i64::from(y & 0x00FF_FFFF);
    let k = usize::try_from(part >> 17).unwrap_or(0);
    let (Some(&a), Some(&b)) = (EXP2.get(k), EXP2.get(k.saturating_add(1))) else {
        return 0;
    };
    let low = part & 0x1_FFFF;
    let m = i64::from(a).saturating_add(i64::from(b).saturating_sub(i64::from(a)).saturating_mul(low) >> 17);
    match whole {
        31.. => i32::MAX,
        24..=30 => clamp_i32(m << (whole - 24).clamp(0, 30)),
        -2..=23 => {
            let shift = (24 - whole).clamp(1, 26);
            clamp_i32(m.saturating_add(1i64 << (shift - 1)) >> shift)
        }
        _ => 0,
    }
}

/// log2(p) in q24 for positive `p`; zero and less give 0.
pub(super) fn log2_q24(p: i32) -> i32 {
    let Some(whole) = p.max(1).checked_ilog2() else {
        return 0;
    };
    let mantissa = (i64::from(p.max(1)) << 30_u32.saturating_sub(whole)) & 0x3FFF_FFFF;
    let k = usize::try_from(mantissa >> 23).unwrap_or(0);
    let (Some(&a), Some(&b)) = (LOG2.get(k), LOG2.get(k.saturating_add(1))) else {
        return 0;
    };
    let low = mantissa & 0x7F_FFFF;
    let frac = i64::from(a).saturating_add(i64::from(b).saturating_sub(i64::from(a)).saturating_mul(low) >> 23);
    clamp_i32((i64::from(whole) << 24).saturating_add(frac))
}
