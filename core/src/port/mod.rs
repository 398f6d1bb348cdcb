//! From the core to a board: adapters that turn pins, converters and lines into a [`RawFrame`] and [`Outputs`] into pins.
//!
//! Each lies behind a feature, so that the controller itself needs none of them. A board crate picks the adapters that
//! fit its hardware, or implements the traits of [`contract`] itself, and is then only wiring.
//!
//! | module | feature | what |
//! | --- | --- | --- |
//! | [`contract`] | none | one trait for each kind of wiring, and what can go wrong |
//! | [`selfcheck`] | none | the board's own state, and named hooks for class B checks |
//! | [`watchdog`] | none | flow tokens: the watchdog is fed only by a whole scan |
//! | `inbox` | `inbox` | what interrupts leave for the scan |
//! | `pins` | `hal` | valves, motors, lamps, contacts on digital pins |
//! | `loops` | `hal` | 4-20 mA converters on SPI and I2C |
//! | `bridge` | `hal` | scale converters on SPI |
//! | `serial` | `io` | the gas identifier on a serial line |
//! | `board` | `board` | all of it assembled |
//! | [`digest`] | none | one number for a whole state, the same on every machine |
//! | `link` | `link` | packets of a line to a simulator or a test stand |
//! | `remote` | `link` | a board at the end of such a line, which it does not trust |
//!
//! [`RawFrame`]: crate::frame::RawFrame
//! [`Outputs`]: crate::frame::Outputs

pub mod contract;
pub mod digest;
pub mod selfcheck;
pub mod watchdog;

#[cfg(feature = "board")]
pub mod board;
#[cfg(feature = "hal")]
pub mod bridge;
#[cfg(feature = "inbox")]
pub mod inbox;
#[cfg(feature = "link")]
pub mod link;
#[cfg(feature = "hal")]
pub mod loops;
#[cfg(feature = "hal")]
pub mod pins;
#[cfg(feature = "link")]
pub mod remote;
#[cfg(feature = "io")]
pub mod serial;
