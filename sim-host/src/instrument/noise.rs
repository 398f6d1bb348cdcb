//! Noise that is the same for the same seed: one generator, one table of Gaussian deviates, no allocation.
//!
//! The table holds the inverse of the normal distribution at equally likely points, so that a draw is a table look-up
//! instead of a logarithm and a square root. It ends at 3.5 sigma: rarer deviates are left out.

use std::sync::LazyLock;

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// Bits that choose an entry of the table.
const INDEX_BITS: u32 = 11;
/// Entries of the table.
const ENTRIES: usize = 1 << INDEX_BITS;
/// Draws that one 64-bit word of the generator feeds.
const DRAWS_PER_WORD: u32 = u64::BITS / INDEX_BITS;

static GAUSS: LazyLock<[f32; ENTRIES]> = LazyLock::new(gauss_table);

/// Integrates dx/dp = 1 / density(x), which is the slope of the inverse normal distribution, from the median outwards
/// (classic Runge-Kutta), then scales to unit variance because the cut tails would leave it short.
fn gauss_table() -> [f32; ENTRIES] {
    // The slope runs away only in the tail: fine steps there, fewer the more entries still follow.
    const FINEST: usize = 64;
    const COARSEST: usize = 4;
    let slope = |x: f64| (2.0 * std::f64::consts::PI).sqrt() * (0.5 * x * x).exp();
    let advance = |x: f64, h: f64| {
        let k1 = slope(x);
        let k2 = slope(x + 0.5 * h * k1);
        let k3 = slope(x + 0.5 * h * k2);
        let k4 = slope(x + h * k3);
        x + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    };
    let mut upper = [0.0_f64; ENTRIES / 2];
    let mut x = 0.0;
    for (place, entry) in upper.iter_mut().enumerate() {
        // The first entry lies half a cell from the median, each further one a whole cell on.
        let fine = (16 * FINEST / (ENTRIES / 2 - place)).clamp(COARSEST, FINEST);
        let h = 1.0 / (ENTRIES * fine) as f64;
        let steps = if place == 0 { fine / 2 } else { fine };
        for _ in 0..steps {
            x = advance(x, h);
        }
        *entry = x;
    }
    let variance = upper.iter().map(|v| v * v).sum::<f64>() / (ENTRIES / 2) as f64;
    let mut table = [0.0_f32; ENTRIES];
    for (pair, value) in table.chunks_exact_mut(2).zip(upper) {
        let scaled = (value / variance.sqrt()) as f32;
        pair.copy_from_slice(&[scaled, -scaled]);
    }
    table
}

/// A source of deviates; equal seeds give equal sequences on every host.
#[derive(Clone, Debug)]
pub struct Noise {
    generator: Xoshiro256PlusPlus,
    table: &'static [f32; ENTRIES],
    word: u64,
    left: u32,
}

impl Noise {
    /// Starts the sequence that belongs to `seed`.
    pub fn new(seed: u64) -> Self {
        Self { generator: Xoshiro256PlusPlus::seed_from_u64(seed), table: &GAUSS, word: 0, left: 0 }
    }

    /// One deviate of mean 0 and standard deviation 1, within +-3.5.
    #[inline]
    pub fn gauss(&mut self) -> f64 {
        if self.left == 0 {
            self.word = self.generator.next_u64();
            self.left = DRAWS_PER_WORD;
        }
        self.left -= 1;
        let index = self.word as usize % ENTRIES;
        self.word >>= INDEX_BITS;
        f64::from(self.table[index])
    }

    /// One value, every one in -`half_width` to +`half_width` equally likely.
    pub fn within(&mut self, half_width: f64) -> f64 {
        (2.0 * self.share() - 1.0) * half_width
    }

    /// One value, every one from 0 up to but not 1 equally likely.
    pub fn share(&mut self) -> f64 {
        (self.generator.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }
}
