//! Integer quantities with their unit in the name; arithmetic saturates, it never wraps or panics.
//!
//! Why integers: the same bits on host and target, no float unit needed, and equality that means equality.
//! Two pressures of different zero are two types, because mixing them costs a compressor.

/// Declares one integer quantity with saturating arithmetic.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident($inner:ty)) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        pub struct $name(pub $inner);

        impl $name {
            /// Zero of this quantity.
            pub const ZERO: Self = Self(0);
            /// Largest value the type holds.
            pub const MAX: Self = Self(<$inner>::MAX);
            /// Smallest value the type holds.
            pub const MIN: Self = Self(<$inner>::MIN);

            /// Sum, held at the limits of the type.
            #[inline]
            pub const fn plus(self, other: Self) -> Self { Self(self.0.saturating_add(other.0)) }
            /// Difference, held at the limits of the type.
            #[inline]
            pub const fn minus(self, other: Self) -> Self { Self(self.0.saturating_sub(other.0)) }
            /// Sum, or `None` where the type cannot hold it.
            #[inline]
            pub const fn checked_plus(self, other: Self) -> Option<Self> {
                match self.0.checked_add(other.0) { Some(v) => Some(Self(v)), None => None }
            }
            /// Difference, or `None` where the type cannot hold it.
            #[inline]
            pub const fn checked_minus(self, other: Self) -> Option<Self> {
                match self.0.checked_sub(other.0) { Some(v) => Some(Self(v)), None => None }
            }
            /// The larger of the two.
            #[inline]
            pub const fn or_more(self, other: Self) -> Self { if self.0 >= other.0 { self } else { other } }
            /// The smaller of the two.
            #[inline]
            pub const fn or_less(self, other: Self) -> Self { if self.0 <= other.0 { self } else { other } }
        }
    };
}

quantity! {
    /// Pressure above vacuum, in pascal. All control arithmetic uses this type.
    AbsPa(i32)
}
quantity! {
    /// Pressure above the air around the station, in pascal: what a service gauge shows. For display only.
    GaugePa(i32)
}
quantity! {
    /// Absolute temperature in hundredths of a kelvin: 298.15 K is `CentiKelvin(29_815)`.
    CentiKelvin(i32)
}
quantity! {
    /// Mass in milligram; holds up to 2 147 kg.
    Milligram(i32)
}
quantity! {
    /// Mass rate in milligram per second, positive into the vessel.
    MilligramPerS(i32)
}
quantity! {
    /// A span of time in milliseconds; holds up to 49.7 days.
    Millis(u32)
}
quantity! {
    /// Volume in microlitre.
    Microlitre(i32)
}
quantity! {
    /// Share of the lower flammable limit, in thousandths: 25 % LFL is `PermilleLfl(250)`.
    PermilleLfl(i32)
}
quantity! {
    /// Electric current in milliampere.
    Milliamp(i32)
}
quantity! {
    /// Voltage in millivolt.
    Millivolt(i32)
}
quantity! {
    /// Shaft speed in revolutions per minute.
    Rpm(i32)
}
quantity! {
    /// Parts per thousand of a whole.
    Permille(i32)
}

impl GaugePa {
    /// Needs the barometer: at 1 500 m a gauge zero is about 84 kPa absolute, not 101.
    ///
    /// ```
    /// use valvewright_core::units::{AbsPa, GaugePa};
    /// assert_eq!(GaugePa(-84_500).to_abs(AbsPa(84_600)), AbsPa(100)); // deep vacuum, 1 mbar
    /// ```
    pub const fn to_abs(self, ambient: AbsPa) -> AbsPa {
        AbsPa(self.0.saturating_add(ambient.0))
    }
}

impl AbsPa {
    /// What a gauge would show at the given barometer.
    pub const fn to_gauge(self, ambient: Self) -> GaugePa {
        GaugePa(self.0.saturating_sub(ambient.0))
    }
}

impl CentiKelvin {
    /// From hundredths of a degree Celsius.
    ///
    /// ```
    /// use valvewright_core::units::CentiKelvin;
    /// assert_eq!(CentiKelvin::from_centi_celsius(2_500), CentiKelvin(29_815));
    /// ```
    pub const fn from_centi_celsius(value: i32) -> Self {
        Self(value.saturating_add(27_315))
    }
    /// In hundredths of a degree Celsius.
    pub const fn to_centi_celsius(self) -> i32 {
        self.0.saturating_sub(27_315)
    }
}

impl Milligram {
    /// From whole grams.
    pub const fn from_grams(grams: i32) -> Self {
        Self(grams.saturating_mul(1000))
    }
    /// Nearest whole gram.
    pub const fn to_grams(self) -> i32 {
        let half = if self.0 < 0 { -500 } else { 500 };
        self.0.saturating_add(half) / 1000
    }
}

impl Millis {
    /// From whole seconds.
    pub const fn from_secs(secs: u32) -> Self {
        Self(secs.saturating_mul(1000))
    }
    /// Whole seconds, rounded down.
    pub const fn to_secs(self) -> u32 {
        self.0 / 1000
    }
}

/// A point on the monotonic tick, in milliseconds since power-on; wraps every 49.7 days, and every
/// comparison goes through [`Instant::since`], so that the wrap is harmless (fault F096).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Instant(pub u32);

impl Instant {
    /// Time from `earlier` to `self`, right across one wrap.
    ///
    /// ```
    /// use valvewright_core::units::{Instant, Millis};
    /// assert_eq!(Instant(4).since(Instant(u32::MAX - 5)), Millis(10));
    /// ```
    #[inline]
    pub const fn since(self, earlier: Self) -> Millis {
        Millis(self.0.wrapping_sub(earlier.0))
    }
    /// The instant `span` later.
    #[inline]
    pub const fn after(self, span: Millis) -> Self {
        Self(self.0.wrapping_add(span.0))
    }
}

/// Square root, rounded down, bit by bit: the library's own takes 600 bytes of flash for its speed.
///
/// ```
/// use valvewright_core::units::isqrt;
/// assert_eq!([0, 1, 3, 4, 15, 16, u64::MAX].map(isqrt), [0, 1, 1, 2, 3, 4, 4_294_967_295]);
/// assert!((0..100_000_u64).all(|n| isqrt(n) == n.isqrt()));
/// ```
#[inline(never)]
pub const fn isqrt(n: u64) -> u64 {
    let (mut rest, mut root, mut bit) = (n, 0_u64, 1_u64 << 62);
    while bit != 0 {
        let tried = root | bit;
        root >>= 1;
        if rest >= tried {
            rest = rest.wrapping_sub(tried);
            root |= bit;
        }
        bit >>= 2;
    }
    root
}
