//! Where refrigerant is in the plant, in a few words that a person can count.

use super::bind::VEHICLE;
use crate::plant::Plant;
use crate::report::data::Places;

/// Volumes that a person calls the hoses.
const HOSES: [&str; 3] = ["hose_low", "hose_high", "manifold"];

/// Where the refrigerant of both kinds is now, what is dissolved in oil with it.
pub fn places(plant: &Plant) -> Places {
    let of = |volume: &str| {
        let parts = ["m", "m_dissolved", "m_second"];
        let signals = parts.iter().filter_map(|part| plant.signal(&format!("{volume}.{part}")));
        signals.map(|signal| plant.read(signal)).sum::<f64>() * 1e3
    };
    let sum = |volumes: &[&str]| volumes.iter().map(|one| of(one)).sum::<f64>();
    let balance = plant.balance();
    let all = (balance.inventory_kg + balance.second_kg) * 1e3;
    let (vessel_g, hoses_g, vehicle_g) = (of("vessel"), sum(&HOSES), sum(&VEHICLE));
    Places {
        vessel_g,
        hoses_g,
        vehicle_g,
        elsewhere_g: all - vessel_g - hoses_g - vehicle_g,
        air_g: (balance.out_kg + balance.second_out_kg) * 1e3,
    }
}
