//! Records and items of a workshop on a store: services, events, settings, operators, presets, vehicles, counters, and the service that runs.
//!
//! Promises: an item that can't be believed is told as damaged, never as absent. A service that runs is an item until it is in the log, so that power
//! that goes leaves it there; it is in the log once. Services are refused when there is no room; of events the oldest page is given up.

use embedded_storage::nor_flash::NorFlash;

use super::event::{EVENT_BYTES, Event};
use super::logs::LogId;
use super::meter::Meter;
use super::presets::Presets;
use super::roster::Roster;
use super::service::{SERVICE_BYTES, Service};
use super::settings::Settings;
use super::store::Store;
use super::vehicle::Vehicle;
use super::words::{LogPlan, MOST, Refusal, WhenFull};

/// Keys of the items; 1 is the controller's own state.
pub mod key {
    /// [`super::Settings`].
    pub const SETTINGS: u8 = 2;
    /// [`super::Roster`].
    pub const OPERATORS: u8 = 3;
    /// [`super::Presets`].
    pub const PRESETS: u8 = 4;
    /// [`super::Meter`].
    pub const METER: u8 = 5;
    /// The [`super::Service`] that runs.
    pub const RUNNING: u8 = 6;
    /// Vehicles of the workshop's own: the first of [`OWN`] keys.
    pub const FIRST_OWN: u8 = 0x10;
    /// How many: with the recent ones, what the sides of a small store hold beside the rest (own choice).
    pub const OWN: u8 = 24;
    /// Vehicles that were served lately: the first of [`RECENT`] keys.
    pub const FIRST_RECENT: u8 = 0x28;
    /// How many (own choice: a week of a small workshop, at one or two a day).
    pub const RECENT: u8 = 8;
}

/// The log of services on so many pages.
pub const fn services_plan(pages: u16) -> LogPlan {
    LogPlan { pages, longest: SERVICE_BYTES as u8, when_full: WhenFull::Refuse }
}

/// The log of events on so many pages. What is marked as exported in it may be given up: see [`Store::note_event`].
pub const fn events_plan(pages: u16) -> LogPlan {
    LogPlan { pages, longest: EVENT_BYTES as u8, when_full: WhenFull::OverExported }
}

/// What an item says.
#[derive(Clone, PartialEq, Eq, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Item<T> {
    /// It was never put, or was taken away.
    Absent,
    /// This.
    Sound(T),
    /// It was put and can't be believed, or no program that is known wrote it.
    Damaged,
}

impl<T> Item<T> {
    /// What it says; where it says nothing, what holds then, and whether it is damaged.
    pub fn or(self, usual: T) -> (T, bool) {
        match self {
            Self::Sound(value) => (value, false),
            Self::Absent => (usual, false),
            Self::Damaged => (usual, true),
        }
    }
}

impl<F: NorFlash> Store<F> {
    fn item<T>(&mut self, key: u8, decode: fn(&[u8]) -> Option<T>) -> Result<Item<T>, Refusal> {
        let mut bytes = [0; MOST];
        Ok(match self.get(key, &mut bytes) {
            Ok(None | Some(0)) => Item::Absent,
            Ok(Some(length)) => bytes.get(..length).and_then(decode).map_or(Item::Damaged, Item::Sound),
            Err(Refusal::Lost) if self.found() != super::words::Found::Lost => Item::Damaged,
            Err(other) => return Err(other),
        })
    }

    /// Settings.
    ///
    /// # Errors
    /// The store is blank or lost.
    pub fn settings(&mut self) -> Result<Item<Settings>, Refusal> {
        self.item(key::SETTINGS, Settings::decode)
    }

    /// Operators.
    ///
    /// # Errors
    /// As [`Store::settings`].
    pub fn roster(&mut self) -> Result<Item<Roster>, Refusal> {
        self.item(key::OPERATORS, Roster::decode)
    }

    /// Presets.
    ///
    /// # Errors
    /// As [`Store::settings`].
    pub fn presets(&mut self) -> Result<Item<Presets>, Refusal> {
        self.item(key::PRESETS, Presets::decode)
    }

    /// Counters.
    ///
    /// # Errors
    /// As [`Store::settings`].
    pub fn meter(&mut self) -> Result<Item<Meter>, Refusal> {
        self.item(key::METER, Meter::decode)
    }

    /// A vehicle by its key.
    ///
    /// # Errors
    /// As [`Store::settings`].
    pub fn vehicle(&mut self, key: u8) -> Result<Item<Vehicle>, Refusal> {
        self.item(key, Vehicle::decode)
    }

    /// The service that runs, or ran when power went.
    ///
    /// # Errors
    /// As [`Store::settings`].
    pub fn running(&mut self) -> Result<Item<Service>, Refusal> {
        self.item(key::RUNNING, Service::decode)
    }

    /// Keeps the service that runs, as far as it has come.
    ///
    /// # Errors
    /// As [`Store::put`].
    pub fn keep_running(&mut self, service: &Service) -> Result<(), Refusal> {
        self.put(key::RUNNING, &service.encode())
    }

    /// Takes an item away.
    ///
    /// # Errors
    /// As [`Store::put`].
    pub fn take_away(&mut self, key: u8) -> Result<(), Refusal> {
        self.put(key, &[])
    }

    /// The number that the next service gets.
    ///
    /// # Errors
    /// As [`Store::holding`].
    pub fn next_service(&mut self) -> Result<u32, Refusal> {
        self.holding(LogId::Services).map(|holding| holding.next.max(1))
    }

    /// Puts a service that has ended into the log, if it is not there already, and forgets that it runs. Its number is told. Whatever power does
    /// in between, the next call finds out how far it came.
    ///
    /// # Errors
    /// [`Refusal::Full`]: export services and let go of them. Until it is `Ok` the service stays what runs.
    pub fn close_service(&mut self, service: &Service) -> Result<u32, Refusal> {
        let last = self.holding(LogId::Services)?.next.saturating_sub(1);
        let there = match self.service(last) {
            Ok(Some(before)) => before.number == service.number,
            Ok(None) | Err(Refusal::Lost) => false,
            Err(other) => return Err(other),
        };
        let number = if there { last } else { self.append_to(LogId::Services, &service.encode())? };
        self.take_away(key::RUNNING)?;
        Ok(number)
    }

    /// A service by its number; `None` if it is not kept or not yet there.
    ///
    /// # Errors
    /// [`Refusal::Lost`] if it was there and can't be believed.
    pub fn service(&mut self, number: u32) -> Result<Option<Service>, Refusal> {
        let mut bytes = [0; SERVICE_BYTES];
        match self.read_from(LogId::Services, number, &mut bytes)? {
            None => Ok(None),
            Some(length) => bytes.get(..length).and_then(Service::decode).map(Some).ok_or(Refusal::Lost),
        }
    }

    /// An event by its number, as [`Store::service`].
    ///
    /// # Errors
    /// As [`Store::service`].
    pub fn event(&mut self, number: u32) -> Result<Option<Event>, Refusal> {
        let mut bytes = [0; EVENT_BYTES];
        match self.read_from(LogId::Events, number, &mut bytes)? {
            None => Ok(None),
            Some(length) => bytes.get(..length).and_then(Event::decode).map(Some).ok_or(Refusal::Lost),
        }
    }

    /// Puts an event into the log and tells its number. Where the log is full the oldest page is given up: an event is for whoever looks
    /// for a fault, and no law wants it kept.
    ///
    /// # Errors
    /// As [`Store::append_to`], but for [`Refusal::Full`].
    pub fn note_event(&mut self, event: &Event) -> Result<u32, Refusal> {
        let bytes = event.encode();
        match self.append_to(LogId::Events, &bytes) {
            Err(Refusal::Full) => {
                let holding = self.holding(LogId::Events)?;
                self.mark_exported(LogId::Events, holding.next.saturating_sub(1))?;
                self.append_to(LogId::Events, &bytes)
            }
            done => done,
        }
    }
}
