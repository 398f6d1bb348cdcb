//! The store: what a start finds, and items that are there twice before anybody is told so.

use embedded_storage::nor_flash::NorFlash;

use super::item::{self, GONE, Head, Place, Trust};
use super::log::Log;
use super::side::{ALL, DOUBT, Side, Told};
use super::words::{Found, KEYS, LOGS, LogPlan, MOST, Plan, Refusal, SIDE_MOST};

/// Items and logs on a flash. See [`crate::record`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Store<F> {
    pub(super) flash: F,
    pub(super) plan: Plan,
    pub(super) sides: [Side; 2],
    pub(super) logs: [Log; LOGS],
    /// The last number given to an item.
    pub(super) seq: u32,
    /// Bytes of all items as they stand.
    pub(super) live: u32,
    pub(super) found: Found,
    pub(super) mended: u16,
}

/// What both sides together say of a key.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Look {
    Absent,
    Lost,
    At(Place, Head),
}

fn checked<F: NorFlash>(flash: &F, plan: &Plan) -> Result<(), Refusal> {
    const {
        assert!(8 % F::WRITE_SIZE == 0, "program sizes of 1, 2, 4 and 8 bytes");
        assert!(4 % F::READ_SIZE == 0, "reads of 1, 2 and 4 bytes");
        assert!(
            F::ERASE_SIZE >= 1024 && F::ERASE_SIZE <= 8192 && F::ERASE_SIZE.is_multiple_of(8),
            "pages of 1 to 8 KiB"
        );
    }
    let logs = plan.logs.iter().fold(0_u64, |all, log| all.saturating_add(u64::from(log.pages)));
    let bytes = (2 * u64::from(plan.side)).saturating_add(logs).saturating_mul(F::ERASE_SIZE as u64);
    let good = (2..=SIDE_MOST).contains(&plan.side)
        && plan.logs.iter().all(|log| log.pages == 0 || log.pages >= 2 && (1..=MOST as u8).contains(&log.longest))
        && bytes <= flash.capacity() as u64
        && bytes <= u64::from(u32::MAX);
    if good { Ok(()) } else { Err(Refusal::Plan) }
}

impl<F: NorFlash> Store<F> {
    fn laid_out(flash: F, plan: &Plan) -> Self {
        let (sides, logs) = Self::places(plan);
        Self { flash, plan: *plan, sides, logs, seq: 0, live: 0, found: Found::Lost, mended: 0 }
    }

    pub(super) fn places(plan: &Plan) -> ([Side; 2], [Log; LOGS]) {
        let size = F::ERASE_SIZE as u32;
        let second = u32::from(plan.side).wrapping_mul(size);
        let sides = [Side::new(0, 0, plan.side, size), Side::new(1, second, plan.side, size)];
        let mut start = second.wrapping_mul(2);
        let logs = core::array::from_fn(|at| {
            let own = plan.logs.get(at).copied().unwrap_or(LogPlan::NONE);
            let log = Log::new((at as u8).wrapping_add(2), start, size, &own);
            start = start.wrapping_add(u32::from(own.pages).wrapping_mul(size));
            log
        });
        (sides, logs)
    }

    /// A start: looks at everything, mends what can be mended, and says what it found. Reading works whatever it is; only
    /// [`Found::Blank`] is a new store.
    ///
    /// # Errors
    /// [`Refusal::Plan`] and [`Refusal::TooNew`]; nothing was touched.
    pub fn mount(flash: F, plan: &Plan) -> Result<Self, Refusal> {
        checked(&flash, plan)?;
        let mut store = Self::laid_out(flash, plan);
        store.look_at_all()?;
        Ok(store)
    }

    /// As a start, with the flash in hand: for a part that did not answer for a while, which looks as if its pages had failed.
    ///
    /// # Errors
    /// [`Refusal::TooNew`]: another part was put in.
    pub fn look_again(&mut self) -> Result<(), Refusal> {
        (self.sides, self.logs) = Self::places(&self.plan);
        (self.seq, self.live, self.found) = (0, 0, Found::Lost);
        self.look_at_all()
    }

    fn look_at_all(&mut self) -> Result<(), Refusal> {
        let store = self;
        for side in &mut store.sides {
            *side = side.scan(&mut store.flash, true).map_err(Refusal::TooNew)?;
        }
        for log in &mut store.logs {
            log.scan(&mut store.flash).map_err(Refusal::TooNew)?;
        }
        let mut found = store.judge();
        if matches!(found, Found::Sound | Found::Partly | Found::Repaired) {
            store.seq = store.sides.iter().map(|side| side.next.saturating_sub(1)).max().unwrap_or(0);
            store.mend();
            if store.any_lost() {
                found = Found::Partly;
            }
            store.live = store.measure();
        }
        store.found = found;
        for at in 0..LOGS {
            let exported = store.exported_at(at);
            if let Some(log) = store.logs.get_mut(at) {
                log.hold_against(exported);
                if log.ailing && found != Found::Lost && found != Found::Blank {
                    store.found = Found::Partly;
                }
            }
        }
        Ok(())
    }

    fn judge(&mut self) -> Found {
        let [one, two] = &self.sides;
        if one.blank && two.blank && self.logs.iter().all(|log| log.is_blank(&mut self.flash)) {
            return Found::Blank;
        }
        if one.hole.min(two.hole) == ALL {
            return Found::Lost;
        }
        let same = one.next == two.next;
        let well = [one, two].iter().all(|side| !side.ailing && !side.junk && !side.old);
        if well && same { Found::Sound } else { Found::Repaired }
    }

    /// Brings both sides to the same: the worse one first, so that the better one is whole all the while. What can't be written now
    /// can still be read.
    fn mend(&mut self) {
        let [one, two] = &self.sides;
        let first = usize::from(two.hole > one.hole || two.hole == one.hole && two.ailing && !one.ailing);
        for role in [first, 1_usize.wrapping_sub(first)] {
            let Some(side) = self.sides.get(role) else { continue };
            let (behind, ill) = (side.next.saturating_sub(1) != self.seq, side.ailing || side.old);
            let junk = side.junk;
            let mended = if behind || ill {
                self.mended = self.mended.saturating_add(1);
                self.renew(role, self.seq)
            } else {
                Ok(())
            };
            if mended.is_ok() && (junk || ill) {
                self.erase_junk(role);
            }
            // The other side is touched only if this one is whole.
            if mended.is_err() {
                return;
            }
        }
    }

    /// Pages that were left half erased or half opened: they could read as something else at the next start.
    fn erase_junk(&mut self, role: usize) {
        if self.sides.get(role).is_some_and(|side| side.junk) {
            self.erase_all(role);
            if let Some(side) = self.sides.get_mut(role) {
                side.junk = false;
            }
        }
    }

    /// Whether anything is lost on both sides.
    fn any_lost(&mut self) -> bool {
        let mut keys = [0; 8];
        for side in &self.sides {
            side.keys(&mut self.flash, &mut keys);
        }
        self.told(DOUBT).iter().map(|told| told.hole).min() != Some(0)
            || each(&keys).any(|key| matches!(self.look(key), Look::Lost))
    }

    /// Bytes of all items.
    pub(super) fn measure(&mut self) -> u32 {
        let mut keys = [0; 8];
        for side in &self.sides {
            side.keys(&mut self.flash, &mut keys);
        }
        let mut sum = item::size(4);
        for key in each(&keys) {
            sum = sum.saturating_add(self.size_of(key));
        }
        sum
    }

    fn size_of(&mut self, key: u8) -> u32 {
        match self.look(key) {
            Look::At(_, head) => item::size(head.len),
            Look::Lost => item::size(GONE),
            Look::Absent => 0,
        }
    }

    fn told(&mut self, key: u8) -> [Told; 2] {
        let [one, two] = &self.sides;
        [one.find(&mut self.flash, key), two.find(&mut self.flash, key)]
    }

    /// The newest record of a key that can be believed, unless a newer one is known, or may be missing on both sides.
    pub(super) fn look(&mut self, key: u8) -> Look {
        let [one, two] = self.told(key);
        let best = match (one.best, two.best) {
            (Some(a), Some(b)) => Some(if b.1.seq > a.1.seq { b } else { a }),
            (a, b) => a.or(b),
        };
        if one.shaky || two.shaky || one.bad > 0 || two.bad > 0 {
            self.mended = self.mended.saturating_add(1);
            for (side, told) in self.sides.iter_mut().zip([one, two]) {
                side.ailing |= told.shaky || told.bad > 0;
            }
        }
        let newest = best.map_or(0, |(_, head)| head.seq);
        if one.bad.max(two.bad) > newest || one.hole.min(two.hole) > newest {
            return Look::Lost;
        }
        match best {
            None => Look::Absent,
            Some((_, head)) if head.len == GONE => Look::Lost,
            Some((place, head)) => Look::At(place, head),
        }
    }

    pub(super) fn usable(&self) -> Result<(), Refusal> {
        match self.found {
            Found::Blank => Err(Refusal::Blank),
            Found::Lost => Err(Refusal::Lost),
            Found::Sound | Found::Repaired | Found::Partly => Ok(()),
        }
    }

    /// Reads an item into `into` and tells its length; `None` if it was never put. What does not fit is cut off.
    ///
    /// # Errors
    /// [`Refusal::Lost`] if it can't be believed, never a default; [`Refusal::Blank`].
    pub fn get(&mut self, key: u8, into: &mut [u8]) -> Result<Option<usize>, Refusal> {
        self.usable()?;
        match self.look(key) {
            Look::Absent => Ok(None),
            Look::Lost => Err(Refusal::Lost),
            Look::At(place, head) => match item::value(&mut self.flash, place, &head, into) {
                Trust::None => Err(Refusal::Lost),
                Trust::Sound | Trust::Shaky => Ok(Some(usize::from(head.len))),
            },
        }
    }

    /// Stores an item. `Ok` means: it stands on both sides, was read back twice, and a scan as a start makes it finds just it.
    ///
    /// # Errors
    /// After any, the item is as it was or as it would have been, never a third thing.
    pub fn put(&mut self, key: u8, value: &[u8]) -> Result<(), Refusal> {
        if key >= KEYS {
            return Err(Refusal::Input);
        }
        self.put_any(key, value)
    }

    pub(super) fn put_any(&mut self, key: u8, value: &[u8]) -> Result<(), Refusal> {
        self.usable()?;
        if value.len() > MOST {
            return Err(Refusal::Input);
        }
        let live = self.live.saturating_sub(self.size_of(key)).saturating_add(item::size(value.len() as u8));
        if live > self.capacity() {
            return Err(if live > self.capacity_of(self.plan.side) { Refusal::Full } else { Refusal::WornOut });
        }
        for _ in 0..2 {
            self.seq = self.seq.saturating_add(1);
            let written = self.append(0, key, self.seq, value).and_then(|()| self.append(1, key, self.seq, value));
            if written.is_ok() && self.found_again(key, value) {
                self.live = live;
                return Ok(());
            }
            // Neither side is trusted as it is: the next attempt writes both anew.
            for side in &mut self.sides {
                side.fresh = false;
            }
            written?;
        }
        Err(Refusal::NotStored)
    }

    /// Whether a start would find this item, as it was just put, on both sides, and both sides as they are thought to be. Reading back
    /// what was written is not enough: what else stands in the flash may hide it (fault F091).
    fn found_again(&mut self, key: u8, value: &[u8]) -> bool {
        for role in 0..2 {
            let Some(side) = self.sides.get_mut(role) else { return false };
            let Ok(seen) = side.scan(&mut self.flash, false) else { return false };
            side.highest = side.highest.max(seen.highest);
            let same = (seen.generation, seen.end, seen.next, seen.hole) == (side.generation, side.end, side.next, 0);
            let told = seen.find(&mut self.flash, key);
            let just_it = told.best.is_some_and(|(place, head)| {
                head.seq == self.seq && head.crc == item::check(place, key, value.len() as u8, head.seq, value)
            });
            if !(same && just_it) {
                self.mended = self.mended.saturating_add(1);
                return false;
            }
        }
        true
    }

    /// Makes a new, empty store of whatever is there. For a new part, or on a supervisor's word and on record: all of it is gone.
    ///
    /// # Errors
    /// [`Refusal::WornOut`] if too few pages work. Cut off, it leaves a store that is lost, or a new one.
    pub fn commission(flash: F, plan: &Plan) -> Result<Self, Refusal> {
        checked(&flash, plan)?;
        let mut store = Self::laid_out(flash, plan);
        store.erase_sides();
        for log in &mut store.logs {
            log.erase_all(&mut store.flash);
        }
        store.begin(0)?;
        Ok(store)
    }

    /// What the start found.
    pub const fn found(&self) -> Found {
        self.found
    }

    /// The number of the last item stored: it only grows. Held against a counter that is not in this flash it tells an old image, or
    /// another part; the store alone can't (fault F089).
    pub const fn generation(&self) -> u32 {
        self.seq
    }

    /// The flash.
    pub const fn flash(&self) -> &F {
        &self.flash
    }

    /// The flash, for its driver's own needs. Whoever erases or programs through it ends all promises.
    pub const fn flash_mut(&mut self) -> &mut F {
        &mut self.flash
    }

    /// The flash back.
    pub fn release(self) -> F {
        self.flash
    }

    /// Up to which number a log was exported; 0 if that is not known, so that nothing is given up for it.
    pub(super) fn exported_at(&mut self, at: usize) -> u32 {
        let mut bytes = [0; 4];
        match self.get(KEYS.saturating_add(at as u8), &mut bytes) {
            Ok(Some(4)) => u32::from_le_bytes(bytes),
            _ => 0,
        }
    }
}

/// The keys whose bit is set.
fn each(keys: &[u32; 8]) -> impl Iterator<Item = u8> + use<> {
    let keys = *keys;
    (0..=u8::MAX).filter(move |key| {
        keys.get(usize::from(*key >> 5)).is_some_and(|word| word.wrapping_shr(u32::from(*key & 31)) & 1 == 1)
    })
}
