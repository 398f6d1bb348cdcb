//! Axes: from values to pixels, with ticks at round numbers.

/// A mapping from values to pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    low: f64,
    high: f64,
    from_px: f64,
    to_px: f64,
    logarithmic: bool,
}

impl Axis {
    /// Even divisions from `low` to `high`, drawn from `from_px` to `to_px`.
    pub fn linear(low: f64, high: f64, from_px: f64, to_px: f64) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        Self { low, high, from_px, to_px, logarithmic: false }
    }

    /// Equal ratios from `low` to `high`, both over zero.
    pub fn logarithmic(low: f64, high: f64, from_px: f64, to_px: f64) -> Self {
        let low = low.max(1e-12);
        let high = if high > low { high } else { low * 10.0 };
        Self { low, high, from_px, to_px, logarithmic: true }
    }

    /// Pixel of a value. Values outside the axis land outside its pixels, at most one axis length away.
    pub fn px(&self, value: f64) -> f64 {
        let share = if self.logarithmic {
            (value.max(1e-12) / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.from_px + share.clamp(-1.0, 2.0) * (self.to_px - self.from_px)
    }

    /// About `wanted` round values on the axis; decades on a logarithmic one.
    pub fn ticks(&self, wanted: usize) -> Vec<f64> {
        if self.logarithmic {
            let first = (self.low.log10() - 1e-9).ceil() as i32;
            let last = (self.high.log10() + 1e-9).floor() as i32;
            return (first..=last).map(|power| 10f64.powi(power)).collect();
        }
        let step = nice_step((self.high - self.low) / wanted.max(1) as f64);
        let first = (self.low / step - 1e-9).ceil() as i64;
        let last = (self.high / step + 1e-9).floor() as i64;
        (first..=last).map(|at| at as f64 * step).collect()
    }
}

/// The smallest of 1, 2, 2.5, 5 times a power of ten that is no less than `rough`.
pub fn nice_step(rough: f64) -> f64 {
    let rough = if rough.is_finite() && rough > 0.0 { rough } else { 1.0 };
    let power = 10f64.powf(rough.log10().floor());
    let share = rough / power;
    let nice = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|one| share <= one + 1e-9);
    nice.unwrap_or(10.0) * power
}

/// Widens `low..high` to round bounds with about `wanted` steps between.
pub fn round_bounds(low: f64, high: f64, wanted: usize) -> (f64, f64) {
    let span = (high - low).max(high.abs().max(low.abs()) * 1e-3).max(1e-6);
    let step = nice_step(span / wanted.max(1) as f64);
    let (low, high) = ((low / step + 1e-9).floor() * step, (high / step - 1e-9).ceil() * step);
    if high > low { (low, high) } else { (low, low + step) }
}

/// Step of a time axis, s, that gives at most `most` ticks: the divisions of a clock.
pub fn time_step(length_s: f64, most: usize) -> f64 {
    let steps = [1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0];
    let most = most.max(1) as f64;
    steps.into_iter().find(|step| length_s / step <= most).unwrap_or(length_s / most)
}

/// A value with about `digits` significant digits and no needless zeros.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let size = value.abs();
    if size != 0.0 && !(1e-3..1e7).contains(&size) {
        return format!("{value:.*e}", digits.saturating_sub(1)).replace('-', "\u{2212}");
    }
    let whole = if size < 1.0 { 1 } else { size.log10().floor() as usize + 1 };
    let leading = if size != 0.0 && size < 1.0 { (-size.log10()).floor() as usize } else { 0 };
    let places = (digits + leading).saturating_sub(whole).min(6);
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    let text = if text == "-0" { "0" } else { text };
    text.replace('-', "\u{2212}")
}

/// A length of time for readers: `42 s`, `12 min 30 s`, `1 h 05 min`.
pub fn duration(seconds: f64) -> String {
    if !seconds.is_finite() {
        return "–".to_owned();
    }
    let whole = seconds.max(0.0).round() as u64;
    match (whole / 3600, whole / 60 % 60, whole % 60) {
        (0, 0, s) if seconds < 10.0 && seconds > 0.0 && (seconds - s as f64).abs() > 0.05 => {
            format!("{seconds:.1} s")
        }
        (0, 0, s) => format!("{s} s"),
        (0, m, 0) => format!("{m} min"),
        (0, m, s) => format!("{m} min {s:02} s"),
        (h, m, _) => format!("{h} h {m:02} min"),
    }
}

/// A moment of the job as a clock reads it: `12:30`, `1:02:30`.
pub fn clock(seconds: f64) -> String {
    let whole = if seconds.is_finite() { seconds.max(0.0).floor() as u64 } else { 0 };
    match (whole / 3600, whole / 60 % 60, whole % 60) {
        (0, m, s) => format!("{m}:{s:02}"),
        (h, m, s) => format!("{h}:{m:02}:{s:02}"),
    }
}
