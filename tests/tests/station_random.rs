//! Random operators on a scripted station: whatever is pressed and whatever the readings do, the laws of the outputs hold.
//!
//! A failure prints the shrunk script; it is the whole input, so it replays by itself.

use proptest::prelude::*;
use valvewright_core::drive::FORBIDDEN;
use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{PhaseKind, PhaseSet};
use valvewright_core::station::Station;
use valvewright_core::talk::Command;
use valvewright_tests::bench::{Bench, FlowSwitch, order, report};

/// One thing that happens, after some scans of nothing.
#[derive(Clone, Debug)]
enum Event {
    Start(u16, u16),
    Press(Command),
    Answer(bool),
    Hoses(u32),
    Vacuum(u32),
    Vessel(u32),
    Open(u16),
    Amps(Option<u8>),
    Flow(FlowSwitch),
    Late(u32),
    Wire(bool),
    Lfl(u8),
}

fn command() -> impl Strategy<Value = Command> {
    prop_oneof![
        2 => Just(Command::Pause),
        4 => Just(Command::Resume),
        1 => Just(Command::Abort),
        3 => Just(Command::Reset),
    ]
}

fn event() -> impl Strategy<Value = Event> {
    prop_oneof![
        3 => (1u16..40, 1u16..1_024).prop_map(|(id, phases)| Event::Start(id, phases)),
        8 => command().prop_map(Event::Press),
        3 => prop::bool::weighted(0.8).prop_map(Event::Answer),
        // A press that was meant for some other question.
        1 => (0u16..4).prop_map(|number| Event::Press(Command::Confirm(number))),
        2 => (10u32..1_800_000).prop_map(Event::Hoses),
        2 => (1u32..12_000).prop_map(Event::Vacuum),
        1 => (100_000u32..1_800_000).prop_map(Event::Vessel),
        2 => prop_oneof![3 => Just(0u16), 2 => (0u8..8).prop_map(|bit| 1 << bit)].prop_map(Event::Open),
        1 => prop_oneof![2 => Just(None), 1 => (0u8..6).prop_map(Some)].prop_map(Event::Amps),
        1 => prop_oneof![3 => Just(FlowSwitch::Follows), 1 => Just(FlowSwitch::StuckOpen), 1 => Just(FlowSwitch::StuckClosed)].prop_map(Event::Flow),
        1 => (60u32..2_000).prop_map(Event::Late),
        1 => any::<bool>().prop_map(Event::Wire),
        1 => prop_oneof![3 => Just(0u8), 1 => 0u8..100].prop_map(Event::Lfl),
    ]
}

fn script() -> impl Strategy<Value = Vec<(u16, Event)>> {
    prop::collection::vec((0u16..1_500, event()), 1..24)
}

/// Half of the scripts begin in the middle of a job: air proven, the gas known, recovery under way.
fn begun(phases: u16, identified: bool) -> Bench {
    let mut bench = Bench::new();
    bench.seconds(200);
    if identified {
        let phases = PhaseSet(phases | PhaseSet::of(&[PhaseKind::Identify, PhaseKind::Recover]).0);
        bench.world.reports = [report(1_000, 0, 0, true); 2].into_iter().collect();
        bench.start(1_000, valvewright_core::job::WorkOrder { phases, ..order(&[]) });
        assert!(bench.until(60, |b| b.station.job().question().is_some()), "{:?}", bench.notices);
        bench.answer(true);
    }
    bench
}

/// The laws, scan by scan.
#[derive(Clone, Debug, Default)]
struct Laws {
    /// Scans since the job went dark, by pause or for want of an order.
    dark: u32,
}

impl Laws {
    fn hold(&mut self, bench: &Bench) {
        let (on, station): (Actuators, &Station) = (bench.on(), &bench.station);
        let inhibits = station.interlocks().inhibits();
        assert!(on.and(inhibits.off).is_empty(), "{on:?} against {inhibits:?} at {} ms", bench.now());
        assert_eq!(on.and(inhibits.force), inhibits.force, "not forced at {} ms", bench.now());
        for (a, b, why) in FORBIDDEN {
            assert!(!(on.has(*a) && on.has(*b)), "{} with {}: {why}", a.tag(), b.tag());
        }
        assert!(!on.has(Actuator::C1) || on.has(Actuator::Xv4), "C-1 on a shut XV-4");
        assert!(!on.has(Actuator::Xv6) || on.has(Actuator::P1), "XV-6 on a standing P-1");
        let resting = !matches!(station.job().state(), JobState::Running);
        self.dark = if resting { self.dark + 1 } else { 0 };
        // XV-4 outlasts C-1, and both motors their shortest time of two seconds, by the rules of the drive. A valve that
        // opened in the very scan before may stay for one scan more.
        let valves = on.and(Actuators::VALVES).without(Actuators::of(&[Actuator::Xv4]));
        assert!(self.dark < 3 || valves.is_empty(), "{valves:?} while {:?}", station.job().state());
        assert!(self.dark < 70 || on.without(Actuators::SAFE).is_empty(), "{on:?} while {:?}", station.job().state());
    }
}

/// Carries out one event, with a world that answers roughly: recovery lowers the hoses, the pump the vacuum.
fn carry_out(bench: &mut Bench, laws: &mut Laws, wait: u16, event: &Event) {
    for _ in 0..wait {
        answer_roughly(bench);
        bench.scan(None);
        laws.hold(bench);
    }
    let w = &mut bench.world;
    match event {
        Event::Start(id, phases) => {
            bench.start(*id, valvewright_core::job::WorkOrder { phases: PhaseSet(*phases), ..order(&[]) })
        }
        Event::Press(command) => bench.give(command.clone()),
        Event::Answer(yes) => bench.answer(*yes),
        Event::Late(ms) => bench.scan_after(*ms, None),
        Event::Hoses(pa) => (w.p_low, w.p_high) = (f64::from(*pa), f64::from(*pa)),
        Event::Vacuum(pa) => w.p_vacuum = f64::from(*pa),
        Event::Vessel(pa) => w.p_vessel = f64::from(*pa),
        Event::Open(mask) => w.open = *mask & Switches::ALL,
        Event::Amps(amps) => w.current = amps.map(f64::from),
        Event::Flow(flow) => w.flow = *flow,
        Event::Wire(sound) => w.wall = sound.then_some(21.0),
        Event::Lfl(share) => w.lfl = f64::from(*share),
    }
    laws.hold(bench);
}

fn answer_roughly(bench: &mut Bench) {
    let on = bench.on();
    let w = &mut bench.world;
    if on.has(Actuator::C1) && on.has(Actuator::Xv3) {
        for p in [&mut w.p_low, &mut w.p_high] {
            *p = (*p * 0.997).max(20_000.0);
        }
        w.grams[0] += 0.2;
    }
    if on.has(Actuator::Xv6) {
        for p in [&mut w.p_low, &mut w.p_high, &mut w.p_vacuum] {
            *p = (*p * 0.99).max(15.0);
        }
    }
    if on.has(Actuator::Xv5) && on.has(Actuator::Xv10) {
        w.grams[0] -= 0.5;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_laws_of_the_outputs_hold(phases in 0u16..1_024, identified in any::<bool>(), script in script()) {
        let mut bench = begun(phases, identified);
        let mut laws = Laws::default();
        for (wait, event) in &script {
            carry_out(&mut bench, &mut laws, *wait, event);
        }
    }

    /// The same script gives the same station, and a copy made anywhere goes on as the original does.
    #[test]
    fn a_station_is_its_past_and_a_copy_is_a_snapshot(identified in any::<bool>(), script in script(), cut in 0usize..24) {
        let run = |bench: &mut Bench, part: &[(u16, Event)]| {
            let mut laws = Laws::default();
            part.iter().for_each(|(wait, event)| carry_out(bench, &mut laws, *wait, event));
        };
        let (early, late) = script.split_at(cut.min(script.len()));
        let mut first = begun(PhaseSet::WHOLE.0, identified);
        run(&mut first, early);
        let mut copy = first.clone();
        run(&mut first, late);
        run(&mut copy, late);
        let mut again = begun(PhaseSet::WHOLE.0, identified);
        run(&mut again, &script);
        for other in [&copy, &again] {
            prop_assert_eq!(&first.station, &other.station);
            prop_assert_eq!(&first.outputs, &other.outputs);
            prop_assert_eq!(&first.notices, &other.notices);
        }
    }
}

/// So that the scripts above are known to reach something: the same world, without mischief, runs compressor and pump.
#[test]
fn the_scripted_world_takes_a_job_into_evacuation() {
    let mut bench = begun(PhaseSet::WHOLE.0, true);
    let (mut laws, mut seen) = (Laws::default(), Actuators::NONE);
    for _ in 0..20 * 3_600 {
        if bench.station.job().question().is_some() {
            bench.answer(true);
        }
        answer_roughly(&mut bench);
        bench.scan(None);
        laws.hold(&bench);
        seen = seen.or(bench.on());
    }
    let wanted =
        Actuators::of(&[Actuator::C1, Actuator::Xv3, Actuator::Xv4, Actuator::P1, Actuator::Xv6, Actuator::Xv8]);
    assert_eq!(seen.and(wanted), wanted, "{:?}", bench.notices);
}
