//! The whole contract with a board: one [`RawFrame`] in, one [`Outputs`] out, each scan.
//!
//! A frame is raw: converter counts, switch levels, serial bytes. Judging them is the work of [`crate::sense`].

use crate::bits::bit_set;
use crate::talk::Command;

/// Changes with every change of what [`RawFrame`] or [`Outputs`] hold or in which order; whoever fills them elsewhere must agree on it.
pub const LAYOUT: u16 = 8;

/// Analog inputs, 4-20 mA unless said otherwise, in the order of [`RawFrame::analog`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Analog {
    /// Vessel pressure, absolute, 0-35 bar.
    Pt1,
    /// Low-side hose pressure, absolute, 0-35 bar.
    Pt2,
    /// High-side hose pressure, absolute, 0-35 bar.
    Pt3,
    /// Vacuum gauge, absolute, 0-100 mbar.
    Pt4,
    /// Separator pressure, absolute, 0-35 bar.
    Pt5,
    /// Vessel wall temperature, -40 to 160 degC.
    Tt1,
    /// Compressor discharge temperature, -40 to 160 degC.
    Tt2,
    /// Heater skin temperature, -40 to 160 degC.
    Tt3,
    /// Ambient temperature, -40 to 160 degC.
    Tt4,
    /// Cabinet gas, 0-100 % LFL.
    At2,
    /// Compressor motor current, 0-20 A.
    It1,
    /// Cabinet fan speed, 0-6000 rpm.
    St1,
    /// Supply voltage, 0-40 V.
    Et1,
    /// Valve-rail voltage, 0-40 V.
    Et2,
}

/// How many analog inputs there are.
pub const ANALOG_COUNT: usize = 14;
impl Analog {
    /// Every one, in the order of [`RawFrame::analog`].
    pub const ALL: [Self; ANALOG_COUNT] = [
        Self::Pt1,
        Self::Pt2,
        Self::Pt3,
        Self::Pt4,
        Self::Pt5,
        Self::Tt1,
        Self::Tt2,
        Self::Tt3,
        Self::Tt4,
        Self::At2,
        Self::It1,
        Self::St1,
        Self::Et1,
        Self::Et2,
    ];
}

/// Converter counts for a loop current: 65 535 counts stand for 24 mA, so 4 mA is 10 923 and 20 mA is 54 613.
pub const COUNTS_AT_24_MA: u32 = 65_535;

/// One conversion of a bridge (scale) converter.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct ScaleSample {
    /// Signed converter code; the rails are -8 388 608 and 8 388 607 (24 bit).
    pub code: i32,
    /// Counts up by one with every new conversion, wrapping: tells a frozen converter from a still load.
    pub sequence: u8,
}

/// The bridges of the scales, in the order of [`RawFrame::scales`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Scale {
    /// Vessel, 25 kg class, first bridge.
    Wt1A,
    /// Vessel, second bridge under the same platform.
    Wt1B,
    /// Used-oil bottle, 2 kg class.
    Wt2,
    /// New-oil bottle, 2 kg class.
    Wt3,
}

/// How many bridges there are.
pub const SCALE_COUNT: usize = 4;
impl Scale {
    /// Every bridge, in the order of [`RawFrame::scales`].
    pub const ALL: [Self; SCALE_COUNT] = [Self::Wt1A, Self::Wt1B, Self::Wt2, Self::Wt3];
}

/// Switch levels as wired, one bit each; `true` is a closed contact (current flows).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Switches(pub u16);

impl Switches {
    /// LS-1 used-oil bottle: closed while not full.
    pub const LS1_NOT_FULL: u16 = 1 << 0;
    /// LS-2 separator: closed while the level is below high.
    pub const LS2_NOT_HIGH: u16 = 1 << 1;
    /// PSH-1 discharge pressure: closed while below its set point.
    pub const PSH1_HEALTHY: u16 = 1 << 2;
    /// FSL-1 cabinet air flow: closed while flow is proven.
    pub const FSL1_FLOW: u16 = 1 << 3;
    /// ZS-1 service door: closed while the door is shut.
    pub const ZS1_DOOR_SHUT: u16 = 1 << 4;
    /// ZS-2 couplers: closed while both are on the vehicle.
    pub const ZS2_COUPLED: u16 = 1 << 5;
    /// HS-1 emergency stop, channel A: closed while released.
    pub const HS1_A_RELEASED: u16 = 1 << 6;
    /// HS-1 emergency stop, channel B: closed while released.
    pub const HS1_B_RELEASED: u16 = 1 << 7;
    /// PSH-2 pressure at the inlet of P-1, behind XV-6: closed while below its set point over the barometer.
    pub const PSH2_HEALTHY: u16 = 1 << 8;
    /// ZS-3 flush port: closed while both couplers sit on it; open where a station has none. No vehicle order is accepted while it is closed.
    pub const FLUSH_PORT: u16 = 1 << 9;
    /// Every contact of a healthy station at rest, coupled to a vehicle, with its fan running.
    pub const ALL: u16 = 0x1FF;

    /// Whether the contact `mask` is closed.
    #[inline]
    pub const fn closed(self, mask: u16) -> bool {
        self.0 & mask == mask
    }
}

/// Bytes on a serial line in one scan; a longer burst arrives over several scans.
pub type SerialChunk = heapless::Vec<u8, 32>;

/// A check of the board on its own processor (IEC 60730-1 Annex H, class B; from memory), made in slices ([`crate::port::selfcheck`]).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum SelfCheck {
    /// Data memory: stuck or flipped bits (F100).
    Memory,
    /// Code memory: its checksum (F101).
    Code,
    /// Program flow: a stage of the scan skipped or repeated (F102).
    Flow,
    /// Stack: the guard was hit (F103).
    Stack,
    /// A queue of events overflowed, so that one may be lost (F099).
    Queue,
    /// The independent watchdog did not bite when it was tried (F098).
    Watchdog,
    /// The monitor of the supply says good where the converter reads less (F082).
    Supply,
}

impl SelfCheck {
    /// Every check, in bit order.
    pub const ALL: [Self; 7] =
        [Self::Memory, Self::Code, Self::Flow, Self::Stack, Self::Queue, Self::Watchdog, Self::Supply];
}

bit_set! {
    /// A set of self-checks, one bit each.
    SelfChecks(u8) of SelfCheck
}

/// What a board tells of itself in each frame.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Machine {
    /// Counts up by one with every frame whose inputs were all read anew, wrapping: tells a stale image from a quiet plant (F106).
    pub sequence: u8,
    /// Milliseconds of an oscillator that is not the tick's, such as the watchdog's, wrapping: tells a tick at a wrong rate (F095).
    pub beat: u16,
    /// KT-1, the wall clock: seconds since its own epoch. It labels, and no duration comes from it; 0 is a clock that was never set.
    pub clock: u32,
    /// What carries current at coils and contactors, read back behind the drivers (F062, F063).
    pub coils: Actuators,
    /// Self-checks that failed since the last frame.
    pub failed: SelfChecks,
    /// NV-1: [`Outputs::keep`] of what was stored last and found again as a start would find it (F087, F091).
    pub stored: u32,
}

/// Everything a board tells the controller, once a scan.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct RawFrame {
    /// Loop currents in counts, indexed by [`Analog`].
    #[cfg_attr(feature = "serde", serde(with = "crate::arrays"))]
    pub analog: [u16; ANALOG_COUNT],
    /// Scale conversions, indexed by [`Scale`].
    #[cfg_attr(feature = "serde", serde(with = "crate::arrays"))]
    pub scales: [ScaleSample; SCALE_COUNT],
    /// Switch levels.
    pub switches: Switches,
    /// Bytes received from the gas identifier since the last scan.
    pub identifier: SerialChunk,
    /// What the board tells of itself.
    pub machine: Machine,
    /// What the operator did since the last scan; at most one act a scan.
    pub command: Option<Command>,
}

/// One actuator of the station, by its tag.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Actuator {
    /// Low-side service valve.
    Xv1,
    /// High-side service valve.
    Xv2,
    /// Recovery inlet: manifold to oil separator.
    Xv3,
    /// Compressor discharge and condenser to vessel.
    Xv4,
    /// Liquid charge.
    Xv5,
    /// Manifold to vacuum pump.
    Xv6,
    /// Non-condensable purge of the vessel.
    Xv7,
    /// Used-oil drain.
    Xv8,
    /// New-oil injection.
    Xv9,
    /// Vessel liquid isolation, in series with XV-5.
    Xv10,
    /// Recovery compressor.
    C1,
    /// Vacuum pump.
    P1,
    /// Vessel heater, first contactor.
    H1,
    /// Vessel heater, second contactor, in series with the first: the heater is on while both are.
    H2,
    /// Cabinet fan.
    K1,
}

/// How many actuators there are.
pub const ACTUATOR_COUNT: usize = 15;

impl Actuator {
    /// Every actuator, in bit order.
    pub const ALL: [Self; ACTUATOR_COUNT] = [
        Self::Xv1,
        Self::Xv2,
        Self::Xv3,
        Self::Xv4,
        Self::Xv5,
        Self::Xv6,
        Self::Xv7,
        Self::Xv8,
        Self::Xv9,
        Self::Xv10,
        Self::C1,
        Self::P1,
        Self::H1,
        Self::H2,
        Self::K1,
    ];
    /// The ISA-5.1 style tag.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::Xv1 => "XV-1",
            Self::Xv2 => "XV-2",
            Self::Xv3 => "XV-3",
            Self::Xv4 => "XV-4",
            Self::Xv5 => "XV-5",
            Self::Xv6 => "XV-6",
            Self::Xv7 => "XV-7",
            Self::Xv8 => "XV-8",
            Self::Xv9 => "XV-9",
            Self::Xv10 => "XV-10",
            Self::C1 => "C-1",
            Self::P1 => "P-1",
            Self::H1 => "H-1",
            Self::H2 => "H-2",
            Self::K1 => "K-1",
        }
    }
}

bit_set! {
    /// A set of actuators, one bit each.
    Actuators(u16) of Actuator
}

impl Actuators {
    /// Every actuator.
    pub const ALL: Self = Self((1 << ACTUATOR_COUNT) - 1);
    /// XV-1 to XV-10.
    pub const VALVES: Self = Self((1 << 10) - 1);
    /// Both contactors of the vessel heater.
    pub const HEATER: Self = Self::of(&[Actuator::H1, Actuator::H2]);
    /// The safe state: all off but the fan.
    pub const SAFE: Self = Self::of(&[Actuator::K1]);
    /// What the motor and heater contactor feeds.
    pub const MOTORS: Self = Self::of(&[Actuator::C1, Actuator::P1, Actuator::H1, Actuator::H2]);
}

/// A common relay in front of several outputs: dropped where an output does not do what it is told.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Feed {
    /// The relay of the valve rail, whose volts ET-2 reads: XV-1 to XV-10.
    Valves,
    /// The contactor in front of C-1, P-1, H-1 and H-2.
    Motors,
}

/// How many common relays there are.
pub const FEED_COUNT: usize = 2;

impl Feed {
    /// Both, in bit order.
    pub const ALL: [Self; FEED_COUNT] = [Self::Valves, Self::Motors];
}

bit_set! {
    /// A set of common relays, one bit each. The fan has a supply of its own.
    Feeds(u8) of Feed
}

impl Feeds {
    /// Both.
    pub const ALL: Self = Self::of(&Feed::ALL);
    /// What of these outputs has current while just these relays are open.
    pub const fn leave(self, on: Actuators) -> Actuators {
        let on = if self.has(Feed::Valves) { on.without(Actuators::VALVES) } else { on };
        if self.has(Feed::Motors) { on.without(Actuators::MOTORS) } else { on }
    }
}

/// Indicator lamp colours after IEC 60073: red danger, yellow abnormal, blue act now, green normal, white neutral.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Lamp {
    /// Ready, nothing runs.
    #[default]
    White,
    /// A phase runs as it should.
    Green,
    /// The operator must act for the job to go on.
    Blue,
    /// Something is abnormal; the job is held or refused.
    Yellow,
    /// A latched trip.
    Red,
}

/// Everything the controller tells a board, once a scan; one that misses it for 0.5 s must drop to the safe state by hardware.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Outputs {
    /// Energised actuators.
    pub on: Actuators,
    /// Common relays that are held open.
    pub dropped: Feeds,
    /// Indicator lamp.
    pub lamp: Lamp,
    /// Sounder.
    pub buzzer: bool,
    /// Bytes to send to the gas identifier.
    pub identifier: SerialChunk,
    /// Number of what is to be stored, [`crate::station::Station::kept`]: where it is not [`Machine::stored`], the board stores it.
    pub keep: u32,
}

/// What the interlocks impose on the outputs.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Inhibits {
    /// Must be off.
    pub off: Actuators,
    /// Must be on.
    pub force: Actuators,
    /// Common relays that must be open.
    pub drop: Feeds,
}
