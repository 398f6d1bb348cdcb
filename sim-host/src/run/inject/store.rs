//! What faults do to the image that a station keeps over a power cut: its two copies as they are written and read.

use super::Injector;
use super::slot::Slot;
use crate::fault::{Effect, StoreFault};
use crate::run::store::Store;

/// How long the mains are off after a cut at a write, s (own choice).
const OFF: f64 = 10.0;
/// What erased cells read as.
const ERASED: u8 = 0xFF;

fn of(slot: &Slot) -> Option<StoreFault> {
    slot.effects.iter().find_map(|one| if let Effect::Store(fault) = one { Some(*fault) } else { None })
}

impl Injector {
    /// Before the scan at `t`: what was written in the last one comes out as faults have it.
    pub(super) fn keep(&mut self, t: f64, store: &mut Store) {
        if let Some(sound) = self.copies.sound.take() {
            store.put_back(&sound);
        }
        if !self.slots.iter().any(|slot| of(slot).is_some() && slot.concerns()) {
            self.copies.before = None;
            return;
        }
        let before = self.copies.before.take().unwrap_or_else(|| store.clone());
        let written = (store.writes() - before.writes()).min(2) as usize;
        for at in 0..self.slots.len() {
            let Some(fault) = of(&self.slots[at]) else { continue };
            let slot = &mut self.slots[at];
            if slot.acts() {
                let first = slot.wait == 0 && slot.pressed.is_infinite();
                if first {
                    slot.pressed = t;
                    begins(slot, fault, store, self.copies.begin.as_ref());
                }
                if written > 0 {
                    writes(slot, fault, t, written, store, &before);
                }
            } else if fault == StoreFault::Blank && !slot.blanked.is_empty() {
                // The cells have recovered, unless something was written over them.
                let whole = std::mem::take(&mut slot.blanked);
                if let Some(copy) = store.copies_mut().into_iter().find(|copy| is_erased(copy)) {
                    *copy = whole;
                }
            }
        }
        let unchanged = written == 0 && before == *store;
        self.copies.before = Some(if unchanged { before } else { store.clone() });
    }

    /// A start is about to read: what it reads wrong it reads wrong once.
    pub(super) fn misread(&mut self, store: &mut Store) {
        let sound = store.clone();
        let mut wrong = false;
        for slot in self.slots.iter_mut().filter(|slot| slot.acts()) {
            let Some(StoreFault::Unstable(p)) = of(slot) else { continue };
            for byte in store.copies_mut().into_iter().flatten() {
                if slot.dice.share() < p {
                    *byte ^= 1 << ((slot.dice.share() * 8.0) as u32).min(7);
                    wrong = true;
                }
            }
        }
        self.copies.sound = wrong.then_some(sound);
    }
}

fn is_erased(copy: &[u8]) -> bool {
    copy.iter().all(|byte| *byte == ERASED)
}

/// What happens to the copies when the fault begins.
fn begins(slot: &mut Slot, fault: StoreFault, store: &mut Store, begin: Option<&Store>) {
    match fault {
        StoreFault::Flips { bits, both } => {
            for age in 0..=usize::from(both) {
                flip(slot, bits, store.copy_mut(age));
            }
        }
        StoreFault::Blank => {
            let copy = store.copy_mut(0);
            slot.blanked.clone_from(copy);
            copy.fill(ERASED);
        }
        StoreFault::Old => begin.into_iter().for_each(|old| store.put_back(old)),
        _ => {}
    }
}

/// Bits that differ from each other, so that none flips back.
fn flip(slot: &mut Slot, bits: u32, copy: &mut [u8]) {
    let all = copy.len() * 8;
    let mut done: Vec<usize> = Vec::new();
    while done.len() < (bits as usize).min(all) {
        let at = ((slot.dice.share() * all as f64) as usize).min(all - 1);
        if !done.contains(&at) {
            copy[at / 8] ^= 1 << (at % 8);
            done.push(at);
        }
    }
}

/// What becomes of a write; `slot.wait` counts them from the fault's begin.
fn writes(slot: &mut Slot, fault: StoreFault, t: f64, written: usize, store: &mut Store, before: &Store) {
    let earlier = slot.wait;
    slot.wait += written as u32;
    let cut = |copy: &mut Vec<u8>, done: f64| copy.truncate((copy.len() as f64 * done) as usize);
    match fault {
        StoreFault::CutAt { write, done } if earlier < write && slot.wait >= write => {
            // Power went during this write: it is done so far, and nothing is written after it.
            cut(store.copy_mut(0), done);
            slot.mark = t + OFF;
        }
        StoreFault::Torn(share) if earlier == 0 => cut(store.copy_mut(0), share),
        StoreFault::Phantom if earlier < 3 => cut(store.copy_mut(0), 0.5),
        // Writes go to the two places in turn.
        StoreFault::Worn if store.writes().is_multiple_of(2) => flip(slot, 1, store.copy_mut(0)),
        StoreFault::NoWrite => store.put_back(before),
        _ => {}
    }
}
