//! Small square blocks and what is done with them: what a sparse matrix of unknowns that belong together is made of.

/// Side of a block.
pub const SIDE: usize = 4;
/// Numbers of a block, column by column.
pub const AREA: usize = SIDE * SIDE;
/// Column by column.
pub type Block = [f64; AREA];
/// A part of a vector.
pub type Lane = [f64; SIDE];

/// Nothing in it is other than zero, of either sign.
#[inline(always)]
pub fn is_zero(block: &Block) -> bool {
    block.iter().fold(0, |bits, value| bits | value.to_bits() << 1) == 0
}

/// `from` -= `what`.
#[inline(always)]
pub fn subtract(from: &mut Lane, what: &Lane) {
    for (one, other) in from.iter_mut().zip(what) {
        *one -= other;
    }
}

/// Block times vector.
#[inline(always)]
pub fn times(a: &Block, x: &Lane) -> Lane {
    let mut sum = [0.0; SIDE];
    for k in 0..SIDE {
        for r in 0..SIDE {
            sum[r] += a[k * SIDE + r] * x[k];
        }
    }
    sum
}

/// Block times block.
#[inline(always)]
pub fn product(a: &Block, b: &Block) -> Block {
    let mut out = [0.0; AREA];
    for c in 0..SIDE {
        for k in 0..SIDE {
            for r in 0..SIDE {
                out[c * SIDE + r] += a[k * SIDE + r] * b[c * SIDE + k];
            }
        }
    }
    out
}

/// `from` -= `a` `b`.
#[inline(always)]
pub fn take(from: &mut Block, a: &Block, b: &Block) {
    let part = product(a, b);
    for (one, other) in from.iter_mut().zip(&part) {
        *one -= other;
    }
}

/// Inverse by Gauss and Jordan without pivoting; `None` where a pivot is not finite or below `least`.
#[inline(always)]
pub fn invert(block: &Block, least: f64) -> Option<Block> {
    let mut a = *block;
    for k in 0..SIDE {
        let pivot = a[k * SIDE + k];
        if !pivot.is_finite() || pivot.abs() < least {
            return None;
        }
        let inverse = 1.0 / pivot;
        // Column k holds the multipliers; it becomes column k of the inverse.
        let mut column = [0.0; SIDE];
        for r in 0..SIDE {
            column[r] = -a[k * SIDE + r] * inverse;
        }
        column[k] = inverse;
        for c in 0..SIDE {
            if c == k {
                continue;
            }
            let head = a[c * SIDE + k];
            for r in 0..SIDE {
                a[c * SIDE + r] += column[r] * head;
            }
            a[c * SIDE + k] = head * inverse;
        }
        a[k * SIDE..(k + 1) * SIDE].copy_from_slice(&column);
    }
    Some(a)
}
