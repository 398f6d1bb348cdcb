//! The margin of each hazard at the moment, beside the least so far; where the hazard cannot come as things stand, why.
//!
//! Promises: it is what the monitor itself finds for the last scan, the step of the plant in hand among it; looking changes nothing.

use crate::plant::Plant;

use super::by_control::Restart;
use super::catalogue::{CATALOGUE, HAZARD_COUNT, Id};
use super::monitors::{CHARGED, Hazards};

/// How far a hazard is at the moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Present {
    /// 1 at rest, one half at the alert level, 0 at the accident level and below 0 beyond it.
    Margin(f64),
    /// It cannot come now, and why.
    Idle(&'static str),
    /// Nothing is known of it, and why.
    Unknown(&'static str),
}

impl Hazards {
    /// Every hazard as it stands in the last scan, in the order of the catalogue; `plant` is that of the run.
    pub fn present(&self, plant: &Plant) -> [Present; HAZARD_COUNT] {
        let mut now = self.clone();
        now.close(plant, self.last);
        CATALOGUE.each_ref().map(|one| now.stands(one.id))
    }

    fn stands(&self, id: Id) -> Present {
        if let Some(why) = self.not_judged(id) {
            return Present::Unknown(why);
        }
        let track = &self.tracks[id as usize];
        if track.unseen.is_some() {
            return Present::Unknown("the plant gave no number for it");
        }
        let margin = track.last.margin;
        // Whatever moved it is told as a margin.
        match self.idle(id).filter(|_| margin >= 1.0) {
            Some(why) => Present::Idle(why),
            None => Present::Margin(margin),
        }
    }

    /// What it takes to come and is not there.
    fn idle(&self, id: Id) -> Option<&'static str> {
        let (at, states) = (&self.at, &self.states);
        let unless = |is: bool, why: &'static str| (!is).then_some(why);
        match id {
            Id::H03 => Some("no pipe that is shut at all its ends is half full of liquid"),
            Id::H06 => unless(self.vehicle.target.is_some() && states.charged > CHARGED, "nothing has been charged"),
            Id::H08 => unless(at.on(valvewright_core::frame::Actuator::Xv6), "XV-6 is shut"),
            Id::H10 => unless(at.charges() && at.coupled, "no way is open from the vessel to the vehicle"),
            Id::H11 => unless(self.vehicle.other_oil, "the new oil is of the kind that the vehicle takes"),
            Id::H12 => unless(at.oil_film && at.coupled, "no oil stands in the identifier"),
            Id::H13 => Some("neither XV-7 nor XV-8 has let anything out in the last minute"),
            Id::H14 => unless(self.leak_by.is_some() || at.acting != at.told, "everything stands as it is told"),
            Id::H15 => unless(at.charges() || at.recovers(), "nothing is charged or recovered by the scale"),
            Id::H17 => Some("judged when a code is taken: none was taken twice"),
            Id::H18 => Some("judged at a start: no counter has fallen"),
            Id::H20 => unless(at.works(), "nothing is on that could be left on"),
            Id::H21 => unless(at.works(), "nothing is on that a loop guards"),
            Id::H22 => unless(at.works(), "nothing is on that wants air"),
            Id::H24 => unless(states.restart != Restart::default(), "the station has not come back from a restart"),
            Id::H25 if !at.coupled => Some("no coupler is on"),
            Id::H25 => Some("judged at the moment when a coupler comes off"),
            _ => None,
        }
    }
}
