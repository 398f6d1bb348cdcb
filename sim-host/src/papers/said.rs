//! What the station said of a job's masses, power cuts and all.
//!
//! A controller that starts anew in mid-job has forgotten its ledger, and its last word is nothing. What it told before the cut was said
//! all the same, and counts on ticket and ledger; what it had not told yet is not known, and is not called nothing.

use valvewright_core::job::PhaseKind;
use valvewright_core::talk::Notice;
use valvewright_core::units::Milligram;

use super::ticket_figures::Seen;

/// Used oil, g/mL: what the bottle's scale counts with when it says millilitres (see `oil_drained_ml` of a result).
const OIL: f64 = 0.98;

fn grams(of: Milligram) -> f64 {
    f64::from(of.0) * 1e-3
}

impl Seen<'_> {
    /// The sum of what was told of a kind, g; nothing where it never was.
    pub fn sum(&self, of: fn(&Notice) -> Option<Milligram>) -> Option<f64> {
        let told = self.notices().filter_map(|(_, one)| of(one)).map(grams);
        told.fold(None, |sum, more| Some(sum.unwrap_or(0.0) + more))
    }

    fn recovery_told(&self) -> Option<f64> {
        self.sum(|one| if let Notice::Recovered(mass) = one { Some(*mass) } else { None })
    }

    /// The controller began anew in mid-job: it said so, or says that it recovered nothing where it had told a mass. A last word that is a
    /// little less than what was told is none of that: the scale settles after it.
    fn forgot(&self) -> bool {
        let cut = self.notices().any(|(_, one)| matches!(one, Notice::Interrupted(..)));
        let nothing = self.job().recovered_g.shown == Some(0.0);
        cut || nothing && self.recovery_told().is_some_and(|told| told > 0.0)
    }

    /// The larger of its last word and what it told before; nothing where it had begun `phase` and told nothing of it.
    fn after_a_cut(&self, last: Option<f64>, told: Option<f64>, phase: PhaseKind) -> Option<f64> {
        if !self.forgot() {
            return last;
        }
        let begun = self.notices().any(|(_, one)| *one == Notice::PhaseStarted(phase));
        let most = [last, told]
            .into_iter()
            .flatten()
            .fold(None, |most: Option<f64>, one| Some(most.map_or(one, |most| most.max(one))));
        most.filter(|most| *most > 0.0 || !begun || told.is_some())
    }

    /// Refrigerant recovered, g.
    pub fn recovered(&self) -> Option<f64> {
        self.after_a_cut(self.job().recovered_g.shown, self.recovery_told(), PhaseKind::Recover)
    }

    /// Refrigerant charged, g. After a cut it is what the record had of it, which is about right.
    pub fn charged(&self) -> Option<f64> {
        let told = self.notices().filter_map(|(_, one)| match one {
            Notice::Interrupted(_, mass) | Notice::Charged(mass) | Notice::VehicleHolds(mass, _) => Some(grams(*mass)),
            _ => None,
        });
        self.after_a_cut(self.job().charged_g.shown, told.reduce(f64::max), PhaseKind::Charge)
    }

    /// Used oil drained, g.
    pub fn drained(&self) -> Option<f64> {
        let told = self.sum(|one| if let Notice::OilDrained(mass) = one { Some(*mass) } else { None });
        self.after_a_cut(self.job().oil_drained_ml.map(|ml| ml * OIL), told, PhaseKind::DrainOil)
    }
}
