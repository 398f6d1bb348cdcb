//! Which inputs a cause of a row or the end of a phase rests on.

use valvewright_core::frame::Switches;
use valvewright_core::input::Input;
use valvewright_core::interlock::Watch;
use valvewright_core::job::GiveUp;

use super::inputs::In;
use In::{Contact, Loop, Vessel};

const HOSES: &[In] = &[Loop(Input::Pt2), Loop(Input::Pt3)];
const VESSEL: &[In] = &[Vessel];
const BRIDGES: &[In] = &[Loop(Input::Wt1A), Loop(Input::Wt1B)];
const STOP: &[In] = &[Contact(Switches::HS1_A_RELEASED), Contact(Switches::HS1_B_RELEASED)];
const VACUUM: &[In] = &[Loop(Input::Pt4)];
const AIR: &[In] = &[Loop(Input::Pt1), Loop(Input::Tt1)];
const FOLLOWED: &[In] =
    &[Loop(Input::It1), Loop(Input::Pt2), Loop(Input::Pt3), Vessel, Loop(Input::Wt2), Loop(Input::Wt3)];
const FLOW: &[In] = &[Vessel, Loop(Input::Pt1), Loop(Input::Tt1), Loop(Input::Pt2), Loop(Input::Pt3)];

/// What a cause of a row looks at; nothing where it is a finding of the job or of the controller's own machine.
pub const fn of_watch(watch: Watch) -> &'static [In] {
    match watch {
        Watch::CabinetGas => &[Loop(Input::At2)],
        Watch::VesselFill => &[Vessel, Loop(Input::Tt1)],
        Watch::VesselPressure | Watch::ReliefNear => &[Loop(Input::Pt1)],
        Watch::DischargeSwitch => &[Contact(Switches::PSH1_HEALTHY), Loop(Input::Pt1)],
        Watch::ChargeFlow => FLOW,
        Watch::ChargeScale | Watch::HeaterCover | Watch::ScaleCreep | Watch::ChargeBeyond => VESSEL,
        Watch::PurgeLoss | Watch::VesselLoses => VESSEL,
        Watch::SeparatorLevel => &[Contact(Switches::LS2_NOT_HIGH)],
        Watch::PumpAdmission | Watch::PumpInlet | Watch::Unrecovered | Watch::HosesRise => HOSES,
        Watch::Suction | Watch::HoseFalls => HOSES,
        Watch::HeaterSkin | Watch::HeaterWelded => &[Loop(Input::Tt3)],
        Watch::HeaterEffect => &[Loop(Input::Tt1)],
        Watch::DischargeTemperature => &[Loop(Input::Tt2)],
        Watch::MotorCurrent => &[Loop(Input::It1)],
        Watch::Effect => FOLLOWED,
        Watch::ScaleLost | Watch::BridgesApart => BRIDGES,
        Watch::SeparatorPressure => &[Loop(Input::Pt5)],
        Watch::OilBottle => &[Contact(Switches::LS1_NOT_FULL)],
        Watch::FanSpeed => &[Loop(Input::St1)],
        Watch::PumpInletSwitch => &[Contact(Switches::PSH2_HEALTHY), Loop(Input::Pt2), Loop(Input::Pt3)],
        Watch::PumpValveStuck => &[Contact(Switches::PSH2_HEALTHY)],
        Watch::AirFlow | Watch::AirProof => &[Contact(Switches::FSL1_FLOW), Loop(Input::St1)],
        Watch::Door => &[Contact(Switches::ZS1_DOOR_SHUT)],
        Watch::DrawsAir | Watch::PurgeLeave => AIR,
        Watch::CouplersOff => &[Contact(Switches::ZS2_COUPLED), Loop(Input::Pt2), Loop(Input::Pt3)],
        Watch::StopPressed | Watch::StopDisagrees => STOP,
        Watch::SupplyLow => &[Loop(Input::Et1)],
        Watch::RailLow => &[Loop(Input::Et2)],
        Watch::Identity
        | Watch::LateScan
        | Watch::LeakVerdict
        | Watch::LineLocked
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
        | Watch::StartsAgain => &[],
    }
}

/// What a phase that gave up for this reason had looked at; nothing where it was told, not read.
pub const fn of_reason(why: GiveUp) -> &'static [In] {
    match why {
        GiveUp::NotCoupled | GiveUp::CouplersMoved => &[Contact(Switches::ZS2_COUPLED)],
        GiveUp::ScaleUnsteady | GiveUp::VesselFull | GiveUp::VesselLow { .. } | GiveUp::NoRoom { .. } => VESSEL,
        GiveUp::ScaleDisagrees | GiveUp::Overcharged(_) | GiveUp::Undercharged(_) => VESSEL,
        GiveUp::PressureTooLow | GiveUp::PressureTooHigh | GiveUp::RecoveryTimeout | GiveUp::KeepsRising => HOSES,
        GiveUp::PressureForVacuum | GiveUp::NotRecovered | GiveUp::HoldsRefrigerant(_) => HOSES,
        GiveUp::NotReleased(_) | GiveUp::TestPressure(_) | GiveUp::PressureFalls(_) => HOSES,
        GiveUp::HosesDisagree(..) => HOSES,
        GiveUp::DrawsAir => &[Loop(Input::Pt1), Loop(Input::Tt1), Loop(Input::Pt2), Loop(Input::Pt3)],
        GiveUp::NoVacuum => &[Loop(Input::Pt4), Loop(Input::Pt2), Loop(Input::Pt3)],
        GiveUp::GaugeNotLive | GiveUp::Leaks | GiveUp::StillWet => VACUUM,
        GiveUp::TooShallow(_) | GiveUp::PumpShallow(_) => VACUUM,
        GiveUp::ChargeStalled => FLOW,
        GiveUp::NotRested => &[Loop(Input::Tt1), Loop(Input::Tt4)],
        GiveUp::NothingToPurge | GiveUp::PurgeLossLimit | GiveUp::PulsesSpent => AIR,
        GiveUp::NoOil => &[Loop(Input::Wt3)],
        GiveUp::SeparatorPressure(_) => &[Loop(Input::Pt5)],
        GiveUp::GaugesDisagree => &[Loop(Input::Pt5), Loop(Input::Pt2), Loop(Input::Pt3)],
        GiveUp::OilBottleFull => &[Contact(Switches::LS1_NOT_FULL)],
        GiveUp::CylinderFull(_) => &[Loop(Input::Pt2), Loop(Input::Pt3)],
        GiveUp::LineLoaded(_) => &[Loop(Input::Pt2), Loop(Input::Pt3), Loop(Input::Pt5)],
        GiveUp::WeightOff(_) | GiveUp::NoReturn(_) | GiveUp::FlushShort(_) => VESSEL,
        GiveUp::NotEvacuated(_) => &[Loop(Input::Pt1)],
        GiveUp::PressureImplausible => &[Loop(Input::Pt2), Loop(Input::Pt3), Loop(Input::Tt4)],
        GiveUp::ReadingBad
        | GiveUp::SampleFilterOily
        | GiveUp::IdentifierUnsure
        | GiveUp::GasRefused(_)
        | GiveUp::RefusalStands(_)
        | GiveUp::NoIdentity
        | GiveUp::NothingToRecover
        | GiveUp::LeakStands
        | GiveUp::NoLeakVerdict
        | GiveUp::NotReached(_)
        | GiveUp::Declined
        | GiveUp::Blocked
        | GiveUp::NotOrdered
        | GiveUp::HighVoltage
        | GiveUp::NoAnswer
        | GiveUp::TookTooLong
        | GiveUp::TripsAgain
        | GiveUp::NotProven
        | GiveUp::NotStored
        | GiveUp::RecordSound => &[],
    }
}
