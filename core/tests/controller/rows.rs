//! Rows of the interlock table and the checks behind them: what a fault makes them do, and what does not free them.

use valvewright_core::frame::{Actuator, Actuators, Lamp, Switches};
use valvewright_core::interlock::table::ROWS;
use valvewright_core::interlock::{RowId, RowSet};
use valvewright_core::job::{GiveUp, LeakVerdict, Outcome, PhaseKind};
use valvewright_core::talk::{Command, Notice};

use crate::bench::{Bench, FlowSwitch, order, report};

/// A vehicle and hoses under vacuum, the vessel a little warm.
fn vacuum(bench: &mut Bench) {
    bench.world.p_vessel = 750_000.0;
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (1_000.0, 1_000.0, 100.0);
}

/// Starts this phase alone and waits until it runs.
fn begin(bench: &mut Bench, id: u16, phase: PhaseKind) {
    bench.start(id, order(&[phase]));
    assert!(bench.until(70, |b| b.station.job().phase() == Some(phase)), "{:?}", bench.notices);
}

/// Stored latches must mean the same row in a program whose table has gained one.
#[test]
fn a_rows_bit_is_its_printed_number() {
    for row in ROWS {
        let printed = row.id.as_str().strip_prefix('I').map_or(63, |n| n.parse().expect("a number"));
        assert_eq!(RowSet::one(row.id).0, 1 << printed, "{}", row.id);
        assert_eq!(row.id.row().map(|r| r.id), Some(row.id));
    }
    let rows: Vec<RowId> = RowSet::ALL.iter().collect();
    assert_eq!(rows, RowId::ALL);
}

/// A leak check in its hold, with both service valves open.
pub fn holding() -> Bench {
    let mut bench = Bench::new();
    vacuum(&mut bench);
    bench.seconds(5);
    begin(&mut bench, 1, PhaseKind::LeakCheck);
    assert!(bench.until(20, |b| b.on().has(Actuator::Xv1)));
    bench
}

/// Shows HS-1, I03, I10, I11, I28, F044.
#[test]
fn a_contact_that_stops_acts_in_the_scan_that_reads_it_open() {
    let contacts = [
        (Switches::HS1_A_RELEASED, RowId::Hs1),
        (Switches::HS1_B_RELEASED, RowId::Hs1),
        (Switches::ZS1_DOOR_SHUT, RowId::I28),
        (Switches::PSH1_HEALTHY, RowId::I03),
        (Switches::PSH2_HEALTHY, RowId::I11),
        (Switches::LS2_NOT_HIGH, RowId::I10),
    ];
    for (contact, row) in contacts {
        let mut bench = holding();
        bench.world.open = contact;
        bench.scan(None);
        assert!(bench.station.interlocks().tripped().has(row), "{row}");
        let off = row.row().expect("in the table").trip.inhibits;
        assert!(bench.on().and(off).is_empty(), "{row}: {:?}", bench.on());
    }
}

/// Bounce on the way back must not free anything: a released button counts after three scans closed without a gap.
/// Shows HS-1.
#[test]
fn a_stop_that_bounces_while_closing_stays_open() {
    let mut bench = holding();
    let stop = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;
    bench.world.open = stop;
    bench.seconds(1);
    for open in [0, stop, 0, 0, stop, 0, 0] {
        bench.world.open = open;
        bench.scan(None);
        assert!(bench.station.interlocks().standing().has(RowId::Hs1));
    }
    bench.scan(None);
    assert!(!bench.station.interlocks().standing().has(RowId::Hs1), "three scans closed");
    assert_eq!(bench.on(), Actuators::SAFE, "and nothing opens before a reset and a resume");
}

/// Gas at 40 % LFL for three seconds, then none.
fn after_gas() -> Bench {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.world.lfl = 40.0;
    bench.seconds(3);
    bench.world.lfl = 0.0;
    bench.seconds(2);
    assert!(bench.station.interlocks().standing().has(RowId::I01));
    bench
}

/// Shows I01, LC1.
#[test]
fn late_scans_are_no_part_of_a_clear_time() {
    let mut bench = after_gas();
    for _ in 0..100 {
        bench.scan_after(30_000, None);
    }
    assert!(bench.station.interlocks().standing().has(RowId::I01), "fifty minutes, none of them watched");
    bench.seconds(62);
    assert!(!bench.station.interlocks().standing().has(RowId::I01), "a minute that was");
}

/// A trip's hold protects by being short: what is seen on both sides of a gap stood in it.
/// Shows I28, LC1.
#[test]
fn a_stall_does_not_put_off_a_trip() {
    let mut bench = holding();
    bench.world.flow = FlowSwitch::StuckOpen;
    for _ in 0..3 {
        bench.scan(None);
    }
    assert!(bench.station.interlocks().tripped().is_empty(), "two seconds are allowed");
    bench.scan_after(2_000, None);
    assert!(bench.station.interlocks().tripped().has(RowId::I28));
}

#[test]
fn late_scans_are_no_part_of_the_air_changes() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.start(1, order(&[PhaseKind::Identify]));
    assert!(bench.until(30, |b| b.notices.contains(&Notice::ProvingAir)));
    bench.seconds(5);
    for _ in 0..10 {
        bench.scan_after(46_000, None);
    }
    assert!(!bench.until(38, |b| b.notices.contains(&Notice::AirProven)), "some 5 s and 38 s of 45 s were watched");
    assert!(bench.until(10, |b| b.notices.contains(&Notice::AirProven)), "{:?}", bench.notices);
}

pub fn tripped(bench: &Bench, row: RowId) -> bool {
    bench.station.interlocks().tripped().has(row)
}

pub fn outcome(bench: &Bench) -> Option<Outcome> {
    bench.station.job().records().last().map(|r| r.outcome)
}

/// A minute at rest, then a step of so many grams.
fn stepped(grams: f64) -> Bench {
    let mut bench = Bench::new();
    bench.seconds(60);
    bench.world.grams[0] += grams;
    bench
}

/// H15: 500 g shake the scale, 30 g do not; neither may become the new truth without a person.
/// Shows I20, F024, H15.
#[test]
fn a_step_at_rest_is_a_mass_error_until_reset() {
    for grams in [-500.0, -30.0, 8.0, 30.0, 500.0] {
        let mut bench = stepped(grams);
        assert!(bench.until(6, |b| tripped(b, RowId::I20)), "{grams} g");
        bench.seconds(300);
        assert!(tripped(&bench, RowId::I20), "{grams} g: quiet alone frees nothing");
        bench.give(Command::Reset);
        assert!(!tripped(&bench, RowId::I20), "{grams} g: quiet, and a person has looked");
    }
}

/// Just after a valve shut the platform rings, and a step hides in it only where it is small.
#[test]
fn a_step_while_the_platform_rings_is_a_mass_error_too() {
    let mut bench = Bench::new();
    bench.seconds(2);
    bench.world.grams[0] -= 200.0;
    assert!(bench.until(10, |b| tripped(b, RowId::I20)));
}

/// Valves to the vehicle are no ways of the vessel: what it weighed before a leak check it weighs afterwards.
#[test]
fn a_step_behind_open_service_valves_is_found_at_the_next_rest() {
    for (grams, found) in [(-500.0, true), (60.0, true), (8.0, false)] {
        let mut bench = holding();
        bench.seconds(5);
        bench.world.grams[0] += grams;
        bench.seconds(20);
        bench.give(Command::Abort);
        assert_eq!(bench.until(30, |b| tripped(b, RowId::I20)), found, "{grams} g; 8 g may be the pull of the hoses");
    }
}

/// F025: a knock or a hand on the platform that goes again.
/// Shows F025.
#[test]
fn a_knock_that_comes_back_is_no_mass_error() {
    for (grams, ms) in [(500.0, 500), (-500.0, 500), (40.0, 1_000), (500.0, 1_000)] {
        let mut bench = stepped(grams);
        for _ in 0..ms / 50 {
            bench.scan(None);
        }
        bench.world.grams[0] -= grams;
        assert!(!bench.until(30, |b| tripped(b, RowId::I20)), "{grams} g for {ms} ms");
    }
}

#[test]
fn no_press_frees_a_scale_that_still_creeps() {
    let mut bench = Bench::new();
    bench.seconds(10);
    for second in 0..120 {
        for _ in 0..20 {
            bench.world.grams[0] -= 0.05;
            bench.scan(None);
        }
        bench.give(Command::Reset);
        assert!(second < 10 || tripped(&bench, RowId::I20), "1 g/s, after {second} s");
    }
    bench.seconds(15);
    bench.give(Command::Reset);
    assert!(!tripped(&bench, RowId::I20), "it stands now");
}

/// A connection that was found tight, hoses and vehicle at 5 bar.
pub fn tight() -> Bench {
    let mut bench = holding();
    bench.seconds(8);
    bench.world.p_vacuum = 120.0;
    assert!(bench.until(400, |b| !b.station.job().busy()));
    assert_eq!(bench.station.connection().leak().verdict, LeakVerdict::Tight, "{:?}", bench.notices);
    (bench.world.p_low, bench.world.p_high) = (500_000.0, 500_000.0);
    bench
}

/// Shows I20.
#[test]
fn no_charge_starts_on_a_creeping_scale() {
    let mut bench = tight();
    bench.start(2, order(&[PhaseKind::Charge]));
    let opened = (0..300 * 20).any(|_| {
        bench.world.grams[0] -= 0.03;
        bench.scan(None);
        bench.on().has(Actuator::Xv5)
    });
    assert!(!opened && tripped(&bench, RowId::I20), "{:?}", bench.notices);
    // The valves to the vehicle do not wash it away.
    bench.give(Command::Resume);
    bench.seconds(30);
    assert!(tripped(&bench, RowId::I20) && !bench.on().has(Actuator::Xv5));
}

/// F069: a welded contactor heats though nothing is ordered.
/// Shows I12, F069.
#[test]
fn a_hot_heater_trips_though_its_output_is_off() {
    let mut bench = Bench::new();
    bench.seconds(5);
    bench.world.heater = 79.0;
    bench.seconds(60);
    assert!(!tripped(&bench, RowId::I12));
    bench.world.heater = 85.0;
    bench.seconds(2);
    assert!(tripped(&bench, RowId::I12));
}

/// A charge that warms the vessel first, with both contactors on.
fn warming() -> Bench {
    let mut bench = tight();
    bench.world.p_vessel = 600_000.0;
    bench.start(2, order(&[PhaseKind::Charge]));
    assert!(bench.until(120, |b| b.on().has(Actuator::H1) && b.on().has(Actuator::H2)), "{:?}", bench.notices);
    bench
}

/// So many seconds of heating with this rise of the wall, or until H-1 goes off.
fn heat(bench: &mut Bench, seconds: u32, kelvin_per_minute: f64) -> bool {
    (0..seconds * 20).all(|_| {
        bench.world.wall = bench.world.wall.map(|t| t + kelvin_per_minute / 1_200.0);
        bench.scan(None);
        bench.on().has(Actuator::H1)
    })
}

/// Shows I12, F017, H09.
#[test]
fn a_heater_that_warms_nothing_goes_off() {
    let mut bench = warming();
    assert!(heat(&mut bench, 118, 0.0), "two minutes are allowed");
    assert!(!heat(&mut bench, 4, 0.0));
    assert!(bench.station.interlocks().latched().has(RowId::I12));
}

/// Shows I12, F015.
#[test]
fn a_heater_that_stops_warming_goes_off_and_a_slow_one_stays_on() {
    let mut bench = warming();
    assert!(heat(&mut bench, 400, 0.15), "0.3 K in 120 s is a rise");
    assert!(!heat(&mut bench, 122, 0.0));
    let mut blind = warming();
    assert!(heat(&mut blind, 10, 1.0));
    blind.world.wall = None;
    blind.seconds(1);
    assert!(!blind.on().has(Actuator::H1) && tripped(&blind, RowId::I12), "no TT-1, no heat");
}

/// Recovery that pulls on a vehicle at 6 bar.
pub fn pulling() -> Bench {
    let mut bench = Bench::new();
    bench.seconds(5);
    begin(&mut bench, 1, PhaseKind::Identify);
    bench.world.reports = [report(998, 1, 5, true); 2].into();
    assert!(bench.until(60, |b| b.station.job().question().is_some()));
    bench.answer(true);
    assert!(bench.until(200, |b| !b.station.job().busy()));
    begin(&mut bench, 2, PhaseKind::Recover);
    assert!(bench.until(400, |b| b.on().has(Actuator::C1)), "{:?}", bench.notices);
    bench
}

/// LC3: a compressor whose current nobody sees does not run.
/// Shows I13, LC3.
#[test]
fn a_broken_it1_stops_the_compressor() {
    let mut bench = pulling();
    bench.world.current = Some(-5.0);
    bench.seconds(3);
    assert!(!bench.on().has(Actuator::C1) && bench.station.interlocks().latched().has(RowId::I13));
}

/// F065: six times rated current for longer than a start takes.
/// Shows I13, F065.
#[test]
fn a_locked_rotor_is_switched_off_within_two_seconds() {
    let mut bench = pulling();
    bench.world.current = Some(18.0);
    bench.seconds(2);
    assert!(!bench.on().has(Actuator::C1) && bench.station.interlocks().latched().has(RowId::I13));
    let mut start = pulling();
    start.world.current = Some(18.0);
    for _ in 0..12 {
        start.scan(None);
    }
    start.world.current = None;
    start.seconds(2);
    assert!(start.on().has(Actuator::C1), "0.6 s of inrush are a start");
}

/// Four hours of rest with air in the vessel, then the purge with its valve open.
fn purging() -> Bench {
    let mut bench = Bench::new();
    bench.world.p_vessel = 720_000.0;
    for _ in 0..4 * 3_600 * 4 + 40 {
        bench.scan_after(250, None);
    }
    begin(&mut bench, 1, PhaseKind::Purge);
    assert!(bench.until(120, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
    bench.answer(true);
    assert!(bench.until(120, |b| b.on().has(Actuator::Xv7)), "{:?}", bench.notices);
    bench
}

/// I06: a wall that parts from the ambient says nothing about air any more.
/// Shows I06.
#[test]
fn a_purge_waits_while_wall_and_ambient_part() {
    let mut bench = purging();
    bench.world.wall = Some(15.0);
    bench.seconds(5);
    assert!(!bench.until(1_200, |b| b.on().has(Actuator::Xv7)), "XV-7 opened at 15 degC beside 21 degC");
    bench.world.wall = Some(21.0);
    assert!(bench.until(40, |b| b.on().has(Actuator::Xv7)), "{:?}", bench.notices);
    bench.world.wall = Some(15.0);
    assert!(bench.until(4_000, |b| !b.station.job().busy()));
    assert_eq!(outcome(&bench), Some(Outcome::Failed(GiveUp::NotRested)));
}

#[test]
fn a_purge_without_ambient_temperature_or_pressure_stops_in_its_pulse() {
    for spoil in [|b: &mut Bench| b.world.ambient = -300.0, |b: &mut Bench| b.world.p_vessel = -1e6] {
        let mut bench = purging();
        spoil(&mut bench);
        for _ in 0..4 {
            bench.scan(None);
        }
        assert!(!bench.on().has(Actuator::Xv7));
    }
}

/// Drains with hoses open to the air; the outcome, and whether XV-8 opened.
fn drain(bench: &mut Bench) -> (Option<Outcome>, bool) {
    (bench.world.p_low, bench.world.p_high) = (101_325.0, 101_325.0);
    bench.seconds(5);
    bench.start(9, order(&[PhaseKind::DrainOil]));
    let mut opened = false;
    assert!(bench.until(400, |b| b.on().has(Actuator::Xv8) || !b.station.job().busy()));
    opened |= bench.on().has(Actuator::Xv8);
    assert!(bench.until(400, |b| !b.station.job().busy()));
    (outcome(bench), opened)
}

/// I17: an aborted pull leaves the separator at 6 bar, whatever the hoses read afterwards.
/// Shows I17, H13.
#[test]
fn oil_is_not_drained_from_a_separator_left_under_pressure() {
    let mut bench = pulling();
    bench.seconds(5);
    bench.give(Command::Abort);
    let (ended, opened) = drain(&mut bench);
    let Some(Outcome::Failed(GiveUp::SeparatorPressure(p))) = ended else { panic!("{ended:?}") };
    assert!((595_000..605_000).contains(&p.0) && !opened, "{p:?}");
    assert!(bench.station.interlocks().withheld().has(RowId::I17));
}

#[test]
fn a_separator_gauge_that_is_broken_opens_no_drain() {
    let mut bench = Bench::new();
    bench.world.p_separator = Some(-1e6);
    assert_eq!(drain(&mut bench), (Some(Outcome::Failed(GiveUp::ReadingBad)), false));
}

/// I17: oil that gives off its gas while it drains shuts the drain.
/// Shows I17.
#[test]
fn a_separator_whose_pressure_rises_shuts_its_drain() {
    let mut bench = Bench::new();
    bench.start(9, order(&[PhaseKind::DrainOil]));
    assert!(bench.until(400, |b| b.on().has(Actuator::Xv8)), "{:?}", bench.notices);
    bench.world.p_separator = Some(135_000.0);
    bench.seconds(1);
    assert!(!bench.on().has(Actuator::Xv8));
}

/// Shows I17.
#[test]
fn a_full_bottle_shuts_the_drain_in_the_scan_that_sees_it() {
    let mut bench = Bench::new();
    bench.start(9, order(&[PhaseKind::DrainOil]));
    assert!(bench.until(400, |b| b.on().has(Actuator::Xv8)), "{:?}", bench.notices);
    bench.world.open = Switches::LS1_NOT_FULL;
    assert!(bench.until(1, |b| !b.on().has(Actuator::Xv8)));
    assert!(bench.station.interlocks().withheld().has(RowId::I17));
    assert!(bench.until(10, |b| outcome(b) == Some(Outcome::Failed(GiveUp::OilBottleFull))), "{:?}", bench.notices);
}

#[test]
fn oil_is_drained_after_a_recovery_to_vacuum() {
    let mut bench = pulling();
    (bench.world.p_low, bench.world.p_high) = (35_000.0, 35_000.0);
    assert!(bench.until(1_000, |b| !b.station.job().busy()), "{:?}", bench.notices);
    assert_eq!(outcome(&bench), Some(Outcome::Done));
    assert_eq!(drain(&mut bench), (Some(Outcome::Done), true));
}

/// I11: XV-6 shuts at once, P-1 runs down behind it and then is held off.
/// Shows I11, F011.
#[test]
fn pressure_on_the_pump_shuts_its_valve_before_it_stops() {
    let mut bench = Bench::new();
    (bench.world.p_low, bench.world.p_high, bench.world.p_vacuum) = (60_000.0, 60_000.0, 101_325.0);
    bench.seconds(70);
    begin(&mut bench, 1, PhaseKind::Evacuate);
    assert!(bench.until(90, |b| b.on().has(Actuator::Xv6)), "{:?}", bench.notices);
    bench.seconds(3);
    bench.world.p_low = 300_000.0;
    assert!(bench.until(2, |b| !b.on().has(Actuator::Xv6)));
    assert!(tripped(&bench, RowId::I11) && bench.on().has(Actuator::P1), "the valve first");
    bench.seconds(1);
    assert!(bench.on().has(Actuator::P1));
    bench.seconds(2);
    assert!(!bench.on().has(Actuator::P1));
    assert!(bench.station.interlocks().inhibits().off.has(Actuator::P1), "held off, whatever is wanted");
}

/// A trip that clears by itself is no normal running: the lamp is not green over it.
/// Shows I08, F105, LC1.
#[test]
fn the_lamp_is_yellow_under_a_trip_that_does_not_latch() {
    let mut bench = holding();
    assert_eq!(bench.outputs.lamp, Lamp::Green);
    bench.scan_after(400, None);
    assert!(tripped(&bench, RowId::I08));
    assert_eq!(bench.outputs.lamp, Lamp::Yellow);
    bench.seconds(2);
    assert_eq!(bench.outputs.lamp, Lamp::Green);
}
