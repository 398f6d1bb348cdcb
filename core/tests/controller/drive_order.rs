//! Drive and gate: order, dead times and delays hold whatever is asked, and no output stands against an inhibit.

use Actuator::*;
use valvewright_core::drive::*;
use valvewright_core::frame::{ACTUATOR_COUNT, Actuator, Actuators, Feeds};
use valvewright_core::interlock::Inhibits;
use valvewright_core::interlock::table::ROWS;
use valvewright_core::units::{Instant, Millis};

use crate::attacker::Numbers;

pub const SCAN: u32 = 50;
pub const FREE: Inhibits = Inhibits { off: Actuators::NONE, force: Actuators::NONE, drop: Feeds::NONE };

/// Drive, gate and the feedback of what was applied, as the loop has them.
pub struct Rig {
    pub drive: Drive,
    pub now: Instant,
    pub on: Actuators,
}

impl Rig {
    /// Stood idle for longer than every delay; starts short before the wrap of the tick.
    pub fn rested() -> Self {
        let mut rig = Self { drive: Drive::new(), now: Instant(u32::MAX - 201_000), on: Actuators::NONE };
        (0..4_000).for_each(|_| rig.step(&[], &FREE));
        rig
    }
    pub fn step(&mut self, want: &[Actuator], inhibits: &Inhibits) {
        self.now = self.now.after(Millis(SCAN));
        let requested = self.drive.sequence(self.now, Actuators::of(want), inhibits, self.on);
        self.on = gate(requested, inhibits);
    }
    /// Scans times scan time until the output is as asked.
    pub fn until(&mut self, want: &[Actuator], one: Actuator, state: bool) -> u32 {
        let scans = (1..10_000).find(|_| {
            self.step(want, &FREE);
            self.on.has(one) == state
        });
        (scans.expect("never happens") - 1) * SCAN
    }
}

fn forbidden_pair_on(on: Actuators) -> Option<&'static str> {
    FORBIDDEN.iter().find(|(a, b, _)| on.has(*a) && on.has(*b)).map(|(_, _, why)| *why)
}

/// The list itself, so that a pair cannot get lost in an edit.
#[test]
fn forbidden_pairs_are_the_eight_of_the_design() {
    let tags: Vec<String> = FORBIDDEN.iter().map(|(a, b, _)| format!("{}+{}", a.tag(), b.tag())).collect();
    assert_eq!(tags.join(" "), "XV-5+XV-6 XV-5+XV-3 XV-3+XV-6 XV-9+XV-5 XV-9+XV-6 XV-9+XV-3 XV-8+XV-3 XV-7+XV-4");
}

#[test]
fn opposite_opens_only_after_the_dead_time() {
    for (a, b, _) in FORBIDDEN {
        for (first, second) in [(*a, *b), (*b, *a)] {
            let mut rig = Rig::rested();
            let with_pump = |x| [x, P1];
            (0..100).for_each(|_| rig.step(&with_pump(first), &FREE));
            assert!(rig.on.has(first), "{}", first.tag());
            assert_eq!(rig.until(&with_pump(second), first, false), 0, "{} shuts at once", first.tag());
            let gap = rig.until(&with_pump(second), second, true) + SCAN;
            assert!(
                (DEAD_TIME.0..=DEAD_TIME.0 + 2 * SCAN).contains(&gap),
                "{} to {}: {gap} ms",
                first.tag(),
                second.tag()
            );
        }
    }
}

#[test]
fn contradicting_request_opens_neither() {
    for (a, b, _) in FORBIDDEN {
        let mut rig = Rig::rested();
        (0..200).for_each(|_| rig.step(&[*a, *b, P1, K1], &FREE));
        assert!(!rig.on.has(*a) && !rig.on.has(*b) && rig.on.has(K1));
    }
}

#[test]
fn compressor_starts_behind_its_discharge_valve_and_stops_before_it() {
    let mut rig = Rig::rested();
    let run = [K1, Xv1, Xv2, Xv3, Xv4, C1];
    rig.until(&run, Xv4, true);
    let lead = rig.until(&run, C1, true) + SCAN;
    assert!((DISCHARGE_LEAD.0..=DISCHARGE_LEAD.0 + 2 * SCAN).contains(&lead), "{lead} ms");
    (0..100).for_each(|_| rig.step(&run, &FREE));
    rig.step(&[K1], &FREE);
    assert!(!rig.on.has(Xv3) && rig.on.has(C1) && rig.on.has(Xv4), "first the inlet");
    assert!(rig.until(&[K1], C1, false) <= SCAN, "then the compressor");
    let lag = rig.until(&[K1], Xv4, false) + SCAN;
    assert!((DISCHARGE_LAG.0..=DISCHARGE_LAG.0 + 2 * SCAN).contains(&lag), "{lag} ms");
}

#[test]
fn compressor_without_its_discharge_valve_never_starts() {
    let mut rig = Rig::rested();
    (0..1_000).for_each(|_| rig.step(&[K1, C1, Xv3], &FREE));
    assert!(!rig.on.has(C1));
}

/// Taking XV-4 away takes the compressor with it in the same scan, minimum time or not.
#[test]
fn inhibited_discharge_valve_stops_the_compressor_at_once() {
    let mut rig = Rig::rested();
    rig.until(&[Xv4, C1], C1, true);
    rig.step(&[Xv4, C1], &Inhibits { off: Actuators::of(&[Xv4]), force: Actuators::NONE, drop: Feeds::NONE });
    assert_eq!(rig.on, Actuators::NONE);
}

/// The same for the pump and its valve, even in the valve's shortest open time and by an inhibit no row of ours makes.
#[test]
fn inhibited_pump_shuts_its_valve_at_once() {
    let mut rig = Rig::rested();
    rig.until(&[Xv6, P1], Xv6, true);
    rig.step(&[Xv6, P1], &Inhibits { off: Actuators::of(&[P1]), force: Actuators::NONE, drop: Feeds::NONE });
    assert_eq!(rig.on, Actuators::NONE);
}

#[test]
fn pump_leads_its_valve_and_outlasts_it() {
    let mut rig = Rig::rested();
    rig.until(&[Xv6, P1], P1, true);
    let lead = rig.until(&[Xv6, P1], Xv6, true) + SCAN;
    assert!((PUMP_LEAD.0..=PUMP_LEAD.0 + 2 * SCAN).contains(&lead), "{lead} ms");
    assert_eq!(rig.until(&[], Xv6, false), SCAN, "one scan of shortest open time, being dated one scan late");
    let lag = rig.until(&[], P1, false) + SCAN;
    assert!((PUMP_LEAD.0..=PUMP_LEAD.0 + 2 * SCAN).contains(&lag), "{lag} ms");
}

#[test]
fn vacuum_valve_does_not_open_over_a_standing_pump() {
    let mut rig = Rig::rested();
    (0..1_000).for_each(|_| rig.step(&[Xv6], &FREE));
    assert!(!rig.on.has(Xv6));
}

#[test]
fn motors_start_one_after_the_other() {
    let mut rig = Rig::rested();
    let want = [Xv4, C1, P1, H1, H2];
    let mut starts = Vec::new();
    for k in 0..600 {
        let before = rig.on;
        rig.step(&want, &FREE);
        let started = rig.on.without(before).and(Actuators::of(&[C1, P1, H1, H2]));
        assert!(started.0.count_ones() <= 1);
        if !started.is_empty() {
            starts.push(k * SCAN);
        }
    }
    assert_eq!(starts.len(), 4);
    assert!(starts.windows(2).all(|w| w[1] - w[0] >= STAGGER.0), "{starts:?}");
}

#[test]
fn short_request_still_runs_a_motor_for_its_shortest_time() {
    let mut rig = Rig::rested();
    rig.until(&[P1], P1, true);
    let ran = rig.until(&[], P1, false) + SCAN;
    assert!((MOTOR_MIN_ON.0..=MOTOR_MIN_ON.0 + 2 * SCAN).contains(&ran), "{ran} ms");
}

/// Unknown history counts as "stopped just now": after power-on the delay runs in full.
#[test]
fn restart_delay_runs_from_power_on_too() {
    let mut rig = Rig { drive: Drive::new(), now: Instant(0), on: Actuators::NONE };
    assert_eq!(rig.drive.ready_in(rig.now), RESTART_DELAY);
    rig.step(&[], &FREE);
    let shown = rig.drive.ready_in(rig.now);
    let waited = rig.until(&[Xv4, C1], C1, true);
    assert!((RESTART_DELAY.0 - SCAN..=RESTART_DELAY.0 + SCAN).contains(&waited), "{waited} ms");
    assert_eq!(shown, RESTART_DELAY);
    rig.step(&[Xv4, C1], &FREE);
    assert_eq!(rig.drive.ready_in(rig.now), Millis::ZERO);
}

/// A stop long ago does not look like a fresh one when the tick comes round again after 49.7 days.
#[test]
fn long_rest_is_not_mistaken_for_a_short_one_after_the_wrap() {
    let mut rig = Rig { drive: Drive::new(), now: Instant(0), on: Actuators::NONE };
    rig.step(&[], &FREE);
    let dated = rig.now;
    // One scan an hour stands in for the 86 million that a real rest would have.
    while rig.now.since(dated).0 < u32::MAX - 3_600_000 {
        rig.now = rig.now.after(Millis(3_600_000));
        rig.step(&[], &FREE);
    }
    let same_tick_one_round_later = dated.after(Millis(1));
    assert_eq!(rig.drive.ready_in(same_tick_one_round_later), Millis::ZERO);
}

#[test]
fn gate_takes_away_what_is_inhibited_and_adds_what_is_forced() {
    for requested in 0..=Actuators::ALL.0 {
        let inhibits = Inhibits { off: Actuators::of(&[Xv3, C1, P1]), force: Actuators::SAFE, drop: Feeds::NONE };
        let out = gate(Actuators(requested), &inhibits);
        assert_eq!(out.0, requested & !inhibits.off.0 | inhibits.force.0);
    }
}

/// Inhibits as the table can make them: none, one row tripped, or any set of rows tripped and any set withheld.
fn inhibits(n: &mut Numbers) -> Inhibits {
    match n.below(9) {
        0..=5 => FREE,
        6 | 7 => {
            let row = &ROWS[n.below(ROWS.len() as u32) as usize];
            Inhibits { off: row.trip.inhibits, force: row.trip.forces, drop: Feeds::NONE }
        }
        _ => ROWS.iter().fold(FREE, |mut out, row| {
            if n.one_in(2) {
                out = Inhibits {
                    off: out.off.or(row.trip.inhibits),
                    force: out.force.or(row.trip.forces),
                    drop: Feeds::NONE,
                };
            }
            if n.one_in(2) {
                out.off = out.off.or(row.withholds);
            }
            out
        }),
    }
}

/// Wishes near what phases ask for, and wild ones.
fn wants(n: &mut Numbers) -> Actuators {
    let phases = [
        Actuators::of(&[K1, Xv1, Xv2, Xv3, Xv4, C1]),
        Actuators::of(&[K1, Xv1, Xv2, Xv6, P1]),
        Actuators::of(&[K1, Xv2, Xv5, Xv10]),
        Actuators::of(&[K1, Xv1, Xv9]),
        Actuators::of(&[K1, Xv8]),
        Actuators::of(&[K1, Xv7, H1, H2]),
        Actuators::of(&[K1]),
    ];
    if n.one_in(3) { Actuators(n.next() as u16 & Actuators::ALL.0) } else { n.pick(&phases) }
}

/// Drawn from a fixed series: wishes, inhibits and times, from any start of the tick.
/// Shows LC4.
#[test]
fn laws_hold_for_any_wishes_inhibits_and_times() {
    for seed in 0..300 {
        let mut n = Numbers(seed);
        let (mut drive, mut twin) = (Drive::new(), Drive::new());
        let (mut now, mut on) = (Instant(n.next() as u32), Actuators::NONE);
        // All counted from the outputs themselves, in milliseconds: since when each has been as it is.
        let mut age = [0u64; ACTUATOR_COUNT];
        for _ in 0..1 + n.below(60) {
            let (want, inhibits, scans) = (wants(&mut n), inhibits(&mut n), 1 + n.below(80));
            let step = if n.one_in(4) { 1 + n.below(5_000) } else { SCAN };
            for _ in 0..scans {
                now = now.after(Millis(step));
                let requested = drive.sequence(now, want, &inhibits, on);
                assert_eq!(requested, twin.sequence(now, want, &inhibits, on), "seed {seed}");
                let out = gate(requested, &inhibits);
                age.iter_mut().for_each(|a| *a += u64::from(step));

                assert_eq!(forbidden_pair_on(out), None, "seed {seed}");
                assert!(out.and(inhibits.off).without(inhibits.force).is_empty(), "seed {seed}");
                assert!(inhibits.force.without(out).is_empty(), "seed {seed}");
                assert!(!out.has(C1) || out.has(Xv4), "seed {seed}: compressor against a shut valve");
                assert!(!out.has(Xv6) || out.has(P1), "seed {seed}: open way into a standing pump");
                let (opened, closed) = (out.without(on), on.without(out));
                assert!(!opened.has(C1) || age[C1 as usize] >= u64::from(RESTART_DELAY.0), "seed {seed}");
                assert!(!opened.has(C1) || age[Xv4 as usize] >= u64::from(DISCHARGE_LEAD.0), "seed {seed}");
                assert!(!opened.has(Xv6) || age[P1 as usize] >= u64::from(PUMP_LEAD.0), "seed {seed}");
                let motors = opened.and(Actuators::of(&[C1, P1, H1, H2])).0.count_ones();
                assert!(motors <= 1, "seed {seed}: motors in one scan");
                let first = if on.has(H1) { H1 } else { H2 };
                let alone = on.has(first) && age[first as usize] >= u64::from(HEATER_LEAD.0);
                let proven = on.has(H1) && on.has(H2) || alone;
                assert!(!(out.has(H1) && out.has(H2)) || proven, "seed {seed}: a contactor was not seen to break");
                for (a, b, why) in FORBIDDEN {
                    for (one, other) in [(*a, *b), (*b, *a)] {
                        let apart = !on.has(other) && age[other as usize] >= u64::from(DEAD_TIME.0);
                        assert!(!opened.has(one) || apart, "seed {seed}: {why}");
                    }
                }
                for one in Actuator::ALL {
                    if opened.has(one) || closed.has(one) {
                        age[one as usize] = 0;
                    }
                }
                on = out;
            }
        }
        assert_eq!(drive, twin, "seed {seed}");
    }
}

/// The times are of the design, and each has a reason beside it: a change of one has to be meant.
#[test]
fn the_times_of_the_drive_are_those_of_the_design() {
    let waits = [DEAD_TIME, DISCHARGE_LEAD, DISCHARGE_LAG, PUMP_LEAD, VALVE_MIN, STAGGER, HEATER_LEAD];
    assert_eq!(waits.map(|time| time.0), [150, 300, 500, 2_000, 50, 250, 20_000]);
    assert_eq!([MOTOR_MIN_ON.0, MOTOR_MIN_OFF.0], [2_000, 2_000]);
    assert_eq!(RESTART_DELAY.0, 180_000);
}
