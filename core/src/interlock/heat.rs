//! Rows of what gets hot: the vessel's heater (I12) and the recovery compressor (I13).

use super::terms::*;
use crate::frame::Actuator::{C1, H1, H2};
use crate::frame::Actuators;
use crate::row::{RowId, Watch};
use crate::units::{Milligram, Millis};

/// The vessel's heater.
pub(super) const I12: Row = Row {
    id: RowId::I12,
    causes: &[
        trip(
            Watch::HeaterCover,
            Level::Mass(Milligram::from_grams(1_000)),
            Millis(1_000),
            Level::Mass(Milligram::from_grams(1_100)),
            Millis(2_000),
        ),
        trip(Watch::HeaterSkin, celsius(80), NOW, celsius(60), Millis(2_000)),
        state(Watch::HeaterEffect, NOW, NOW),
        state(Watch::HeaterWelded, NOW, NOW),
    ],
    trip: off(&[H1, H2]),
    withholds: Actuators::NONE,
    latch: Latch::Latched,
    reset: why(
        "more than 1.1 kg in the vessel, the heater below 60 degC, TT-1, TT-3 and both contactors sound, then reset; hot with its outputs off, cut its supply",
    ),
    hazard: Hazard(9),
    also: also(&[]),
    why: why("a dry heater passes the auto-ignition temperature within minutes"),
};

/// The recovery compressor.
pub(super) const I13: Row = Row {
    id: RowId::I13,
    causes: &[
        trip(Watch::DischargeTemperature, celsius(120), NOW, celsius(90), Millis(2_000)),
        trip(Watch::Suction, bar_hundredths(30), Millis(30_000), bar_hundredths(40), NOW),
        // Three times the rated 3 A, past the run-up: a locked rotor draws some six times (F065).
        trip(Watch::MotorCurrent, amps(9), Millis(1_000), amps(5), Millis(2_000)),
    ],
    trip: off(&[C1]),
    withholds: Actuators::NONE,
    latch: Latch::Latched,
    reset: why(
        "let the compressor cool below 90 degC, after a locked rotor free it, mend TT-2 or IT-1 where broken, then reset",
    ),
    hazard: Hazard(9),
    also: also(&[]),
    why: why("the compressor is cooled by what it sucks; at deep vacuum there is nothing, and a locked rotor burns"),
};
