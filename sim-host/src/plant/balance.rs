//! The plant's accounts as a list, to be printed or compared: what is unaccounted for, and what that is to be set against.

use super::network::Balance;

/// One account.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Account {
    /// `refrigerant`, `second refrigerant`, `air`, `water`, `oil` or `energy`.
    pub what: &'static str,
    /// Crossed the network's edge outwards (negative: inwards), in `unit`.
    pub left: f64,
    /// Unaccounted for, in `unit`.
    pub error: f64,
    /// What is inside plus what crossed the network's edge, in `unit`; for energy what is held or moved, the larger.
    pub scale: f64,
    /// `kg` or `J`.
    pub unit: &'static str,
}

impl Balance {
    /// The five accounts, and that of the second refrigerant where `second` says there is one.
    pub fn accounts(&self, second: bool) -> Vec<Account> {
        let mass = |what, inside: f64, out: f64, error| Account {
            what,
            left: out,
            error,
            scale: inside + out.abs(),
            unit: "kg",
        };
        let mut all = vec![mass("refrigerant", self.inventory_kg, self.out_kg, self.mass_error_kg)];
        if second {
            all.push(mass("second refrigerant", self.second_kg, self.second_out_kg, self.second_error_kg));
        }
        all.extend([
            mass("air", self.air_kg, self.air_out_kg, self.air_error_kg),
            mass("water", self.water_kg, self.water_out_kg, self.water_error_kg),
            mass("oil", self.oil_kg, self.oil_out_kg, self.oil_error_kg),
            Account {
                what: "energy",
                left: -self.energy_in_j,
                error: self.energy_error_j,
                scale: self.energy_scale_j,
                unit: "J",
            },
        ]);
        all
    }
}
