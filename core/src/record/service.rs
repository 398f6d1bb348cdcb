//! A service as the log of services keeps it: who, when, what was moved, what was found, how each phase ended. Fixed places, little-endian.
//!
//! Promises: the same bytes on host and board; what no station writes, and another version, is not read. A mass that was not said is not 0.

use super::bytes::{Reader, Writer};
use crate::fluid::Refrigerant;
use crate::order::PHASE_COUNT;
use crate::row::RowId;
use crate::units::{AbsPa, Milligram};
use crate::verdict::{GasVerdict, LeakResult, LeakVerdict};

/// The layout that is written; another one is not read.
const VERSION: u8 = 1;
/// How many bytes a service has.
pub const SERVICE_BYTES: usize = 113;
/// How many masses a service has.
pub const MASSES: usize = 9;
/// In place of a mass that was not said: no scale of this station reads it.
const UNSAID: i32 = i32::MIN;

/// How a service ended.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Ending {
    /// It runs. In the log: never.
    #[default]
    Running,
    /// Every phase met its plan or was left out.
    Met,
    /// A phase was given up, or the operator ended it.
    NotMet,
    /// Power went, or the controller was restarted; it was closed by the start that followed.
    Interrupted,
}

impl Ending {
    /// Every one, in the order of its bytes.
    pub const ALL: [Self; 4] = [Self::Running, Self::Met, Self::NotMet, Self::Interrupted];
}

/// How a phase ended.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum PhaseEnd {
    /// It was not begun.
    #[default]
    Never,
    /// It met its plan.
    Done,
    /// Not needed or not possible.
    Skipped,
    /// Given up.
    Failed,
    /// Ended by the operator.
    Aborted,
    /// It had begun and no end was told.
    Open,
}

impl PhaseEnd {
    /// Every one, in the order of its bytes.
    pub const ALL: [Self; 6] = [Self::Never, Self::Done, Self::Skipped, Self::Failed, Self::Aborted, Self::Open];
}

/// A phase of a service.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PhaseNote {
    /// How it ended.
    pub end: PhaseEnd,
    /// How long it took, s, at most 65 535.
    pub seconds: u16,
}

/// A mass of a service.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Mass {
    /// Charge that was ordered.
    Ordered,
    /// Refrigerant recovered.
    Recovered,
    /// Refrigerant charged.
    Charged,
    /// Refrigerant vented by a purge.
    Vented,
    /// Used oil drained.
    OilDrained,
    /// New oil injected.
    OilInjected,
    /// What hoses and manifold hold at most at the end.
    Hoses,
    /// What the vessel weighs less at the end than the figures above say; negative: more.
    Unknown,
    /// What the vehicle's label says.
    Label,
}

impl Mass {
    /// Every one, in the order of [`Service::masses`].
    pub const ALL: [Self; MASSES] = [
        Self::Ordered,
        Self::Recovered,
        Self::Charged,
        Self::Vented,
        Self::OilDrained,
        Self::OilInjected,
        Self::Hoses,
        Self::Unknown,
        Self::Label,
    ];
}

/// A service.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Service {
    /// The number that the log was about to give when it began. Of two records with one number the second is the first once more.
    pub number: u32,
    /// Number of the order.
    pub order: u16,
    /// KT-1 when it began and when it ended, s; 0 is a clock that was not set.
    pub begun: u32,
    /// See [`Service::begun`].
    pub ended: u32,
    /// The vehicle's number in the book; 0 for none.
    pub book: u32,
    /// Number of the operator; 0 for none.
    pub operator: u16,
    /// The station's refrigerant.
    pub refrigerant: Option<Refrigerant>,
    /// The vehicle has a high-voltage compressor.
    pub high_voltage: bool,
    /// How it ended.
    pub ending: Ending,
    /// Masses in the order of [`Mass::ALL`]; `None` was not said.
    pub masses: [Option<Milligram>; MASSES],
    /// The last leak check.
    pub leak: LeakResult,
    /// What the gas was found to be.
    pub gas: GasVerdict,
    /// Vacuum at the end of the evacuation.
    pub vacuum: Option<AbsPa>,
    /// The first trip.
    pub trip: Option<RowId>,
    /// How many trips, at most 255.
    pub trips: u8,
    /// Phases in the order of the job.
    pub phases: [PhaseNote; PHASE_COUNT],
}

/// Verdicts of the gas in the order of their bytes.
const GASES: [GasVerdict; 6] = [
    GasVerdict::Unknown,
    GasVerdict::Pure,
    GasVerdict::Air,
    GasVerdict::Foreign,
    GasVerdict::FlammableForeign,
    GasVerdict::Inconclusive,
];
/// Verdicts of the leak check in the order of their bytes.
const LEAKS: [LeakVerdict; 4] = [LeakVerdict::Unknown, LeakVerdict::Tight, LeakVerdict::Leak, LeakVerdict::Moisture];
/// Refrigerants in the order of their bytes.
const REFRIGERANTS: [Option<Refrigerant>; 3] = [None, Some(Refrigerant::R1234yf), Some(Refrigerant::R134a)];

fn place<T: PartialEq>(all: &[T], one: &T) -> u8 {
    all.iter().position(|of| of == one).unwrap_or(0) as u8
}

impl Service {
    /// A mass.
    pub fn mass(&self, which: Mass) -> Option<Milligram> {
        self.masses.get(which as usize).copied().flatten()
    }

    /// Says a mass.
    pub fn say(&mut self, which: Mass, mass: Milligram) {
        if let Some(place) = self.masses.get_mut(which as usize) {
            *place = Some(mass);
        }
    }

    /// As it is stored.
    pub fn encode(&self) -> [u8; SERVICE_BYTES] {
        let mut to = Writer::<SERVICE_BYTES>::new();
        to.put(&[VERSION, self.ending as u8]);
        to.half(self.order);
        [self.number, self.begun, self.ended, self.book].into_iter().for_each(|word| to.word(word));
        to.half(self.operator);
        to.put(&[place(&REFRIGERANTS, &self.refrigerant), u8::from(self.high_voltage)]);
        self.masses.iter().for_each(|mass| to.int(mass.map_or(UNSAID, |mass| mass.0)));
        to.put(&[place(&LEAKS, &self.leak.verdict), place(&REFRIGERANTS, &self.leak.refrigerant)]);
        to.int(self.leak.micro_pa_m3_per_s);
        to.int(self.leak.smallest_micro);
        to.byte(place(&GASES, &self.gas));
        to.int(self.vacuum.map_or(UNSAID, |vacuum| vacuum.0));
        to.put(&[self.trip.map_or(0, |row| row as u8), self.trips]);
        for phase in &self.phases {
            to.byte(phase.end as u8);
            to.half(phase.seconds);
        }
        to.done().0
    }

    /// What these bytes hold; `None` for another version, or what no station writes.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        (from.byte()? == VERSION).then_some(())?;
        let ending = from.one_of(&Ending::ALL)?;
        let order = from.half()?;
        let [number, begun, ended, book] = [from.word()?, from.word()?, from.word()?, from.word()?];
        let operator = from.half()?;
        let (refrigerant, high_voltage) = (from.one_of(&REFRIGERANTS)?, from.flag()?);
        let mut masses = [None; MASSES];
        for mass in &mut masses {
            *mass = Some(from.int()?).filter(|mass| *mass != UNSAID).map(Milligram);
        }
        let (verdict, of) = (from.one_of(&LEAKS)?, from.one_of(&REFRIGERANTS)?);
        let leak = LeakResult { verdict, micro_pa_m3_per_s: from.int()?, smallest_micro: from.int()?, refrigerant: of };
        let gas = from.one_of(&GASES)?;
        let vacuum = Some(from.int()?).filter(|vacuum| *vacuum != UNSAID).map(AbsPa);
        let trip = match from.byte()? {
            0 => None,
            id => Some(RowId::ALL.into_iter().find(|row| *row as u8 == id)?),
        };
        let trips = from.byte()?;
        let mut phases = [PhaseNote::default(); PHASE_COUNT];
        for phase in &mut phases {
            *phase = PhaseNote { end: from.one_of(&PhaseEnd::ALL)?, seconds: from.half()? };
        }
        let read = Self {
            number,
            order,
            begun,
            ended,
            book,
            operator,
            refrigerant,
            high_voltage,
            ending,
            masses,
            leak,
            gas,
            vacuum,
            trip,
            trips,
            phases,
        };
        from.ended().then_some(read)
    }
}
