//! The words that procedures of upkeep are written in: what is on in a step, what it goes on until, and how long it may take.
//!
//! A procedure is a table, so that one small machine steps all of them and a page of the book can show what each does.

use crate::frame::Actuators;
use crate::kept::Proof;
use crate::order::Task;
use crate::token::Part;
use crate::units::Milligram;

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

/// What ends a step well.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Until {
    /// A person says that this is done.
    Done(Task),
    /// The reading is no higher than this.
    Below(Gauge, i32),
    /// It is no lower than this.
    Above(Gauge, i32),
    /// For the whole time it was no more than this above where it began.
    Rests(Gauge, i32),
    /// For the whole time it was no more than this below where it began.
    Keeps(Gauge, i32),
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
    Gone(Milligram),
    /// The scale rests; what left has come back. Until the hoses are rinsed often enough the steps of a rinse begin anew.
    CameBack,
    /// The hoses are flushed.
    Flushed,
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
