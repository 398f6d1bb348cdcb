//! The service: a work order of phases, each of which asks and never acts.
//!
//! A phase states when it may start, when it is done, when it gives up and what it records; what it wants energised goes
//! through [`crate::drive`] and the gate like everything else. [`flow`] strings the phases together.

pub mod bounds;
pub mod charge;
pub mod clear;
pub mod evacuate;
pub mod flow;
pub mod identify;
pub mod inject;
pub mod leak;
pub mod oil;
pub mod order;
pub mod purge;
pub mod recover;
pub mod verify;
mod witness;

pub use order::{PhaseKind, PhaseSet, Sides, WorkOrder};

use crate::config::StationConfig;
use crate::connection::Connection;
use crate::fluid::Refrigerant;
use crate::frame::Actuators;
use crate::sense::Readings;
use crate::talk::{Answered, Notice, Notices, Question};
use crate::units::*;

/// Where every gram of the job is believed to be (law 6 of the design: mass is a ledger).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Ledger {
    /// Taken from the vehicle into vessel, separator and hoses.
    pub recovered: Milligram,
    /// Gone from the vessel towards the vehicle.
    pub dispensed: Milligram,
    /// Of that, still in hoses and manifold (estimated, then measured by clearing the hoses).
    pub in_hoses: Milligram,
    /// The most that hoses and manifold may hold after a charge, full of liquid; zero once they are cleared.
    pub hoses_most: Milligram,
    /// Vented by purging.
    pub vented: Milligram,
    /// Used oil drained.
    pub oil_drained: Milligram,
    /// New oil injected.
    pub oil_injected: Milligram,
    /// Whether a charge was begun in this order.
    pub charge_begun: bool,
    /// The vehicle's own compressor was started for the charge.
    pub vehicle_runs: bool,
    /// Vessel mass at the start of the charge.
    pub charge_start: Milligram,
}

impl Ledger {
    /// What the vehicle got.
    pub const fn charged(&self) -> Milligram {
        self.dispensed.minus(self.in_hoses)
    }
}

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
            Some(refrigerant) if micro > 0 => leak::milligram_per_year(micro, refrigerant),
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
    /// Air is drawn in while recovering: the circuit is open.
    DrawsAir,
    /// Pressure came back more often than allowed.
    KeepsRising,
    /// Hose pressure too high for the vacuum pump.
    PressureForVacuum,
    /// Neither recovered nor opened: the vacuum pump would blow out what the circuit holds (I11).
    NotRecovered,
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
    /// No leak verdict for this connection, or older than thirty minutes.
    NoLeakVerdict,
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
    /// Nothing ordered for this phase.
    NotOrdered,
    /// Oil injection is not offered for high-voltage compressors without a flush record.
    HighVoltage,
    /// The new-oil bottle gives nothing.
    NoOil,
    /// The used-oil bottle is full (LS-1).
    OilBottleFull,
    /// Nothing shows the separator at or below 1.3 bar abs: since XV-3 was last open, the hoses were not seen so with it open.
    SeparatorUnproven,
    /// Static pressures after the charge do not fit the ambient temperature.
    PressureImplausible,
    /// An answer was not given in time.
    NoAnswer,
    /// The phase ran longer than one of its kind may ([`bounds::longest`]).
    TookTooLong,
    /// Interlocks tripped and let go again and again ([`bounds::MAX_TRIPS`]).
    TripsAgain,
    /// The vessel scale shows what cannot be: still while liquid flows, against the flow, or moving with the valves shut.
    ScaleDisagrees,
    /// The vehicle holds so much more than ordered, outside the tolerance of 15 g.
    Overcharged(Milligram),
    /// The vehicle holds so much less than ordered, outside the tolerance of 15 g.
    Undercharged(Milligram),
    /// The couplers were moved before the order was done, or nobody watched them for a while (ZS-2).
    CouplersMoved,
}

/// What a phase reports each scan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Status {
    /// Going on.
    Running,
    /// Ended.
    Ended(Outcome),
}

/// Progress of the running phase.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Progress {
    /// Share done.
    pub done: Permille,
    /// Estimated time left, nothing more than an estimate.
    pub remaining: Millis,
}

/// Everything a phase may see and say in one scan.
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Ctx<'a> {
    /// Monotonic tick.
    pub now: Instant,
    /// Time since this phase began, pauses and holds left out.
    pub t: Millis,
    /// Time since the last scan as the phase counts it (zero while held).
    pub dt: Millis,
    /// Judged inputs.
    pub r: &'a Readings,
    /// Station.
    pub cfg: &'a StationConfig,
    /// Order.
    pub order: &'a WorkOrder,
    /// Mass ledger.
    pub ledger: &'a mut Ledger,
    /// Facts of this connection.
    pub link: &'a mut Connection,
    /// Outputs of the last scan.
    pub on: Actuators,
    /// Time until the compressor may start.
    pub compressor_ready_in: Millis,
    /// Time the vessel has been left alone.
    pub vessel_rest: Millis,
    /// Highest mass the vessel may hold now.
    pub fill_limit: Milligram,
    /// The separator was seen at or below 1.3 bar abs since XV-3 was last open (I17).
    pub separator_at_ease: bool,
    /// The operator's answer, in the scan in which it came.
    pub answer: Option<Answered>,
    /// What the phase wants energised.
    pub want: Actuators,
    /// The question that stands open; see [`Ctx::ask`].
    pub open: Option<Question>,
    /// Request a gas sample with this id.
    pub sample: Option<u16>,
    /// Progress.
    pub progress: Progress,
    /// Where notices go.
    pub say: &'a mut Notices,
}

impl Ctx<'_> {
    /// Queues a notice.
    pub fn tell(&mut self, notice: Notice) {
        self.say.push(notice);
    }
    /// Keeps a question open for this scan. The answer, in the scan in which it came and only to this question: a press
    /// meant for the one before, which a time-out has just closed, is none.
    pub fn ask(&mut self, question: Question) -> Option<bool> {
        self.open = Some(question);
        self.answer.filter(|answer| answer.question == question).map(|answer| answer.yes)
    }
    /// The vessel mass while it may be used.
    pub fn vessel_mass(&self) -> Option<Milligram> {
        self.r.wt1.mass.usable()
    }
    /// The vessel mass once the scale is at rest and the machines are off.
    pub fn resting_vessel_mass(&self) -> Option<Milligram> {
        if self.r.wt1.still { self.vessel_mass() } else { None }
    }
    /// Ambient temperature, or 25 degC where TT-4 is bad (only for estimates).
    pub fn ambient(&self) -> CentiKelvin {
        self.r.tt4.usable().unwrap_or(CentiKelvin::from_centi_celsius(2_500))
    }
    /// Sets progress from time spent against time planned.
    pub fn progress_by_time(&mut self, planned: Millis) {
        let total = planned.0.max(1);
        let spent = self.t.0.min(total);
        let done = (u64::from(spent) * 1000).checked_div(u64::from(total)).unwrap_or(0);
        self.progress =
            Progress { done: Permille(i32::try_from(done).unwrap_or(1000)), remaining: planned.minus(Millis(spent)) };
    }
}

/// The running phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Phase {
    /// See [`purge`].
    Purge(purge::Purge),
    /// See [`identify`].
    Identify(identify::Identify),
    /// See [`recover`].
    Recover(recover::Recover),
    /// See [`oil`].
    DrainOil(oil::DrainOil),
    /// See [`evacuate`].
    Evacuate(evacuate::Evacuate),
    /// See [`leak`].
    LeakCheck(leak::LeakCheck),
    /// See [`inject`].
    InjectOil(inject::InjectOil),
    /// See [`charge`].
    Charge(charge::Charge),
    /// See [`verify`].
    Verify(verify::Verify),
    /// See [`clear`].
    ClearHoses(clear::ClearHoses),
}

impl Phase {
    /// A fresh phase of that kind.
    pub fn new(kind: PhaseKind) -> Self {
        match kind {
            PhaseKind::Purge => Self::Purge(purge::Purge::default()),
            PhaseKind::Identify => Self::Identify(identify::Identify::default()),
            PhaseKind::Recover => Self::Recover(recover::Recover::default()),
            PhaseKind::DrainOil => Self::DrainOil(oil::DrainOil::default()),
            PhaseKind::Evacuate => Self::Evacuate(evacuate::Evacuate::default()),
            PhaseKind::LeakCheck => Self::LeakCheck(leak::LeakCheck::default()),
            PhaseKind::InjectOil => Self::InjectOil(inject::InjectOil::default()),
            PhaseKind::Charge => Self::Charge(charge::Charge::default()),
            PhaseKind::Verify => Self::Verify(verify::Verify),
            PhaseKind::ClearHoses => Self::ClearHoses(clear::ClearHoses::default()),
        }
    }
    /// Which kind this is.
    pub const fn kind(&self) -> PhaseKind {
        match self {
            Self::Purge(_) => PhaseKind::Purge,
            Self::Identify(_) => PhaseKind::Identify,
            Self::Recover(_) => PhaseKind::Recover,
            Self::DrainOil(_) => PhaseKind::DrainOil,
            Self::Evacuate(_) => PhaseKind::Evacuate,
            Self::LeakCheck(_) => PhaseKind::LeakCheck,
            Self::InjectOil(_) => PhaseKind::InjectOil,
            Self::Charge(_) => PhaseKind::Charge,
            Self::Verify(_) => PhaseKind::Verify,
            Self::ClearHoses(_) => PhaseKind::ClearHoses,
        }
    }
    /// One scan.
    pub fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        match self {
            Self::Purge(p) => p.step(c),
            Self::Identify(p) => p.step(c),
            Self::Recover(p) => p.step(c),
            Self::DrainOil(p) => p.step(c),
            Self::Evacuate(p) => p.step(c),
            Self::LeakCheck(p) => p.step(c),
            Self::InjectOil(p) => p.step(c),
            Self::Charge(p) => p.step(c),
            Self::Verify(p) => p.step(c),
            Self::ClearHoses(p) => p.step(c),
        }
    }
    /// Books what it has moved so far. Called every scan, held or not, and for some seconds after the phase ended short of its
    /// plan; a phase that ends as planned has booked its weighing at rest.
    pub fn book(&self, r: &Readings, ledger: &mut Ledger) {
        match self {
            Self::Purge(p) => p.book(r, ledger),
            Self::Recover(p) => p.book(r, ledger),
            Self::DrainOil(p) => p.book(r, ledger),
            Self::InjectOil(p) => p.book(r, ledger),
            Self::Charge(p) => p.book(r, ledger),
            Self::ClearHoses(p) => p.book(r, ledger),
            Self::Identify(_) | Self::Evacuate(_) | Self::LeakCheck(_) | Self::Verify(_) => {}
        }
    }
}

/// Shorthand for an ended phase.
pub(crate) const fn failed(why: GiveUp) -> Status {
    Status::Ended(Outcome::Failed(why))
}
/// Shorthand for a skipped phase.
pub(crate) const fn skipped(why: GiveUp) -> Status {
    Status::Ended(Outcome::Skipped(why))
}
/// Shorthand for a phase that met its plan.
pub(crate) const DONE: Status = Status::Ended(Outcome::Done);
