//! A vehicle of the book: what it needs, by its own number. An item of the store for each, fixed places, little-endian.
//!
//! Promises: what no station writes is not read; names are the workshop's, no make and no plate is asked for.

use heapless::String;

use super::bytes::{Reader, Writer};
use crate::fluid::Refrigerant;
use crate::order::{Sides, WorkOrder};
use crate::units::{Microlitre, Milligram};

/// The layout that is written; another one is not read.
const VERSION: u8 = 1;
/// How many bytes a vehicle has.
pub const VEHICLE_BYTES: usize = 46;
/// Letters, and bytes, of a name (own choice: a line of a display).
pub const VEHICLE_NAME: usize = 24;

/// Kind of oil in a vehicle's compressor.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Oil {
    /// Polyalkylene glycol, ISO VG 46.
    Pag46,
    /// Polyalkylene glycol, ISO VG 100.
    Pag100,
    /// Polyol ester, ISO VG 68.
    Poe68,
}

impl Oil {
    /// Every one, in the order of its bytes.
    pub const ALL: [Self; 3] = [Self::Pag46, Self::Pag100, Self::Poe68];
}

/// A vehicle.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Vehicle {
    /// Its number in the book, from 1; none is given twice.
    pub number: u32,
    /// See [`vehicle_name`].
    pub name: String<VEHICLE_NAME>,
    /// On its label.
    pub refrigerant: Refrigerant,
    /// Charge on its label, [`WorkOrder::CHARGE`].
    pub charge: Milligram,
    /// Inner volume of its circuit, [`WorkOrder::CIRCUIT`].
    pub circuit: Microlitre,
    /// In its compressor.
    pub oil: Oil,
    /// Its compressor is driven by high voltage.
    pub high_voltage: bool,
    /// Couplers that it has.
    pub sides: Sides,
    /// KT-1 of its last service; 0 for none, or where the clock was not set.
    pub served: u32,
}

/// A name of 1 to [`VEHICLE_NAME`] bytes, without control characters; `None` for another one.
pub fn vehicle_name(text: &str) -> Option<String<VEHICLE_NAME>> {
    let fits = !text.is_empty() && text.trim() == text && !text.chars().any(char::is_control);
    String::try_from(text).ok().filter(|_| fits)
}

/// Sides in the order of their bytes.
const SIDES: [Sides; 3] = [Sides::Both, Sides::High, Sides::Low];
/// Refrigerants in the order of their bytes.
const REFRIGERANTS: [Refrigerant; 2] = [Refrigerant::R1234yf, Refrigerant::R134a];

impl Vehicle {
    /// As it is stored.
    pub fn encode(&self) -> [u8; VEHICLE_BYTES] {
        let place = |found: Option<usize>| found.unwrap_or(0) as u8;
        let mut to = Writer::<VEHICLE_BYTES>::new();
        to.byte(VERSION);
        to.word(self.number);
        to.word(self.served);
        to.byte(place(REFRIGERANTS.iter().position(|one| *one == self.refrigerant)));
        to.int(self.charge.0);
        to.int(self.circuit.0);
        to.put(&[self.oil as u8, u8::from(self.high_voltage)]);
        to.byte(place(SIDES.iter().position(|one| *one == self.sides)));
        to.text(&self.name, VEHICLE_NAME);
        to.done().0
    }

    /// What these bytes hold; `None` for what no station writes.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        let mut from = Reader(bytes);
        (from.byte()? == VERSION).then_some(())?;
        let (number, served) = (from.word()?, from.word()?);
        let refrigerant = from.one_of(&REFRIGERANTS)?;
        let (charge, circuit) = (Milligram(from.int()?), Microlitre(from.int()?));
        let (oil, high_voltage, sides) = (from.one_of(&Oil::ALL)?, from.flag()?, from.one_of(&SIDES)?);
        let name = vehicle_name(from.text(VEHICLE_NAME)?)?;
        let read = Self { number, name, refrigerant, charge, circuit, oil, high_voltage, sides, served };
        (number > 0 && read.fits() && from.ended()).then_some(read)
    }

    /// Whether an order for it is inside its ranges.
    pub fn fits(&self) -> bool {
        let (charge, circuit) = (WorkOrder::CHARGE, WorkOrder::CIRCUIT);
        (charge.0..=charge.1).contains(&self.charge) && (circuit.0..=circuit.1).contains(&self.circuit)
    }
}
