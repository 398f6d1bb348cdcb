//! Which inputs are bad, so that each is told once when it goes bad and once when it is sound again, with its reason.
//!
//! One input a scan: all of them in 0.9 s at 50 ms. Not told is what nothing came from yet, and TT-3 where there is none.

use crate::input::{Broken, Input, InputSet};
use crate::sense::{Quality, Readings};
use crate::talk::Notice;

#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Roll {
    turn: u8,
    bad: InputSet,
}

impl Roll {
    #[inline]
    pub(super) fn call(&mut self, r: &Readings) -> Option<Notice> {
        let Some(input) = Input::ALL.get(usize::from(self.turn)).copied() else {
            self.turn = 0;
            return None;
        };
        self.turn = self.turn.wrapping_add(1);
        let broken = match quality(r, input) {
            Quality::Bad(why) => Some(why),
            _ => None,
        };
        if broken.is_some() == self.bad.has(input) { None } else { Some(self.turned(input, broken)) }
    }

    #[cold]
    fn turned(&mut self, input: Input, broken: Option<Broken>) -> Notice {
        match broken {
            Some(why) => {
                self.bad = self.bad.with(input);
                Notice::Unsound(input, why)
            }
            None => {
                self.bad = self.bad.without(InputSet::of(&[input]));
                Notice::Sound(input)
            }
        }
    }
}

#[inline]
fn quality(r: &Readings, input: Input) -> Quality {
    match input {
        Input::Pt1 => r.pt1.quality,
        Input::Pt2 => r.pt2.quality,
        Input::Pt3 => r.pt3.quality,
        Input::Pt4 => r.pt4.quality,
        Input::Pt5 => r.pt5.quality,
        Input::Tt1 => r.tt1.quality,
        Input::Tt2 => r.tt2.quality,
        Input::Tt3 => r.tt3.quality,
        Input::Tt4 => r.tt4.quality,
        Input::At2 => r.at2.quality,
        Input::It1 => r.it1.quality,
        Input::St1 => r.st1.quality,
        Input::Et1 => r.et1.quality,
        Input::Et2 => r.et2.quality,
        Input::Wt1A => r.wt1a.mass.quality,
        Input::Wt1B => r.wt1b.mass.quality,
        Input::Wt2 => r.wt2.mass.quality,
        Input::Wt3 => r.wt3.mass.quality,
    }
}
