//! What the controller finds out about its own machine: in time, and nothing of what is sound.

use valvewright_core::frame::{Actuator, Actuators, Feed, Feeds, Machine, SelfCheck, SelfChecks};
use valvewright_core::machine::{MachineFacts, MachineWatch};
use valvewright_core::units::Millis;

use crate::attacker::Numbers;

/// A board whose tick, oscillator and clock run at these many parts per thousand of the true rate.
struct Board {
    watch: MachineWatch,
    told: Machine,
    true_ms: u64,
    rates: [u64; 2],
    clock_off: i64,
    on: Actuators,
    dropped: Feeds,
}

/// KT-1 at the start of a test.
const CLOCK: u32 = 800_000_000;

impl Board {
    fn new() -> Self {
        let watch = MachineWatch::waking(CLOCK - 3_600);
        let on = Actuators::SAFE;
        let told = Machine { clock: CLOCK, coils: on, ..Machine::default() };
        let mut board = Self { watch, told, true_ms: 0, rates: [1_000; 2], clock_off: 0, on, dropped: Feeds::NONE };
        board.scan(50);
        board
    }
    /// One scan after so many true milliseconds.
    fn scan(&mut self, ms: u64) -> MachineFacts {
        let [tick, beat] = self.rates;
        let before = self.true_ms;
        self.true_ms += ms;
        let part = |rate: u64| self.true_ms * rate / 1_000 - before * rate / 1_000;
        self.told.sequence = self.told.sequence.wrapping_add(1);
        self.told.beat = self.told.beat.wrapping_add(part(beat) as u16);
        self.told.clock = (i64::from(CLOCK) + (self.true_ms / 1_000) as i64 + self.clock_off) as u32;
        self.told.coils = self.dropped.leave(self.on);
        self.step(part(tick) as u32)
    }
    fn step(&mut self, dt: u32) -> MachineFacts {
        self.watch.step(Millis(dt), &self.told, self.on, self.dropped);
        *self.watch.facts()
    }
    /// True milliseconds until something is found, `None` after `limit`.
    fn time_to(&mut self, found: impl Fn(&MachineFacts) -> bool, limit: u64) -> Option<u64> {
        (1..=limit / 50).find(|_| found(&self.scan(50))).map(|scans| scans * 50)
    }
}

const WELL: MachineFacts = MachineFacts {
    stale_image: false,
    tick_wrong: false,
    clock_doubtful: false,
    coils_wrong: false,
    check_failed: false,
};

#[test]
fn a_sound_machine_is_accused_of_nothing_for_hours_and_over_every_wrap() {
    let mut board = Board::new();
    for scan in 0..200_000_u32 {
        board.on = if scan % 7 == 0 { Actuators::ALL } else { Actuators::SAFE };
        assert_eq!(board.scan(50), WELL, "scan {scan}");
    }
}

/// Oscillators of one percent each, scans of any length up to two seconds.
#[test]
fn two_oscillators_of_a_percent_are_one_time() {
    let mut draw = Numbers(95);
    for _ in 0..200 {
        let mut board = Board::new();
        board.rates = [990 + u64::from(draw.below(20)), 991 + u64::from(draw.below(19))];
        for _ in 0..200 {
            let ms = 10 + u64::from(draw.below(1_990));
            assert!(!board.scan(ms).tick_wrong, "{:?}, {ms} ms", board.rates);
        }
    }
}

/// F095: half to double.
/// Shows F095.
#[test]
fn a_tick_that_is_five_percent_off_is_found_within_a_second() {
    for rate in (500..=950).chain(1_050..=2_000).step_by(25) {
        let mut board = Board::new();
        board.rates = [rate, 1_000];
        let found = board.time_to(|found| found.tick_wrong, 2_100);
        assert!(found.is_some_and(|ms| ms <= 1_050), "{rate} permille: {found:?}");
    }
}

/// F095: a tick that stands is the worst of them: every wait then lasts for ever.
#[test]
fn a_tick_that_stands_is_found_by_the_other_oscillator() {
    let mut board = Board::new();
    board.rates = [0, 1_000];
    assert_eq!(board.time_to(|found| found.tick_wrong, 2_000), Some(500));
}

/// F106.
/// Shows F106.
#[test]
fn an_old_image_of_the_inputs_is_found_in_three_scans() {
    let mut board = Board::new();
    board.scan(50);
    assert_eq!([board.step(50), board.step(50), board.step(50)].map(|found| found.stale_image), [false, false, true]);
    assert!(!board.scan(50).stale_image, "a fresh one is fresh");
}

/// F062, F063: a driver that is shorted, and one that drives another coil.
/// Shows F062, F063.
#[test]
fn a_coil_that_carries_what_it_was_not_told_is_found_in_two_scans() {
    for (on, off) in [(Actuator::Xv6, None), (Actuator::Xv2, Some(Actuator::Xv1))] {
        let mut board = Board::new();
        board.on = off.map_or(Actuators::SAFE, |one| Actuators::SAFE.with(one));
        board.told.coils = board.on.with(on).without(off.map_or(Actuators::NONE, |one| Actuators::of(&[one])));
        assert_eq!([board.step(50), board.step(50)].map(|found| found.coils_wrong), [false, true]);
    }
}

#[test]
fn coils_behind_an_open_relay_are_expected_dead() {
    let mut board = Board::new();
    (board.on, board.dropped) = (Actuators::ALL, Feeds::of(&[Feed::Valves]));
    assert_eq!((board.scan(50), board.scan(50), board.scan(50)), (WELL, WELL, WELL));
    board.told.coils = board.told.coils.with(Actuator::Xv1);
    board.step(50);
    assert!(board.step(50).coils_wrong, "a welded relay shows by its coils");
}

/// F092, F093: a jump doubts the date once, and the new date is what counts from then on.
/// Shows F092, F093, H19.
#[test]
fn a_jump_of_the_wall_clock_is_told_once() {
    for jump in [121, 3_600, 315_000_000, -1, -3_600, -315_000_000_i64] {
        let mut board = Board::new();
        for _ in 0..100 {
            board.scan(50);
        }
        board.clock_off = jump;
        assert!(board.time_to(|found| found.clock_doubtful, 1_000).is_some(), "{jump} s");
        assert_eq!(board.time_to(|found| found.clock_doubtful, 3_600_000), None, "{jump} s: told once");
    }
    let mut board = Board::new();
    board.scan(5_000);
    board.clock_off = 110;
    assert_eq!(board.time_to(|found| found.clock_doubtful, 60_000), None, "a clock that is set by two minutes");
}

/// F094; and a clock that nobody ever set says nothing.
/// Shows F094.
#[test]
fn a_wall_clock_that_stands_is_told_after_half_a_minute() {
    let mut board = Board::new();
    let mut found = None;
    for scan in 1..=1_200_u32 {
        board.told.sequence = board.told.sequence.wrapping_add(1);
        board.told.beat = board.told.beat.wrapping_add(50);
        if board.step(50).clock_doubtful {
            found = found.or(Some(scan * 50));
        }
    }
    assert!(found.is_some_and(|ms| (30_000..=31_000).contains(&ms)), "{found:?}");

    let mut never = MachineWatch::default();
    for _ in 0..2_000 {
        never.step(Millis(50), &Machine { coils: Actuators::SAFE, ..Machine::default() }, Actuators::SAFE, Feeds::NONE);
        assert!(!never.facts().clock_doubtful);
    }
}

/// After a night without power only a clock that went back is doubted.
#[test]
fn a_clock_older_than_the_last_stored_time_is_doubted_at_power_on() {
    for (kept, doubtful) in [(CLOCK - 86_400, false), (CLOCK, false), (CLOCK + 1, true), (0, false)] {
        let mut watch = MachineWatch::waking(kept);
        watch.step(Millis(0), &Machine { clock: CLOCK, ..Machine::default() }, Actuators::NONE, Feeds::NONE);
        assert_eq!(watch.facts().clock_doubtful, doubtful, "kept {kept}");
    }
}

/// F098-F103, F082.
#[test]
fn a_failed_self_check_is_told_in_its_scan() {
    for check in SelfCheck::ALL {
        let mut board = Board::new();
        board.told.failed = SelfChecks::NONE.with(check);
        assert!(board.scan(50).check_failed && board.watch.failed().has(check));
    }
}
