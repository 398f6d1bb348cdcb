//! The words that procedures of upkeep are written in: what is on in a step, what it goes on until, and how long it may take.
//!
//! A procedure is a table, so that one small machine steps all of them and a page of the book can show what each does.

use crate::frame::Actuators;
use crate::kept::{Hoses, Proof};
use crate::order::Task;
use crate::token::Part;

/// A reading that a step goes by.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Gauge {
    /// The higher of PT-2 and PT-3, Pa abs.
    Hoses,
    /// PT-5, Pa abs.
    Separator,
    /// PT-4, Pa abs.
    Vacuum,
    /// PT-1, Pa abs.
    VesselPressure,
    /// AT-2, thousandths of the lower flammable limit.
    CabinetGas,
    /// WT-1, mg.
    Vessel,
}

macro_rules! levels {
    ($($(#[$doc:meta])* $name:ident = $value:literal,)+) => {
        /// A number that a step holds its reading against, in the unit of its gauge: by its place in a table, so that a step fits in eight bytes.
        #[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        #[repr(u8)]
        pub enum Level {
            $($(#[$doc])* $name,)+
        }
        impl Level {
            /// The number.
            pub fn value(self) -> i32 {
                /// The numbers, whose reasons stand beside their names (own choices where none does).
                const ALL: &[i32] = &[$($value),+];
                ALL.get(self as usize).copied().unwrap_or(0)
            }
        }
    };
}

levels! {
    /// Hoses above this are not empty: the pressure of I31 at which couplers may come off, Pa.
    NotLoaded = 130_000,
    /// The end of a recovery, a little above the least that C-1 reaches in a line of its own, Pa.
    Drawn = 50_000,
    /// What gas leaving oil may raise a drawn separator by in two minutes, while its line is being watched, Pa (own choice).
    Stirs = 30_000,
    /// A line is opened at the barometer or below it, with the class of PT-5 on top, Pa.
    Opened = 110_000,
    /// Depth at which a hold of hoses and manifold begins: PT-4 sees its rise well inside its span, Pa (own choice).
    Deep = 300,
    /// PT-4 lives if the separator's gas, which C-1 leaves at some tenths of a bar at best, lifts it to this: far above where a hold may end, Pa.
    Woken = 2_000,
    /// Rise in 15 min that oil films give, Pa: 0.13 L by 500 Pa in 900 s are 7e-5 Pa m3/s.
    Tight = 500,
    /// What a resting scale may fall by in ten minutes without anything leaving, mg: its noise and creep.
    Loses = 10_000,
    /// A vessel that comes evacuated: nothing, with the class of PT-1 on top (0.25 % of 35 bar, and as much again), Pa.
    Evacuated = 20_000,
    /// Rise of PT-1 in ten minutes that its noise and drift may show, Pa (own choice): 12.5 L by 10 kPa in 600 s are 0.2 Pa m3/s, a gross test.
    Inflow = 10_000,
    /// AT-2 in clean air shows less than 2 % LFL, thousandths.
    Clean = 20,
    /// AT-2 has seen test gas: below the 15 % LFL at which I01 trips, so that it counts before, thousandths.
    Seen = 100,
    /// An evacuated cylinder of 10 L takes 0.18 L of hoses and manifold at 16 bar to 30 kPa; as much again for what is dissolved in oil, Pa (own choice).
    Spread = 60_000,
    /// What of the station's own liquid goes through hoses that held a foreign gas: each hose holds 59 g of liquid, so that this fills it half and
    /// boils through the rest, mg (own choice),
    RinseOnce = 60_000,
    /// once more,
    RinseTwice = 120_000,
    /// and a third time.
    RinseThrice = 180_000,
    /// What rinses at a time: both hoses of 3 m by 4.8 mm hold 118 g of liquid, so that it reaches the second, mg (own choice).
    Rinse = 100_000,
}

/// What ends a step well.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Until {
    /// A person says that this is done.
    Done(Task),
    /// The reading is no higher than this.
    Below(Gauge, Level),
    /// It is no lower than this.
    Above(Gauge, Level),
    /// For the whole time it was no more than this above where it began.
    Rests(Gauge, Level),
    /// For the whole time it was no more than this below where it began.
    Keeps(Gauge, Level),
    /// The time is over.
    Passed,
    /// The pressure of the line that is about to be opened is told.
    Told,
    /// The code of the new part was typed, burnt, and the part has its life.
    Life(Part),
    /// The record is lost: there is one to restore.
    Lost,
    /// The scale rests; what it shows is what later steps are held against.
    Zero,
    /// It rests with the reference weight on.
    Span,
    /// It rests again, and shows what it did before.
    Return,
    /// The new span is taken into use and kept, where the procedure is not to check alone.
    Adjusted,
    /// The vessel's scale was seen to weigh: the proof by weight is due again after its interval.
    Weighs,
    /// The gas at the couplers is known to be this station's.
    Identified,
    /// There is room for the ordered mass, and the scale rests.
    Room,
    /// The ordered mass has come, or the cylinder gives no more.
    Taken,
    /// The scale rests; what came is told and booked.
    Weighed,
    /// The scale rests; what the vessel holds is told.
    Holds,
    /// Both couplers sit on the flush port. Hoses that are empty need no clearing: the step behind this one is passed over; what loaded ones
    /// hold is identified first.
    OnPort,
    /// So much has left the vessel since it was weighed.
    Gone(Level),
    /// The scale rests; what left has come back. Until the hoses are rinsed often enough the steps of a rinse begin anew.
    CameBack,
    /// The hoses are fit for this from now on.
    Fit(Hoses),
    /// The scale rests: what leaves from here on is booked on top of what has left before.
    Counts,
    /// Where this order has sent through the hoses what rinses them, the steps that do so are passed over.
    Rinsed,
    /// PSH-1 is open, or shut again.
    Switch {
        /// Open.
        open: bool,
    },
    /// Pipes are about to be opened: this proof is owed from now on, whatever becomes of the procedure.
    Owed(Proof),
    /// This test was passed: it is due again after its interval.
    Proven(Proof),
    /// The sample filter is a new one.
    FreshFilter,
    /// What the steps before left to be kept was read back.
    Stored,
    /// The steps of the internal leak check come next.
    LeakCheck,
}

/// One step.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Step {
    /// What is to be on.
    pub on: Actuators,
    /// Until when.
    pub until: Until,
    /// How long at most, or, where time itself is waited for, how long, s.
    pub within: u16,
}
