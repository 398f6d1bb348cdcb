//! A bridge scale: lag, creep, thermal drift, hose force, shaking motors, and a converter that counts its conversions.

use valvewright_core::frame::ScaleSample;

use super::Noise;
use super::spec::ScaleSpec;
use super::transmitter::share_covered;

/// Rails of a 24-bit converter.
const RAILS: (f64, f64) = (-8_388_608.0, 8_388_607.0);

/// Added to a number of less than 51 bits and taken off again, leaves it rounded to the nearest whole one, ties to even, without a call.
const WHOLE: f64 = (3_u64 << 51) as f64;

/// What is wrong with a scale.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum ScaleHealth {
    /// Nothing.
    #[default]
    Good,
    /// No new conversion: code and sequence stand still.
    Frozen,
    /// The code stands still, conversions go on: the sequence alone looks alive.
    Stuck,
    /// Bridge open: the code sits at the upper rail, conversions go on.
    Open,
    /// The amplifier gives its code times this factor, that of the empty platform included.
    Gain(f64),
    /// The reading walks by so many gram per second, from when it is set on.
    Drift(f64),
    /// So many gram are shown that are not there.
    Step(f64),
    /// The load is shown wrong by this share of itself; the empty platform is shown right.
    Span(f64),
}

/// What acts on the platform in one tick.
#[derive(Clone, Copy, Debug)]
pub(super) struct Load {
    /// Mass to be weighed, in gram.
    pub(super) mass_g: f64,
    /// Absolute pressure in the charge line, in bar.
    pub(super) hose_bar: f64,
    /// Warmer than at calibration, in kelvin.
    pub(super) warmer_k: f64,
    /// The motors' tone, -1 to 1; 0 when they rest.
    pub(super) tone: f64,
}

/// One scale from platform to code.
#[derive(Clone, Debug)]
pub(super) struct ScaleDevice {
    spec: ScaleSpec,
    /// Counts per gram with this device's own error.
    gain: f64,
    lag_alpha: f64,
    creep_alpha: f64,
    /// Load after the mechanical lag, in gram.
    felt_g: f64,
    /// What creep adds, in gram.
    creep_g: f64,
    /// Scans until the next conversion.
    wait: u32,
    /// Time between two conversions, in seconds.
    conversion_s: f64,
    /// How far a drift has come, in gram.
    strayed_g: f64,
    sample: ScaleSample,
    health: ScaleHealth,
}

impl ScaleDevice {
    /// Draws this scale's own error inside its class.
    pub(super) fn new(spec: &ScaleSpec, noise: &mut Noise) -> Self {
        Self {
            spec: *spec,
            gain: spec.counts_per_gram * (1.0 + noise.within(spec.gain_class)),
            lag_alpha: 1.0,
            creep_alpha: 1.0,
            felt_g: 0.0,
            creep_g: 0.0,
            wait: 0,
            conversion_s: 0.0,
            strayed_g: 0.0,
            sample: ScaleSample::default(),
            health: ScaleHealth::Good,
        }
    }

    /// The load has stood on the platform for long: creep is over.
    pub(super) fn settle(&mut self, load: &Load) {
        self.felt_g = self.pushing(load);
        self.creep_g = self.spec.creep_share * self.felt_g;
    }

    pub(super) fn set_step(&mut self, dt_s: f64) {
        self.lag_alpha = share_covered(dt_s, self.spec.lag_s);
        self.creep_alpha = share_covered(dt_s, self.spec.creep_s);
        self.conversion_s = dt_s * f64::from(self.spec.scans_per_conversion.max(1));
    }

    /// Breaks or mends it; a drift begins anew.
    pub(super) fn set_health(&mut self, health: ScaleHealth) {
        (self.health, self.strayed_g) = (health, 0.0);
    }

    #[inline]
    fn pushing(&self, load: &Load) -> f64 {
        load.mass_g + self.spec.hose_g_per_bar * load.hose_bar
    }

    #[inline]
    pub(super) fn sample(&mut self, load: &Load, noise: &mut Noise) -> ScaleSample {
        self.felt_g += self.lag_alpha * (self.pushing(load) - self.felt_g);
        self.creep_g += self.creep_alpha * (self.spec.creep_share * self.felt_g - self.creep_g);
        if self.wait > 0 {
            self.wait -= 1;
            return self.sample;
        }
        self.wait = self.spec.scans_per_conversion.saturating_sub(1);
        let grams = self.felt_g
            + self.creep_g
            + self.spec.drift_g_per_k * load.warmer_k
            + self.spec.vibration_g * load.tone
            + self.spec.noise_g * noise.gauss();
        if self.health == ScaleHealth::Good {
            self.convert(self.spec.zero_code + self.gain * grams);
        } else {
            self.ailing(grams);
        }
        self.sample
    }

    #[cold]
    fn ailing(&mut self, grams: f64) {
        let code = |grams: f64| self.spec.zero_code + self.gain * grams;
        match self.health {
            ScaleHealth::Good => self.convert(code(grams)),
            ScaleHealth::Frozen => {}
            ScaleHealth::Stuck => self.convert(f64::from(self.sample.code)),
            ScaleHealth::Open => self.convert(RAILS.1),
            ScaleHealth::Gain(factor) => self.convert(factor * code(grams)),
            ScaleHealth::Drift(per_second) => {
                self.strayed_g += per_second * self.conversion_s;
                self.convert(self.spec.zero_code + self.gain * (grams + self.strayed_g));
            }
            ScaleHealth::Step(more) => self.convert(code(grams + more)),
            ScaleHealth::Span(share) => self.convert(code(grams * (1.0 + share))),
        }
    }

    #[inline]
    fn convert(&mut self, code: f64) {
        let code = ((code.clamp(RAILS.0, RAILS.1) + WHOLE) - WHOLE) as i32;
        self.sample = ScaleSample { code, sequence: self.sample.sequence.wrapping_add(1) };
    }
}
