//! What faults do to the flash that holds what a station keeps over a power cut: to its bits, its pages, its programs, and to its power.

use super::Injector;
use super::slot::Slot;
use crate::fault::{Effect, StoreFault};
use crate::flash::{Share, Worn};
use crate::run::store::Store;

/// How long the mains are off after a cut at a write, s (own choice).
const OFF: f64 = 10.0;
/// What erased cells read as.
const ERASED: u8 = 0xFF;
/// Bytes of a page.
const PAGE: usize = 2048;

fn of(slot: &Slot) -> Option<StoreFault> {
    slot.effects.iter().find_map(|one| if let Effect::Store(fault) = one { Some(*fault) } else { None })
}

impl Injector {
    /// Before the scan at `t`: the part is broken for what this scan writes, and mended where a fault has ended.
    pub(super) fn keep(&mut self, t: f64, store: &mut Store) {
        let ours = |slot: &Slot| of(slot).is_some() && (slot.acts() || slot.pressed.is_finite() && !slot.mended);
        if !self.slots.iter().any(ours) {
            return;
        }
        if store.is_off() {
            self.power_gone(t, store);
        }
        for slot in &mut self.slots {
            let Some(fault) = of(slot) else { continue };
            let begun = slot.pressed.is_finite();
            if slot.acts() && !begun {
                slot.pressed = t;
                slot.wait = store.writes() as u32;
                begins(slot, fault, store);
            }
            if slot.acts() {
                arms(slot, fault, store);
            } else if begun && !slot.mended {
                slot.mended = true;
                ends(slot, fault, store);
            }
        }
    }

    /// The part has lost its power in a write: with the mains, or by a dip that nobody else saw.
    fn power_gone(&mut self, t: f64, store: &mut Store) {
        let mains =
            self.slots.iter_mut().find(|slot| slot.acts() && matches!(of(slot), Some(StoreFault::CutAt { .. })));
        match mains {
            Some(slot) if slot.mark.is_nan() => slot.mark = t + OFF,
            Some(_) => {}
            None => store.chip_mut().power_on(),
        }
    }

    /// A start is about to read.
    pub(super) fn misread(&mut self, store: &mut Store) {
        for slot in self.slots.iter_mut().filter(|slot| slot.acts()) {
            if of(slot) == Some(StoreFault::Old)
                && let Some(old) = &self.copies.begin
            {
                // Whoever puts an old image back does so while the station is off.
                let image = old.chip().cells().held().to_vec();
                store.chip_mut().force(0, &image);
            }
        }
    }
}

/// What happens to the part when the fault begins.
fn begins(slot: &mut Slot, fault: StoreFault, store: &mut Store) {
    match fault {
        StoreFault::Flips { bits, both } => {
            for side in 0..=usize::from(both) {
                let place = store.place(side).unwrap_or_default();
                for bit in drawn(slot, bits, place.len() * 8) {
                    store.chip_mut().flip(place.start * 8 + bit);
                }
            }
        }
        StoreFault::Blank => {
            let page = store.place(0).unwrap_or_default().start / PAGE * PAGE;
            slot.blanked = store.chip().cells().held()[page..page + PAGE].to_vec();
            slot.place = page;
            store.chip_mut().force(page, &[ERASED; PAGE]);
        }
        StoreFault::Worn => {
            for page in Store::pages(0).take(2) {
                let erased = store.chip().wear()[page];
                store.chip_mut().wears(page, Worn { after: erased.saturating_sub(1), told: true });
            }
        }
        StoreFault::NoWrite => store.chip_mut().ignore(0, u64::MAX),
        StoreFault::Full => store.fill(),
        StoreFault::Unstable(share) => {
            let place = store.place(0).unwrap_or_default();
            for bit in drawn(slot, 1, place.len() * 8) {
                slot.place = place.start * 8 + bit;
                store.chip_mut().unsettle(slot.place, share);
            }
        }
        StoreFault::CutAt { write: 1, done } => store.cut_next(done, Share::Some),
        StoreFault::Torn(share) => store.cut_next(share, Share::Some),
        StoreFault::Phantom => {
            store.cut_next(0.2, Share::AllBut);
            store.cut_next(0.2, Share::Scattered);
        }
        StoreFault::CutAt { .. } | StoreFault::Old => {}
    }
}

/// A cut at a later write is planned when the one before it is done.
fn arms(slot: &mut Slot, fault: StoreFault, store: &mut Store) {
    if let StoreFault::CutAt { write, done } = fault
        && write > 1
        && !slot.armed
        && store.writes() as u32 >= slot.wait + write - 1
    {
        slot.armed = true;
        store.cut_next(done, Share::Some);
    }
}

/// What is as it was when the fault is over.
fn ends(slot: &mut Slot, fault: StoreFault, store: &mut Store) {
    match fault {
        StoreFault::Blank => {
            let (at, whole) = (slot.place, std::mem::take(&mut slot.blanked));
            // The cells have recovered, unless something was written over them.
            if store.chip().cells().held()[at..at + whole.len()].iter().all(|byte| *byte == ERASED) {
                store.chip_mut().force(at, &whole);
            }
        }
        StoreFault::Worn => Store::pages(0).take(2).for_each(|page| store.chip_mut().heals(page)),
        StoreFault::NoWrite => store.chip_mut().ignore(0, 0),
        StoreFault::Unstable(_) => store.chip_mut().unsettle(slot.place, 0.0),
        _ => {}
    }
}

/// Numbers below `all` that differ from each other, so that no bit flips back.
fn drawn(slot: &mut Slot, count: u32, all: usize) -> Vec<usize> {
    let mut done: Vec<usize> = Vec::new();
    while done.len() < (count as usize).min(all) {
        let at = ((slot.dice.share() * all as f64) as usize).min(all - 1);
        if !done.contains(&at) {
            done.push(at);
        }
    }
    done
}
