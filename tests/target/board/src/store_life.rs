//! A life of the record store, the same on host and board: states stored, power cut in mid-write, started again. Its digest is of all that the
//! flash held and all that each start found.

use valvewright_core::kept::{Kept, Memory};
use valvewright_core::port::digest::Digest;
use valvewright_core::record::{Keeping, LOGS, LogPlan, Plan, WhenFull};
use valvewright_core::units::Milligram;

use super::nor::{Nor, PAGE};

const SIDE: u8 = 4;
const NO_LOG: LogPlan = LogPlan { pages: 0, longest: 1, when_full: WhenFull::Refuse };
/// The plan of the simulated workshop's store.
pub const PLAN: Plan = Plan { side: SIDE, logs: [NO_LOG; LOGS], rating: 10_000 };
/// Bytes of its part.
pub const BYTES: usize = 2 * SIDE as usize * PAGE;
/// Starts of a life.
pub const STARTS: u32 = 250;

/// What became of a life.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Life {
    /// Of cells and findings.
    pub digest: u64,
    /// States that were told as stored.
    pub stored: u32,
    /// Cuts that fell into a write.
    pub cuts: u32,
    /// Starts that found something else than the state told as stored, or the one that was being stored. There must be none.
    pub wrong: u32,
}

/// The next of a row of numbers (Numerical Recipes' constants, from memory).
fn draw(dice: &mut u32) -> u32 {
    *dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
    *dice >> 8
}

fn state(number: u32, dice: &mut u32) -> Kept {
    let drier = Milligram((draw(dice) & 0x3FF_FFFF) as i32);
    Kept { number, drier, pump_oil: draw(dice), clock: draw(dice), ..Kept::COMMISSIONED }
}

/// Lives it on this part.
pub fn live(nor: &mut Nor<'_>) -> Option<Life> {
    let mut life = Life { digest: 0, stored: 0, cuts: 0, wrong: 0 };
    let mut dice = 1;
    let (mut number, mut told, mut tried) = (1_u32, state(1, &mut dice), Kept::COMMISSIONED);
    let _commissioned = Keeping::commission(&mut *nor, &PLAN, &told).ok()?;
    for _ in 0..STARTS {
        nor.power_on();
        let (mut keeping, memory) = Keeping::mount(&mut *nor, &PLAN, 0).ok()?;
        let found = match memory {
            Memory::Sound(found) => found,
            Memory::Lost => Kept::COMMISSIONED,
        };
        life.wrong = life.wrong.wrapping_add(u32::from(found != told && found != tried));
        life.digest = life.digest.rotate_left(7) ^ Digest::of(&found);
        told = found;
        keeping.store_mut().flash_mut().cut(draw(&mut dice) & 0x1FF);
        for _ in 0..12 {
            number = number.wrapping_add(1);
            tried = state(number, &mut dice);
            if keeping.keep(&tried) == number {
                told = tried.clone();
                life.stored = life.stored.wrapping_add(1);
            }
            if !keeping.store_mut().flash_mut().is_on() {
                life.cuts = life.cuts.wrapping_add(1);
                break;
            }
            let _did = keeping.tidy();
        }
        life.digest = life.digest.rotate_left(7) ^ Digest::of(&nor.cells());
    }
    Some(life)
}
