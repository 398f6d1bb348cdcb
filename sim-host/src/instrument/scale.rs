//! A bridge scale: lag, creep, thermal drift, hose force, shaking motors, and a converter that counts its conversions.

use valvewright_core::frame::ScaleSample;

use super::Noise;
use super::lag::share_covered;
use super::scale_ill::{ScaleHealth, ScaleIll, Stage};
use super::spec::ScaleSpec;

/// Rails of a 24-bit converter.
const RAILS: (f64, f64) = (-8_388_608.0, 8_388_607.0);

/// Added to a number of less than 51 bits and taken off again, leaves it rounded to the nearest whole one, ties to even, without a call.
const WHOLE: f64 = (3_u64 << 51) as f64;

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
    sample: ScaleSample,
    /// Along the way of its reading; none in a healthy station.
    ills: Vec<ScaleIll>,
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
            sample: ScaleSample::default(),
            ills: Vec::new(),
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

    /// Adds an ill, behind those that take hold at the same place.
    pub(super) fn ail(&mut self, ill: ScaleIll) {
        if ill.health != ScaleHealth::Good {
            self.ills.push(ill);
            self.ills.sort_by_key(|one| one.health.stage());
        }
    }

    /// Takes away what belongs to `key`.
    pub(super) fn mend(&mut self, key: u32) {
        self.ills.retain(|one| one.key != key);
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
        if self.ills.is_empty() {
            self.convert(self.spec.zero_code + self.gain * grams);
        } else {
            self.ailing(grams, load);
        }
        self.sample
    }

    #[cold]
    fn ailing(&mut self, mut grams: f64, load: &Load) {
        for one in &mut self.ills {
            grams = one.weigh(grams, self.felt_g, load.warmer_k, self.conversion_s);
        }
        let mut code = self.spec.zero_code + self.gain * grams;
        for one in &self.ills {
            if let ScaleHealth::Gain(factor) = one.health {
                code *= factor;
            }
        }
        match self.ills.last().filter(|one| one.health.stage() == Stage::Converter).map(|one| one.health) {
            Some(ScaleHealth::Frozen) => {}
            Some(ScaleHealth::Stuck) => self.convert(f64::from(self.sample.code)),
            Some(ScaleHealth::Open) => self.convert(RAILS.1),
            Some(ScaleHealth::LowRail) => self.convert(RAILS.0),
            Some(ScaleHealth::Code(code)) => {
                self.sample = ScaleSample { code, sequence: self.sample.sequence.wrapping_add(1) };
            }
            _ => self.convert(code),
        }
    }

    #[inline]
    fn convert(&mut self, code: f64) {
        let code = ((code.clamp(RAILS.0, RAILS.1) + WHOLE) - WHOLE) as i32;
        self.sample = ScaleSample { code, sequence: self.sample.sequence.wrapping_add(1) };
    }
}
