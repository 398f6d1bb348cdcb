//! What faults do to the machine under the controller in a scan: it stalls, starts anew, miscounts, skips, repeats, is flooded.

use valvewright_core::talk::Command;

use super::Injector;
use super::slot::Slot;
use crate::fault::{Effect, Machine};
use crate::run::seams::Platform;

/// Scans in which a frame that takes so long is on its way, s over s.
fn scans(seconds: f64, scan_s: f64) -> u32 {
    (seconds / scan_s).round().clamp(0.0, 1e6) as u32
}

/// By how much the tick is ahead from the run's beginning, so that it passes its largest number when this fault is due.
pub(super) fn ahead(slot: &Slot) -> u32 {
    let wraps = slot.at_a_time() && slot.effects.contains(&Effect::Machine(Machine::Wraps));
    let due_ms = ((slot.origin + slot.begin().after) * 1e3).round().clamp(0.0, f64::from(u32::MAX)) as u32;
    if wraps { due_ms.wrapping_neg() } else { 0 }
}

/// What happens to the machine in the scan at `t`.
pub(super) fn platform(injector: &mut Injector, t: f64, scan_s: f64, command: &mut Option<Command>) -> Platform {
    let mut platform = Platform::default();
    let mut gained = 0.0;
    for slot in &mut injector.slots {
        if !slot.acts() {
            // A tick that ran wrong does not jump back when it runs right again.
            if slot.mark.is_finite() && is_rate(slot) {
                injector.ahead_ms = injector.ahead_ms.wrapping_add(gained_ms(slot.mark));
                slot.mark = f64::NAN;
            }
            continue;
        }
        for at in 0..slot.effects.len() {
            let Effect::Machine(what) = slot.effects[at] else { continue };
            act(slot, what, (t, scan_s), &mut platform, command);
        }
        if is_rate(slot) {
            gained += slot.mark;
        }
    }
    platform.ahead_ms = injector.ahead_ms.wrapping_add(gained_ms(gained));
    platform
}

fn is_rate(slot: &Slot) -> bool {
    matches!(slot.effects.first(), Some(Effect::Machine(Machine::TickRate(_))))
}

/// Milliseconds of so many seconds, negative ones counted backwards.
fn gained_ms(seconds: f64) -> u32 {
    ((seconds * 1e3).round() as i64) as u32
}

fn act(
    slot: &mut Slot,
    what: Machine,
    (t, scan_s): (f64, f64),
    platform: &mut Platform,
    command: &mut Option<Command>,
) {
    let since = t - slot.since();
    match what {
        Machine::Stalls => platform.stalled = true,
        Machine::Restarts => platform.restart |= since <= 0.0,
        Machine::WatchdogDead => platform.unwatched = true,
        Machine::TickRate(share) => slot.mark = share * (since + scan_s),
        Machine::Wraps => {}
        Machine::Jitters(most) => {
            if slot.wait > 0 {
                slot.wait -= 1;
                platform.stalled = true;
            } else {
                slot.wait = (slot.dice.share() * (most + 1.0)) as u32;
            }
        }
        Machine::LinkLate(seconds) => {
            if slot.wait > 0 {
                slot.wait -= 1;
                platform.stalled = true;
            } else {
                slot.wait = scans(seconds, scan_s);
            }
        }
        Machine::LinkLost(p) => platform.stalled |= slot.dice.share() < p,
        Machine::Skips(p) => platform.skipped |= slot.dice.share() < p,
        Machine::Repeats(p) => platform.repeated |= slot.dice.share() < p,
        Machine::LinkRepeats(_) => {}
        Machine::Burst(presses) => {
            if since < presses * scan_s - 1e-9 {
                // No question has the number 0: a press that means nothing.
                *command = Some(Command::Confirm(0));
            }
        }
    }
}
