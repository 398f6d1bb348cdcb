//! Defects on purpose, one for each proof of `tests/target/check.sh`: a proof that cannot fail shows nothing.

#[cfg(feature = "with-a-heap")]
extern crate alloc;

/// Does nothing, or what the image was built to have wrong.
#[inline(always)]
pub fn defect() {
    #[cfg(any(feature = "with-a-panic", feature = "with-an-overflow", feature = "with-a-float", feature = "with-a-double"))]
    let number = crate::terminals::number();
    #[cfg(feature = "with-a-panic")]
    crate::terminals::shown([1, 2, 3][number as usize]);
    #[cfg(feature = "with-an-overflow")]
    crate::terminals::shown((number as i32 + crate::terminals::number() as i32) as u32);
    #[cfg(feature = "with-a-float")]
    crate::terminals::shown((f32::from_bits(number) * 1.5 > 2.0) as u32);
    #[cfg(feature = "with-a-double")]
    crate::terminals::shown((f64::from_bits(u64::from(number) << 32) * 1.5 > 2.0) as u32);
    #[cfg(feature = "with-a-heap")]
    crate::terminals::shown(*alloc::boxed::Box::new(1));
}
