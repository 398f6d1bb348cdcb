//! How far something holds: a number whose sign is the truth, zero included, and which sample it comes from.

/// How far something holds, ordered as the total order of floats (IEEE 754-2019, 5.10) orders them: minus zero is below zero. Smaller,
/// larger and not are single operations on whole numbers, and no value is ever not a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Degree(i64);

impl Degree {
    /// Holds without measure.
    pub const MOST: Self = Self(f64::INFINITY.to_bits().cast_signed());
    /// Fails without measure.
    pub const LEAST: Self = Self(!Self::MOST.0);

    /// From a number; one that is none stays outside and gives nothing.
    #[inline]
    pub fn of(value: f64) -> Option<Self> {
        let bits = value.to_bits().cast_signed();
        (!value.is_nan()).then_some(Self(bits ^ ((bits >> 63) & i64::MAX)))
    }

    /// The number; zero and minus zero are zero.
    #[inline]
    pub fn get(self) -> f64 {
        let bits = self.0 ^ ((self.0 >> 63) & i64::MAX);
        f64::from_bits(bits.cast_unsigned()) + 0.0
    }

    /// Whether it holds.
    #[inline]
    pub const fn holds(self) -> bool {
        self.0 >= 0
    }

    /// Of the contrary.
    #[inline]
    #[must_use]
    pub const fn not(self) -> Self {
        Self(!self.0)
    }
}

/// Marks a value that no comparison made: that of an empty window.
pub const NOWHERE: u32 = u32::MAX;

/// A degree, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Point {
    /// How far it holds.
    pub degree: Degree,
    /// The sample, counted from the first.
    pub at: u32,
    /// The comparison that made it, or [`NOWHERE`].
    pub atom: u32,
}

impl Point {
    /// Of no sample.
    pub const fn bare(degree: Degree) -> Self {
        Self { degree, at: 0, atom: NOWHERE }
    }

    /// The smaller one, this one where they are equal.
    #[inline]
    #[must_use]
    pub fn least(self, other: Self) -> Self {
        if other.degree < self.degree { other } else { self }
    }

    /// The larger one, this one where they are equal.
    #[inline]
    #[must_use]
    pub fn most(self, other: Self) -> Self {
        if other.degree > self.degree { other } else { self }
    }

    /// The smaller or the larger one.
    #[inline]
    #[must_use]
    pub fn pick(self, other: Self, most: bool) -> Self {
        if most { self.most(other) } else { self.least(other) }
    }

    /// Of the contrary, from the same sample.
    #[inline]
    #[must_use]
    pub const fn not(self) -> Self {
        Self { degree: self.degree.not(), ..self }
    }

    /// What an empty window is worth: least of all where the largest is looked for, most where the smallest is.
    #[inline]
    pub const fn empty(most: bool) -> Self {
        Self::bare(if most { Degree::LEAST } else { Degree::MOST })
    }
}
