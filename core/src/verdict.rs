//! What is found out about a vehicle, and how a phase ended: words that many rooms use.

use crate::fluid::Refrigerant;
use crate::order::PhaseKind;
use crate::units::*;

/// Verdict of the identifier phase.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum GasVerdict {
    /// Not asked, or no longer valid for this connection.
    #[default]
    Unknown,
    /// At least 98 % of the declared refrigerant (SAE J2099 precondition), little air, no hydrocarbon.
    Pure,
    /// The declared refrigerant with too much air.
    Air,
    /// Another gas.
    Foreign,
    /// More than 2 % hydrocarbon (SAE J2927 alarm level).
    FlammableForeign,
    /// Samples disagree, device unhealthy or silent, or too little pressure.
    Inconclusive,
}

/// Verdict of the vacuum hold.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum LeakVerdict {
    /// Not judged, or no longer valid.
    #[default]
    Unknown,
    /// Rise below the limit: a gross test passed, no more than that.
    Tight,
    /// A straight rise above the limit.
    Leak,
    /// A rise that flattens: moisture, or refrigerant leaving oil.
    Moisture,
}

/// Result of the vacuum hold.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct LeakResult {
    /// How the shape was judged.
    pub verdict: LeakVerdict,
    /// Throughput in 1e-6 Pa m3/s from the last third of the hold.
    pub micro_pa_m3_per_s: i32,
    /// Smallest inflow that this hold could have told from noise and drift, in 1e-6 Pa m3/s.
    pub smallest_micro: i32,
    /// What a loss in grams is reckoned of; none before the first hold.
    pub refrigerant: Option<Refrigerant>,
}

impl LeakResult {
    /// What a pass may say: the inflow is below this, in 1e-6 Pa m3/s of air into vacuum.
    pub const fn below_micro(&self) -> i32 {
        let seen = if self.micro_pa_m3_per_s > 0 { self.micro_pa_m3_per_s } else { 0 };
        seen.saturating_add(self.smallest_micro)
    }
    /// The measured inflow as refrigerant mass per year at 20 degC, in mg (Q M / R T).
    pub const fn milligram_per_year(&self) -> i64 {
        self.loss(self.micro_pa_m3_per_s)
    }
    /// The smallest that the hold could have told, likewise.
    pub const fn smallest_milligram_per_year(&self) -> i64 {
        self.loss(self.smallest_micro)
    }
    /// The refrigerant loss that a pass stands for, in mg a year.
    pub const fn below_milligram_per_year(&self) -> i64 {
        self.milligram_per_year().saturating_add(self.smallest_milligram_per_year())
    }

    const fn loss(&self, micro: i32) -> i64 {
        match self.refrigerant {
            Some(refrigerant) if micro > 0 => milligram_per_year(micro, refrigerant),
            _ => 0,
        }
    }
}

/// How a phase ended.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Outcome {
    /// Done when its plan said so.
    Done,
    /// Not needed or not possible now, and the order may go on without it.
    Skipped(GiveUp),
    /// Given up; the order ends here.
    Failed(GiveUp),
    /// The operator ended the order.
    Aborted,
}

/// Why a phase gave up or was refused; each names a condition, the text for people says how to clear it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum GiveUp {
    /// Couplers are not on the vehicle (ZS-2).
    NotCoupled,
    /// A reading the phase cannot do without is bad.
    ReadingBad,
    /// The scale did not come to rest in time.
    ScaleUnsteady,
    /// Hose pressure too low to take a gas sample.
    PressureTooLow,
    /// Hose pressure above the sampling window.
    PressureTooHigh,
    /// The operator saw oil in the sample filter.
    SampleFilterOily,
    /// The identifier did not answer, or its samples disagree, or it is unhealthy.
    IdentifierUnsure,
    /// The gas is not fit for the vessel.
    GasRefused(GasVerdict),
    /// Earlier samples on this connection were not fit for the vessel, and better ones don't take that back.
    RefusalStands(GasVerdict),
    /// No valid identification for this connection, or it is older than ten minutes.
    NoIdentity,
    /// The vessel is at its fill limit.
    VesselFull,
    /// Recovery did not reach its end pressure in time.
    RecoveryTimeout,
    /// The identifier sees air or nitrogen and no refrigerant.
    NothingToRecover,
    /// Air is drawn in while recovering: the circuit is open.
    DrawsAir,
    /// Pressure came back more often than allowed.
    KeepsRising,
    /// Hose pressure too high for the vacuum pump.
    PressureForVacuum,
    /// Neither recovered nor opened: the vacuum pump would blow out what the circuit holds (I11).
    NotRecovered,
    /// The circuit still holds about so much refrigerant: the vacuum pump would blow it out (I11).
    HoldsRefrigerant(Milligram),
    /// Nitrogen or air was not let out: the circuit still stands at this pressure.
    NotReleased(AbsPa),
    /// The test pressure is not the ordered one: the hoses stand at this instead.
    TestPressure(AbsPa),
    /// The test pressure fell by so much more than its temperature did.
    PressureFalls(AbsPa),
    /// Vacuum cannot be reached: a large leak or an open circuit.
    NoVacuum,
    /// The vacuum gauge did not move when it had to.
    GaugeNotLive,
    /// The circuit leaks.
    Leaks,
    /// An earlier hold on this connection found a leak, and the circuit was not evacuated since.
    LeakStands,
    /// The circuit is still wet, or its oil still gives off refrigerant, after the repeats allowed.
    StillWet,
    /// The pressure rose after a short evacuation that ended at this: a leak, or what oil and liquid still give off.
    TooShallow(AbsPa),
    /// No leak verdict for this connection, or older than thirty minutes.
    NoLeakVerdict,
    /// The order ended in this phase before it came to the one that says so.
    NotReached(PhaseKind),
    /// The vessel can give less above its heel, with what is still to be recovered, than the charge needs.
    VesselLow {
        /// What it can give.
        gives: Milligram,
        /// What is ordered.
        needs: Milligram,
    },
    /// The vessel has less room below its fill limit than the vehicle's charge needs.
    NoRoom {
        /// What still goes in.
        room: Milligram,
        /// What the vehicle may hold: the charge of its label.
        needs: Milligram,
    },
    /// Charge flow stopped and no remedy brought it back.
    ChargeStalled,
    /// The operator said no.
    Declined,
    /// An interlock stayed for too long.
    Blocked,
    /// The vessel has not rested long enough to judge its air.
    NotRested,
    /// No air worth a purge.
    NothingToPurge,
    /// Purge stopped at its loss limit.
    PurgeLossLimit,
    /// The pulses of a purge did not bring the excess down: ninety of them, or what they vented was no air.
    PulsesSpent,
    /// Nothing ordered for this phase.
    NotOrdered,
    /// Oil injection is not offered for high-voltage compressors without a flush record.
    HighVoltage,
    /// The new-oil bottle gives nothing.
    NoOil,
    /// The used-oil bottle is full (LS-1).
    OilBottleFull,
    /// The separator stands above 1.3 bar abs: a drain would blow oil and refrigerant into the bottle (I17).
    SeparatorPressure(AbsPa),
    /// The separator (PT-5) stands higher than the hoses (PT-2, PT-3) that feed it: one of the gauges is wrong.
    GaugesDisagree,
    /// PT-2 and PT-3, here as they read, are on one circuit and do not agree: one of them is wrong, and which is not known.
    HosesDisagree(AbsPa, AbsPa),
    /// Static pressures after the charge do not fit the ambient temperature.
    PressureImplausible,
    /// An answer was not given in time.
    NoAnswer,
    /// The phase ran longer than one of its kind may (`job::bounds::longest`).
    TookTooLong,
    /// Interlocks tripped and let go again and again (`job::bounds::MAX_TRIPS`).
    TripsAgain,
    /// The vessel scale shows what cannot be: still while liquid flows, against the flow, or moving with the valves shut.
    ScaleDisagrees,
    /// The vehicle holds so much more than ordered, outside the tolerance of 15 g.
    Overcharged(Milligram),
    /// The vehicle holds so much less than ordered, outside the tolerance of 15 g.
    Undercharged(Milligram),
    /// The couplers were moved before the order was done, or nobody watched them for a while (ZS-2).
    CouplersMoved,
    /// P-1 alone on the shut manifold comes no deeper than this: its oil, or PT-4.
    PumpShallow(AbsPa),
    /// A hose or the line to be opened stands at this pressure.
    LineLoaded(AbsPa),
    /// The scale shows the reference weight wrong by so much: a wrong weight, a fouled platform, or a bridge to be mended.
    WeightOff(Milligram),
    /// With the weight off again the platform does not read what it did before, by so much.
    NoReturn(Milligram),
    /// What was tried did not answer in time.
    NotProven,
    /// The record store did not take what the procedure leaves.
    NotStored,
    /// The record is not lost: there is nothing to restore.
    RecordSound,
    /// The new vessel stands at this pressure: it did not come evacuated, or leaks.
    NotEvacuated(AbsPa),
    /// So much of what rinsed the hoses did not come back.
    FlushShort(Milligram),
    /// The external cylinder takes no more, or is shut: the hoses stay at this pressure.
    CylinderFull(AbsPa),
}

/// Refrigerant mass per year at 20 degC for a throughput: Q M / (R T) x 365.25 d, in mg.
///
/// ```
/// use valvewright_core::{fluid::Refrigerant, verdict::milligram_per_year};
/// // 5 g/a of R-134a is 3.785e-6 Pa m3/s, so 1e-4 Pa m3/s is 132 g/a
/// let mg = milligram_per_year(100, Refrigerant::R134a);
/// assert!((131_900..=132_300).contains(&mg), "{mg}");
/// ```
pub const fn milligram_per_year(micro: i32, fluid: Refrigerant) -> i64 {
    // M / (R 293.15 K) x 31 557 600 s: 1 321.0 kg/a per Pa m3/s for R-134a (102.03 g/mol), 1 476.5 for R-1234yf (114.04).
    let mg_per_year_per_micro_e1 = match fluid {
        Refrigerant::R134a => 13_210,
        Refrigerant::R1234yf => 14_765,
    };
    (micro as i64) * mg_per_year_per_micro_e1 / 10
}
