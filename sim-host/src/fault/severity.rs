//! What the severity of a fault means: a quantity with unit, range and usual value.

use std::ops::RangeInclusive;

use crate::scenario::quantity::{self, Dim};

/// How severe a fault may be. Figures are written in `unit`; a plain number has the unit "".
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Severity {
    /// What it is, for people: `shown too much`.
    pub what: &'static str,
    /// Its dimension.
    pub dim: Dim,
    /// Its unit in all texts.
    pub unit: &'static str,
    /// Least and most that is accepted.
    pub range: (f64, f64),
    /// Nothing nearer to `neutral` than this is accepted: it would be no fault.
    pub least: f64,
    /// The value that would be no fault.
    pub neutral: f64,
    /// What a fault without a severity has: full, where nothing else is said.
    pub usual: f64,
}

impl Severity {
    /// From `from` to `to`, in full where the file says nothing.
    pub const fn new(what: &'static str, dim: Dim, unit: &'static str, from: f64, to: f64) -> Self {
        Self { what, dim, unit, range: (from, to), least: 0.0, neutral: f64::NAN, usual: to }
    }

    /// The same with another usual value.
    #[must_use]
    pub const fn usually(self, usual: f64) -> Self {
        Self { usual, ..self }
    }

    /// The same, but nothing within `least` of `neutral`.
    #[must_use]
    pub const fn beyond(self, neutral: f64, least: f64) -> Self {
        Self { neutral, least, ..self }
    }

    /// A figure in the unit of this severity, in SI.
    pub fn si(&self, figure: f64) -> f64 {
        self.dim.unit(self.unit).map_or(figure, |unit| unit.to_si(figure))
    }

    /// The usual value, SI.
    pub fn usual_si(&self) -> f64 {
        self.si(self.usual)
    }

    /// Accepted values, SI.
    pub fn range_si(&self) -> RangeInclusive<f64> {
        let (a, b) = (self.si(self.range.0), self.si(self.range.1));
        a.min(b)..=a.max(b)
    }

    /// The accepted range in words.
    pub fn accepted(&self) -> String {
        let unit = Some(self.unit).filter(|unit| !unit.is_empty());
        let range = quantity::range_text(self.dim, &self.range_si(), unit);
        if self.least > 0.0 {
            let figure = |value| quantity::text(self.dim, self.si(value), unit);
            format!("{range}, but nothing within {} of {}", figure(self.least), figure(self.neutral))
        } else {
            range
        }
    }

    /// A severity in words.
    pub fn text(&self, si: f64) -> String {
        quantity::text(self.dim, si, Some(self.unit).filter(|unit| !unit.is_empty()))
    }

    /// Reads a severity as a file has it.
    ///
    /// # Errors
    /// What is wrong, and what would be right.
    pub fn read(&self, text: &str) -> Result<f64, (String, String)> {
        let accepted = || format!("accepted for {}: {}", self.what, self.accepted());
        let read = quantity::parse(text, self.dim);
        let found = read.map_err(|wrong| (wrong.message, format!("{}; {}", wrong.help, accepted())))?;
        let outside = |_| (format!("`{text}` is outside the accepted range"), accepted());
        let si = found.within(self.dim, &self.range_si()).map_err(outside)?;
        if self.least > 0.0
            && (si - self.si(self.neutral)).abs()
                < (self.si(self.neutral + self.least) - self.si(self.neutral)).abs() * (1.0 - 1e-9)
        {
            return Err((format!("`{text}` would be no fault"), accepted()));
        }
        Ok(si)
    }
}
