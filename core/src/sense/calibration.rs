//! The straight line from a converter's code to mass, through two points; a value of it always has a usable span.

use crate::units::Milligram;

/// Rails of the 24-bit converter.
pub const RAIL_LOW: i32 = -8_388_608;
/// Upper rail of the 24-bit converter.
pub const RAIL_HIGH: i32 = 8_388_607;
/// Fraction bits of the gain in milligram per code.
const GAIN: u32 = 24;
/// Fraction bits of the filter state.
pub(super) const FINE: u32 = 6;
/// Coarsest gain taken, in milligram per code: coarser cannot weigh a charge, and the arithmetic below would overflow.
pub const COARSEST_MG_PER_CODE: i64 = 100;
const _: () = assert!(COARSEST_MG_PER_CODE << GAIN < i32::MAX as i64, "a gain fits 32 bits");
/// Span change a calibration may bring, parts per thousand (interlock I21).
pub const SPAN_CHANGE_LIMIT: i64 = 20;

/// Why a calibration is refused.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CalError {
    /// Both points gave nearly the same code. Operator: put the weight on before the second point; else have the bridge repaired.
    NoSpan,
    /// A code is at the converter's rail. Technician: bridge or amplifier is broken.
    Rail,
    /// The reference weight is not between 0.1 kg and 100 kg. Operator: enter the weight that is on the platform.
    Mass(Milligram),
    /// The span moved by more than 2 % against the last calibration, here in parts per thousand. Operator: repeat with a second weight; supervisor: accept as new.
    SpanMoved(i32),
    /// The empty platform does not read zero again, here by how much. Operator: free the platform and repeat.
    ZeroMoved(Milligram),
}

impl core::fmt::Display for CalError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::NoSpan => "both points gave nearly the same code",
            Self::Rail => "a code is at the converter's rail",
            Self::Mass(_) => "the reference weight is not between 0.1 kg and 100 kg",
            Self::SpanMoved(_) => "the span moved by more than 2 %",
            Self::ZeroMoved(_) => "the empty platform does not read zero again",
        })
    }
}

impl TryFrom<(i32, i32, Milligram, Milligram)> for ScaleCal {
    type Error = CalError;
    fn try_from((zero_code, span_code, span_mass, tare): (i32, i32, Milligram, Milligram)) -> Result<Self, CalError> {
        Self::new(zero_code, span_code, span_mass, tare)
    }
}

impl From<ScaleCal> for (i32, i32, Milligram, Milligram) {
    fn from(cal: ScaleCal) -> Self {
        (cal.zero_code, cal.span_code, cal.span_mass, cal.tare)
    }
}

/// Two-point calibration of one scale; a value of this type always has a usable span.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(try_from = "(i32, i32, Milligram, Milligram)"))]
#[cfg_attr(feature = "serde", serde(into = "(i32, i32, Milligram, Milligram)"))]
pub struct ScaleCal {
    zero_code: i32,
    span_code: i32,
    span_mass: Milligram,
    tare: Milligram,
    gain: i32,
}

impl ScaleCal {
    /// Straight line through `zero_code` at no load and `span_code` at `span_mass` (0.1-100 kg); `tare` is taken off the gross mass.
    pub const fn new(zero_code: i32, span_code: i32, span_mass: Milligram, tare: Milligram) -> Result<Self, CalError> {
        if span_mass.0 < 100_000 || span_mass.0 > 100_000_000 {
            return Err(CalError::Mass(span_mass));
        }
        if railed(zero_code) || railed(span_code) {
            return Err(CalError::Rail);
        }
        let span = span_code as i64 - zero_code as i64;
        if span.saturating_abs().saturating_mul(COARSEST_MG_PER_CODE) < span_mass.0 as i64 {
            return Err(CalError::NoSpan);
        }
        match ((span_mass.0 as i64) << (GAIN + 1)).checked_div(span) {
            Some(twice) => {
                let gain = (twice.saturating_add(1) >> 1) as i32;
                Ok(Self { zero_code, span_code, span_mass, tare, gain })
            }
            None => Err(CalError::NoSpan),
        }
    }

    /// A fresh calibration, held against the previous one where there is any (interlock I21); keeps its tare.
    pub fn calibrate(
        zero_code: i32,
        code_at_mass: i32,
        mass: Milligram,
        previous: Option<&Self>,
    ) -> Result<Self, CalError> {
        let tare = previous.map_or(Milligram::ZERO, |p| p.tare);
        let fresh = Self::new(zero_code, code_at_mass, mass, tare)?;
        if let Some(old) = previous {
            let (new, old) = (i64::from(fresh.gain), i64::from(old.gain));
            let moved = new.saturating_sub(old).saturating_mul(1_000);
            let limit = old.saturating_abs().saturating_mul(SPAN_CHANGE_LIMIT);
            if moved.saturating_abs() > limit {
                let permille = moved.checked_div(old.saturating_abs()).unwrap_or(i64::MAX);
                return Err(CalError::SpanMoved(permille.max(i32::MIN as i64).min(i32::MAX as i64) as i32));
            }
        }
        Ok(fresh)
    }

    /// After the weight is off again: does the platform read zero within `limit`? The other half of interlock I21.
    pub fn zero_returns(&self, code: i32, limit: Milligram) -> Result<(), CalError> {
        let off = self.gross(code);
        if off.0.saturating_abs() > limit.0 { Err(CalError::ZeroMoved(off)) } else { Ok(()) }
    }

    /// The same line with another tare.
    pub const fn with_tare(self, tare: Milligram) -> Self {
        Self { tare, ..self }
    }
    /// The same zero and tare with about another gain; unchanged where no line has that gain.
    pub fn with_gain(self, gain: i32) -> Self {
        let span = ((i64::from(self.span_mass.0) << (GAIN + 1)).checked_div(i64::from(gain))).unwrap_or(0);
        let code = i64::from(self.zero_code).saturating_add(span.saturating_add(1) >> 1);
        let code = i32::try_from(code).unwrap_or(RAIL_HIGH);
        Self::new(self.zero_code, code, self.span_mass, self.tare).unwrap_or(self)
    }
    /// The gain in milligram a code, with 24 bits of fraction.
    pub const fn gain(&self) -> i32 {
        self.gain
    }
    /// Whether the span differs by more than [`SPAN_CHANGE_LIMIT`] from one of this gain (interlock I21).
    pub const fn span_differs(&self, gain: i32) -> bool {
        let moved = (self.gain as i64).saturating_sub(gain as i64).saturating_abs();
        moved.saturating_mul(1_000) > (gain as i64).saturating_abs().saturating_mul(SPAN_CHANGE_LIMIT)
    }
    /// Code of the empty platform.
    pub const fn zero_code(&self) -> i32 {
        self.zero_code
    }
    /// Code with the reference weight on.
    pub const fn span_code(&self) -> i32 {
        self.span_code
    }
    /// The reference weight.
    pub const fn span_mass(&self) -> Milligram {
        self.span_mass
    }
    /// What is taken off the gross mass.
    pub const fn tare(&self) -> Milligram {
        self.tare
    }
    /// Mass on the platform for a code.
    pub const fn gross(&self, code: i32) -> Milligram {
        self.mass_of(fine_code(code).saturating_sub(fine_code(self.zero_code)))
    }
    /// Gross mass less tare for a code.
    pub const fn net(&self, code: i32) -> Milligram {
        self.gross(code).minus(self.tare)
    }

    /// Whether a difference of codes in 1/64 code is more than a mass; a negative limit is exceeded by any difference.
    #[inline]
    pub(super) const fn exceeds(&self, fine_codes: i32, limit: Milligram) -> bool {
        let limit = if limit.0 < 0 { 0 } else { limit.0 as u64 };
        let product = (fine_codes.unsigned_abs() as u64).saturating_mul(self.gain.unsigned_abs() as u64);
        product > limit << (GAIN + FINE)
    }

    /// Mass of a difference of codes in 1/64 code. 25 + 6 bits of difference times 7 + 24 bits of gain stay inside 64 bits;
    /// the gain's rounding costs 0.15 mg at 5 million codes.
    pub(super) const fn mass_of(&self, fine_codes: i32) -> Milligram {
        let product = (fine_codes as i64).wrapping_mul(self.gain as i64);
        let rounded = product.wrapping_add(1 << (GAIN + FINE - 1)) >> (GAIN + FINE);
        if rounded > i32::MAX as i64 {
            Milligram::MAX
        } else if rounded < i32::MIN as i64 {
            Milligram::MIN
        } else {
            Milligram(rounded as i32)
        }
    }
}

/// A code in the filter's fraction of a code; past the rails, which no converter leaves, the rail.
pub(super) const fn fine_code(code: i32) -> i32 {
    let code = if code < RAIL_LOW { RAIL_LOW } else { code };
    (if code > RAIL_HIGH { RAIL_HIGH } else { code }) << FINE
}

pub(super) const fn railed(code: i32) -> bool {
    code <= RAIL_LOW || code >= RAIL_HIGH
}
