//! The book's interlock table is the core's: the page is made from the const table and compared with the committed one.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests docs_interlocks` writes it anew.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{Condition, Latch, Level, ROWS, Role, Row, Side};
use valvewright_core::row::Watch;
use valvewright_core::units::Millis;

/// A watch as a technician would name it.
fn name(watch: Watch) -> &'static str {
    match watch {
        Watch::CabinetGas => "cabinet gas (AT-2)",
        Watch::VesselFill => "vessel mass (WT-1) of its fill limit",
        Watch::VesselPressure => "vessel pressure (PT-1)",
        Watch::DischargeSwitch => "discharge pressure switch (PSH-1) open",
        Watch::Identity => "no valid identification on this connection",
        Watch::PurgeLeave => "no air found on a rested vessel",
        Watch::ChargeFlow => "charge rate unlike its model",
        Watch::ChargeScale => "vessel scale (WT-1) bad or shaken",
        Watch::LateScan => "scan came late",
        Watch::SeparatorLevel => "separator level (LS-2) high",
        Watch::PumpAdmission => "higher hose pressure (PT-2, PT-3), for XV-6 to open",
        Watch::PumpInlet => "higher hose pressure (PT-2, PT-3) while XV-6 is open",
        Watch::HeaterCover => "vessel mass (WT-1) while the heater is on or wanted",
        Watch::HeaterSkin => "heater skin (TT-3)",
        Watch::HeaterEffect => "vessel wall (TT-1) does not warm in 120 s while the heater is on",
        Watch::MotorCurrent => "motor current of C-1 (IT-1)",
        Watch::SeparatorPressure => "separator pressure (PT-5), for XV-8 to open",
        Watch::OilBottle => "used-oil bottle (LS-1) full",
        Watch::BridgesApart => "bridges of the vessel scale (WT-1A, WT-1B) apart",
        Watch::FanSpeed => "fan speed (ST-1) while anything but the fan is on or wanted",
        Watch::HeaterWelded => "heater skin (TT-3) warms with one contactor (H-1, H-2) off",
        Watch::DischargeTemperature => "discharge temperature (TT-2)",
        Watch::Suction => "lower hose pressure (PT-2, PT-3) while C-1 runs with XV-3 open",
        Watch::LeakVerdict => "no tight leak verdict on this connection",
        Watch::Effect => "an effect did not follow its command",
        Watch::ScaleCreep => "vessel scale (WT-1) moves with all valves shut",
        Watch::ScaleLost => "vessel scale (WT-1) bad",
        Watch::AirFlow => "air flow (FSL-1) lost while anything but the fan is on or wanted",
        Watch::Door => "service door (ZS-1) open",
        Watch::AirProof => "air changes and switch test before a start not done",
        Watch::StopPressed => "emergency stop (HS-1): a channel open",
        Watch::Unrecovered => "neither recovered, nor well below the barometer, nor opened to air",
        Watch::HosesRise => "higher hose pressure (PT-2, PT-3) not at rest for 60 s",
        Watch::StopDisagrees => "emergency stop (HS-1): channels disagree",
    }
}

fn level(level: Level) -> String {
    match level {
        Level::Pressure(p) => format!("{:.2} bar abs", f64::from(p.0) * 1e-5),
        Level::OverBarometer(p) => format!("{:.0} mbar over the barometer", f64::from(p.0) * 1e-2),
        Level::Temperature(t) => format!("{:.0} °C", f64::from(t.to_centi_celsius()) * 0.01),
        Level::Gas(share) => format!("{:.0} % LFL", f64::from(share.0) * 0.1),
        Level::FillShare(share) => format!("{:.1} %", f64::from(share.0) * 0.1),
        Level::Mass(mass) if mass.0 < 100_000 => format!("{:.0} g", f64::from(mass.0) * 1e-3),
        Level::Mass(mass) => format!("{:.1} kg", f64::from(mass.0) * 1e-6),
        Level::Current(i) => format!("{:.0} A", f64::from(i.0) * 1e-3),
        Level::Speed(v) => format!("{} rpm", v.0),
        Level::State => String::new(),
    }
}

fn time(time: Millis) -> String {
    match time.0 {
        0 => String::new(),
        ms => format!(" for {} s", f64::from(ms) * 1e-3),
    }
}

fn cause(one: &Condition) -> String {
    let (over, back) = match one.watch.side() {
        Side::High => ("at or above ", "below "),
        Side::Low => ("below ", "at or above "),
        Side::State => ("", ""),
    };
    let what = name(one.watch);
    let trip = match one.watch.side() {
        Side::State => format!("{what}{}", time(one.hold)),
        _ => format!("{what} {over}{}{}", level(one.trip), time(one.hold)),
    };
    let clear = match one.watch.side() {
        Side::State if one.clear_hold.0 == 0 => String::new(),
        Side::State => format!("; clear when gone{}", time(one.clear_hold)),
        _ => format!("; clear {back}{}{}", level(one.clear), time(one.clear_hold)),
    };
    let role = if one.role == Role::Permit { " *(permission)*" } else { "" };
    format!("{trip}{clear}{role}")
}

fn cell(row: &Row, one: Actuator) -> String {
    let marks = [(row.trip.inhibits, 'X'), (row.trip.stops, 'S'), (row.withholds, 'P'), (row.trip.forces, 'F')];
    marks.iter().filter(|(set, _)| set.has(one)).map(|(_, mark)| *mark).collect()
}

fn latch(latch: Latch) -> String {
    match latch {
        Latch::None => "none".into(),
        Latch::Phase => "phase".into(),
        Latch::After(events) => format!("after {events} in a phase"),
        Latch::Connection => "connection".into(),
        Latch::Latched => "latched".into(),
    }
}

fn page() -> String {
    let mut out = String::from(
        "# Interlock table\n\nMade from `core/src/interlock/table.rs`; a test keeps it so. How to read it: \
         [interlock course](interlocks.md). X trips off, S trips off once the valve it serves has been shut for 2 s, P withholds until permitted, F forces on.\n\n| row |",
    );
    for one in Actuator::ALL {
        let _ = write!(out, " {} |", one.tag());
    }
    out.push_str(" latch |\n| --- |");
    out.push_str(&" --- |".repeat(Actuator::ALL.len() + 1));
    for row in ROWS {
        let _ = write!(out, "\n| [{0}](#{1}) |", row.id, row.id.as_str().to_lowercase());
        for one in Actuator::ALL {
            let _ = write!(out, " {} |", cell(row, one));
        }
        let _ = write!(out, " {} |", latch(row.latch));
    }
    out.push('\n');
    for row in ROWS {
        let hazards: Vec<String> = std::iter::once(&row.hazard).chain(row.also).map(|h| h.to_string()).collect();
        let _ = write!(out, "\n## {}\n\nAnswers {}: {}.\n\n", row.id, hazards.join(", "), row.why);
        for one in row.causes {
            let _ = writeln!(out, "- {}", cause(one));
        }
        let _ = write!(out, "\nTo clear: {}.\n", row.reset);
    }
    out
}

#[test]
fn the_committed_page_is_made_from_the_table() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/interlock-table.md");
    let made = page();
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        fs::write(&path, &made).expect("the page can be written");
    }
    let committed = fs::read_to_string(&path).expect("docs/interlock-table.md is there");
    assert!(committed == made, "docs/interlock-table.md is not what the table says: run with VALVEWRIGHT_WRITE=1");
}

#[test]
fn a_set_point_reads_as_a_technician_writes_it() {
    let row = ROWS.iter().find(|row| row.id.as_str() == "I11").expect("I11 is there");
    let text: Vec<String> = row.causes.iter().map(cause).collect();
    let tripped = "higher hose pressure (PT-2, PT-3) while XV-6 is open at or above 80 mbar over the barometer; clear below 30 mbar over the barometer for 2 s";
    assert!(text.iter().any(|line| line == tripped), "{text:?}");
}
