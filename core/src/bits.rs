//! Sets of named things, one bit each: every set speaks the same words, and all of them while compiling too.

/// Declares the set of the things of an enum; the number of each is its bit.
macro_rules! bit_set {
    ($(#[$doc:meta])* $name:ident($bits:ty) of $one:ty) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        pub struct $name(pub $bits);

        impl $name {
            /// The empty set.
            pub const NONE: Self = Self(0);

            /// The set of the listed ones.
            pub const fn of(list: &[$one]) -> Self {
                let (mut bits, mut rest) = (0, list);
                while let [first, tail @ ..] = rest {
                    bits |= 1 << *first as $bits;
                    rest = tail;
                }
                Self(bits)
            }
            /// Whether `one` is in the set.
            #[inline]
            pub const fn has(self, one: $one) -> bool { self.0 & (1 << one as $bits) != 0 }
            /// With `one` added.
            #[inline]
            pub const fn with(self, one: $one) -> Self { Self(self.0 | 1 << one as $bits) }
            /// In either.
            #[inline]
            pub const fn or(self, other: Self) -> Self { Self(self.0 | other.0) }
            /// In both.
            #[inline]
            pub const fn and(self, other: Self) -> Self { Self(self.0 & other.0) }
            /// In `self` and not in `other`.
            #[inline]
            pub const fn without(self, other: Self) -> Self { Self(self.0 & !other.0) }
            /// Whether the set is empty.
            #[inline]
            pub const fn is_empty(self) -> bool { self.0 == 0 }
        }
    };
}

pub(crate) use bit_set;
