//! What interrupts leave for the scan: nothing that was posted is lost, and a short press shows for as long as the
//! controller needs to judge it.
//!
//! Three kinds, three policies. A safety event is a flag: posting it can't fail and posting it again starts its time anew.
//! A power failure stays. A command waits in a short queue; where that is full the command is refused, not an older one
//! thrown out, and whoever posted it tells the operator.

use core::cell::{Cell, RefCell};

use critical_section::Mutex;
use heapless::Deque;

use crate::frame::Switches;
use crate::talk::Command;

/// How many commands wait at most. The controller takes one a scan and a person is slower than that; more than a few
/// waiting means a hung display, and old presses must not be carried out late.
pub const COMMAND_DEPTH: usize = 4;

/// For how many frames an event shows as an open contact. The controller believes one; the second covers a frame whose scan
/// was not carried out.
pub const SHOWN_FRAMES: u8 = 2;

/// Both channels of the emergency stop.
const STOP: u16 = Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED;

/// Something that happened between two scans.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Event {
    /// A channel of HS-1 opened.
    EmergencyStop,
    /// PSH-1 opened.
    HighPressure,
    /// The supply is going: the supervisor or a comparator before the regulator says so.
    PowerFail,
    /// The operator did something.
    Command(Command),
}

#[derive(Clone, Copy)]
struct Flags {
    stop: u8,
    pressure: u8,
    power: bool,
}

/// What one scan takes out.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Taken {
    /// Contacts that must show as open in this frame, whatever their level is by now.
    pub opened: Switches,
    /// The oldest command.
    pub command: Option<Command>,
}

/// The inbox: one for a board, usable as a `static` that interrupts see.
///
/// ```
/// use valvewright_core::frame::Switches;
/// use valvewright_core::port::inbox::{Event, Inbox};
/// use valvewright_core::talk::Command;
///
/// static INBOX: Inbox = Inbox::new();
///
/// // in interrupts
/// assert!(INBOX.post(Event::HighPressure));
/// assert!(INBOX.post(Event::Command(Command::Pause)));
/// // in the scan
/// let taken = INBOX.take();
/// assert_eq!(taken.opened, Switches(Switches::PSH1_HEALTHY));
/// assert_eq!(taken.command, Some(Command::Pause));
/// ```
pub struct Inbox {
    flags: Mutex<Cell<Flags>>,
    commands: Mutex<RefCell<Deque<Command, COMMAND_DEPTH>>>,
}

impl Default for Inbox {
    fn default() -> Self {
        Self::new()
    }
}

impl Inbox {
    /// Empty.
    pub const fn new() -> Self {
        Self {
            flags: Mutex::new(Cell::new(Flags { stop: 0, pressure: 0, power: false })),
            commands: Mutex::new(RefCell::new(Deque::new())),
        }
    }

    /// Leaves an event; from an interrupt or from the main loop. `false` only for a command that found the queue full:
    /// it is refused and must be given again.
    pub fn post(&self, event: Event) -> bool {
        critical_section::with(|cs| {
            let cell = self.flags.borrow(cs);
            let flags = cell.get();
            match event {
                Event::EmergencyStop => cell.set(Flags { stop: SHOWN_FRAMES, ..flags }),
                Event::HighPressure => cell.set(Flags { pressure: SHOWN_FRAMES, ..flags }),
                Event::PowerFail => cell.set(Flags { power: true, ..flags }),
                Event::Command(command) => {
                    let queue = self.commands.borrow(cs).try_borrow_mut();
                    return queue.is_ok_and(|mut queue| queue.push_back(command).is_ok());
                }
            }
            true
        })
    }

    /// Takes out what belongs into one frame; call once a scan.
    pub fn take(&self) -> Taken {
        critical_section::with(|cs| {
            let cell = self.flags.borrow(cs);
            let flags = cell.get();
            cell.set(Flags {
                stop: flags.stop.saturating_sub(1),
                pressure: flags.pressure.saturating_sub(1),
                power: flags.power,
            });
            let stop = if flags.stop > 0 { STOP } else { 0 };
            let pressure = if flags.pressure > 0 { Switches::PSH1_HEALTHY } else { 0 };
            let command = self.commands.borrow(cs).try_borrow_mut().ok().and_then(|mut queue| queue.pop_front());
            Taken { opened: Switches(stop | pressure), command }
        })
    }

    /// Whether an emergency stop is yet to be shown.
    pub fn stop_waits(&self) -> bool {
        critical_section::with(|cs| self.flags.borrow(cs).get().stop > 0)
    }

    /// Whether the supply was said to be going. Never taken back: only a restart tells that it came again.
    pub fn power_failed(&self) -> bool {
        critical_section::with(|cs| self.flags.borrow(cs).get().power)
    }
}
