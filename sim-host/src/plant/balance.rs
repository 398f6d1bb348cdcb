//! The plant's accounts: what is inside, what crossed the network's edge, what is unaccounted for, and what that is to be set against.

use super::engine::inventories;
use super::holding::Exchanged;
use super::layout::{ENERGY_IN, OIL_OUT};
use super::network::Plant;

/// Mass and energy accounts. Masses in kg, energies in J.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Balance {
    /// Main refrigerant inside now (gas, liquid, dissolved in oil, in the cabinet's air), kg.
    pub inventory_kg: f64,
    /// Main refrigerant inside at the start, kg; what came and went since with exchanged parts is in [`Balance::exchanged`].
    pub start_kg: f64,
    /// Main refrigerant that crossed the network's edge outwards, kg.
    pub out_kg: f64,
    /// Main refrigerant unaccounted for, kg.
    pub mass_error_kg: f64,
    /// Second refrigerant inside now, kg.
    pub second_kg: f64,
    /// Second refrigerant that crossed the network's edge outwards, kg.
    pub second_out_kg: f64,
    /// Second refrigerant unaccounted for, kg.
    pub second_error_kg: f64,
    /// Air inside now, kg.
    pub air_kg: f64,
    /// Air that crossed the network's edge outwards, kg.
    pub air_out_kg: f64,
    /// Air unaccounted for, kg.
    pub air_error_kg: f64,
    /// Water inside now, as vapour, liquid and ice, kg.
    pub water_kg: f64,
    /// Water that crossed the network's edge outwards, kg.
    pub water_out_kg: f64,
    /// Water unaccounted for, kg.
    pub water_error_kg: f64,
    /// Oil inside now, kg.
    pub oil_kg: f64,
    /// Oil that crossed the network's edge outwards, kg.
    pub oil_out_kg: f64,
    /// Oil unaccounted for, kg.
    pub oil_error_kg: f64,
    /// Energy that crossed the network's edge inwards, J.
    pub energy_in_j: f64,
    /// Energy unaccounted for, J.
    pub energy_error_j: f64,
    /// Energy moved so far or held, the larger, J: what the error is to be compared with.
    pub energy_scale_j: f64,
    /// What came and went with parts of the network that were exchanged; the errors are beside that.
    pub exchanged: Exchanged,
}

impl Plant {
    /// Accounts since the start, at the end of the step in hand.
    pub fn balance(&self) -> Balance {
        let engine = &self.engine;
        let y = &engine.end.y;
        let crossed = &y[engine.system.layout.unknowns..];
        let inside = inventories(engine, y, &|_| true);
        let (left, arrived) = (self.exchanged.left.lines(), self.exchanged.arrived.lines());
        let gone = |line: usize| left[line] - arrived[line];
        let account = |line: usize| {
            let error = inside[line] - self.opening[line] + crossed[line] + gone(line);
            (inside[line], crossed[line], error)
        };
        let (inventory_kg, out_kg, mass_error_kg) = account(0);
        let (air_kg, air_out_kg, air_error_kg) = account(1);
        let (water_kg, water_out_kg, water_error_kg) = account(2);
        let (second_kg, second_out_kg, second_error_kg) = account(3);
        let (oil_kg, oil_out_kg, oil_error_kg) = account(OIL_OUT);
        let energy_in_j = crossed[ENERGY_IN];
        let energies = [self.opening[ENERGY_IN], energy_in_j, left[ENERGY_IN], arrived[ENERGY_IN]];
        Balance {
            inventory_kg,
            start_kg: self.opening[0],
            out_kg,
            mass_error_kg,
            second_kg,
            second_out_kg,
            second_error_kg,
            air_kg,
            air_out_kg,
            air_error_kg,
            water_kg,
            water_out_kg,
            water_error_kg,
            oil_kg,
            oil_out_kg,
            oil_error_kg,
            energy_in_j,
            energy_error_j: inside[ENERGY_IN] - self.opening[ENERGY_IN] - energy_in_j + gone(ENERGY_IN),
            energy_scale_j: energies.into_iter().map(f64::abs).fold(0.0, f64::max),
            exchanged: self.exchanged,
        }
    }
}

/// One account.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Account {
    /// `refrigerant`, `second refrigerant`, `air`, `water`, `oil` or `energy`.
    pub what: &'static str,
    /// Crossed the network's edge outwards (negative: inwards), in `unit`.
    pub left: f64,
    /// Unaccounted for, in `unit`.
    pub error: f64,
    /// What is inside plus what crossed the network's edge or left with an exchanged part, in `unit`; for energy what is held or
    /// moved, the larger.
    pub scale: f64,
    /// `kg` or `J`.
    pub unit: &'static str,
}

impl Balance {
    /// The five accounts, and that of the second refrigerant where `second` says there is one.
    pub fn accounts(&self, second: bool) -> Vec<Account> {
        let gone = self.exchanged.left;
        let mass = |what, inside: f64, out: f64, gone: f64, error| Account {
            what,
            left: out,
            error,
            scale: inside + out.abs() + gone.abs(),
            unit: "kg",
        };
        let mut all =
            vec![mass("refrigerant", self.inventory_kg, self.out_kg, gone.refrigerant_kg, self.mass_error_kg)];
        if second {
            all.push(mass(
                "second refrigerant",
                self.second_kg,
                self.second_out_kg,
                gone.second_kg,
                self.second_error_kg,
            ));
        }
        all.extend([
            mass("air", self.air_kg, self.air_out_kg, gone.air_kg, self.air_error_kg),
            mass("water", self.water_kg, self.water_out_kg, gone.water_kg, self.water_error_kg),
            mass("oil", self.oil_kg, self.oil_out_kg, gone.oil_kg, self.oil_error_kg),
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
