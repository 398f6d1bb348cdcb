//! The least margin of one hazard so far, for who asks in every scan: no list is made.

use super::catalogue::Id;
use super::monitors::Hazards;

impl Hazards {
    /// Least distance from the accident so far, 1 at rest and 0 at its level or below; none where the plant gave no number for it.
    /// What was judged by now: a step of the plant in hand is not.
    pub fn worst(&self, id: Id) -> Option<f64> {
        let track = &self.tracks[id as usize];
        track.unseen.is_none().then_some(track.worst.1.margin)
    }
}
