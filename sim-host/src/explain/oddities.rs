//! What is not as usual about a vehicle, in words.

use crate::scenario::model::{GasMix, Side, Vehicle};
use crate::scenario::quantity::{self, Dim};

/// A hole, water, air, another gas, high voltage.
pub fn of(vehicle: &Vehicle) -> Vec<String> {
    let text = |dim, value, unit| quantity::text(dim, value, Some(unit));
    let mut list = Vec::new();
    if vehicle.leak > 0.0 {
        let side = if vehicle.leak_side == Side::Low { "low" } else { "high" };
        list.push(format!("it has a hole of {} on its {side} side", text(Dim::Length, vehicle.leak, "mm")));
    }
    for (mass, what) in [(vehicle.water, "water"), (vehicle.air, "air")] {
        if mass > 0.0 {
            list.push(format!("it holds {} of {what}", text(Dim::Mass, mass, "g")));
        }
    }
    if vehicle.gas != GasMix::pure(vehicle.refrigerant) {
        let gas = &vehicle.gas;
        let parts = [
            ("R-1234yf", gas.r1234yf),
            ("R-134a", gas.r134a),
            ("hydrocarbon", gas.hydrocarbon),
            ("other gas", gas.other),
        ];
        let there = parts.iter().filter(|(_, share)| *share > 0.0);
        let named = there.map(|(name, share)| format!("{} {name}", text(Dim::Fraction, *share, "%")));
        list.push(format!("its gas is {}", named.collect::<Vec<_>>().join(", ")));
    }
    if vehicle.high_voltage {
        list.push("its compressor is driven by high voltage".to_owned());
    }
    list
}
