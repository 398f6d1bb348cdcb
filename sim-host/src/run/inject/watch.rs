//! When a fault begins and ends: times, phases, steps, notices, rows, conditions.

use valvewright_core::order::PhaseKind;
use valvewright_core::talk::Notice;

use super::Injector;
use super::memory::{HALF, Heard};
use super::slot::{Slot, Stand};
use crate::fault::{End, When};
use crate::logic::View;

/// What a run shows to those who wait for something.
pub(in crate::run) struct Now<'a> {
    pub(in crate::run) t: f64,
    pub(in crate::run) phase: Option<PhaseKind>,
    pub(in crate::run) step: &'static str,
    /// What a condition may look at, but for what was told.
    pub(in crate::run) view: View<'a>,
}

impl Injector {
    /// Hears a notice and its id; it counts in the next scan.
    pub(in crate::run) fn hear(&mut self, notice: &Notice, id: &'static str) {
        self.heard.told.push(*notice);
        self.heard.notices.push(id);
        if let Notice::Tripped(row, _) = notice {
            self.heard.rows.push(row.as_str());
        }
    }

    /// Moves each fault on. Returns those that begin and those that end in this scan, by their places.
    pub(super) fn turn(&mut self, now: &Now<'_>) -> (Vec<usize>, Vec<usize>) {
        let heard = &mut self.heard;
        heard.began = now.phase.filter(|phase| heard.phase != Some(*phase));
        heard.ended = heard.phase.filter(|phase| now.phase != Some(*phase));
        heard.came_to = heard.step != now.step || heard.began.is_some();
        (heard.phase, heard.step) = (now.phase, now.step);
        let asks = self.slots.iter().any(Slot::asks);
        let listed = self.slots.iter().filter(|slot| asks && slot.is_listed());
        let acting: Vec<bool> = listed.map(Slot::acts).collect();
        let told = std::mem::take(&mut heard.told);
        let view = View { notices: &told, faults: &acting, ..now.view };
        let (mut begin, mut end) = (Vec::new(), Vec::new());
        for (place, slot) in self.slots.iter_mut().enumerate() {
            if slot.stand == Stand::Waiting && set_off(slot, heard, now, &view) {
                slot.stand = Stand::Due(now.t + slot.begin().after);
            }
            if matches!(slot.stand, Stand::Due(due) if now.t >= due - HALF) {
                slot.comes(now.t);
                begin.push(place);
            } else if slot.acts() && is_over(slot, heard, now, &view) {
                slot.goes(now.t);
                end.push(place);
            }
        }
        heard.notices.clear();
        heard.rows.clear();
        (begin, end)
    }
}

fn set_off(slot: &mut Slot, heard: &Heard, now: &Now<'_>, view: &View<'_>) -> bool {
    if now.t < slot.origin - HALF {
        return false;
    }
    match &slot.begin().when {
        When::Job => true,
        When::Phase(kind) => heard.began == Some(*kind),
        When::Step(kind, step) => now.phase == Some(*kind) && now.step == step && heard.came_to,
        When::Notice(id) => heard.notices.iter().any(|one| one == id),
        When::Row(row) => heard.rows.iter().any(|one| one == row),
        When::Holds(_) => slot.asks[0].as_mut().is_some_and(|one| one.holds(view)),
    }
}

fn is_over(slot: &mut Slot, heard: &Heard, now: &Now<'_>, view: &View<'_>) -> bool {
    match &slot.planned.end {
        End::Never | End::After(_) | End::At(_) => now.t >= slot.next() - HALF,
        End::PhaseEnds(kind) => heard.ended == Some(*kind),
        End::Notice(id) => heard.notices.iter().any(|one| one == id),
        End::Row(row) => heard.rows.iter().any(|one| one == row),
        End::Holds(_) => slot.asks[1].as_mut().is_some_and(|one| one.holds(view)),
    }
}
