//! Which conditions are past their trip point, past their clear point, or blind, as three bit words of 64, one bit a [`Watch`].
//!
//! Set points come from the table while compiling; no number of an interlock is written here. Between trip and clear point
//! neither bit is set: the condition stays what it was. To clear takes a reading that may decide something (good or held);
//! to trip, any value will do.

use super::facts::Facts;
use super::table::FLAT;
use crate::frame::{Actuator, Actuators, Switches};
use crate::row::{Watch, WatchSet};
use crate::sense::{Quality, Reading, Readings};
use crate::units::{AbsPa, Milligram};

/// The state of every condition in this scan, before hold times.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Causes {
    /// Past the trip point, or blind.
    pub breach: u64,
    /// Past the clear point, unless the condition is in breach: then it is not looked at.
    pub clear: u64,
    /// Blind: an input it needs is bad.
    pub bad: u64,
}

const fn trip(watch: Watch) -> i32 {
    FLAT[watch as usize].0.trip.number()
}
const fn clear(watch: Watch) -> i32 {
    FLAT[watch as usize].0.clear.number()
}

/// The set points as constants, so that each comparison is with an immediate.
mod at {
    use crate::interlock::causes::{clear, trip};
    use crate::row::Watch;
    macro_rules! points {
        ($($watch:ident $trip:ident $clear:ident;)*) => { $(
            pub const $trip: i32 = trip(Watch::$watch);
            pub const $clear: i32 = clear(Watch::$watch);
        )* };
    }
    points! {
        CabinetGas GAS GAS_CLEAR;
        VesselFill FILL FILL_CLEAR;
        VesselPressure VESSEL VESSEL_CLEAR;
        PumpAdmission ADMISSION ADMISSION_CLEAR;
        PumpInlet INLET INLET_CLEAR;
        HeaterCover COVER COVER_CLEAR;
        HeaterSkin SKIN SKIN_CLEAR;
        DischargeTemperature DISCHARGE DISCHARGE_CLEAR;
        Suction SUCTION SUCTION_CLEAR;
        MotorCurrent CURRENT CURRENT_CLEAR;
        SeparatorPressure SEPARATOR SEPARATOR_CLEAR;
        BridgesApart APART APART_CLEAR;
        FanSpeed FAN FAN_CLEAR;
        ReliefNear RELIEF RELIEF_CLEAR;
        SupplyLow SUPPLY SUPPLY_CLEAR;
        RailLow RAIL RAIL_CLEAR;
    }
}

impl Causes {
    /// Looks at everything once: first at the values, then, in the rare scan in which a reading is not simply good, at what
    /// doubt takes back.
    #[inline]
    pub fn of(r: &Readings, f: &Facts) -> Self {
        let mut c = Self::default();
        c.gas_and_vessel(r, f);
        c.hoses(r, f);
        c.heat(r, f);
        c.verdicts(f);
        c.contacts(r, f);
        c.machine(r, f);
        let pressures = good(&r.pt1) & good(&r.pt2) & good(&r.pt3) & good(&r.pt5);
        let heat = good(&r.tt1) & good(&r.tt2) & (good(&r.tt3) | f.no_heater) & good(&r.it1);
        let supply = good(&r.et1) & good(&r.et2);
        if !(pressures & heat & supply & good(&r.at2) & good(&r.wt1.mass) & good(&r.st1)) {
            c.doubt(r, f);
        }
        c
    }

    #[inline]
    fn set(&mut self, watch: Watch, breach: bool, clear: bool) {
        let at = watch as u32 & 63;
        self.breach |= u64::from(breach) << at;
        self.clear |= u64::from(clear) << at;
    }
    /// A contact or verdict: stands or does not. That it may clear is a constant, and all these bits are set at once.
    #[inline]
    fn state(&mut self, watch: Watch, stands: bool) {
        self.set(watch, stands, true);
    }

    #[inline]
    fn gas_and_vessel(&mut self, r: &Readings, f: &Facts) {
        let gas = r.at2.value.0;
        self.set(Watch::CabinetGas, gas >= at::GAS, gas < at::GAS_CLEAR);

        let (mass, limit) = (i64::from(heavier(r).0).saturating_mul(1_000), i64::from(f.fill_limit.0));
        let full = mass >= limit.saturating_mul(at::FILL as i64) || limit <= 0;
        self.set(Watch::VesselFill, full, mass < limit.saturating_mul(at::FILL_CLEAR as i64));

        let p = r.pt1.value.0;
        self.set(Watch::VesselPressure, p >= at::VESSEL, p < at::VESSEL_CLEAR);
        self.set(Watch::ReliefNear, p >= at::RELIEF, p < at::RELIEF_CLEAR);

        let apart = r.bridges_apart().0;
        self.set(Watch::BridgesApart, apart >= at::APART, apart < at::APART_CLEAR);
    }

    /// The worse of PT-2 and PT-3 decides: the higher for the vacuum pump, the lower for the compressor.
    #[inline]
    fn hoses(&mut self, r: &Readings, f: &Facts) {
        let AbsPa(high) = r.pt2.value.or_more(r.pt3.value);
        let AbsPa(low) = suction(r, f);
        let over = high.saturating_sub(f.barometer.0);
        self.set(Watch::PumpAdmission, over >= at::ADMISSION, over < at::ADMISSION_CLEAR);
        self.set(Watch::PumpInlet, pumping(f) && over >= at::INLET, over < at::INLET_CLEAR);

        let p = r.pt5.value.0;
        self.set(Watch::SeparatorPressure, p >= at::SEPARATOR, p < at::SEPARATOR_CLEAR);

        let sucking = running(f) && f.applied.has(Actuator::Xv3);
        self.set(Watch::Suction, sucking && low < at::SUCTION, !running(f) || low >= at::SUCTION_CLEAR);
    }

    #[inline]
    fn heat(&mut self, r: &Readings, f: &Facts) {
        let t = r.tt2.value.0;
        self.set(Watch::DischargeTemperature, t >= at::DISCHARGE, t < at::DISCHARGE_CLEAR);

        let i = r.it1.value.0;
        self.set(Watch::MotorCurrent, i >= at::CURRENT, i < at::CURRENT_CLEAR);

        let (heating, skin) = (heating(f), r.tt3.value.0);
        self.set(Watch::HeaterSkin, skin >= at::SKIN, skin < at::SKIN_CLEAR);
        let Milligram(mass) = r.wt1a.mass.value.or_less(r.wt1b.mass.value);
        self.set(Watch::HeaterCover, heating && mass < at::COVER, !heating || mass >= at::COVER_CLEAR);
    }

    #[inline]
    fn verdicts(&mut self, f: &Facts) {
        self.state(Watch::Identity, !f.identity_pass);
        self.state(Watch::Unrecovered, !f.circuit_empty);
        self.state(Watch::HosesRise, !f.hoses_stand);
        self.state(Watch::PurgeLeave, !f.purge_permitted);
        self.state(Watch::LeakVerdict, !f.leak_pass);
        self.state(Watch::ChargeFlow, f.charge_flow_wrong);
        self.state(Watch::LateScan, f.scan_late);
        self.state(Watch::Effect, f.effect_mismatch);
        self.state(Watch::ScaleCreep, f.scale_creep);
        self.state(Watch::AirProof, !f.air_proven);
        self.state(Watch::HeaterEffect, f.heats_nothing);
        self.state(Watch::HeaterWelded, f.heater_welded);
        self.breach |= WatchSet::FOUND.without(f.well).0;
        self.clear |= WatchSet::FOUND.0;
        // These two look at the quality of the scale alone.
        self.state(Watch::ChargeScale, false);
        self.state(Watch::ScaleLost, false);
    }

    /// The controller's own machine, its supply, and what outlived power.
    #[inline]
    fn machine(&mut self, r: &Readings, f: &Facts) {
        let supply = r.et1.value.0;
        self.set(Watch::SupplyLow, supply < at::SUPPLY, supply >= at::SUPPLY_CLEAR);
        let (rail, open) = (r.et2.value.0, f.rail_dead);
        self.set(Watch::RailLow, rail < at::RAIL && !open, rail >= at::RAIL_CLEAR || open);
        let m = &f.machine;
        self.state(Watch::Coils, m.coils_wrong);
        self.state(Watch::WallClock, m.clock_doubtful);
        self.state(Watch::TickRate, m.tick_wrong);
        self.state(Watch::SelfCheck, m.check_failed || f.self_test_failed);
        self.state(Watch::StaleImage, m.stale_image);
        let k = &f.kept;
        self.state(Watch::Restarted, k.restarted);
        self.state(Watch::StartsAgain, k.starts_again);
        self.state(Watch::StoreLost, k.store_lost);
        self.state(Watch::Unlocking, k.unlocking);
        self.state(Watch::SpanMoved, k.span_moved);
        self.state(Watch::Upkeep, k.upkeep_expired);
        self.state(Watch::ProofDue, k.proof_overdue);
    }

    /// What a reading that is not good takes back: where it may not decide, nothing clears by it; where it is bad, all that
    /// needs it counts as tripped.
    #[cold]
    fn doubt(&mut self, r: &Readings, f: &Facts) {
        self.lacks(Watch::CabinetGas, sure(&r.at2), r.at2.is_bad());
        self.lacks(Watch::VesselPressure, sure(&r.pt1), r.pt1.is_bad());
        self.lacks(Watch::ReliefNear, sure(&r.pt1), r.pt1.is_bad());
        self.lacks(Watch::SeparatorPressure, sure(&r.pt5), r.pt5.is_bad());
        self.lacks(Watch::FanSpeed, sure(&r.st1), ventilated(f) && r.st1.is_bad());
        self.lacks(Watch::DischargeTemperature, sure(&r.tt2), r.tt2.is_bad());

        let both = sure(&r.pt2) && sure(&r.pt3);
        let blind = r.pt2.is_bad() || r.pt3.is_bad();
        self.lacks(Watch::PumpAdmission, both, blind);
        self.lacks(Watch::PumpInlet, both, pumping(f) && blind);
        self.lacks(Watch::Suction, !running(f) || both, running(f) && blind);
        let open = |one| f.applied.has(one);
        let hose = r.pt2.is_bad() && open(Actuator::Xv1) || r.pt3.is_bad() && open(Actuator::Xv2);
        // Blind while liquid is fed; what else is led through the hoses has its own rows.
        let hose = hose && open(Actuator::Xv5);
        self.lacks(Watch::HoseFalls, true, hose);

        let (weighed, lost) = (sure(&r.wt1.mass), r.wt1.mass.is_bad());
        self.lacks(Watch::VesselFill, weighed, lost);
        self.lacks(Watch::HeaterCover, !heating(f) || weighed, heating(f) && lost);
        self.lacks(Watch::HeaterSkin, sure(&r.tt3) || f.no_heater, r.tt3.is_bad() && !f.no_heater);
        self.lacks(Watch::HeaterEffect, true, heating(f) && r.tt1.is_bad());
        self.lacks(Watch::MotorCurrent, sure(&r.it1), r.it1.is_bad());
        self.breach |= u64::from(!weighed && !f.weight_on) << (Watch::ChargeScale as u32 & 63);
        self.lacks(Watch::ChargeScale, weighed, lost);
        self.lacks(Watch::ScaleLost, true, lost);
        self.lacks(Watch::BridgesApart, weighed, false);
        self.lacks(Watch::PurgeLoss, true, lost && open(Actuator::Xv7));
        self.lacks(Watch::VesselLoses, true, lost && f.applied.without(Actuators::SAFE).is_empty());
        self.lacks(Watch::SupplyLow, sure(&r.et1), r.et1.is_bad());
        self.lacks(Watch::RailLow, sure(&r.et2) || f.rail_dead, r.et2.is_bad() && !f.rail_dead);
    }

    #[inline]
    fn lacks(&mut self, watch: Watch, sure: bool, bad: bool) {
        let at = watch as u32 & 63;
        self.breach |= u64::from(bad) << at;
        self.clear &= !(u64::from(!sure | bad) << at);
        self.bad |= u64::from(bad) << at;
    }

    #[inline]
    fn contacts(&mut self, r: &Readings, f: &Facts) {
        let closed = |mask| r.switches.closed(mask);
        self.state(Watch::DischargeSwitch, !closed(Switches::PSH1_HEALTHY));
        self.state(Watch::SeparatorLevel, !closed(Switches::LS2_NOT_HIGH));
        self.state(Watch::OilBottle, !closed(Switches::LS1_NOT_FULL));
        self.state(Watch::Door, !closed(Switches::ZS1_DOOR_SHUT));
        let pressed = !closed(Switches::PSH2_HEALTHY);
        self.state(Watch::PumpInletSwitch, pressed);
        self.state(Watch::PumpValveStuck, pressed && !pumping(f));

        let flow = closed(Switches::FSL1_FLOW);
        let needed = ventilated(f);
        self.set(Watch::AirFlow, !flow && needed, flow);
        let speed = r.st1.value.0;
        self.set(Watch::FanSpeed, speed < at::FAN && needed, speed >= at::FAN_CLEAR);

        // A disagreement goes only when both channels have been seen open: with one contact welded, pulling the button
        // out makes them agree again without anything being mended (F050).
        let (a, b) = (closed(Switches::HS1_A_RELEASED), closed(Switches::HS1_B_RELEASED));
        self.state(Watch::StopPressed, !(a && b));
        self.set(Watch::StopDisagrees, a != b, !a && !b);
    }
}

#[inline]
fn good<T>(reading: &Reading<T>) -> bool {
    reading.quality == Quality::Good
}
#[inline]
fn sure<T: Copy>(reading: &Reading<T>) -> bool {
    reading.usable().is_some()
}

#[inline]
fn pumping(f: &Facts) -> bool {
    f.applied.has(Actuator::Xv6)
}
#[inline]
fn running(f: &Facts) -> bool {
    f.applied.has(Actuator::C1)
}
#[inline]
fn heating(f: &Facts) -> bool {
    !f.applied.or(f.wanted).and(Actuators::HEATER).is_empty()
}
/// Something but the fan is on or wanted, and nobody has stopped the fan to test its switch.
#[inline]
fn ventilated(f: &Facts) -> bool {
    !f.applied.or(f.wanted).without(Actuators::SAFE).is_empty() && !f.air_test
}
/// The lower pressure of the hoses that the compressor draws from: one that hangs in its holder behind a shut valve may be empty.
#[inline]
fn suction(r: &Readings, f: &Facts) -> AbsPa {
    match (f.applied.has(Actuator::Xv1), f.applied.has(Actuator::Xv2)) {
        (true, false) => r.pt2.value,
        (false, true) => r.pt3.value,
        _ => r.pt2.value.or_less(r.pt3.value),
    }
}
/// The bridge that shows more: either is enough to stop.
#[inline]
fn heavier(r: &Readings) -> Milligram {
    r.wt1a.mass.value.or_more(r.wt1b.mass.value)
}

/// The reading a condition looks at, in the unit of its set point, pressures absolute; 0 for contacts and verdicts.
pub(super) fn value_of(watch: Watch, r: &Readings, f: &Facts) -> i32 {
    match watch {
        Watch::CabinetGas => r.at2.value.0,
        Watch::VesselFill => fill_share(heavier(r), f.fill_limit),
        Watch::HeaterCover
        | Watch::ChargeScale
        | Watch::ScaleCreep
        | Watch::ScaleLost
        | Watch::ChargeBeyond
        | Watch::PurgeLoss
        | Watch::VesselLoses => r.wt1.mass.value.0,
        Watch::VesselPressure | Watch::DischargeSwitch | Watch::ReliefNear => r.pt1.value.0,
        Watch::PumpInlet | Watch::PumpAdmission | Watch::CouplersOff => r.pt2.value.or_more(r.pt3.value).0,
        Watch::HoseFalls => r.pt2.value.or_less(r.pt3.value).0,
        Watch::Suction => suction(r, f).0,
        Watch::DischargeTemperature => r.tt2.value.0,
        Watch::HeaterSkin => r.tt3.value.0,
        Watch::HeaterEffect => r.tt1.value.0,
        Watch::MotorCurrent => r.it1.value.0,
        Watch::SeparatorPressure => r.pt5.value.0,
        Watch::BridgesApart => r.bridges_apart().0,
        Watch::FanSpeed => r.st1.value.0,
        Watch::HeaterWelded => r.tt3.value.0,
        Watch::SupplyLow => r.et1.value.0,
        Watch::RailLow => r.et2.value.0,
        Watch::Identity
        | Watch::PurgeLeave
        | Watch::ChargeFlow
        | Watch::LateScan
        | Watch::SeparatorLevel
        | Watch::LeakVerdict
        | Watch::Effect
        | Watch::AirFlow
        | Watch::Door
        | Watch::AirProof
        | Watch::StopPressed
        | Watch::StopDisagrees
        | Watch::OilBottle
        | Watch::Unrecovered
        | Watch::HosesRise
        | Watch::PumpInletSwitch
        | Watch::PumpValveStuck
        | Watch::LineLocked
        | Watch::DrawsAir
        | Watch::ChargeUnconfirmed
        | Watch::OilVoltage
        | Watch::IdentifierUnsound
        | Watch::PurgeSpent
        | Watch::Coils
        | Watch::SpanMoved
        | Watch::Upkeep
        | Watch::Unlocking
        | Watch::StoreLost
        | Watch::WallClock
        | Watch::Restarted
        | Watch::TickRate
        | Watch::SelfCheck
        | Watch::StaleImage
        | Watch::ProofDue
        | Watch::StartsAgain => 0,
    }
}

/// Share of the fill limit in permille, at most 9 999: a limit of nothing is passed without measure.
fn fill_share(mass: Milligram, limit: Milligram) -> i32 {
    /// What a display of four digits shows.
    const MOST: i64 = 9_999;
    let share = i64::from(mass.0).saturating_mul(1_000).checked_div(i64::from(limit.0.max(0))).unwrap_or(MOST);
    share.clamp(0, MOST) as i32
}
