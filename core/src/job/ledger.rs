//! Where every gram of the job is believed to be.

use crate::units::Milligram;

/// Where every gram of the job is believed to be (LC6).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Ledger {
    /// Taken from the vehicle into vessel, separator and hoses.
    pub recovered: Milligram,
    /// Air that came into the vessel with it, as the vessel's pressure over saturation shows; not counted as recovered.
    pub air: Milligram,
    /// Gone from the vessel towards the vehicle.
    pub dispensed: Milligram,
    /// Of that, still in hoses and manifold (estimated, then measured by clearing the hoses).
    pub in_hoses: Milligram,
    /// The most that hoses and manifold may hold after a charge, full of liquid; zero once they are cleared.
    pub hoses_most: Milligram,
    /// Taken into the vessel from a supply cylinder.
    pub filled: Milligram,
    /// Vented by purging.
    pub vented: Milligram,
    /// Used oil drained.
    pub oil_drained: Milligram,
    /// New oil injected.
    pub oil_injected: Milligram,
    /// Whether a charge was begun in this order.
    pub charge_begun: bool,
    /// The circuit was filled with nitrogen and not yet seen released.
    pub nitrogen: bool,
    /// The vehicle's own compressor was started for the charge.
    pub vehicle_runs: bool,
    /// Vessel mass at the start of the charge.
    pub charge_start: Milligram,
}

impl Ledger {
    /// Whether a charge was begun and gave the vehicle more than `most`.
    pub fn beyond(&self, most: Milligram) -> bool {
        self.charge_begun && self.charged() > most
    }
    /// What the vehicle got; nothing where less has gone than hoses and manifold will keep.
    pub fn charged(&self) -> Milligram {
        self.dispensed.minus(self.in_hoses).or_more(Milligram(0))
    }
}
