//! What the shop does between two services: it buys refrigerant and sends some away, fills and empties oil bottles, and exchanges parts.
//!
//! Upkeep that a shop does beside that (a scale's calibration, a bump test, the station's own tightness) belongs here too, once the
//! controller guides it.

use valvewright_core::kept::{Kept, Limits};
use valvewright_core::token::Part;

/// Shares of what the vessel is rated for: below the first the shop buys up to the second, above the third it sends away down to the
/// fourth (own choices).
const BUYS: (f64, f64) = (0.35, 0.65);
const SENDS: (f64, f64) = (0.82, 0.60);
/// Oil in the bottles, kg: new oil below the first is filled up, used oil above the second is emptied (own choices; bottles hold 1 L).
const NEW_OIL: f64 = 0.08;
const USED_OIL: f64 = 0.55;
/// The shop weighs what it buys and sends to this, kg.
const WEIGHED: f64 = 0.01;

/// What the shop sees.
#[derive(Clone, Copy, Debug)]
pub struct Look<'a> {
    /// Refrigerant in the vessel, kg.
    pub vessel: f64,
    /// What the vessel is rated for, kg.
    pub rated: f64,
    /// Oil in the bottles, kg.
    pub new_oil: f64,
    /// Used oil, kg.
    pub used_oil: f64,
    /// The counters as the station shows them.
    pub kept: &'a Kept,
}

/// What it does.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Deeds {
    /// Refrigerant put into the vessel, kg; negative is taken out and sent away.
    pub refrigerant: f64,
    /// Both oil bottles are seen to.
    pub bottles: bool,
    /// Parts that are exchanged, each against its code.
    pub parts: Vec<Part>,
}

/// What is to be done.
pub fn between(look: &Look<'_>) -> Deeds {
    let share = look.vessel / look.rated;
    let to = |share: f64| ((share * look.rated - look.vessel) / WEIGHED).round() * WEIGHED;
    let refrigerant = match share {
        below if below < BUYS.0 => to(BUYS.1),
        above if above > SENDS.0 => to(SENDS.1),
        _ => 0.0,
    };
    let worn = |part: &Part| match part {
        _ if look.kept.unlocking == Some(*part) => true,
        Part::FilterDrier => look.kept.drier >= Limits::USUAL.drier,
        Part::PumpOil => look.kept.pump_oil >= Limits::USUAL.pump_oil,
        Part::Record => false,
    };
    // What is owed a life comes first: the station takes no other code before it.
    let mut parts: Vec<Part> = Part::WEAR.into_iter().filter(worn).collect();
    parts.sort_by_key(|part| look.kept.unlocking != Some(*part));
    Deeds { refrigerant, bottles: look.new_oil < NEW_OIL || look.used_oil > USED_OIL, parts }
}
