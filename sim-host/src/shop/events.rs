//! Events as the log has them, in words.

use serde::Serialize;
use valvewright_core::frame::Scale;
use valvewright_core::interlock::{FirstOut, RowId};
use valvewright_core::kept::{Boot, Proof};
use valvewright_core::record::event::{Changed, Event, Reading, What};
use valvewright_core::record::{Found, LogId};
use valvewright_core::token::Part;
use valvewright_core::units::Instant;

use super::Trouble;
use super::opened::{Shop, when};
use crate::run::words;

/// An event as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Entry {
    /// Its number in the log.
    pub number: u32,
    /// When, by the station's clock.
    pub time: String,
    /// Its kind, for programs.
    pub kind: &'static str,
    /// What.
    pub text: String,
}

/// All events that are kept; `None` for one that is lost.
///
/// # Errors
/// The store can't be believed.
pub fn events(shop: &Shop) -> Result<Vec<(u32, Option<Event>)>, Trouble> {
    shop.look(|all| {
        let holding = all.holding(LogId::Events)?;
        Ok((holding.oldest.max(1)..holding.next).map(|number| (number, all.event(number).ok().flatten())).collect())
    })
    .map_err(|why| Trouble::of_store("the events", why))
}

/// All of them in words.
///
/// # Errors
/// As [`events`].
pub fn entries(shop: &Shop) -> Result<Vec<Entry>, Trouble> {
    let list = events(shop)?.into_iter().map(|(number, event)| match event {
        Some(event) => {
            let (kind, text) = told(&event.what);
            Entry { number, time: when(event.clock), kind, text }
        }
        None => Entry { number, time: String::new(), kind: "lost", text: "can't be believed any more".to_owned() },
    });
    Ok(list.collect())
}

/// The word of a proof test, as files have it.
pub const fn proof(of: Proof) -> &'static str {
    match of {
        Proof::GasDetector => "gas_detector",
        Proof::PressureSwitch => "pressure_switch",
        Proof::CheckWeight => "check_weight",
        Proof::Identifier => "identifier",
        Proof::InternalLeak => "internal_leak",
        Proof::ReliefValve => "relief_valve",
    }
}

/// The name of a scale's bridge by its place.
pub fn scale(at: u8) -> &'static str {
    match Scale::ALL.get(usize::from(at)) {
        Some(Scale::Wt1A) => "WT-1A",
        Some(Scale::Wt1B) => "WT-1B",
        Some(Scale::Wt2) => "WT-2",
        Some(Scale::Wt3) => "WT-3",
        None => "an unknown scale",
    }
}

const fn changed(of: Changed) -> &'static str {
    match of {
        Changed::Settings => "settings",
        Changed::Clock => "the clock",
        Changed::Operators => "the list of operators",
        Changed::Presets => "presets",
        Changed::Vehicles => "the vehicle book",
    }
}

const fn boot(of: Boot) -> &'static str {
    match of {
        Boot::PowerOn => "power came",
        Boot::Watchdog => "the watchdog restarted it",
        Boot::BrownOut => "the supply had dipped",
    }
}

/// What a start found, in words.
pub const fn found(of: Found) -> &'static str {
    match of {
        Found::Blank => "the store was blank",
        Found::Sound => "the store was sound",
        Found::Repaired => "the store was mended from its second copy",
        Found::Partly => "some of the store could not be believed",
        Found::Lost => "the store could not be believed",
    }
}

/// The first reading of a trip in words, where this program knows what was looked at.
fn reading(row: RowId, of: Reading) -> Option<String> {
    let watch = row.row()?.causes.iter().map(|cause| cause.watch).find(|watch| *watch as u8 == of.watch)?;
    let first = FirstOut { row, watch, value: of.value, bad: of.bad, at: Instant(0) };
    Some(words::first_reading(Some(first)).to_string())
}

fn told(of: &What) -> (&'static str, String) {
    match *of {
        What::Tripped(row, first) => {
            let told = match first {
                None => "still latched from before the start".to_owned(),
                Some(first) => reading(row, first).unwrap_or_else(|| format!("reading {}", first.value)),
            };
            ("trip", format!("{} tripped: {told}", row.as_str()))
        }
        What::Started(why, lost, what) => {
            let memory = if lost { ", and its memory is lost" } else { "" };
            ("start", format!("started: {}; {}{memory}", boot(why), found(what)))
        }
        What::Interrupted(order, charged) => (
            "interrupted",
            format!("order {order} was interrupted; charged by then: {:.0} g", f64::from(charged.0) * 1e-3),
        ),
        What::Exchanged(Part::Record, _) => {
            ("restore", "the record, which was lost, restored by a supervisor's release".to_owned())
        }
        What::Exchanged(part, release) => {
            let by = if release { "a supervisor's release" } else { "its own code" };
            ("exchange", format!("{} exchanged, by {by}", part.name().replace('_', " ")))
        }
        What::CodeRefused(part, fault) => (
            "code_refused",
            format!("a code for the {} was refused: {}", part.name().replace('_', " "), words::code(fault)),
        ),
        What::Changed(what, 0) => ("changed", format!("{} changed; nobody was named", changed(what))),
        What::Changed(what, who) => ("changed", format!("{} changed by operator {who}", changed(what))),
        What::Calibrated(which, gain) => ("calibration", format!("{} adjusted; gain {gain}", scale(which))),
        What::Proved(which, due) => {
            let next = if due == 0 { "no date".to_owned() } else { when(due) };
            ("proof_test", format!("proof test {} made; next due: {next}", proof(which)))
        }
        What::NotStored => ("not_stored", "something could not be stored".to_owned()),
    }
}

/// For a terminal.
pub fn text(entries: &[Entry]) -> String {
    entries.iter().map(|one| format!("{:>6}  {:<19}  {}\n", one.number, one.time, one.text)).collect()
}
