//! Whole numbers drawn from a seed, the same on every host: no floats, no platform functions, no hidden state.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// A source of draws; equal seeds give equal draws in equal order.
pub struct Draw(Xoshiro256PlusPlus);

impl Draw {
    /// The source of a seed.
    pub fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// 0 to `n` - 1; 0 where `n` is 0. The high half of a product: its bias is below `n` / 2^64.
    fn below(&mut self, n: u64) -> u64 {
        ((u128::from(self.0.next_u64()) * u128::from(n)) >> 64) as u64
    }

    /// `low` to `high`, both included; `low` where `high` is below it.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        let width = high.saturating_sub(low).max(0).unsigned_abs();
        low.saturating_add_unsigned(self.below(width + 1))
    }

    /// True in `percent` of a hundred draws.
    pub fn chance(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }

    /// One of a list that is not empty.
    pub fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len() as u64) as usize]
    }
}

/// How far a job may stray from the everyday.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mood {
    /// A sound vehicle, an operator who only answers.
    Plain,
    /// Something is amiss, and the operator steps in.
    Disturbed,
    /// Anything the format can say.
    Nasty,
}

impl Mood {
    /// Each as likely as the others.
    pub(super) fn draw(from: &mut Draw) -> Self {
        from.pick(&[Self::Plain, Self::Disturbed, Self::Nasty])
    }

    /// The entry for this mood, the list going from plain to nasty.
    pub(super) fn of<T: Copy>(self, list: [T; 3]) -> T {
        let [plain, disturbed, nasty] = list;
        match self {
            Self::Plain => plain,
            Self::Disturbed => disturbed,
            Self::Nasty => nasty,
        }
    }

    /// Word for readers.
    pub(super) fn word(self) -> &'static str {
        self.of(["plain", "disturbed", "nasty"])
    }
}

/// A whole number of `1 / 10^digits` as a decimal.
pub(super) fn decimal(value: i64, digits: u32) -> String {
    let unit = 10_u64.pow(digits);
    let (sign, size) = (if value < 0 { "-" } else { "" }, value.unsigned_abs());
    match digits {
        0 => format!("{sign}{size}"),
        _ => format!("{sign}{}.{:0width$}", size / unit, size % unit, width = digits as usize),
    }
}

/// Seconds as a technician writes them.
pub(super) fn duration(seconds: i64) -> String {
    match seconds {
        s if s >= 3600 && s % 3600 == 0 => format!("{} h", s / 3600),
        s if s >= 60 && s % 60 == 0 => format!("{} min", s / 60),
        s => format!("{s} s"),
    }
}
