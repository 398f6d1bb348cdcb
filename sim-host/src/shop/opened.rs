//! A store file, opened: every look at it, and every change, goes through here.

use std::io::ErrorKind;
use std::path::Path;

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use valvewright_core::kept::{Kept, Memory};
use valvewright_core::record::event::{Changed, Event, What};
use valvewright_core::record::roster::{Role, Roster};
use valvewright_core::record::settings::{Clock, Settings};
use valvewright_core::record::workshop::Item;
use valvewright_core::record::{Refusal, Store as Records};

use super::Trouble;
use crate::flash::Image;
use crate::papers::date;
use crate::run::store::{Chip, Store};

/// No image is longer, bytes: that of the part of this program has some 180 000.
const LONGEST: u64 = 4 << 20;

/// An opened store.
pub struct Shop {
    store: Store,
    memory: Memory,
    now: u32,
    /// What was found damaged, with what holds in its place.
    damaged: Vec<String>,
}

/// A moment of KT-1; nothing for a clock that was not set.
pub fn moment(clock: u32) -> Option<NaiveDateTime> {
    let epoch = NaiveDate::from_ymd_opt(2000, 1, 1)?.and_time(chrono::NaiveTime::MIN);
    epoch.checked_add_signed(TimeDelta::seconds(i64::from(clock))).filter(|_| clock != 0)
}

/// It in words.
pub fn when(clock: u32) -> String {
    moment(clock).map_or_else(|| "clock not set".to_owned(), date::words)
}

/// The first second of a day by KT-1; nothing for a day that it does not reach.
pub fn clock_of(day: NaiveDate) -> Option<u32> {
    let epoch = NaiveDate::from_ymd_opt(2000, 1, 1)?;
    u32::try_from((day - epoch).num_seconds()).ok()
}

/// The image of a file; nothing where there is none.
///
/// # Errors
/// It can't be read, or is no image.
pub fn read(path: &Path) -> Result<Option<Image>, Trouble> {
    let name = path.display();
    let help =
        "give the file that `valvewright run SCENARIO --store FILE` has made; a file that does not exist is made by it";
    let size = match std::fs::metadata(path) {
        Ok(facts) if facts.is_dir() => return Err(Trouble::new(format!("{name} is a folder"), help)),
        Ok(facts) => facts.len(),
        Err(wrong) if wrong.kind() == ErrorKind::NotFound => return Ok(None),
        Err(wrong) => return Err(Trouble::new(format!("{name} cannot be read: {wrong}"), help)),
    };
    if size > LONGEST {
        return Err(Trouble::new(format!("{name} is no image of a store: {size} bytes, at most {LONGEST}"), help));
    }
    let bytes = std::fs::read(path).map_err(|wrong| Trouble::new(format!("{name} cannot be read: {wrong}"), help))?;
    Image::from_bytes(&bytes).map(Some).map_err(|wrong| Trouble::new(format!("{name} {wrong}"), help))
}

/// Writes an image whole or not at all: what is in the file stays until the new one is there.
///
/// # Errors
/// It can't be written.
pub fn write(path: &Path, image: &Image) -> Result<(), Trouble> {
    let failed = |wrong: std::io::Error| {
        Trouble::new(format!("{} cannot be written: {wrong}", path.display()), "the file is as it was")
    };
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    let beside = Path::new(&beside);
    std::fs::write(beside, image.to_bytes()).map_err(failed)?;
    std::fs::rename(beside, path).map_err(failed)
}

impl Shop {
    /// Opens an image, as a start does.
    ///
    /// # Errors
    /// It is of another part.
    pub fn open(image: &Image) -> Result<Self, Trouble> {
        let other =
            || Trouble::new("the image is of another part than this program's", "use the program that wrote it");
        let (store, memory) = Store::from_image(image).ok_or_else(other)?;
        Ok(Self::new(store, memory, image.now))
    }

    /// A store that is at hand.
    pub fn new(store: Store, memory: Memory, now: u32) -> Self {
        let mut shop = Self { store, memory, now, damaged: Vec::new() };
        if shop.memory == Memory::Lost {
            shop.damaged.push("the controller's state: all limits count as expired".to_owned());
        }
        shop.look_for_damage();
        shop
    }

    fn look_for_damage(&mut self) {
        let told = [
            (self.look(|all| all.settings().map(|one| one == Item::Damaged)), "settings: the usual ones hold"),
            (
                self.look(|all| all.roster().map(|one| one == Item::Damaged)),
                "operators: nobody is on the list until a supervisor is added",
            ),
            (self.look(|all| all.presets().map(|one| one == Item::Damaged)), "presets: none holds"),
            (self.look(|all| all.meter().map(|one| one == Item::Damaged)), "operating hours: they count from 0"),
        ];
        self.damaged.extend(told.into_iter().filter(|(is, _)| *is != Ok(false)).map(|(_, what)| what.to_owned()));
    }

    /// What was found damaged, with what holds in its place.
    pub fn damaged(&self) -> &[String] {
        &self.damaged
    }

    /// What the controller keeps; nothing where it is lost.
    pub const fn kept(&self) -> Option<&Kept> {
        match &self.memory {
            Memory::Sound(kept) => Some(kept),
            Memory::Lost => None,
        }
    }

    /// The part under it.
    pub const fn store(&self) -> &Store {
        &self.store
    }

    /// True time, s since 2000-01-01.
    pub const fn now(&self) -> u32 {
        self.now
    }

    /// What KT-1 shows now.
    pub fn clock(&self) -> u32 {
        match self.settings().clock {
            Clock::NotSet => 0,
            Clock::Offset(offset) => self.now.saturating_add_signed(offset),
        }
    }

    /// Looks at what is kept.
    pub fn look<T>(&self, work: impl FnOnce(&mut Records<Chip>) -> T) -> T {
        self.store.look(work)
    }

    /// Changes what is kept.
    ///
    /// # Errors
    /// What the store says of it.
    pub fn change<T>(
        &mut self,
        what: &str,
        work: impl FnOnce(&mut Records<Chip>) -> Result<T, Refusal>,
    ) -> Result<T, Trouble> {
        self.store.records(work).map_err(|why| Trouble::of_store(what, why))
    }

    /// The controller's state is another one from now on.
    ///
    /// # Errors
    /// The store does not take it, or it was lost.
    pub fn change_kept(&mut self, work: impl FnOnce(&mut Kept)) -> Result<(), Trouble> {
        let Memory::Sound(kept) = &mut self.memory else {
            return Err(Trouble::of_store("the controller's state", Refusal::Lost));
        };
        work(kept);
        kept.number = kept.number.wrapping_add(1);
        self.store.keep(kept);
        if self.store.stored() == kept.number {
            return Ok(());
        }
        Err(Trouble::of_store("the controller's state", Refusal::NotStored))
    }

    /// Notes that something was changed.
    ///
    /// # Errors
    /// The store does not take it.
    pub fn note(&mut self, what: What) -> Result<(), Trouble> {
        let clock = self.clock();
        self.change("the event", |all| all.note_event(&Event { clock, what })).map(|_| ())
    }

    /// Notes that the workshop's own was changed by this operator.
    ///
    /// # Errors
    /// As [`Shop::note`].
    pub fn changed(&mut self, what: Changed, operator: Option<u16>) -> Result<(), Trouble> {
        self.note(What::Changed(what, operator.unwrap_or(0)))
    }

    /// The settings that hold.
    pub fn settings(&self) -> Settings {
        self.look(|all| all.settings()).map(|item| item.or(Settings::default()).0).unwrap_or_default()
    }

    /// The list of operators that holds.
    pub fn roster(&self) -> Roster {
        self.look(|all| all.roster()).map(|item| item.or(Roster::default()).0).unwrap_or_default()
    }

    /// Lets a supervisor through.
    ///
    /// # Errors
    /// Who it is not, and what to do.
    pub fn supervisor(&self, operator: Option<u16>, what: &str) -> Result<u16, Trouble> {
        let roster = self.roster();
        let Some(number) = operator else {
            return Err(Trouble::new(format!("{what} needs a supervisor"), "say who you are with --operator NUMBER"));
        };
        match roster.get(number) {
            Some(one) if one.role == Role::Supervisor => Ok(number),
            Some(one) => Err(Trouble::new(
                format!("{what} needs a supervisor, and {} ({number}) is a technician", one.name),
                "ask a supervisor to do it",
            )),
            None if roster.all().is_empty() => Err(Trouble::new(
                format!("{what} needs a supervisor, and nobody is on the list of operators"),
                "add the first one: `valvewright station operators add NUMBER NAME supervisor --store FILE`",
            )),
            None => Err(Trouble::new(
                format!("{what} needs a supervisor, and nobody has the number {number}"),
                "`valvewright station operators list --store FILE` says who is on the list",
            )),
        }
    }

    /// As a file.
    pub fn image(&self) -> Image {
        self.store.image(self.now)
    }
}
