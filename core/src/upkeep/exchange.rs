//! The code of a new part: looked at, burnt, and only then the part's life given; each step only after the one before was read back from the store.
//!
//! Starts when: a code is typed while no order runs, nothing waits for the store, and no wait after wrong codes is left. Done when: the new life was
//! read back. Given up when: the code is refused, or the store does not answer in time. A try counts as wrong before it is looked at, so that
//! a power cut takes no guess back (H17); power that goes between code and life leaves the part worn and locked (I23) until another code comes.

use crate::kept::{Keeper, STORE_ANSWERS};
use crate::talk::{Notice, Notices};
use crate::token::used::Standing;
use crate::token::{Code, CodeFault, CodeKey, Draft, Kind, Part, Sealing, Typed, wait_after};
use crate::units::Millis;

/// What waits for the store.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Idle,
    /// The try is being counted.
    Counting(Part, Typed),
    /// It is being proven, a turn a scan: reading it is a turn of its own.
    Proving(Part, Draft),
    /// The code is being burnt.
    Burning(Part, Kind),
    /// The life is being given, or the record made one again.
    Giving(Part, Kind),
}

/// The exchange in hand.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Exchange {
    step: Step,
    /// How long the store has been waited for.
    since: Millis,
    /// How long no code is looked at yet.
    wait: Millis,
    /// The proof of the code that is looked at.
    sealing: Sealing,
}

impl Exchange {
    /// A start: a wait that power broke off begins anew, for nobody knows how long it was off.
    pub fn waking(keeper: &Keeper) -> Self {
        Self { wait: wait_after(keeper.kept().wrong_codes), ..Self::default() }
    }

    /// Whether one is in hand: no order begins meanwhile.
    pub fn busy(&self) -> bool {
        self.step != Step::Idle
    }

    /// How long no code is looked at yet.
    pub const fn wait(&self) -> Millis {
        self.wait
    }

    /// A code was typed for this part.
    ///
    /// # Errors
    /// [`CodeFault::Wait`].
    pub fn begin(&mut self, part: Part, typed: Typed, keeper: &mut Keeper) -> Result<(), CodeFault> {
        if self.wait != Millis(0) {
            return Err(CodeFault::Wait(self.wait));
        }
        keeper.count_code();
        // A proof that the store broke off was another code's.
        (self.step, self.since, self.sealing) = (Step::Counting(part, typed), Millis(0), Sealing::default());
        Ok(())
    }

    /// One scan. Returns the part that has its life now.
    pub fn step(&mut self, dt: Millis, keeper: &mut Keeper, key: &CodeKey, notices: &mut Notices) -> Option<Part> {
        self.wait = self.wait.minus(dt);
        if self.step == Step::Idle {
            return None;
        }
        let given = match self.step {
            Step::Giving(part, _) if keeper.is_stored() => Some(part),
            _ => None,
        };
        self.since = self.since.plus(dt);
        // A record that is lost is not written, so no try can be counted in it: each start waits before the first instead.
        let unwritten = matches!(self.step, Step::Counting(Part::Record, _) | Step::Proving(Part::Record, _));
        if keeper.is_stored() || unwritten {
            self.since = Millis(0);
            self.next(keeper, key, notices);
        } else if self.since > STORE_ANSWERS {
            self.give_up(keeper, notices);
        }
        given
    }

    /// The step before was read back.
    fn next(&mut self, keeper: &mut Keeper, key: &CodeKey, notices: &mut Notices) {
        self.step = match self.step {
            Step::Idle => Step::Idle,
            Step::Counting(part, typed) => match Draft::read(typed) {
                Ok(draft) => Step::Proving(part, draft),
                Err(fault) => self.refuse(part, fault, keeper, notices),
            },
            Step::Proving(part, draft) => match draft.proving(key, &mut self.sealing) {
                None => Step::Proving(part, draft),
                Some(proven) => match proven.and_then(|code| fits(part, code, keeper)) {
                    Ok((kind, serial)) if part == Part::Record => {
                        keeper.restore(serial);
                        Step::Giving(part, kind)
                    }
                    Ok((kind, serial)) => {
                        keeper.burn_code(kind, serial, part);
                        Step::Burning(part, kind)
                    }
                    Err(fault) => self.refuse(part, fault, keeper, notices),
                },
            },
            Step::Burning(part, kind) => {
                keeper.give_life(part);
                Step::Giving(part, kind)
            }
            Step::Giving(part, kind) => {
                keeper.life_stored();
                notices.push(Notice::Exchanged(part, kind == Kind::Release));
                Step::Idle
            }
        };
    }

    /// The store did not answer. What it does hold, nobody knows: a part whose code may be burnt counts as worn.
    fn give_up(&mut self, keeper: &mut Keeper, notices: &mut Notices) {
        match self.step {
            Step::Idle => {}
            // A restored record has every part worn as it is.
            Step::Counting(part, _) | Step::Proving(part, _) | Step::Giving(part @ Part::Record, _) => {
                notices.push(Notice::CodeRefused(part, CodeFault::NotStored));
            }
            Step::Burning(part, _) | Step::Giving(part, _) => {
                keeper.lock_part(part);
                notices.push(Notice::CodeRefused(part, CodeFault::NotStored));
            }
        }
        self.step = Step::Idle;
    }

    fn refuse(&mut self, part: Part, fault: CodeFault, keeper: &Keeper, notices: &mut Notices) -> Step {
        self.wait = wait_after(keeper.kept().wrong_codes);
        notices.push(Notice::CodeRefused(part, fault));
        Step::Idle
    }
}

/// Whether a proven code is one for this part, and not used.
fn fits(part: Part, code: Code, keeper: &Keeper) -> Result<(Kind, u32), CodeFault> {
    if code.kind != part.kind() && code.kind != Kind::Release {
        return Err(CodeFault::OtherKind(code.kind));
    }
    if part == Part::Record {
        // Nobody knows which were used: its own number becomes the floor.
        return Ok((code.kind, code.serial));
    }
    match keeper.used(code.kind).look(code.serial) {
        Standing::Fresh => Ok((code.kind, code.serial)),
        Standing::Used => Err(CodeFault::UsedBefore),
        Standing::TooOld => Err(CodeFault::TooOld),
    }
}
