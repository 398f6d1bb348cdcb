//! What a charge is held against before it begins: the vessel's supply, what hoses and manifold keep, what is usual for such a circuit.

use super::context::Ctx;
use super::leak::hoses;
use crate::order::{PhaseKind, Sides, WorkOrder};
use crate::units::*;
use crate::verdict::GiveUp;

/// Classes of vehicles by the volume of their circuit, and the most that is usual for each: cars, vans and tractors, and beyond them
/// coaches with all that an order may charge (own choice: cars hold 0.35 to 1.4 kg).
const CLASSES: [(Microlitre, Milligram); 2] =
    [(Microlitre(5_000_000), Milligram(1_500_000)), (Microlitre(10_000_000), Milligram(3_000_000))];

/// What hoses and manifold will keep: gas at the pressure to which the vehicle's own compressor draws them down when the
/// hoses are cleared (some 0.4 of saturation at ambient: own figure). One or two grams, where hoses full of liquid keep 120.
pub fn hose_content(c: &Ctx<'_>) -> Milligram {
    let t = c.ambient();
    let fluid = c.cfg.refrigerant;
    let p = AbsPa(i32::try_from(i64::from(fluid.p_sat(t).0) * 4 / 10).unwrap_or(0));
    line_mass(c, fluid.gas_density(p, t))
}

/// What hoses and manifold hold at most: full of liquid.
pub(super) fn hoses_full(c: &Ctx<'_>) -> Milligram {
    line_mass(c, c.cfg.refrigerant.liquid_density(c.ambient()))
}

/// What has gone before a vehicle can stand near the vessel's pressure: half the gas that its circuit holds at it, and no more than half
/// of what fills the hoses, which a dead end takes quickly (own choices).
pub(super) fn swallows(c: &Ctx<'_>) -> Milligram {
    let density = c.r.pt1.usable().map_or(0, |p| c.cfg.refrigerant.gas_density(p, c.ambient()));
    let gas = i64::from(c.order.circuit.0).saturating_mul(i64::from(density)) / 1_000_000;
    let half = Milligram(i32::try_from(gas / 2).unwrap_or(i32::MAX));
    half.or_less(Milligram(c.ledger.hoses_most.0 / 2))
}

/// Mass in both hoses and the manifold at this density in microgram per millilitre.
fn line_mass(c: &Ctx<'_>, density: i32) -> Milligram {
    let hoses = if c.order.sides == Sides::Both { 2 } else { 1 };
    let volume = i64::from(c.cfg.hose.0).saturating_mul(hoses).saturating_add(i64::from(c.cfg.manifold.0));
    let mg = volume.saturating_mul(i64::from(density)) / 1_000_000;
    Milligram(i32::try_from(mg).unwrap_or(i32::MAX))
}

/// Whether a vessel of this mass, with what is still to come, gives less above its heel than the order charges.
pub fn short_supply(order: &WorkOrder, mass: Milligram, comes: Milligram, heel: Milligram) -> Option<GiveUp> {
    let gives = mass.plus(comes).minus(heel).or_more(Milligram(0));
    (gives < order.charge).then_some(GiveUp::VesselLow { gives, needs: order.charge })
}

/// The nearest charge that is usual where the order charges another: the most for the class of its circuit, and half to one and a half
/// times what this order recovered (I09). A vehicle that came nearly empty is asked about too: its charge is then that of the label,
/// and a second look at the label costs less than an hour at a slip of the finger.
pub(super) fn usual(c: &Ctx<'_>) -> Option<Milligram> {
    let class =
        CLASSES.iter().find(|(circuit, _)| c.order.circuit <= *circuit).map_or(Milligram::MAX, |(_, most)| *most);
    let recovers = c.order.phases.has(PhaseKind::Recover) && c.link.recovered();
    let half = Milligram(c.ledger.recovered.0 / 2);
    let (least, most) = if recovers { (half, half.plus(half).plus(half)) } else { (Milligram(0), Milligram::MAX) };
    let nearest = c.order.charge.or_more(least).or_less(most).or_less(class);
    Some(nearest).filter(|usual| c.order.charge != *usual)
}

/// Whether all hoses that are on the vehicle stand at so many tenths of the vessel's pressure.
pub(super) fn backs(c: &Ctx<'_>, tenths: i64) -> bool {
    let (Some(vessel), Some(hoses)) = (c.r.pt1.usable(), hoses(c)) else { return false };
    hoses.iter().all(|p| i64::from(p.0) * 10 >= i64::from(vessel.0) * tenths)
}
