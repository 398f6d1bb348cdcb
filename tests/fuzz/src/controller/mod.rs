//! Fuzz targets of the controller: each takes any bytes and panics where something is not as promised.

mod codes;
mod flash;
mod frames;
mod line;
mod store;
mod take;

/// One target: its name, and what it does with bytes.
pub type Target = (&'static str, fn(&[u8]));

/// All of them.
pub const TARGETS: [Target; 6] = [
    ("codes", codes::run),
    ("line", line::bytes),
    ("packets", line::packets),
    ("frames", frames::run),
    ("store", store::run),
    ("records", store::records),
];
