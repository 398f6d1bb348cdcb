//! Rows about hoses and line: liquid between shut valves (I04), a coupler or hose that comes open, and when couplers may come off (I31).

use valvewright_core::drive::LINE_LAG;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators, Lamp, Switches};
use valvewright_core::guard::Guards;
use valvewright_core::interlock::{RowId, Watch};
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::sense::{Broken, Quality, Readings};
use valvewright_core::talk::{Command, Notice, Refusal};
use valvewright_core::units::*;

use crate::bench::{Bench, order};
use crate::charging::{Charging, alone, honest};
use crate::connection::{coupled, evacuated, move_couplers, oil};
use crate::interlock_bench::calm;
use crate::rows::tripped;

const HS1: u16 = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;
const LINE: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]);
const FILL: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv5, Actuator::Xv10]);
const PULL: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv3, Actuator::Xv4, Actuator::C1]);

/// A charge with a hundred grams gone.
fn charging() -> Charging {
    let mut charging = Charging::ordered(alone(500));
    assert!(charging.play(300, honest, |c| c.gone > 100.0), "{:?}", charging.bench.notices);
    charging
}

fn withheld(bench: &Bench, row: RowId) -> bool {
    bench.station.interlocks().withheld().has(row)
}

/// The guards alone, with both hoses at one pressure.
struct Watched {
    guards: Guards,
    r: Readings,
}

impl Watched {
    fn new() -> Self {
        Self { guards: Guards::default(), r: calm().0 }
    }
    fn hoses(&mut self, p: i32) {
        (self.r.pt2.value, self.r.pt3.value) = (AbsPa(p), AbsPa(p));
    }
    /// So many scans of so many milliseconds with this on.
    fn scans(&mut self, scans: u32, ms: u32, on: Actuators) {
        let cfg = valvewright_core::config::StationConfig::reference(Refrigerant::R1234yf);
        (0..scans).for_each(|_| self.guards.step(Millis(ms), &self.r, on.or(Actuators::SAFE), false, &cfg));
    }
    fn stands(&self, watch: Watch) -> bool {
        !self.guards.well().has(watch)
    }
}

// ---------------------------------------------------------------- I04

/// H03: a trip shuts everything at once, and what stands in the line is led out before more comes.
/// Shows I04, H03.
#[test]
fn after_a_trip_in_mid_charge_the_line_is_open_two_seconds_before_liquid_comes() {
    let mut charging = charging();
    assert!(!withheld(&charging.bench, RowId::I04), "while it flows the line is open");
    charging.bench.world.open = HS1;
    charging.play(1, honest, |_| false);
    assert_eq!(charging.bench.on(), Actuators::SAFE, "the stop waits for nothing");
    assert!(withheld(&charging.bench, RowId::I04));
    charging.bench.world.open = 0;
    charging.play(30, honest, |_| false);
    charging.bench.give(Command::Reset);
    charging.bench.give(Command::Resume);
    assert!(charging.play(30, honest, |c| !c.bench.on().and(LINE).is_empty()));
    let led = charging.bench.now();
    assert!(charging.play(30, honest, |c| c.bench.on().has(Actuator::Xv5)), "{:?}", charging.bench.notices);
    let after = charging.bench.now() - led;
    assert!((1_950..=2_150).contains(&after), "{after} ms");
}

/// Whatever ends the flow but a trip of those valves themselves, XV-5 shuts first.
/// Shows I04.
#[test]
fn the_service_valves_shut_two_seconds_after_the_charge_valve() {
    for command in [Command::Pause, Command::Abort] {
        let mut charging = charging();
        charging.bench.give(command.clone());
        let after_one = charging.bench.on();
        assert!(!after_one.has(Actuator::Xv5) && after_one.and(LINE) == LINE, "{command:?}: {after_one:?}");
        let from = charging.bench.now();
        assert!(
            charging.play(30, honest, |c| c.bench.on().and(LINE).is_empty()) || !charging.bench.station.job().busy()
        );
        charging.bench.until(5, |b| b.on().and(LINE).is_empty());
        let lag = charging.bench.now() - from;
        assert!((LINE_LAG.0..=LINE_LAG.0 + 150).contains(&lag), "{command:?}: {lag} ms");
    }
}

/// A trip that latches holds the charge: one that calls for the fan (I03) shuts all at once, one that does not (I12) lets the line out.
#[test]
fn a_trip_that_calls_for_the_fan_waits_for_no_line() {
    let shut = |change: fn(&mut Bench), row: RowId| {
        let mut charging = charging();
        change(&mut charging.bench);
        assert!(
            charging.play(25, honest, |c| !c.bench.on().has(Actuator::Xv5) && tripped(&c.bench, row))
                && tripped(&charging.bench, row),
            "{row}"
        );
        charging.bench.on().and(LINE)
    };
    assert_eq!(shut(|b| b.world.p_vessel = 1_750_000.0, RowId::I03), Actuators::NONE);
    assert_eq!(shut(|b| b.world.heater = 85.0, RowId::I12), LINE);
}

#[test]
fn a_line_that_was_led_out_for_a_minute_may_be_shut() {
    let mut watched = Watched::new();
    assert!(watched.stands(Watch::LineLocked), "at power-on nobody knows what stands in it");
    watched.scans(1, 50, LINE);
    assert!(!watched.stands(Watch::LineLocked), "open it locks nothing in");
    watched.scans(1_198, 50, LINE);
    watched.scans(1, 50, Actuators::NONE);
    assert!(watched.stands(Watch::LineLocked), "one scan short of a minute");
    watched.scans(1_200, 50, Actuators::of(&[Actuator::Xv2]));
    watched.scans(1, 50, Actuators::NONE);
    assert!(!watched.stands(Watch::LineLocked), "and the minute begins anew with each shutting");
    watched.scans(1, 50, FILL);
    watched.scans(1, 50, Actuators::NONE);
    assert!(watched.stands(Watch::LineLocked));
    // Late scans are no minute: nobody saw what the line did.
    watched.scans(1_000, 5_000, LINE);
    watched.scans(1, 50, Actuators::NONE);
    assert!(watched.stands(Watch::LineLocked));
}

// ---------------------------------------------------------------- I31, coupler

/// H25: within the two scans of the contact's majority.
/// Shows I31, F113, H25.
#[test]
fn a_coupler_that_comes_off_in_a_charge_shuts_the_hoses_and_stays_a_trip() {
    let mut charging = charging();
    charging.bench.world.open = Switches::ZS2_COUPLED;
    charging.play(1, honest, |c| tripped(&c.bench, RowId::I31));
    let bench = &mut charging.bench;
    assert!(tripped(bench, RowId::I31) && bench.on().and(FILL).is_empty() && bench.on().has(Actuator::K1));
    let first = bench.station.interlocks().first_out().expect("tripped");
    assert_eq!((first.row, first.watch), (RowId::I31, Watch::CouplersOff));
    bench.seconds(5);
    assert_eq!(bench.outputs.lamp, Lamp::Red);
    bench.give(Command::Reset);
    assert!(tripped(bench, RowId::I31), "off the vehicle there is no reset");
    bench.world.open = 0;
    bench.seconds(1);
    assert!(tripped(bench, RowId::I31), "on again it waits for the press");
    bench.give(Command::Start { id: 9, order: order(&[PhaseKind::Identify]) });
    assert!(bench.notices.contains(&Notice::Refused(Refusal::Tripped(RowId::I31))));
    bench.give(Command::Reset);
    bench.scan(None);
    assert!(!tripped(bench, RowId::I31));
}

#[test]
fn pressure_in_an_order_makes_a_coupler_that_comes_off_a_trip_though_all_is_shut() {
    for (p, trips) in [(600_000.0, true), (131_500.0, true), (128_500.0, false)] {
        let mut bench = coupled();
        (bench.world.p_low, bench.world.p_high) = (p, p);
        bench.start(1, order(&[PhaseKind::Identify]));
        bench.seconds(70);
        assert!(bench.on().and(FILL).is_empty() && bench.station.job().busy(), "{:?}", bench.notices);
        bench.world.open = Switches::ZS2_COUPLED;
        bench.seconds(1);
        assert_eq!(tripped(&bench, RowId::I31), trips, "{p} Pa");
    }
}

/// A vehicle that leaves between two orders, one that was never there, and a contact that bounces.
#[test]
fn couplers_that_come_off_at_rest_or_were_never_on_are_no_trip() {
    let mut bench = coupled();
    move_couplers(&mut bench, 20);
    assert!(!tripped(&bench, RowId::I31));

    let mut never = Bench::new();
    never.world.open = Switches::ZS2_COUPLED;
    (never.world.p_low, never.world.p_high) = (36_000.0, 36_000.0);
    never.seconds(5);
    never.start(1, order(&[PhaseKind::DrainOil]));
    never.seconds(200);
    assert!(!tripped(&never, RowId::I31), "{:?}", never.notices);

    let mut bounce = charging();
    for _ in 0..5 {
        bounce.bench.world.open = Switches::ZS2_COUPLED;
        bounce.play(1, honest, |_| true);
        bounce.bench.world.open = 0;
        bounce.play(1, honest, |_| false);
    }
    assert!(!tripped(&bounce.bench, RowId::I31) && bounce.bench.station.job().busy());
}

#[test]
fn oil_does_not_flow_into_a_hose_that_is_off() {
    let mut bench = evacuated();
    bench.start(1, oil());
    assert!(bench.until(120, |b| b.on().has(Actuator::Xv9)), "{:?}", bench.notices);
    bench.world.open = Switches::ZS2_COUPLED;
    bench.seconds(1);
    assert!(tripped(&bench, RowId::I31) && bench.on() == Actuators::SAFE);
}

// ---------------------------------------------------------------- I31, hose

/// A hose that bursts: PT-2 goes from 5 bar to the barometer. Half a second is the budget.
/// Shows I31, F113.
#[test]
fn a_hose_that_bursts_in_a_charge_is_shut_within_half_a_second() {
    let mut charging = charging();
    charging.play(4, honest, |_| false);
    charging.bench.world.p_low = 101_325.0;
    let from = charging.bench.now();
    assert!(charging.play(2, honest, |c| tripped(&c.bench, RowId::I31)), "{:?}", charging.bench.notices);
    let took = charging.bench.now() - from;
    assert!(took <= 500, "{took} ms");
    assert!(charging.bench.on().and(FILL).is_empty());
    assert_eq!(charging.bench.station.job().state(), JobState::Paused);
    assert_eq!(charging.bench.station.interlocks().first_out().map(|f| f.watch), Some(Watch::HoseFalls));
}

#[test]
fn a_bar_a_second_is_the_limit() {
    // 95 kPa/s over five seconds, and 110 kPa/s.
    for (per_scan, falls) in [(4_750, false), (5_500, false), (6_500, true)] {
        let mut watched = Watched::new();
        watched.hoses(900_000);
        watched.scans(100, 50, FILL);
        let seen = (0..100).any(|_| {
            let p = watched.r.pt2.value.0;
            watched.hoses(p - per_scan);
            watched.scans(1, 50, FILL);
            watched.stands(Watch::HoseFalls)
        });
        assert_eq!(seen, falls, "{per_scan} Pa a scan: 5 s at {} kPa/s", per_scan / 50);
    }
}

/// What our own valves and the vehicle's compressor draw is no burst.
#[test]
fn a_fall_that_the_station_or_the_vehicle_makes_is_none() {
    let cfg = valvewright_core::config::StationConfig::reference(Refrigerant::R1234yf);
    for (on, stirred) in [
        (PULL, false),
        (FILL, true),
        (Actuators::of(&[Actuator::P1, Actuator::Xv6, Actuator::Xv1]), false),
        (Actuators::NONE, false),
    ] {
        let mut watched = Watched::new();
        watched.hoses(900_000);
        for _ in 0..100 {
            watched.guards.step(Millis(50), &watched.r, on, stirred, &cfg);
        }
        watched.hoses(120_000);
        watched.guards.step(Millis(50), &watched.r, on, stirred, &cfg);
        assert!(!watched.stands(Watch::HoseFalls), "{on:?}");
    }
    // Hoses and manifold even out in the seconds after a valve has moved.
    let mut watched = Watched::new();
    watched.hoses(900_000);
    watched.scans(100, 50, FILL);
    watched.scans(1, 50, LINE);
    watched.hoses(500_000);
    watched.scans(50, 50, LINE);
    assert!(!watched.stands(Watch::HoseFalls));
    watched.scans(20, 50, LINE);
    watched.hoses(101_000);
    watched.scans(1, 50, LINE);
    assert!(watched.stands(Watch::HoseFalls), "and then it counts again");
}

/// A gap is no excuse: what fell in it by more than it could is seen behind it.
#[test]
fn a_burst_in_a_stall_of_the_scan_is_seen_behind_it() {
    let mut watched = Watched::new();
    watched.hoses(600_000);
    watched.scans(100, 50, FILL);
    watched.hoses(101_000);
    watched.scans(1, 2_000, FILL);
    assert!(watched.stands(Watch::HoseFalls));
}

#[test]
fn a_broken_hose_gauge_shuts_a_charge_and_nothing_else() {
    let (r, f) = calm();
    for (on, trips) in [(FILL, true), (LINE, false)] {
        let mut rig = crate::interlock_bench::Rig::new();
        (rig.r, rig.f) = (r, f);
        rig.f.applied = on.or(Actuators::SAFE);
        rig.r.pt3.quality = Quality::Bad(Broken::Under);
        rig.step(false);
        assert_eq!(rig.tripped(RowId::I31), trips, "{on:?}");
    }
}

// ---------------------------------------------------------------- I31, release

/// Pulled down to 0.36 bar, then both valves open to the manifold.
fn emptied() -> Watched {
    let mut watched = Watched::new();
    watched.hoses(35_000);
    watched.scans(100, 50, PULL);
    watched
}

#[test]
fn couplers_may_come_off_after_thirty_steady_seconds_below_the_limit() {
    let mut watched = emptied();
    watched.scans(599, 50, LINE);
    assert!(!watched.guards.may_come_off());
    watched.scans(1, 50, LINE);
    assert!(watched.guards.may_come_off());
    watched.scans(200, 50, Actuators::NONE);
    assert!(watched.guards.may_come_off(), "shut for the weighing it stays so");
    watched.hoses(131_000);
    watched.scans(1, 50, Actuators::NONE);
    assert!(!watched.guards.may_come_off(), "until one rises");
}

/// Shows I31, H25.
#[test]
fn nothing_but_emptied_hoses_that_stand_releases_the_couplers() {
    let free = |change: &dyn Fn(&mut Watched)| {
        let mut watched = emptied();
        watched.scans(300, 50, LINE);
        change(&mut watched);
        watched.scans(599, 50, LINE);
        watched.guards.may_come_off()
    };
    assert!(free(&|w| w.scans(1, 50, LINE)));
    assert!(free(&|w| w.hoses(54_000)), "what oil gives off in half a minute");
    assert!(!free(&|w| w.hoses(56_000)), "more begins the half minute anew");
    assert!(!free(&|w| w.hoses(131_000)), "above 1.3 bar");
    assert!(!free(&|w| w.scans(1, 50, FILL)), "filled again");
    assert!(!free(&|w| w.r.pt2.quality = Quality::Bad(Broken::Frozen)), "a gauge is lost");
    let moved = |w: &mut Watched| {
        w.guards.couplers(&w.r, Actuators::NONE, false);
        w.r.switches.0 &= !Switches::ZS2_COUPLED;
        w.guards.couplers(&w.r, Actuators::NONE, false);
    };
    assert!(!free(&moved), "the couplers moved");
    // Late scans show nothing, and hoses that were low already were not emptied.
    let mut late = emptied();
    late.scans(500, 5_000, LINE);
    assert!(!late.guards.may_come_off());
    let mut low = Watched::new();
    low.hoses(35_000);
    low.scans(2_000, 50, LINE);
    assert!(!low.guards.may_come_off());
}
