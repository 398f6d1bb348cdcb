//! Powers and logarithms to base 2 in q24: whole-number arithmetic that cannot fail.

use super::curve::clamp_i32;
use super::tables::{EXP2, LOG2};

/// 2^(y / 2^24), rounded; 4e-6 relative from the straight segments. Zero for very negative `y`, `i32::MAX` from y = 31 on.
pub(super) fn exp2_q24(y: i32) -> i32 {
    let whole = y >> 24;
    let part = i64::from(y & 0x00FF_FFFF);
    let k = usize::try_from(part >> 17).unwrap_or(0);
    let knot = |k: usize| chord(k).saturating_add(1 << 24).saturating_sub(bow(&EXP2, k));
    let (a, b) = (i64::from(knot(k)), i64::from(knot(k.saturating_add(1))));
    let low = part & 0x1_FFFF;
    let m = a.saturating_add(b.saturating_sub(a).saturating_mul(low) >> 17);
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
    let knot = |k: usize| chord(k).saturating_add(bow(&LOG2, k));
    let (a, b) = (i64::from(knot(k)), i64::from(knot(k.saturating_add(1))));
    let low = mantissa & 0x7F_FFFF;
    let frac = a.saturating_add(b.saturating_sub(a).saturating_mul(low) >> 23);
    clamp_i32((i64::from(whole) << 24).saturating_add(frac))
}

/// The straight line between the ends of a table, less its beginning; of at most 128.
const fn chord(k: usize) -> i32 {
    (k as i32) << 17
}

/// How far from it a knot lies.
fn bow(table: &[[u8; 3]; 129], k: usize) -> i32 {
    let [a, b, c] = table.get(k).copied().unwrap_or_default();
    i32::from_le_bytes([a, b, c, 0])
}
