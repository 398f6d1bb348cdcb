//! Powers and logarithms to base 2 in q24: whole-number arithmetic that cannot fail.

use super::curve::clamp_i32;
use super::tables::{EXP2, LOG2};

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
