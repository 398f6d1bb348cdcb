//! What a fault does, as data: to a device, an actuator, the plant, the supply, the machine under the controller, the operator.

use valvewright_core::frame::{Actuator, Analog, Scale};

use super::hold::Hold;
use crate::instrument::Ill;

/// One thing that a fault does while it lasts.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Effect {
    /// A device of the instruments is ill.
    Device(Ill),
    /// An actuator acts otherwise than told.
    Hold(Actuator, Hold),
    /// The driver of a coil is shorted: it carries current as long as there is any.
    Shorted(Actuator),
    /// The command of a valve reaches the coil next in number, and none reaches its own.
    Crossed(Actuator),
    /// A shut valve lets so much through.
    LeaksBy(Actuator, Amount),
    /// A number of the plant is another.
    Number(Of, &'static str, Op),
    /// There is a way where none should be.
    Way(Way),
    /// Something comes in, once; it stays when the fault ends.
    Brings(Matter),
    /// Water passes the drier into the vessel: so much of what C-1 moves, by mass.
    Carries(f64),
    /// What is around these volumes gets warmer, K/s, by at most so much, K.
    Warms(&'static [&'static str], f64, f64),
    /// The drier's way takes this pressure difference at the flow of C-1, Pa.
    Chokes(f64),
    /// The air around station and vehicle has this temperature, K.
    AirTemperature(f64),
    /// The air around has this pressure, Pa, and nobody told the controller.
    AirPressure(f64),
    /// C-1 does not turn and takes so many times its running current.
    LockedRotor(f64),
    /// Oil reaches the sample filter of AT-1.
    OilFilm,
    /// The supply.
    Power(Power),
    /// The machine under the controller.
    Machine(Machine),
    /// What it has of its inputs.
    Image(Image),
    /// What it keeps over a power cut.
    Store(StoreFault),
    /// The operator.
    Person(Person),
}

/// How much passes a valve that should be shut.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Amount {
    /// Share of its full opening.
    Share(f64),
    /// Mass flow of refrigerant, kg/s, out of a vessel at 20 degC into vacuum.
    Flow(f64),
    /// Volume flow of oil, m3/s, at a pressure difference of 1 bar.
    Oil(f64),
}

/// Which parts of the plant.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Of {
    /// Every element that follows this actuator, alone or in series.
    Actuator(Actuator),
    /// The element of this name.
    Element(&'static str),
}

/// What becomes of a number.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Op {
    /// It is this, SI.
    Is(f64),
    /// It is so many times what it was.
    Times(f64),
}

/// What is drawn at the inlet of a way.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Draws {
    /// Gas.
    Vapour,
    /// Liquid, as long as there is some.
    Liquid,
}

/// A hole or a pipe that was not there before.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Way {
    /// Where it begins.
    pub from: &'static str,
    /// Where it ends: a volume or `ambient`.
    pub to: &'static str,
    /// What it draws there.
    pub draws: Draws,
    /// Its bore, m, or the flow through it, kg/s, out of a vessel at 20 degC into vacuum.
    pub size: Size,
    /// Nothing comes back through it.
    pub one_way: bool,
    /// It is open only while this actuator's valve is.
    pub behind: Option<Actuator>,
    /// It is at the vehicle and goes with it.
    pub of_vehicle: bool,
}

/// How wide a way is.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Size {
    /// A round hole of this diameter, m.
    Bore(f64),
    /// A hole that passes this, kg/s, out of a vessel at 20 degC into vacuum.
    Flow(f64),
}

/// Something that comes into the plant.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Matter {
    /// So much of the vehicle's refrigerant, by mass, becomes the other one.
    OtherRefrigerant(f64),
    /// The vehicle's gas holds this share of hydrocarbons; it flows like the refrigerant.
    Hydrocarbon(f64),
    /// Air into the vehicle until it is this share of its gas by volume.
    AirInVehicle(f64),
    /// Air into the vessel to this partial pressure, Pa, at its temperature.
    AirInVessel(f64),
    /// Water into the vehicle, kg.
    WaterInVehicle(f64),
}

/// What the supply does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Power {
    /// None for as long as it lasts.
    Off,
    /// It sinks by so many volts a second to this share of 24 V, and comes back when the fault ends.
    Sag {
        /// Share of 24 V.
        to: f64,
        /// V/s.
        rate: f64,
    },
    /// It is gone for this long, s, once in so many seconds.
    Dips {
        /// Length of a dip, s.
        length: f64,
        /// From one to the next, s.
        every: f64,
    },
    /// The valve rail alone is gone.
    RailOff,
    /// The monitor says good whatever there is: it opens no rail.
    MonitorStuck,
}

/// What the machine under the controller does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Machine {
    /// Nothing.
    Stalls,
    /// Its stack meets the guard: it starts anew once.
    Restarts,
    /// Its watchdog lets outputs stand that nobody renews.
    WatchdogDead,
    /// Its wall clock is ahead by so much, s; negative: behind.
    ClockOff(f64),
    /// Its wall clock stands.
    ClockStands,
    /// Its code is harmed; the running checksum comes to it after so long, s.
    CodeHarmed(f64),
    /// Its tick runs so much too fast, as a share; negative: too slow.
    TickRate(f64),
    /// Its tick passes its largest number when the fault begins.
    Wraps,
    /// Scans come late by up to so many times their period.
    Jitters(f64),
    /// So many scans of a thousand are skipped, outputs renewed all the same.
    Skips(f64),
    /// So many of a thousand are done twice.
    Repeats(f64),
    /// So many presses come in a burst that nobody made; the operator's own are lost in it.
    Burst(f64),
    /// Frames to it are lost with this probability.
    LinkLost(f64),
    /// Each answer takes this long, s.
    LinkLate(f64),
    /// A frame comes a second time in place of the next, with this probability.
    LinkRepeats(f64),
}

/// What becomes of the frame on its way into the controller.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Image {
    /// Once a second one input, drawn anew, shows nonsense for this long, s.
    Glitches(f64),
    /// It is renewed only once in this time, s.
    Stale(f64),
    /// This loop shows counts that are none.
    NoNumber(Analog),
    /// This bridge shows a code that is none.
    NoCode(Scale),
    /// A bit of it stands at one.
    StuckBit(u32),
}

/// What becomes of the flash that holds what a station keeps.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum StoreFault {
    /// The mains are cut at the write of this number from the fault's begin on, so much of which is done, as a share.
    CutAt {
        /// Which write, from 1.
        write: u32,
        /// Share of it that is done.
        done: f64,
    },
    /// So many bits of one copy of the state flip, or of both.
    Flips {
        /// How many bits of each.
        bits: u32,
        /// Of both copies.
        both: bool,
    },
    /// The part, and it alone, loses its power when this share of the next write is done.
    Torn(f64),
    /// The page with one copy reads as erased.
    Blank,
    /// Two pages of one side take no erase and no program any more.
    Worn,
    /// Nothing that is programmed arrives, and nobody is told.
    NoWrite,
    /// Other items take all the room there is.
    Full,
    /// A bit of one copy reads otherwise with this probability.
    Unstable(f64),
    /// The whole part is, at the next start, what it was when the job began.
    Old,
    /// The part, and it alone, loses its power in the heads of the next two writes.
    Phantom,
}

/// What the operator does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Person {
    /// Ends the order.
    Aborts,
    /// Takes the couplers off while a hose holds at least this, Pa.
    Uncouples(f64),
    /// Opens the door, and shuts it when the fault ends.
    OpensDoor,
    /// Presses the emergency stop for this long, s, with the reset button tied down.
    StopsWithResetHeld(f64),
    /// Leaves the gas identification out of the order.
    SkipsIdentify,
    /// Orders so many times the charge.
    OrdersCharge(f64),
    /// Does not say that the vehicle has high voltage.
    HidesHighVoltage,
    /// Gives the start so many times in less than a second.
    StartsTwice(f64),
    /// So many symbols of a code for a new part are typed wrong.
    MistypesCode(f64),
    /// The code that was typed last is typed so many times again.
    TypesCodeAgain(f64),
}
