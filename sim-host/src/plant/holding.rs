//! What parts of a network hold, in words of their own; and what went and came with parts that were exchanged.

use super::layout::LEDGER;

/// What parts of a network hold together.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Holding {
    /// Main refrigerant (gas, liquid, dissolved in oil, in a cabinet's air), kg.
    pub refrigerant_kg: f64,
    /// Second refrigerant, kg.
    pub second_kg: f64,
    /// Air, kg.
    pub air_kg: f64,
    /// Water as vapour, liquid and ice, kg.
    pub water_kg: f64,
    /// Oil, kg.
    pub oil_kg: f64,
    /// Energy of contents and metal, J, counted as the plant counts it: from 0 degC for all but the refrigerants.
    pub energy_j: f64,
}

impl Holding {
    /// From the lines of the ledger.
    pub(super) fn of([refrigerant_kg, air_kg, water_kg, second_kg, oil_kg, energy_j]: [f64; LEDGER]) -> Self {
        Self { refrigerant_kg, second_kg, air_kg, water_kg, oil_kg, energy_j }
    }

    /// In the lines of the ledger.
    pub(super) fn lines(&self) -> [f64; LEDGER] {
        [self.refrigerant_kg, self.air_kg, self.water_kg, self.second_kg, self.oil_kg, self.energy_j]
    }

    pub(super) fn add(&mut self, more: &Self) {
        let (mut sum, more) = (self.lines(), more.lines());
        sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
        *self = Self::of(sum);
    }
}

/// What went and came with parts of a network that were exchanged.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Exchanged {
    /// Exchanges.
    pub times: u32,
    /// What the parts that went took with them.
    pub left: Holding,
    /// What those that came brought.
    pub arrived: Holding,
}
