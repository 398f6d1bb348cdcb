//! Rows of the table whose causes are found over many scans, or by the job, and not read in one.

use super::terms::*;
use crate::frame::{Actuator, Actuators};
use crate::row::{RowId, Watch};
use crate::units::Millis;
use Actuator::*;

/// What draws from the vehicle into the vessel.
const RECOVERY: &[Actuator] = &[Xv3, Xv4, C1];
/// A hand on the platform, or a knock against it, is over sooner (F025: 2 s).
const NO_KNOCK: Millis = Millis(2_500);

/// No trip can keep liquid from being locked in without forcing a valve open, which no row does. So the row withholds more liquid until
/// the line is led out again; what warms in between leaves by a spring check, where the station has one.
pub(super) const I04: Row = Row {
    id: RowId::I04,
    causes: &[Condition { clear_hold: Millis(2_000), ..verdict(Watch::LineLocked) }],
    trip: NOTHING,
    withholds: Actuators::of(&[Xv5, Xv10]),
    latch: Latch::None,
    reset: why(
        "let the charge go on, or clear the hoses: XV-1 or XV-2 opens first and leads the line to the vehicle or the separator",
    ),
    hazard: Hazard(3),
    also: also(&[]),
    why: why("liquid between two shut valves rises by 5 bar for each kelvin it warms"),
};

/// The recovery's own verdict on its suction and on the vessel's pressure. It stands until the gas is identified as pure again, the
/// circuit is evacuated, or the couplers move.
pub(super) const I07: Row = Row {
    id: RowId::I07,
    causes: &[state(Watch::DrawsAir, NOW, NOW)],
    trip: off(RECOVERY),
    withholds: Actuators::NONE,
    latch: Latch::None,
    reset: why("find and mend the opening, then identify the gas anew or evacuate the circuit"),
    hazard: Hazard(5),
    also: also(&[]),
    why: why("three litres of air are more than twice what ten kilograms in the vessel may hold"),
};

/// The vessel's figure may tremble: closing early costs nothing, so it acts soon and lets go by itself.
pub(super) const I09: Row = Row {
    id: RowId::I09,
    causes: &[verdict(Watch::ChargeUnconfirmed), state(Watch::ChargeBeyond, Millis(500), Millis(500))],
    trip: off(&[Xv5, Xv10]),
    withholds: Actuators::of(&[Xv5, Xv10]),
    latch: Latch::None,
    reset: why(
        "compare the charge with the vehicle's label and confirm it a second time; what is too much must be recovered and charged anew",
    ),
    hazard: Hazard(6),
    also: also(&[]),
    why: why("a slip of the finger in the charge is no fault of any instrument, and nobody sees it afterwards"),
};

/// An order for a high-voltage vehicle is refused without a flush on record; what a flush leaves in the hoses nobody measures, so it gets no oil.
pub(super) const I15: Row = Row {
    id: RowId::I15,
    causes: &[verdict(Watch::OilVoltage)],
    trip: NOTHING,
    withholds: Actuators::of(&[Xv9]),
    latch: Latch::Connection,
    reset: why(
        "order the service for a vehicle without high voltage; once one with it was ordered, take the couplers off and begin anew",
    ),
    hazard: Hazard(11),
    also: also(&[]),
    why: why("the first gram of the wrong oil spoils the insulation of a high-voltage compressor for good"),
};

/// A sample out of its bands never gives a verdict; this keeps the compressor off until the identifier has shown twice that it is sound.
pub(super) const I16: Row = Row {
    id: RowId::I16,
    causes: &[verdict(Watch::IdentifierUnsound)],
    trip: NOTHING,
    withholds: Actuators::of(RECOVERY),
    latch: Latch::None,
    reset: why(
        "change the sample filter, blow the sample line through, and identify again: two samples in a row with flow and self-check in their bands",
    ),
    hazard: Hazard(12),
    also: also(&[Hazard(4)]),
    why: why("an identifier fouled by oil shows a foreign gas as pure"),
};

/// A pulse passes some 6 g; 20 g by one opening are a valve that did not shut.
pub(super) const I18: Row = Row {
    id: RowId::I18,
    causes: &[verdict(Watch::PurgeSpent), state(Watch::PurgeLoss, NO_KNOCK, NOW)],
    trip: off_with_fan(&[Xv7, H1, H2]),
    withholds: Actuators::of(&[Xv7]),
    latch: Latch::Latched,
    reset: why(
        "see that XV-7 shuts and the vessel scale stands, then reset; past 200 s of purging wait for the next day",
    ),
    hazard: Hazard(13),
    also: also(&[Hazard(1), Hazard(14)]),
    why: why("what leaves by the purge goes into the open, and most of it is refrigerant"),
};

/// The relief valve of the reference station is set to 20 bar abs: nine tenths of that.
pub(super) const I29: Row = Row {
    id: RowId::I29,
    causes: &[
        trip(Watch::ReliefNear, bar_hundredths(1_800), Millis(100), bar_hundredths(1_700), Millis(2_000)),
        state(Watch::VesselLoses, NOW, NOW),
    ],
    trip: off_with_fan(&[Xv3, Xv4, C1, H1, H2]),
    withholds: Actuators::NONE,
    latch: Latch::Latched,
    reset: why(
        "ventilate, let the vessel cool or lead its content into another cylinder, find where it leaks, see PT-1 below 17 bar abs and WT-1 stand, then reset",
    ),
    hazard: Hazard(23),
    also: also(&[Hazard(2), Hazard(14)]),
    why: why("a relief valve that lifts, or one that leaks, empties the vessel into the room"),
};

/// The word that the couplers may come off waits for hoses that were emptied and stood below 1.3 bar abs for 30 s.
pub(super) const I31: Row = Row {
    id: RowId::I31,
    causes: &[state(Watch::HoseFalls, NOW, NOW), state(Watch::CouplersOff, NOW, NOW)],
    trip: off_with_fan(&[Xv1, Xv2, Xv5, Xv9, Xv10]),
    withholds: Actuators::NONE,
    latch: Latch::Latched,
    reset: why(
        "keep faces and flames away, put both couplers on again or change the burst hose, mend PT-2 or PT-3 where broken, then reset and clear the hoses",
    ),
    hazard: Hazard(25),
    also: also(&[Hazard(1)]),
    why: why("a hose holds up to 60 g of liquid, and what escapes from it burns the skin by cold"),
};

/// The job knows whether the vessel has rested.
pub(super) const I06: Row = Row {
    id: RowId::I06,
    causes: &[verdict(Watch::PurgeLeave)],
    trip: NOTHING,
    withholds: Actuators::of(&[Xv7]),
    latch: Latch::None,
    reset: why("let the vessel rest and find excess pressure over saturation"),
    hazard: Hazard(5),
    also: also(&[Hazard(13)]),
    why: why("purging a warm or unrested vessel vents refrigerant for no air"),
};

/// A clock on the wall labels and stops nothing.
pub(super) const I25: Row = Row {
    id: RowId::I25,
    causes: &[state(Watch::WallClock, NOW, NOW)],
    trip: NOTHING,
    withholds: Actuators::NONE,
    latch: Latch::Phase,
    reset: why("look at date and time (KT-1), set them where they are wrong, then reset or start the next phase"),
    hazard: Hazard(19),
    also: also(&[]),
    why: why("dates label and nothing else: every wait runs by the tick, whatever the clock on the wall says"),
};
