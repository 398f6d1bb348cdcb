//! What interrupts leave: safety events are never lost, commands come one a scan, and a press of a millisecond stops a real
//! station.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::interlock::RowId;
use valvewright_core::job::PhaseKind;
use valvewright_core::port::board::BoardFault;
use valvewright_core::port::inbox::{COMMAND_DEPTH, Event, Inbox, SHOWN_FRAMES};
use valvewright_core::station::Station;
use valvewright_core::talk::Command;
use valvewright_core::units::{Instant, Millis};
use valvewright_tests::bench::order;

use crate::port_bench::{End, WiredBoard, calm, parts};

const STOP: u16 = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;

#[test]
fn a_safety_event_shows_in_as_many_frames_as_it_needs() {
    for (event, mask) in [(Event::EmergencyStop, STOP), (Event::HighPressure, Switches::PSH1_HEALTHY)] {
        let inbox = Inbox::new();
        assert!(inbox.post(event.clone()));
        for _ in 0..SHOWN_FRAMES {
            assert_eq!(inbox.take().opened, Switches(mask));
        }
        assert_eq!(inbox.take().opened, Switches(0));
        // Again while it shows: the time starts anew.
        inbox.post(event.clone());
        inbox.take();
        inbox.post(event);
        let shown = (0..10).filter(|_| inbox.take().opened == Switches(mask)).count();
        assert_eq!(shown, usize::from(SHOWN_FRAMES));
    }
}

#[test]
fn a_full_queue_refuses_the_new_command_and_no_safety_event() {
    let inbox = Inbox::default();
    let commands = [Command::Pause, Command::Resume, Command::Abort, Command::Confirm(1)];
    assert_eq!(commands.len(), COMMAND_DEPTH);
    for command in commands.clone() {
        assert!(inbox.post(Event::Command(command)));
    }
    assert!(!inbox.post(Event::Command(Command::Decline(1))));
    assert!(inbox.post(Event::EmergencyStop) && inbox.post(Event::HighPressure) && inbox.post(Event::PowerFail));
    assert!(inbox.stop_waits() && inbox.power_failed());
    let taken: Vec<_> = (0..=COMMAND_DEPTH).map(|_| inbox.take()).collect();
    assert_eq!(taken[0].opened, Switches(STOP | Switches::PSH1_HEALTHY));
    let got: Vec<_> = taken.into_iter().map(|one| one.command).collect();
    assert_eq!(got, [commands.map(Some).as_slice(), &[None]].concat(), "in order, one a scan");
    assert!(inbox.post(Event::Command(Command::Decline(1))), "room again");
}

#[test]
fn posts_from_many_threads_all_arrive() {
    static INBOX: Inbox = Inbox::new();
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                for _ in 0..500 {
                    while !INBOX.post(Event::Command(Command::Reset)) {
                        std::thread::yield_now();
                    }
                }
            });
        }
        let mut got = 0;
        while got < 2_000 {
            got += usize::from(INBOX.take().command == Some(Command::Reset));
        }
        assert_eq!(INBOX.take().command, None);
    });
}

/// A station on a wired board, fifty milliseconds a scan.
struct Desk<'a> {
    board: WiredBoard<'a>,
    end: End,
    station: Station,
    now: u32,
    /// What is to be stored: it is, at once.
    keep: u32,
}

impl<'a> Desk<'a> {
    fn new(inbox: &'a Inbox) -> Self {
        let end = End::default();
        let board = WiredBoard::new(parts(&end), inbox);
        let mut desk = Self {
            board,
            end,
            station: Station::new(StationConfig::reference(Refrigerant::R1234yf), Millis(0)),
            now: 0,
            keep: 0,
        };
        desk.scans(40);
        assert!(!desk.stopped(), "calm to begin with");
        desk
    }
    fn scan(&mut self) {
        self.now += 50;
        let on = self.end.0.borrow().on().unwrap_or_default();
        calm(&mut self.end.0.borrow_mut().frame, on, self.now);
        self.end.0.borrow_mut().frame.machine.stored = self.keep;
        self.keep = self.board.scan(&mut self.station, Instant(self.now)).keep;
    }
    fn scans(&mut self, count: u32) {
        for _ in 0..count {
            self.scan();
        }
    }
    fn on(&self) -> Actuators {
        self.end.0.borrow().on().unwrap_or_default()
    }
    fn stopped(&self) -> bool {
        self.station.interlocks().latched().has(RowId::Hs1)
    }
    /// Evacuating, with the vacuum pump running.
    fn pumping(&mut self, inbox: &Inbox) {
        assert!(inbox.post(Event::Command(Command::Start { id: 1, order: order(&[PhaseKind::Evacuate]) })));
        let scans = (0..2_400).position(|_| {
            self.scan();
            self.on().has(Actuator::Xv6)
        });
        assert!(scans.is_some(), "{:?}, {:?}", self.on(), self.station.interlocks().latched());
    }
}

#[test]
fn a_press_of_a_millisecond_stops_a_real_station() {
    let inbox = Inbox::new();
    let mut desk = Desk::new(&inbox);
    desk.pumping(&inbox);
    // Pressed and let go between two samples: only the interrupt saw it.
    assert!(inbox.post(Event::EmergencyStop));
    desk.board.sample();
    assert_eq!(desk.on(), Actuators::SAFE, "within one sample, without waiting for the scan");
    desk.scan();
    assert_eq!(desk.on().without(Actuators::SAFE), Actuators::NONE, "nor on again before the station believes it");
    desk.scan();
    assert!(desk.stopped());
    desk.scans(100);
    assert!(desk.stopped(), "latched");
    assert_eq!(desk.on(), Actuators::SAFE);
    assert_eq!(desk.board.fault(), None, "a stop is no fault of the board");
    assert!(inbox.post(Event::Command(Command::Reset)));
    desk.scan();
    assert!(!desk.stopped(), "and can be reset");
}

#[test]
fn the_same_press_without_a_sample_in_between() {
    let inbox = Inbox::new();
    let mut desk = Desk::new(&inbox);
    desk.pumping(&inbox);
    inbox.post(Event::EmergencyStop);
    let already = desk.end.0.borrow().set.len();
    desk.scans(2);
    assert!(desk.stopped());
    let after = desk.end.0.borrow().set[already..].to_vec();
    assert!(after.iter().all(|on| on.without(Actuators::SAFE).is_empty()), "{after:?}");
}

/// An emergency stop is believed in the first frame that shows it.
#[test]
fn one_frame_alone_stops() {
    let inbox = Inbox::new();
    let mut desk = Desk::new(&inbox);
    for (frames, believed) in [(0, false), (1, true), (SHOWN_FRAMES, true)] {
        for _ in 0..frames {
            desk.now += 50;
            let mut wires = desk.end.0.borrow_mut();
            calm(&mut wires.frame, Actuators::SAFE, desk.now);
            wires.frame.switches.0 &= !STOP;
            let frame = wires.frame.clone();
            drop(wires);
            desk.station.tick(Instant(desk.now), &frame);
        }
        desk.scans(5);
        assert_eq!(desk.stopped(), believed, "after {frames}");
    }
}

#[test]
fn a_blow_of_pressure_trips_its_row() {
    let inbox = Inbox::new();
    let mut desk = Desk::new(&inbox);
    inbox.post(Event::HighPressure);
    desk.scans(2);
    assert!(desk.station.interlocks().latched().has(RowId::I03));
    assert!(!desk.stopped());
}

#[test]
fn a_failing_supply_is_safe_at_once_and_stays_so() {
    let inbox = Inbox::new();
    let mut desk = Desk::new(&inbox);
    desk.pumping(&inbox);
    let fed = desk.end.0.borrow().fed;
    inbox.post(Event::PowerFail);
    desk.board.sample();
    assert_eq!((desk.on(), desk.board.fault()), (Actuators::SAFE, Some(BoardFault::PowerFail)));
    desk.scans(20);
    assert_eq!((desk.on(), desk.board.fault()), (Actuators::SAFE, Some(BoardFault::PowerFail)));
    assert_eq!(desk.end.0.borrow().fed, fed + 20, "time to store what must be stored");
}
