//! One value of each kind that the core speaks of, to be told by name: on the target with defmt, on the host with `Debug`.
//!
//! The including program says by its own `Told` how a value is written.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{RawFrame, SerialChunk, Switches};
use valvewright_core::interlock::RowId;
use valvewright_core::job::{PhaseKind, WorkOrder};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{Instant, Milligram, Millis};

use crate::Told;

/// Tells the values, one line each.
pub fn tell() {
    let config = StationConfig::reference(Refrigerant::R1234yf);
    config.told("config");
    let order = WorkOrder::whole(Milligram::from_grams(480));
    let mut frame = RawFrame { switches: Switches(Switches::ALL), ..RawFrame::default() };
    frame.identifier = SerialChunk::from_slice(&[0, 0x55, 0xff]).unwrap_or_default();
    frame.command = Some(Command::Start { id: 7, order });
    frame.told("frame");
    Command::Reset.told("command");
    RowId::ALL.told("rows");
    Notice::PhaseStarted(PhaseKind::LeakCheck).told("notice");
    // Dead transmitters trip the station: notices with a cause and a reading, bad readings, a red lamp.
    let mut station = Station::new(config, Millis::from_secs(6 * 3600));
    for scan in 0..40 {
        let outputs = station.tick(Instant(scan * 50), &frame);
        if scan % 13 == 0 {
            outputs.told("outputs");
        }
        frame.command = None;
        while let Some(notice) = station.take_notice() {
            notice.told("notice");
        }
    }
    station.readings().told("readings");
    station.interlocks().told("interlocks");
    station.job().told("job");
    station.connection().told("connection");
    station.told("station");
}
