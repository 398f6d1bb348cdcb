//! From the core to a board: adapters that turn pins, converters and lines into a [`RawFrame`] and [`Outputs`] into pins.
//!
//! Each lies behind a feature, so that the controller itself needs none of them. A board crate picks the adapters that
//! fit its hardware, or implements the traits of [`board`] itself, and is then only wiring.
//!
//! [`RawFrame`]: crate::frame::RawFrame
//! [`Outputs`]: crate::frame::Outputs
pub mod digest;
#[cfg(feature = "link")]
pub mod link;
#[cfg(feature = "link")]
pub mod remote;
