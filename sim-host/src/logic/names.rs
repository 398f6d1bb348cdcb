//! The names that a formula may use, what each is and in which units it is compared: signals of the plant, instruments, contacts, outputs, and
//! what is so or not so in a scan.

use valvewright_core::frame::{Actuator, Analog, Lamp, Scale, Switches};

use super::formula::{Fact, Signal};
use crate::plant::spec::LawSpec;
use crate::plant::{ELEMENT_FIELDS, NetworkSpec, VOLUME_FIELDS};
use crate::scenario::diagnostic::nearest;
use crate::scenario::quantity::Dim;
use crate::station::transmitter;

/// Bridges of the scales by their tags.
const SCALES: [(&str, Scale); 4] =
    [("WT-1A", Scale::Wt1A), ("WT-1B", Scale::Wt1B), ("WT-2", Scale::Wt2), ("WT-3", Scale::Wt3)];

/// Contacts by their tags.
const CONTACTS: [(&str, u16); 10] = [
    ("LS-1", Switches::LS1_NOT_FULL),
    ("LS-2", Switches::LS2_NOT_HIGH),
    ("PSH-1", Switches::PSH1_HEALTHY),
    ("PSH-2", Switches::PSH2_HEALTHY),
    ("FSL-1", Switches::FSL1_FLOW),
    ("ZS-1", Switches::ZS1_DOOR_SHUT),
    ("ZS-2", Switches::ZS2_COUPLED),
    ("ZS-3", Switches::FLUSH_PORT),
    ("HS-1A", Switches::HS1_A_RELEASED),
    ("HS-1B", Switches::HS1_B_RELEASED),
];

/// Colours of the lamp.
const LAMPS: [(&str, Lamp); 5] = [
    ("white", Lamp::White),
    ("green", Lamp::Green),
    ("blue", Lamp::Blue),
    ("yellow", Lamp::Yellow),
    ("red", Lamp::Red),
];

/// What `is` may say of a name: the words, and the fact that each stands for or is the contrary of.
pub type States = Vec<(&'static str, Fact, bool)>;

/// What a name stands for.
#[derive(Clone, Debug, PartialEq)]
pub enum Named {
    /// Something with a value.
    Signal(Signal, Dim),
    /// Something that is in one of some states.
    States(States),
}

/// Why a name stands for nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unknown {
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

/// The names of one scenario.
#[derive(Clone, Debug, Default)]
pub struct Names {
    /// Volumes, elements and fans of the network; nothing where its file cannot be used.
    owners: Option<Vec<(String, Owner)>>,
    /// Faults of the scenario, by what a formula calls them.
    faults: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Owner {
    Volume,
    Element,
    Fan,
}

impl Names {
    /// Names on a network, where it is known, with these faults.
    pub fn new(network: Option<&NetworkSpec>, faults: Vec<String>) -> Self {
        let owners = network.map(|network| {
            let volumes = network.volumes.iter().map(|one| (one.name.clone(), Owner::Volume));
            let elements = network.elements.iter().map(|one| {
                let fan = matches!(one.law, LawSpec::Fan(_));
                (one.name.clone(), if fan { Owner::Fan } else { Owner::Element })
            });
            volumes.chain(elements).collect()
        });
        Self { owners, faults }
    }

    /// What a name stands for.
    ///
    /// # Errors
    /// Nothing is called so.
    pub fn find(&self, name: &str) -> Result<Named, Unknown> {
        if let Some((owner, field)) = name.rsplit_once('.') {
            return self.of_plant(name, owner, field);
        }
        if let Some(input) = Analog::ALL.into_iter().find(|input| transmitter(*input).tag == name) {
            return Ok(Named::Signal(Signal::Loop(input), transmitter(input).dim));
        }
        if let Some((_, bridge)) = SCALES.iter().find(|(tag, _)| *tag == name) {
            return Ok(Named::Signal(Signal::Bridge(*bridge), Dim::Mass));
        }
        states(name).map(Named::States).ok_or_else(|| self.unknown(name))
    }

    fn of_plant(&self, name: &str, owner: &str, field: &str) -> Result<Named, Unknown> {
        let known = self.owners.as_ref().map(|all| all.iter().find(|(one, _)| one == owner).map(|(_, kind)| *kind));
        if known == Some(None) {
            let all = || self.owners.iter().flatten().map(|(one, _)| one.as_str());
            let near =
                nearest(owner, all()).map(|near| format!("nearest name: `{near}.{field}`; ")).unwrap_or_default();
            let help = format!("{near}its volumes and elements: {}", all().collect::<Vec<_>>().join(", "));
            return Err(Unknown { message: format!("the station has no volume or element `{owner}`"), help });
        }
        let kind = known.flatten();
        let (volume, element) = (kind.is_none_or(|one| one == Owner::Volume), kind != Some(Owner::Volume));
        let fields = VOLUME_FIELDS.iter().filter(|_| volume).chain(ELEMENT_FIELDS.iter().filter(|_| element));
        let Some((_, unit)) = fields.clone().find(|(one, _)| *one == field) else {
            let near = nearest(field, fields.clone().map(|(one, _)| *one));
            let near = near.map(|near| format!("nearest name: `{owner}.{near}`; ")).unwrap_or_default();
            let all: Vec<&str> = fields.map(|(one, _)| *one).collect();
            let what = if volume { "volume" } else { "element" };
            let message = format!("`{field}` can't be read of `{owner}`");
            return Err(Unknown { message, help: format!("{near}what can be read of a {what}: {}", all.join(", ")) });
        };
        // A fan moves air of the cabinet, told by its volume.
        let dim = if (kind, field) == (Some(Owner::Fan), "flow") { Dim::VolumeFlow } else { dimension(unit) };
        Ok(Named::Signal(Signal::Plant(name.to_owned()), dim))
    }

    fn unknown(&self, name: &str) -> Unknown {
        let outputs = Actuator::ALL.into_iter().map(Actuator::tag);
        let tags: Vec<&str> = Analog::ALL.into_iter().map(|input| transmitter(input).tag).collect();
        let all = tags.iter().copied().chain(SCALES.iter().map(|(tag, _)| *tag));
        let all = all
            .chain(CONTACTS.iter().map(|(tag, _)| *tag))
            .chain(outputs)
            .chain(OTHERS)
            .chain(["row", "told", "fault"]);
        let near = nearest(name, all).map(|near| format!("nearest name: `{near}`; ")).unwrap_or_default();
        let help = format!(
            "{near}write a signal of the plant (`vessel.p`), an instrument ({}), a contact (`FSL-1`), an output (`XV-5`), {}, `row I03`, `told charge_stall` or `fault ID`",
            tags.join(", "),
            OTHERS.map(|one| format!("`{one}`")).join(", ")
        );
        Unknown { message: format!("nothing is called `{name}`"), help }
    }

    /// The place of a fault.
    ///
    /// # Errors
    /// The scenario has none of that name.
    pub fn fault(&self, name: &str) -> Result<usize, Unknown> {
        let found = self.faults.iter().position(|one| one == name);
        found.ok_or_else(|| {
            let near = nearest(name, self.faults.iter().map(String::as_str));
            let near = near.map(|near| format!("nearest name: `{near}`; ")).unwrap_or_default();
            let help = match self.faults.len() {
                0 => "this scenario has no fault that could act".to_owned(),
                _ => format!("{near}its faults: {}", self.faults.join(", ")),
            };
            Unknown { message: format!("the scenario has no fault `{name}`"), help }
        })
    }
}

/// Names beside tags and signals.
const OTHERS: [&str; 6] = ["phase", "lamp", "buzzer", "door", "vehicle", "stop"];

/// The states of what has some; the phase has words of its own.
fn states(name: &str) -> Option<States> {
    let two = |yes: &'static str, no: &'static str, fact: Fact| vec![(yes, fact.clone(), true), (no, fact, false)];
    if let Some(output) = Actuator::ALL.into_iter().find(|one| one.tag() == name) {
        return Some(two("on", "off", Fact::On(output)));
    }
    if let Some((_, mask)) = CONTACTS.iter().find(|(tag, _)| *tag == name) {
        return Some(two("closed", "open", Fact::Closed(*mask)));
    }
    match name {
        "lamp" => Some(LAMPS.iter().map(|(word, colour)| (*word, Fact::Lamp(*colour), true)).collect()),
        "buzzer" => Some(two("on", "off", Fact::Buzzer)),
        "door" => Some(two("shut", "open", Fact::DoorShut)),
        "vehicle" => Some(two("coupled", "uncoupled", Fact::Coupled)),
        "stop" => Some(two("pressed", "released", Fact::Stop)),
        "phase" => {
            let phases = valvewright_core::order::PhaseKind::ALL;
            let none = ("none", Fact::Phase(None), true);
            Some(phases.into_iter().map(|one| (one.name(), Fact::Phase(Some(one)), true)).chain([none]).collect())
        }
        _ => None,
    }
}

/// What is compared in a unit of the plant's signals.
fn dimension(unit: &str) -> Dim {
    match unit {
        "Pa" => Dim::Pressure,
        "K" => Dim::Temperature,
        "kg" => Dim::Mass,
        "m3" => Dim::Volume,
        "kg/s" => Dim::MassFlow,
        "W" => Dim::Power,
        "A" => Dim::Current,
        _ => Dim::Fraction,
    }
}

/// What the difference of two values is.
pub const fn difference(dim: Dim) -> Dim {
    match dim {
        Dim::Pressure => Dim::PressureDifference,
        Dim::Temperature => Dim::TemperatureDifference,
        other => other,
    }
}

/// What one of the margin is in a comparison, SI: margins of unlike quantities are compared when they stand in one formula. Own choice:
/// about what is clearly more than an instrument's error, and less than a phase's range.
pub const fn scale(dim: Dim) -> f64 {
    match dim {
        Dim::Pressure | Dim::PressureDifference => 1e5,
        Dim::Temperature | Dim::TemperatureDifference => 10.0,
        Dim::Mass => 0.1,
        Dim::Volume => 1e-4,
        Dim::MassFlow | Dim::VolumeFlow => 1e-3,
        Dim::Fraction => 0.1,
        Dim::Power => 100.0,
        Dim::Speed => 10.0,
        _ => 1.0,
    }
}
