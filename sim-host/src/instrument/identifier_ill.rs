//! What can be wrong with the gas identifier: how long it takes, what it makes of the gas, and what becomes of its frames.

use valvewright_core::frame::SerialChunk;
use valvewright_core::sense::GasReport;
use valvewright_core::units::Permille;

use super::Noise;

/// What is wrong with the identifier. Several at once act in turn, in the order in which they began.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum IdentifierHealth {
    /// It hears and says nothing.
    Silent,
    /// Its frames are harmed with this probability each: a bit flipped, or the end cut off.
    FrameErrors(f64),
    /// It sends the report of the sample before, with that sample's id; one of its own gas, where there was none.
    Repeats,
    /// It sends the shares of the sample before under the new id.
    SameResult,
    /// The largest share is told too large by this.
    Bias(f64),
    /// R-134a is told as R-1234yf and the other way round.
    WrongSpecies,
    /// Each analysis takes so many times as long, and this share of hydrocarbon is told that is not there.
    Fouled {
        /// How many times.
        slower: f64,
        /// Share.
        hydrocarbon: f64,
    },
    /// Air is told as none.
    NoAir,
    /// It starts anew so many seconds into an analysis.
    Resets(f64),
}

/// The ills of an identifier.
#[derive(Clone, Debug, Default)]
pub(super) struct Ills {
    /// Whose, what, and the dice of it.
    list: Vec<(u32, IdentifierHealth, Noise)>,
}

impl Ills {
    pub(super) fn ail(&mut self, key: u32, seed: u64, health: IdentifierHealth) {
        self.list.push((key, health, Noise::new(seed)));
    }

    pub(super) fn mend(&mut self, key: u32) {
        self.list.retain(|one| one.0 != key);
    }

    #[inline]
    pub(super) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    fn kinds(&self) -> impl Iterator<Item = IdentifierHealth> + '_ {
        self.list.iter().map(|one| one.1)
    }

    pub(super) fn silent(&self) -> bool {
        self.kinds().any(|one| one == IdentifierHealth::Silent)
    }

    /// How many times as long an analysis takes.
    pub(super) fn slower(&self) -> f64 {
        let factors =
            self.kinds().map(|one| if let IdentifierHealth::Fouled { slower, .. } = one { slower } else { 1.0 });
        factors.product()
    }

    /// How far into an analysis it starts anew, s.
    pub(super) fn resets_after(&self) -> Option<f64> {
        let times = self.kinds().filter_map(|one| if let IdentifierHealth::Resets(at) = one { Some(at) } else { None });
        times.reduce(f64::min)
    }

    /// What is told in place of `report`; `before` is the one of the sample before.
    pub(super) fn told(&self, report: GasReport, before: Option<&GasReport>) -> GasReport {
        let mut told = report;
        for one in self.kinds() {
            told = distorted(one, told, before);
        }
        told
    }

    /// What of a frame gets to the station.
    pub(super) fn spoil(&mut self, sent: &mut SerialChunk) {
        for (_, health, dice) in &mut self.list {
            let IdentifierHealth::FrameErrors(p) = *health else { continue };
            if sent.is_empty() || dice.share() >= p {
                continue;
            }
            // The zero bytes at its ends stay, or it would be no frame at all.
            let inner = sent.len().saturating_sub(2).max(1);
            let at = 1 + (dice.share() * inner as f64) as usize;
            if dice.share() < 0.25 {
                sent.truncate(at);
            } else if let Some(byte) = sent.get_mut(at) {
                *byte ^= 1 << ((dice.share() * 8.0) as u32).min(7);
            }
        }
    }
}

fn distorted(one: IdentifierHealth, told: GasReport, before: Option<&GasReport>) -> GasReport {
    match one {
        IdentifierHealth::Repeats => before.cloned().unwrap_or(GasReport { sample_id: 0, ..told }),
        IdentifierHealth::SameResult => before.map_or(told, |old| GasReport { sample_id: told.sample_id, ..*old }),
        IdentifierHealth::WrongSpecies => GasReport { r134a: told.r1234yf, r1234yf: told.r134a, ..told },
        IdentifierHealth::NoAir => GasReport { air: Permille(0), ..told },
        IdentifierHealth::Bias(share) => {
            let at = if told.r134a.0 > told.r1234yf.0 { 0 } else { 1 };
            shifted(told, at, share)
        }
        IdentifierHealth::Fouled { hydrocarbon, .. } => shifted(told, 3, hydrocarbon),
        IdentifierHealth::Silent | IdentifierHealth::FrameErrors(_) | IdentifierHealth::Resets(_) => told,
    }
}

/// The share at this place larger by `more`, taken from the others in proportion.
fn shifted(told: GasReport, at: usize, more: f64) -> GasReport {
    let mut parts = [told.r134a.0, told.r1234yf.0, told.other.0, told.hydrocarbon.0];
    let sum: i32 = parts.iter().sum();
    let add = ((more * f64::from(sum)).round() as i32).min(sum - parts[at]);
    let rest = sum - parts[at];
    for (_, part) in parts.iter_mut().enumerate().filter(|(one, _)| *one != at) {
        *part = if rest > 0 { (i64::from(*part) * i64::from(rest - add) / i64::from(rest)) as i32 } else { 0 };
    }
    parts[at] = sum - parts.iter().enumerate().filter(|(one, _)| *one != at).map(|(_, part)| part).sum::<i32>();
    let [r134a, r1234yf, other, hydrocarbon] = parts.map(Permille);
    GasReport { r134a, r1234yf, other, hydrocarbon, ..told }
}
