//! Time from SysTick: milliseconds by interrupt, or a free-running counter that measures.

use core::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use cortex_m::peripheral::SYST;
use cortex_m::peripheral::syst::SystClkSource;
use valvewright_core::units::Instant;

/// SysTick's clock on this board, Hz.
pub const HERTZ: u32 = 25_000_000;
const FULL: u32 = 0x00FF_FFFF;

static MILLISECONDS: AtomicU32 = AtomicU32::new(0);
static FREE: AtomicBool = AtomicBool::new(false);

/// Counts a millisecond; the SysTick handler calls it.
pub fn count() {
    // No read-modify-write is needed: only the handler writes.
    MILLISECONDS.store(MILLISECONDS.load(Ordering::Relaxed).wrapping_add(1), Ordering::Relaxed);
}

/// The monotonic tick: ms since [`milliseconds`] was called, wrapping after 49.7 days.
pub fn now() -> Instant {
    Instant(MILLISECONDS.load(Ordering::Relaxed))
}

fn start(timer: &mut SYST, reload: u32) {
    timer.set_clock_source(SystClkSource::Core);
    timer.set_reload(reload);
    timer.clear_current();
    timer.enable_counter();
}

/// An interrupt each millisecond.
pub fn milliseconds(timer: &mut SYST) {
    start(timer, HERTZ / 1000 - 1);
    timer.enable_interrupt();
}

/// No interrupt: the full 24 bits, for [`ticks`].
pub fn free_running(timer: &mut SYST) {
    start(timer, FULL);
    FREE.store(true, Ordering::Relaxed);
}

/// Ticks of a free-running timer, counting up, 24 bits; 0 where the timer gives milliseconds.
pub fn ticks() -> u32 {
    if !FREE.load(Ordering::Relaxed) {
        return 0;
    }
    FULL.wrapping_sub(SYST::get_current()) & FULL
}

/// Ticks from one reading to a later one, right across one wrap.
pub fn between(before: u32, after: u32) -> u32 {
    after.wrapping_sub(before) & FULL
}
