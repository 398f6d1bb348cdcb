//! Presets of a workshop: what an order says where whoever gives it says nothing. One item of the store, fixed places, little-endian.
//!
//! Promises: every value is inside the range that a work order takes; a value that was not preset is none.

use super::bytes::{Reader, Writer};
use crate::order::{Sides, WorkOrder};
use crate::units::{AbsPa, Microlitre, Milligram, Millis};

/// The layout that is written; another one is not read.
const VERSION: u8 = 1;
/// How many bytes presets have.
pub const PRESETS_BYTES: usize = 38;
/// In place of a number that is not preset.
const NONE: i32 = i32::MIN;
/// In place of a choice that is not preset.
const NO_CHOICE: u8 = u8::MAX;

/// Presets.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Presets {
    /// [`WorkOrder::charge`].
    pub charge: Option<Milligram>,
    /// [`WorkOrder::evacuate`].
    pub evacuate: Option<Millis>,
    /// [`WorkOrder::depth`].
    pub depth: Option<AbsPa>,
    /// [`WorkOrder::leak_hold`].
    pub leak_hold: Option<Millis>,
    /// [`WorkOrder::circuit`].
    pub circuit: Option<Microlitre>,
    /// [`WorkOrder::test_over`].
    pub test_over: Option<AbsPa>,
    /// [`WorkOrder::test_hold`].
    pub test_hold: Option<Millis>,
    /// [`WorkOrder::oil_extra`].
    pub oil_extra: Option<Milligram>,
    /// [`WorkOrder::oil_replace`].
    pub oil_replace: Option<bool>,
    /// [`WorkOrder::sides`].
    pub sides: Option<Sides>,
}

/// Sides in the order of their bytes.
const SIDES: [Sides; 3] = [Sides::Both, Sides::High, Sides::Low];

fn within<T: PartialOrd + Copy>(value: Option<T>, range: (T, T)) -> bool {
    value.is_none_or(|value| range.0 <= value && value <= range.1)
}

impl Presets {
    /// Whether every value is inside the range of an order.
    pub fn fit(&self) -> bool {
        within(self.charge, WorkOrder::CHARGE)
            && within(self.evacuate, WorkOrder::EVACUATE)
            && within(self.depth, WorkOrder::DEPTH)
            && within(self.leak_hold, WorkOrder::LEAK_HOLD)
            && within(self.circuit, WorkOrder::CIRCUIT)
            && within(self.test_over, WorkOrder::TEST_OVER)
            && within(self.test_hold, WorkOrder::TEST_HOLD)
            && within(self.oil_extra, WorkOrder::OIL_EXTRA)
    }

    /// As they are stored.
    pub fn encode(&self) -> [u8; PRESETS_BYTES] {
        let mut to = Writer::<PRESETS_BYTES>::new();
        let time = |time: Option<Millis>| time.map_or(NONE, |time| time.0.cast_signed());
        to.byte(VERSION);
        to.int(self.charge.map_or(NONE, |mass| mass.0));
        to.int(time(self.evacuate));
        to.int(self.depth.map_or(NONE, |pressure| pressure.0));
        to.int(time(self.leak_hold));
        to.int(self.circuit.map_or(NONE, |volume| volume.0));
        to.int(self.test_over.map_or(NONE, |pressure| pressure.0));
        to.int(time(self.test_hold));
        to.int(self.oil_extra.map_or(NONE, |mass| mass.0));
        to.byte(self.oil_replace.map_or(NO_CHOICE, u8::from));
        let side = self.sides.and_then(|side| SIDES.iter().position(|one| *one == side));
        to.byte(side.map_or(NO_CHOICE, |at| at as u8));
        // Spare: zeros until something needs them.
        to.put(&[0; 3]);
        to.done().0
    }

    /// What these bytes hold; `None` for what no station writes.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        (from.byte()? == VERSION).then_some(())?;
        let mut numbers = [None; 8];
        for one in &mut numbers {
            *one = Some(from.int()?).filter(|number| *number != NONE);
        }
        let [charge, evacuate, depth, leak_hold, circuit, test_over, test_hold, oil_extra] = numbers;
        let time = |number: Option<i32>| number.map(|number| Millis(number.cast_unsigned()));
        let oil_replace = match from.byte()? {
            NO_CHOICE => None,
            0 => Some(false),
            1 => Some(true),
            _ => return None,
        };
        let sides = match from.byte()? {
            NO_CHOICE => None,
            at => Some(*SIDES.get(usize::from(at))?),
        };
        let read = Self {
            charge: charge.map(Milligram),
            evacuate: time(evacuate),
            depth: depth.map(AbsPa),
            leak_hold: time(leak_hold),
            circuit: circuit.map(Microlitre),
            test_over: test_over.map(AbsPa),
            test_hold: time(test_hold),
            oil_extra: oil_extra.map(Milligram),
            oil_replace,
            sides,
        };
        let spare = from.take::<3>()?;
        (read.fit() && spare == [0; 3] && from.ended()).then_some(read)
    }
}
