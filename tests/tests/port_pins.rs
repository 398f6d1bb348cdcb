//! Digital pins: polarity, off before on, what a failing pin does, and debouncing that never opens late.

use embedded_hal::digital::{self, InputPin, OutputPin};
use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::digital::{Mock, State, Transaction};
use proptest::prelude::*;
use std::cell::RefCell;
use std::rc::Rc;
use valvewright_core::frame::{ACTUATOR_COUNT, Actuator, Actuators, FEED_COUNT, Feed, Feeds, Lamp, Switches};
use valvewright_core::port::contract::{Actuate, Contacts, Indicate, PinFault};
use valvewright_core::port::pins::*;

use crate::port_bench::Dead;

/// Every third output is a low-side driver.
fn polarity(at: usize) -> Polarity {
    if at.is_multiple_of(3) { Polarity::ActiveLow } else { Polarity::ActiveHigh }
}

fn level(at: usize, active: bool) -> State {
    if active == (polarity(at) == Polarity::ActiveHigh) { State::High } else { State::Low }
}

fn broken() -> MockError {
    MockError::Io(std::io::ErrorKind::NotConnected)
}

fn actuator_mocks(script: impl Fn(Actuator) -> Vec<Transaction>) -> [Mock; ACTUATOR_COUNT] {
    Actuator::ALL.map(|one| Mock::new(&script(one)))
}

/// Relays of a board whose outputs are set so many times, all closed.
fn relays(times: usize) -> [(Mock, Polarity); FEED_COUNT] {
    std::array::from_fn(|_| (Mock::new(&vec![Transaction::set(State::High); times]), Polarity::ActiveHigh))
}

fn finish<const N: usize>(mut mocks: [Mock; N]) {
    mocks.iter_mut().for_each(Mock::done);
}

#[test]
fn each_output_has_its_level_and_is_written_every_time() {
    let sets =
        [Actuators::SAFE, Actuators::of(&[Actuator::Xv1, Actuator::C1, Actuator::K1]), Actuators::ALL, Actuators::NONE];
    let mocks =
        actuator_mocks(|one| sets.iter().map(|on| Transaction::set(level(one as usize, on.has(one)))).collect());
    let closed = relays(sets.len());
    let mut pins = ActuatorPins::new(mocks.clone(), std::array::from_fn(polarity), closed.clone());
    for on in sets {
        assert_eq!(pins.set(on, Feeds::NONE), Ok(()));
    }
    finish(mocks);
    finish(closed.map(|(pin, _)| pin));
}

/// A pin that writes its number and level into one list.
struct Logged(usize, Rc<RefCell<Vec<(usize, bool)>>>);

impl digital::ErrorType for Logged {
    type Error = std::convert::Infallible;
}
impl OutputPin for Logged {
    fn set_high(&mut self) -> Result<(), Self::Error> {
        self.1.borrow_mut().push((self.0, true));
        Ok(())
    }
    fn set_low(&mut self) -> Result<(), Self::Error> {
        self.1.borrow_mut().push((self.0, false));
        Ok(())
    }
}

proptest! {
    #[test]
    fn off_comes_before_on(bits in 0u16..1 << ACTUATOR_COUNT, dropped in 0u8..1 << FEED_COUNT) {
        let log = Rc::new(RefCell::new(Vec::new()));
        let pins = std::array::from_fn(|at| Logged(at, log.clone()));
        let relays = std::array::from_fn(|at| (Logged(ACTUATOR_COUNT + at, log.clone()), Polarity::ActiveHigh));
        let mut pins = ActuatorPins::new(pins, [Polarity::ActiveHigh; ACTUATOR_COUNT], relays);
        let dropped = Feeds(dropped);
        prop_assert_eq!(pins.set(Actuators(bits), dropped), Ok(()));
        let log = log.borrow();
        prop_assert_eq!(log.len(), ACTUATOR_COUNT + FEED_COUNT);
        prop_assert!(log.is_sorted_by_key(|(_, on)| *on), "{:?}", log);
        let wanted = u32::from(bits) | u32::from(Feeds::ALL.without(dropped).0) << ACTUATOR_COUNT;
        prop_assert!(log.iter().all(|(at, on)| *on == (wanted >> at & 1 == 1)));
    }
}

#[test]
fn an_output_that_stays_on_keeps_the_others_off_but_for_the_fan() {
    let on = Actuators::of(&[Actuator::Xv1, Actuator::P1, Actuator::K1]);
    // XV-5 is to go off and its driver fails: every other off pin is tried, then only the fan comes on.
    let mocks = actuator_mocks(|one| {
        let off = Transaction::set(level(one as usize, false));
        match one {
            Actuator::Xv5 => vec![off.with_error(broken())],
            Actuator::Xv1 | Actuator::P1 => vec![],
            Actuator::K1 => vec![Transaction::set(level(one as usize, true))],
            _ => vec![off],
        }
    });
    let untouched = relays(0);
    let mut pins = ActuatorPins::new(mocks.clone(), std::array::from_fn(polarity), untouched.clone());
    assert_eq!(pins.set(on, Feeds::NONE), Err(PinFault::Off(Actuator::Xv5)));
    finish(untouched.map(|(pin, _)| pin));
    finish(mocks);
}

#[test]
fn a_relay_that_cannot_be_opened_is_named_and_the_outputs_go_off_all_the_same() {
    let mocks = actuator_mocks(|one| vec![Transaction::set(level(one as usize, one == Actuator::K1))]);
    let [valves, motors] =
        [Mock::new(&[Transaction::set(State::Low).with_error(broken())]), Mock::new(&[Transaction::set(State::Low)])];
    let both = [valves.clone(), motors.clone()].map(|pin| (pin, Polarity::ActiveHigh));
    let mut pins = ActuatorPins::new(mocks.clone(), std::array::from_fn(polarity), both);
    assert_eq!(pins.set(Actuators::SAFE, Feeds::ALL), Err(PinFault::Relay(Feed::Valves)));
    finish(mocks);
    finish([valves, motors]);
}

#[test]
fn an_output_that_stays_off_is_named() {
    let mocks = actuator_mocks(|one| {
        let set = Transaction::set(level(one as usize, one == Actuator::K1 || one == Actuator::H1));
        vec![if one == Actuator::H1 { set.with_error(broken()) } else { set }]
    });
    let closed = relays(1);
    let mut pins = ActuatorPins::new(mocks.clone(), std::array::from_fn(polarity), closed.clone());
    let fault = pins.set(Actuators::of(&[Actuator::K1, Actuator::H1]), Feeds::NONE);
    assert_eq!(fault, Err(PinFault::On(Actuator::H1)));
    assert_eq!(fault.map_err(PinFault::actuator), Err(Some(Actuator::H1)));
    finish(closed.map(|(pin, _)| pin));
    finish(mocks);
}

#[test]
fn one_lamp_at_a_time_dark_before_light() {
    let lamps = [Lamp::White, Lamp::Green, Lamp::Blue, Lamp::Yellow, Lamp::Red];
    let shows = [(Lamp::Red, true), (Lamp::White, false), (Lamp::Blue, true)];
    let mut mocks: [Mock; INDICATOR_COUNT] = std::array::from_fn(|at| {
        let wanted = shows.map(|(lamp, buzzer)| lamps.get(at).map_or(buzzer, |one| *one == lamp));
        Mock::new(&wanted.map(|want| Transaction::set(level(at, want))))
    });
    let mut pins = IndicatorPins::new(mocks.clone(), std::array::from_fn(polarity));
    for (lamp, buzzer) in shows {
        pins.show(lamp, buzzer);
        assert!(!pins.failed());
    }
    mocks.iter_mut().for_each(Mock::done);

    let log = Rc::new(RefCell::new(Vec::new()));
    let logged = std::array::from_fn(|at| Logged(at, log.clone()));
    IndicatorPins::new(logged, [Polarity::ActiveHigh; INDICATOR_COUNT]).show(Lamp::Green, true);
    assert_eq!(*log.borrow(), [(0, false), (2, false), (3, false), (4, false), (1, true), (5, true)]);

    let mut dead = IndicatorPins::new([Dead::default(); INDICATOR_COUNT], [Polarity::ActiveHigh; INDICATOR_COUNT]);
    dead.show(Lamp::Red, false);
    assert!(dead.failed(), "told, though nothing stops for it");
}

/// Contact 0 follows the script, the others are closed; all are closed at the low level.
fn sampled(script: &[State], close: u8, open: u8) -> Vec<bool> {
    let mut mocks: [Mock; CONTACT_COUNT] = std::array::from_fn(|at| {
        let states = script.iter().map(|state| if at == 0 { *state } else { State::Low });
        Mock::new(&states.map(Transaction::get).collect::<Vec<_>>())
    });
    let mut pins = ContactPins::new(mocks.clone(), [Polarity::ActiveLow; CONTACT_COUNT]).with_samples(close, open);
    let mut levels = Vec::new();
    for (at, _) in script.iter().enumerate() {
        pins.sample();
        levels.push(pins.levels().closed(Switches::LS1_NOT_FULL));
        let others = pins.levels().0 & !Switches::LS1_NOT_FULL;
        assert_eq!(others, if at + 1 >= usize::from(close) { Switches::ALL & !1 } else { 0 }, "sample {at}");
    }
    mocks.iter_mut().for_each(Mock::done);
    levels
}

#[test]
fn closing_takes_a_row_of_samples_and_opening_one() {
    use State::{High as O, Low as C};
    let script = [C, C, C, O, C, C, C, C, C, O, C, C, C, C];
    let (no, yes) = (false, true);
    let levels = [no, no, no, no, no, no, no, yes, yes, no, no, no, no, yes];
    assert_eq!(sampled(&script, CLOSE_SAMPLES, OPEN_SAMPLES), levels);
    // The other way round: bounce while closed is passed over where two samples are asked for to open.
    assert_eq!(sampled(&[C, C, O, C, O, O, C, C], 2, 2), [no, yes, yes, yes, yes, no, no, yes]);
}

#[test]
fn opening_is_never_slower_than_closing() {
    use State::{High as O, Low as C};
    // Two to close and, held at that, two to open although nine were asked for.
    assert_eq!(sampled(&[C, C, O, O, O], 2, 9), [false, true, true, false, false]);
    // Zero means one.
    assert_eq!(sampled(&[C, O, C], 0, 0), [true, false, true]);
}

#[test]
fn either_polarity_closes() {
    for (closed_at, closed, open) in
        [(Polarity::ActiveHigh, State::High, State::Low), (Polarity::ActiveLow, State::Low, State::High)]
    {
        let mut mocks: [Mock; CONTACT_COUNT] =
            std::array::from_fn(|at| Mock::new(&[Transaction::get(if at == 3 { open } else { closed })]));
        let mut pins = ContactPins::new(mocks.clone(), [closed_at; CONTACT_COUNT]).with_samples(1, 1);
        assert_eq!(pins.levels(), Switches(0), "open until seen closed");
        pins.sample();
        assert_eq!(pins.levels(), Switches(Switches::ALL & !Switches::FSL1_FLOW));
        mocks.iter_mut().for_each(Mock::done);
    }
}

#[test]
fn a_contact_that_cannot_be_read_is_open() {
    let failing =
        [Transaction::get(State::Low), Transaction::get(State::Low).with_error(broken()), Transaction::get(State::Low)];
    let mut mocks: [Mock; CONTACT_COUNT] = std::array::from_fn(|_| Mock::new(&failing));
    let mut pins = ContactPins::new(mocks.clone(), [Polarity::ActiveLow; CONTACT_COUNT]).with_samples(1, 1);
    let levels = [0, 1, 2].map(|_| {
        pins.sample();
        pins.levels().0
    });
    assert_eq!(levels, [Switches::ALL, 0, Switches::ALL]);
    mocks.iter_mut().for_each(Mock::done);

    // Whatever the level of a broken pin would mean.
    for closed_at in [Polarity::ActiveHigh, Polarity::ActiveLow] {
        let mut dead =
            ContactPins::new([Dead::default(); CONTACT_COUNT], [closed_at; CONTACT_COUNT]).with_samples(1, 1);
        dead.sample();
        assert_eq!(dead.levels(), Switches(0));
    }
}

/// A pin that reads a list, over and over.
struct Listed(Vec<bool>, usize);

impl digital::ErrorType for Listed {
    type Error = std::convert::Infallible;
}
impl InputPin for Listed {
    fn is_high(&mut self) -> Result<bool, Self::Error> {
        self.1 += 1;
        Ok(self.0[(self.1 - 1) % self.0.len()])
    }
    fn is_low(&mut self) -> Result<bool, Self::Error> {
        self.is_high().map(|high| !high)
    }
}

proptest! {
    #[test]
    fn a_closed_contact_was_closed_for_its_row_of_samples(
        script in prop::collection::vec(prop::bool::weighted(0.7), 1..200), close in 1u8..8, open in 1u8..8
    ) {
        let pins = std::array::from_fn(|_| Listed(script.clone(), 0));
        let mut pins = ContactPins::new(pins, [Polarity::ActiveHigh; CONTACT_COUNT]).with_samples(close, open);
        let (mut closed_row, mut open_row, mut was) = (0u8, 0u8, false);
        for closed in script {
            (closed_row, open_row) = if closed { (closed_row.saturating_add(1), 0) } else { (0, open_row.saturating_add(1)) };
            pins.sample();
            let level = pins.levels() == Switches(Switches::ALL);
            prop_assert!(level || pins.levels() == Switches(0), "all contacts see the same");
            prop_assert!(was || !level || closed_row >= close, "closed after {} samples", closed_row);
            prop_assert!(!level || open_row < open.min(close), "still closed after {} open samples", open_row);
            was = level;
        }
    }
}
