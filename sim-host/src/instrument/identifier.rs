//! AT-1 as a device on a serial line: warms up, takes a sample when asked, answers with the id it was asked with.
//!
//! It speaks the frames of [`valvewright_core::sense::identifier`]. A broken or foreign frame is ignored, as on any line;
//! the station's deadline is what notices. A new request during an analysis starts the analysis anew.

use valvewright_core::frame::SerialChunk;
use valvewright_core::sense::GasReport;
use valvewright_core::sense::identifier::{Flags, RequestListener, encode_report};
use valvewright_core::units::Permille;

use super::Noise;
use super::identifier_ill::{IdentifierHealth, Ills};
use super::spec::IdentifierSpec;
use super::truth::GasTruth;

/// Air share from which the refrigerant part is too thin to be told apart, own choice.
const ALL_AIR: f64 = 0.98;

/// An analysis under way.
#[derive(Clone, Debug)]
struct Analysis {
    id: u16,
    began_s: f64,
    done_at_s: f64,
    /// Sample flow and filter have been in order so far.
    healthy: bool,
}

/// The gas identifier.
#[derive(Clone, Debug)]
pub(super) struct Identifier {
    spec: IdentifierSpec,
    listener: RequestListener,
    /// When the cell is warm; unknown until power-on, which is the first exchange.
    warm_at_s: Option<f64>,
    analysis: Option<Analysis>,
    /// What was told last of a sample.
    last: Option<GasReport>,
    ills: Ills,
}

impl Identifier {
    pub(super) fn new(spec: &IdentifierSpec) -> Self {
        Self {
            spec: *spec,
            listener: RequestListener::new(),
            warm_at_s: None,
            analysis: None,
            last: None,
            ills: Ills::default(),
        }
    }

    pub(super) fn ail(&mut self, key: u32, seed: u64, health: IdentifierHealth) {
        self.ills.ail(key, seed, health);
    }

    pub(super) fn mend(&mut self, key: u32) {
        self.ills.mend(key);
    }

    /// One tick: takes the station's bytes, gives at most one frame of its own.
    #[inline]
    pub(super) fn exchange(
        &mut self,
        t_s: f64,
        gas: &GasTruth,
        received: &SerialChunk,
        noise: &mut Noise,
        sent: &mut SerialChunk,
    ) {
        let quiet = received.is_empty() && self.analysis.is_none() && self.warm_at_s.is_some();
        if quiet {
            sent.clear();
        } else {
            *sent = self.answer(t_s, gas, received, noise).unwrap_or_default();
            if !self.ills.is_empty() {
                self.harm(sent);
            }
        }
    }

    #[cold]
    fn harm(&mut self, sent: &mut SerialChunk) {
        self.ills.spoil(sent);
        if self.ills.silent() {
            sent.clear();
        }
    }

    fn answer(&mut self, t_s: f64, gas: &GasTruth, received: &SerialChunk, noise: &mut Noise) -> Option<SerialChunk> {
        let asked = self.listener.feed(received);
        let Some(warm_at_s) = self.warm_at_s else {
            self.warm_at_s = Some(t_s + self.spec.warm_up_s);
            return Some(encode_report(&blank(0), Flags(Flags::BOOTED)));
        };
        if let Some(id) = asked {
            let done_at_s = t_s.max(warm_at_s) + self.spec.analysis_s * self.ills.slower();
            self.analysis = Some(Analysis { id, began_s: t_s, done_at_s, healthy: true });
            return Some(encode_report(&blank(id), Flags(Flags::BUSY)));
        }
        if let (Some(after), Some(analysis)) = (self.ills.resets_after(), &self.analysis)
            && t_s - analysis.began_s >= after
        {
            self.analysis = None;
            self.warm_at_s = Some(t_s + self.spec.warm_up_s);
            return Some(encode_report(&blank(0), Flags(Flags::BOOTED)));
        }
        let analysis = self.analysis.as_mut()?;
        analysis.healthy &= !gas.oil_film && gas.pressure_pa >= self.spec.sample_pressure_pa;
        if t_s < analysis.done_at_s {
            return None;
        }
        let report = measure(analysis, gas, self.spec.error_share, noise);
        self.analysis = None;
        let told = if self.ills.is_empty() { report } else { self.ills.told(report, self.last.as_ref()) };
        let sent = encode_report(&told, Flags::default());
        self.last = Some(told);
        Some(sent)
    }
}

/// A report without a result.
fn blank(sample_id: u16) -> GasReport {
    GasReport {
        sample_id,
        r134a: Permille(0),
        r1234yf: Permille(0),
        other: Permille(0),
        hydrocarbon: Permille(0),
        air: Permille(0),
        healthy: true,
    }
}

/// What the cell makes of the gas that is in it when the analysis ends.
fn measure(analysis: &Analysis, gas: &GasTruth, error: f64, noise: &mut Noise) -> GasReport {
    let mut seen = |share: f64| (share + noise.within(error)).clamp(0.0, 1.0);
    let shares = [gas.r134a, gas.r1234yf, gas.other, gas.hydrocarbon].map(&mut seen);
    let air = seen(gas.air);
    let [r134a, r1234yf, other, hydrocarbon] =
        if air < ALL_AIR { parts_per_thousand(shares) } else { [0; 4] }.map(Permille);
    GasReport {
        sample_id: analysis.id,
        r134a,
        r1234yf,
        other,
        hydrocarbon,
        air: Permille((air * 1e3).round() as i32),
        healthy: analysis.healthy,
    }
}

/// Brought to a sum of one thousand; the largest share takes what rounding leaves. All zero where there is nothing.
fn parts_per_thousand(shares: [f64; 4]) -> [i32; 4] {
    let sum: f64 = shares.iter().sum();
    if sum <= 0.0 {
        return [0; 4];
    }
    let mut parts = shares.map(|share| (share / sum * 1e3).round() as i32);
    let rest = 1000 - parts.iter().sum::<i32>();
    if let Some(largest) = parts.iter_mut().max() {
        *largest += rest;
    }
    parts
}
