//! Inputs as a person meets them: tag, name, what it reads, how far it is believed and why, and what was true where it sits.

use valvewright_core::frame::Switches;
use valvewright_core::input::{Broken, Input};
use valvewright_core::interlock::table::Level;
use valvewright_core::sense::{Doubt, Quality, Readings};
use valvewright_core::units::{AbsPa, CentiKelvin, Milliamp, Milligram, Millivolt, PermilleLfl, Rpm};

use crate::display::Sentence;
use crate::instrument::Truth;
use crate::matrix::{Measure, words as table};
use crate::report::data::InputSeen;
use crate::run::words;
use crate::say;

/// Something that is looked at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum In {
    /// A transmitter or a scale's bridge.
    Loop(Input),
    /// The vessel scale as a whole.
    Vessel,
    /// A contact, by its bit.
    Contact(u16),
}

/// Tag, name, what closed means and what open means.
type ContactWords = (u16, &'static str, &'static str, &'static str, &'static str);
const CONTACTS: [ContactWords; 10] = [
    (Switches::LS1_NOT_FULL, "LS-1", "used-oil bottle switch", "closed: not full", "open: full"),
    (Switches::LS2_NOT_HIGH, "LS-2", "separator level switch", "closed: the level is not high", "open: liquid is high"),
    (
        Switches::PSH1_HEALTHY,
        "PSH-1",
        "discharge pressure switch",
        "closed: below its set point",
        "open: above its set point",
    ),
    (Switches::FSL1_FLOW, "FSL-1", "air flow switch", "closed: air flows", "open: no air flow"),
    (Switches::ZS1_DOOR_SHUT, "ZS-1", "service door switch", "closed: the door is shut", "open: the door is open"),
    (Switches::ZS2_COUPLED, "ZS-2", "coupler switch", "closed: both couplers are on", "open: a coupler is off"),
    (Switches::HS1_A_RELEASED, "HS-1 A", "emergency stop, channel A", "closed: released", "open: pressed"),
    (Switches::HS1_B_RELEASED, "HS-1 B", "emergency stop, channel B", "closed: released", "open: pressed"),
    (
        Switches::PSH2_HEALTHY,
        "PSH-2",
        "pressure switch at the vacuum pump",
        "closed: below its set point",
        "open: under pressure",
    ),
    (Switches::FLUSH_PORT, "ZS-3", "flush port switch", "closed: both couplers sit on it", "open: they do not"),
];

const fn name(of: Input) -> &'static str {
    match of {
        Input::Pt1 => "vessel pressure",
        Input::Pt2 => "pressure of the low-side hose",
        Input::Pt3 => "pressure of the high-side hose",
        Input::Pt4 => "vacuum gauge",
        Input::Pt5 => "separator pressure",
        Input::Tt1 => "wall of the vessel",
        Input::Tt2 => "gas behind the compressor",
        Input::Tt3 => "skin of the vessel heater",
        Input::Tt4 => "air around",
        Input::At2 => "gas in the cabinet",
        Input::It1 => "motor current of C-1",
        Input::St1 => "speed of the cabinet fan",
        Input::Et1 => "supply",
        Input::Et2 => "valve rail",
        Input::Wt1A => "vessel scale, first bridge",
        Input::Wt1B => "vessel scale, second bridge",
        Input::Wt2 => "used-oil scale",
        Input::Wt3 => "new-oil scale",
    }
}

/// What it reads, and its quality.
fn read(of: Input, r: &Readings) -> (Level, Quality) {
    let pressure = |one: &valvewright_core::sense::Reading<AbsPa>| (Level::Pressure(one.value), one.quality);
    let warmth = |one: &valvewright_core::sense::Reading<CentiKelvin>| (Level::Temperature(one.value), one.quality);
    let volts = |one: &valvewright_core::sense::Reading<Millivolt>| (Level::Voltage(one.value), one.quality);
    let mass = |one: &valvewright_core::sense::Weight| (Level::Mass(one.mass.value), one.mass.quality);
    match of {
        Input::Pt1 => pressure(&r.pt1),
        Input::Pt2 => pressure(&r.pt2),
        Input::Pt3 => pressure(&r.pt3),
        Input::Pt4 => pressure(&r.pt4),
        Input::Pt5 => pressure(&r.pt5),
        Input::Tt1 => warmth(&r.tt1),
        Input::Tt2 => warmth(&r.tt2),
        Input::Tt3 => warmth(&r.tt3),
        Input::Tt4 => warmth(&r.tt4),
        Input::At2 => (Level::Gas(r.at2.value), r.at2.quality),
        Input::It1 => (Level::Current(r.it1.value), r.it1.quality),
        Input::St1 => (Level::Speed(r.st1.value), r.st1.quality),
        Input::Et1 => volts(&r.et1),
        Input::Et2 => volts(&r.et2),
        Input::Wt1A => mass(&r.wt1a),
        Input::Wt1B => mass(&r.wt1b),
        Input::Wt2 => mass(&r.wt2),
        Input::Wt3 => mass(&r.wt3),
    }
}

/// What was true where it sits.
fn truth(of: Input, t: &Truth) -> Level {
    let whole = |value: f64| value.round().clamp(f64::from(i32::MIN), f64::from(i32::MAX)) as i32;
    let pressure = |pascal: f64| Level::Pressure(AbsPa(whole(pascal)));
    let warmth = |kelvin: f64| Level::Temperature(CentiKelvin(whole(kelvin * 100.0)));
    let mass = |kg: f64| Level::Mass(Milligram(whole(kg * 1e6)));
    match of {
        Input::Pt1 => pressure(t.p_vessel),
        Input::Pt2 => pressure(t.p_low),
        Input::Pt3 => pressure(t.p_high),
        Input::Pt4 => pressure(t.p_vacuum),
        Input::Pt5 => pressure(t.p_separator),
        Input::Tt1 => warmth(t.t_vessel_wall),
        Input::Tt2 => warmth(t.t_discharge),
        Input::Tt3 => warmth(t.t_heater),
        Input::Tt4 => warmth(t.t_ambient),
        Input::At2 => Level::Gas(PermilleLfl(whole(t.lfl_share * 1e3))),
        Input::It1 => Level::Current(Milliamp(whole(t.c1_current_a * 1e3))),
        Input::St1 => Level::Speed(Rpm(if t.fan_on { whole(t.fan_rpm) } else { 0 })),
        Input::Et1 => Level::Voltage(Millivolt(whole(t.supply_v * 1e3))),
        Input::Et2 => Level::Voltage(Millivolt(whole(t.rail_v * 1e3))),
        Input::Wt1A | Input::Wt1B => mass(t.m_vessel_kg),
        Input::Wt2 => mass(t.m_used_oil_kg),
        Input::Wt3 => mass(t.m_new_oil_kg),
    }
}

const fn quality_word(quality: Quality) -> &'static str {
    match quality {
        Quality::Good => "good",
        Quality::Held(_) => "held",
        Quality::Uncertain(_) => "uncertain",
        Quality::Bad(_) => "bad",
        Quality::None => "none",
    }
}

/// What can contradict it.
const fn against(of: Input) -> &'static str {
    match of {
        Input::Pt2 | Input::Pt3 => "; PT-2 and PT-3 are held against each other where open valves join them",
        Input::Pt5 => "; it is held against the hose gauges that feed the separator",
        Input::Pt4 => "; it is held against the hose gauges",
        Input::Pt1 | Input::Tt1 => {
            "; at rest the vessel's pressure is held against the boiling pressure at its wall's temperature"
        }
        Input::Tt2 => "; it must warm while C-1 runs",
        Input::Tt3 => "; it must stand near the air at rest and warm under the heater",
        Input::St1 => "; it is held against the air flow switch FSL-1",
        Input::Wt1A | Input::Wt1B => "; the two bridges under one platform are held against each other",
        _ => "",
    }
}

/// Why a reading is believed, or is not.
fn believed(of: Input, quality: Quality) -> Sentence {
    match quality {
        Quality::Good => "believed: alive, in its range, and nothing contradicts it".into(),
        Quality::Held(age) => {
            say![format!("believed for a moment: nothing new for {} ms, the last good value counts", age.0)]
        }
        Quality::Uncertain(Doubt::Saturated) => {
            "doubted: its signal is at the end of its range, and what is true may lie beyond".into()
        }
        Quality::Uncertain(Doubt::Jumpy) => "doubted: it changes faster than the thing it measures can".into(),
        Quality::Uncertain(Doubt::Unsteady) => "doubted: it has not come to rest".into(),
        Quality::Bad(why) => {
            let more = if why == Broken::Contradicted { against(of) } else { "" };
            say!["not believed: ", words::broken(why), more, "; its value is the last good one"]
        }
        Quality::None => "not believed: nothing has come since power-on".into(),
    }
}

fn seen(tag: &'static str, name: &'static str, of: Input, (level, quality): (Level, Quality), t: &Truth) -> InputSeen {
    let true_level = truth(of, t);
    InputSeen {
        tag,
        name,
        reading: table::level(level),
        value: Measure::of(level),
        quality: Some(quality_word(quality)),
        believed: believed(of, quality),
        doubted_since_s: None,
        truth: Measure::of(true_level),
        truth_words: table::level(true_level),
    }
}

impl In {
    /// As the core saw it in this scan, with what was true.
    pub fn seen(self, r: &Readings, t: &Truth) -> Option<InputSeen> {
        match self {
            Self::Loop(of) => Some(seen(of.tag(), name(of), of, read(of, r), t)),
            Self::Vessel => {
                let both = (Level::Mass(r.wt1.mass.value), r.wt1.mass.quality);
                let mut one = seen("WT-1", "vessel scale, mean of both bridges", Input::Wt1A, both, t);
                let rate = f64::from(r.wt1.rate.0) * 1e-3;
                if rate.abs() >= 0.05 {
                    one.reading = say![
                        one.reading,
                        format!(", {} {:.1} g/s", if rate < 0.0 { "losing" } else { "gaining" }, rate.abs())
                    ];
                }
                Some(one)
            }
            Self::Contact(bit) => {
                let (_, tag, name, closed, open) = CONTACTS.iter().find(|one| one.0 == bit)?;
                let reading = if r.switches.closed(bit) { *closed } else { *open };
                Some(InputSeen { tag, name, reading: reading.into(), ..InputSeen::default() })
            }
        }
    }
}

/// Every input that is not to be believed now.
pub fn bad(r: &Readings) -> Vec<In> {
    let bad = |of: &Input| matches!(read(*of, r).1, Quality::Bad(_) | Quality::None);
    // A station without a heater has no TT-3 to hear of.
    let wired = |of: &Input| *of != Input::Tt3 || read(*of, r).1 != Quality::None;
    Input::ALL.into_iter().filter(bad).filter(wired).map(In::Loop).collect()
}
