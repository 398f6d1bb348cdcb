//! What faults do to the machine under the controller in a scan: it stalls, starts anew, miscounts, skips, repeats, is flooded; and what
//! its own checks find of that.
//!
//! A machine that stands still for longer than its hardware holds outputs is started anew by its watchdog, unless that is dead.

use valvewright_core::frame::{SelfCheck, SelfChecks};
use valvewright_core::kept::Boot;
use valvewright_core::talk::Command;

use super::Injector;
use super::slot::Slot;
use crate::controller::HARDWARE_HOLDS;
use crate::fault::{Effect, Image, Machine};
use crate::run::seams::Platform;

/// A march over the data memory comes to any word within this time, s (own choice: inside the catalogue's 0.5 s).
const MARCH: f64 = 0.4;

/// Presses that wait at most before the next is refused, as in the core's own inbox for boards.
const WAITING: f64 = 4.0;

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

/// A scan as the machine sees it.
struct Scan<'a> {
    t: f64,
    scan_s: f64,
    platform: &'a mut Platform,
    command: &'a mut Option<Command>,
    /// It stands still by itself, not for want of a line.
    stands: bool,
}

impl Scan<'_> {
    fn fails(&mut self, check: SelfCheck) {
        self.platform.failed = self.platform.failed.or(SelfChecks::of(&[check]));
    }
}

/// What happens to the machine in the scan at `t`.
pub(super) fn platform(injector: &mut Injector, t: f64, scan_s: f64, command: &mut Option<Command>) -> Platform {
    let mut platform = Platform::default();
    let mut gained = 0.0;
    let mut scan = Scan { t, scan_s, platform: &mut platform, command, stands: false };
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
            match slot.effects[at] {
                Effect::Machine(what) => act(slot, what, &mut scan),
                Effect::Shorted(one) => scan.platform.stray = scan.platform.stray.with(one),
                Effect::Crossed(one) => scan.platform.crossed = scan.platform.crossed.with(one),
                Effect::Image(Image::Stale(every)) => {
                    let fresh = slot.mark.is_nan() || t - slot.mark >= every;
                    slot.mark = if fresh { t } else { slot.mark };
                    scan.platform.stale |= !fresh;
                }
                Effect::Image(Image::StuckBit(_)) if t - slot.since() >= MARCH => scan.fails(SelfCheck::Memory),
                _ => {}
            }
        }
        if is_rate(slot) {
            gained += slot.mark;
        }
    }
    let stands = scan.stands;
    platform.ahead_ms = injector.ahead_ms.wrapping_add(gained_ms(gained));
    injector.watchdog(stands, scan_s, &mut platform);
    platform
}

impl Injector {
    /// The watchdog starts a machine anew that stands for too long.
    fn watchdog(&mut self, stands: bool, scan_s: f64, platform: &mut Platform) {
        self.stood = if stands { self.stood + scan_s } else { 0.0 };
        platform.stalled |= stands;
        let bites = self.stood > f64::from(HARDWARE_HOLDS.0) * 1e-3 + 1e-9 && !platform.unwatched;
        if bites {
            self.stood = 0.0;
            platform.stalled = false;
            platform.restart = Some(Boot::Watchdog);
            for slot in self.slots.iter_mut().filter(|slot| slot.acts()) {
                // A loop that never ends is left by a start.
                if slot.effects.contains(&Effect::Machine(Machine::Stalls)) {
                    slot.mark = 0.0;
                }
                slot.wait = 0;
            }
        }
    }
}

fn is_rate(slot: &Slot) -> bool {
    matches!(slot.effects.first(), Some(Effect::Machine(Machine::TickRate(_))))
}

/// Milliseconds of so many seconds, negative ones counted backwards.
fn gained_ms(seconds: f64) -> u32 {
    ((seconds * 1e3).round() as i64) as u32
}

fn act(slot: &mut Slot, what: Machine, scan: &mut Scan<'_>) {
    let since = scan.t - slot.since();
    match what {
        Machine::Stalls => scan.stands |= slot.mark.is_nan(),
        Machine::Restarts => {
            if since <= 0.0 {
                scan.platform.restart = Some(Boot::Watchdog);
                scan.fails(SelfCheck::Stack);
            }
        }
        Machine::WatchdogDead => {
            scan.platform.unwatched = true;
            // It is tried at each start.
            if scan.t <= 0.0 {
                scan.fails(SelfCheck::Watchdog);
            }
        }
        Machine::ClockOff(seconds) => {
            scan.platform.clock_off_s = scan.platform.clock_off_s.wrapping_add(seconds.round() as i32);
        }
        Machine::ClockStands => {
            let stood = scan.t.floor() - slot.since().floor();
            scan.platform.clock_off_s = scan.platform.clock_off_s.wrapping_sub(stood as i32);
        }
        Machine::CodeHarmed(found) => {
            if since >= found {
                scan.fails(SelfCheck::Code);
            }
        }
        Machine::TickRate(share) => slot.mark = share * (since + scan.scan_s),
        Machine::Wraps => {}
        Machine::Jitters(most) => {
            if slot.wait > 0 {
                slot.wait -= 1;
                scan.stands = true;
            } else {
                slot.wait = (slot.dice.share() * (most + 1.0)) as u32;
            }
        }
        Machine::LinkLate(seconds) => {
            if slot.wait > 0 {
                slot.wait -= 1;
                scan.platform.stalled = true;
            } else {
                slot.wait = scans(seconds, scan.scan_s);
            }
        }
        Machine::LinkLost(p) => scan.platform.stalled |= slot.dice.share() < p,
        Machine::Skips(p) => flow(slot, p, scan, |platform| platform.skipped = true),
        Machine::Repeats(p) => flow(slot, p, scan, |platform| platform.repeated = true),
        Machine::LinkRepeats(_) => {}
        Machine::Burst(presses) => {
            if since < presses * scan.scan_s - 1e-9 {
                // No question has the number 0: a press that means nothing.
                *scan.command = Some(Command::Confirm(0));
                if since >= WAITING * scan.scan_s {
                    scan.fails(SelfCheck::Queue);
                }
            }
        }
    }
}

/// The program takes a wrong turn in this scan with this probability; its own marks tell it in the next one that is done.
fn flow(slot: &mut Slot, p: f64, scan: &mut Scan<'_>, wrong: impl Fn(&mut Platform)) {
    if slot.wait > 0 {
        scan.fails(SelfCheck::Flow);
    }
    if slot.dice.share() < p {
        slot.wait = 1;
        wrong(scan.platform);
    } else {
        slot.wait = 0;
    }
}
