//! Which conditions are past their trip point, past their clear point, or blind, as three bit words, one bit a [`Watch`].
//!
//! Set points come from the table while compiling; no number of an interlock is written here. Between trip and clear point
//! neither bit is set: the condition stays what it was. To clear takes a reading that may decide something (good or held);
//! to trip, any value will do.

use super::Facts;
use super::table::{FLAT, Watch};
use crate::frame::{Actuator, Actuators, Switches};
use crate::sense::{Reading, Readings};
use crate::units::{AbsPa, Milligram};

/// The state of every condition in this scan, before hold times.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Causes {
    /// Past the trip point, or blind.
    pub breach: u32,
    /// Past the clear point.
    pub clear: u32,
    /// Blind: an input it needs is bad.
    pub bad: u32,
}

const fn trip(watch: Watch) -> i32 {
    FLAT[watch as usize].0.trip.number()
}
const fn clear(watch: Watch) -> i32 {
    FLAT[watch as usize].0.clear.number()
}

/// The set points as constants, so that each comparison is with an immediate.
mod at {
    use super::{Watch, clear, trip};
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
    }
}

impl Causes {
    /// Looks at everything once.
    #[inline]
    pub fn of(r: &Readings, f: &Facts) -> Self {
        let mut c = Self::default();
        c.gas_and_vessel(r, f);
        c.hoses(r, f);
        c.heat(r, f);
        c.verdicts(r, f);
        c.contacts(r, f);
        c
    }

    #[inline]
    fn set(&mut self, watch: Watch, breach: bool, clear: bool, bad: bool) {
        let at = watch as u32 & 31;
        self.breach |= u32::from(breach | bad) << at;
        self.clear |= u32::from(clear & !breach & !bad) << at;
        self.bad |= u32::from(bad) << at;
    }
    /// A contact or verdict: stands or does not.
    #[inline]
    fn state(&mut self, watch: Watch, stands: bool) {
        self.set(watch, stands, !stands, false);
    }

    #[inline]
    fn gas_and_vessel(&mut self, r: &Readings, f: &Facts) {
        let gas = r.at2.value.0;
        self.set(Watch::CabinetGas, gas >= at::GAS, gas < at::GAS_CLEAR && sure(&r.at2), r.at2.is_bad());

        let (mass, limit) = (i64::from(r.wt1.mass.value.0).saturating_mul(1_000), i64::from(f.fill_limit.0));
        let full = mass >= limit.saturating_mul(at::FILL as i64) || limit <= 0;
        let room = mass < limit.saturating_mul(at::FILL_CLEAR as i64) && sure(&r.wt1.mass);
        self.set(Watch::VesselFill, full, room, r.wt1.mass.is_bad());

        let p = r.pt1.value.0;
        self.set(Watch::VesselPressure, p >= at::VESSEL, p < at::VESSEL_CLEAR && sure(&r.pt1), r.pt1.is_bad());
    }

    /// The worse of PT-2 and PT-3 decides: the higher for the vacuum pump, the lower for the compressor.
    #[inline]
    fn hoses(&mut self, r: &Readings, f: &Facts) {
        let blind = r.pt2.is_bad() || r.pt3.is_bad();
        let both = sure(&r.pt2) && sure(&r.pt3);
        let AbsPa(high) = r.pt2.value.or_more(r.pt3.value);
        let AbsPa(low) = r.pt2.value.or_less(r.pt3.value);
        self.set(Watch::PumpAdmission, high >= at::ADMISSION, high < at::ADMISSION_CLEAR && both, blind);

        let pumping = f.applied.has(Actuator::Xv6);
        self.set(Watch::PumpInlet, pumping && high >= at::INLET, high < at::INLET_CLEAR && both, pumping && blind);

        let running = f.applied.has(Actuator::C1);
        let sucking = running && f.applied.has(Actuator::Xv3);
        let fed = !running || (low >= at::SUCTION_CLEAR && both);
        self.set(Watch::Suction, sucking && low < at::SUCTION, fed, running && blind);
    }

    #[inline]
    fn heat(&mut self, r: &Readings, f: &Facts) {
        let t = r.tt2.value.0;
        self.set(
            Watch::DischargeTemperature,
            t >= at::DISCHARGE,
            t < at::DISCHARGE_CLEAR && sure(&r.tt2),
            r.tt2.is_bad(),
        );

        let heating = f.applied.or(f.wanted).has(Actuator::H1);
        let skin = r.tt3.value.0;
        self.set(
            Watch::HeaterSkin,
            heating && skin >= at::SKIN,
            skin < at::SKIN_CLEAR && sure(&r.tt3),
            heating && r.tt3.is_bad(),
        );
        let Milligram(mass) = r.wt1.mass.value;
        let covered = !heating || (mass >= at::COVER_CLEAR && sure(&r.wt1.mass));
        self.set(Watch::HeaterCover, heating && mass < at::COVER, covered, heating && r.wt1.mass.is_bad());
    }

    #[inline]
    fn verdicts(&mut self, r: &Readings, f: &Facts) {
        self.state(Watch::Identity, !f.identity_pass);
        self.state(Watch::PurgeLeave, !f.purge_permitted);
        self.state(Watch::LeakVerdict, !f.leak_pass);
        self.state(Watch::ChargeFlow, f.charge_flow_wrong);
        self.set(Watch::ChargeScale, !sure(&r.wt1.mass), true, r.wt1.mass.is_bad());
        self.state(Watch::LateScan, f.scan_late);
        self.state(Watch::Effect, f.effect_mismatch);
        self.state(Watch::ScaleCreep, f.scale_creep);
        self.set(Watch::ScaleLost, false, true, r.wt1.mass.is_bad());
        self.state(Watch::AirProof, !f.air_proven);
    }

    #[inline]
    fn contacts(&mut self, r: &Readings, f: &Facts) {
        let closed = |mask| r.switches.closed(mask);
        self.state(Watch::DischargeSwitch, !closed(Switches::PSH1_HEALTHY));
        self.state(Watch::SeparatorLevel, !closed(Switches::LS2_NOT_HIGH));
        self.state(Watch::Door, !closed(Switches::ZS1_DOOR_SHUT));

        let flow = closed(Switches::FSL1_FLOW);
        let busy = !f.applied.or(f.wanted).without(Actuators::SAFE).is_empty();
        self.set(Watch::AirFlow, !flow && busy && !f.air_test, flow, false);

        // A disagreement goes only when both channels have been seen open: with one contact welded, pulling the button
        // out makes them agree again without anything being mended (F050).
        let (a, b) = (closed(Switches::HS1_A_RELEASED), closed(Switches::HS1_B_RELEASED));
        self.state(Watch::StopPressed, !(a && b));
        self.set(Watch::StopDisagrees, a != b, !a && !b, false);
    }
}

#[inline]
fn sure<T: Copy>(reading: &Reading<T>) -> bool {
    reading.usable().is_some()
}

/// The reading a condition looks at, in the unit of its set point; 0 for contacts and verdicts.
pub(super) fn value_of(watch: Watch, r: &Readings, f: &Facts) -> i32 {
    match watch {
        Watch::CabinetGas => r.at2.value.0,
        Watch::VesselFill => fill_share(r.wt1.mass.value, f.fill_limit),
        Watch::HeaterCover | Watch::ChargeScale | Watch::ScaleCreep | Watch::ScaleLost => r.wt1.mass.value.0,
        Watch::VesselPressure | Watch::DischargeSwitch => r.pt1.value.0,
        Watch::PumpInlet | Watch::PumpAdmission => r.pt2.value.or_more(r.pt3.value).0,
        Watch::Suction => r.pt2.value.or_less(r.pt3.value).0,
        Watch::DischargeTemperature => r.tt2.value.0,
        Watch::HeaterSkin => r.tt3.value.0,
        _ => 0,
    }
}

/// Share of the fill limit in permille, at most 9 999: a limit of nothing is passed without measure.
fn fill_share(mass: Milligram, limit: Milligram) -> i32 {
    const MOST: i64 = 9_999;
    let share = i64::from(mass.0).saturating_mul(1_000).checked_div(i64::from(limit.0.max(0))).unwrap_or(MOST);
    share.clamp(0, MOST) as i32
}
