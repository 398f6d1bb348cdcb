//! Whether a station's network has what the simulator looks for, and has it where the controller is told so.

use valvewright_core::frame::{Actuator, Actuators};

use super::derive::Network;
use super::names::{broken_chain, follows, loose_end, missing_volumes, unmoved};
use crate::scenario::diagnostic::{Diagnostic, Problems};

/// What `without` says, and where.
pub(super) struct Without {
    /// Devices that are not there.
    pub devices: Actuators,
    /// Where that is said, or where it should be.
    pub spot: Diagnostic,
}

fn tags(devices: &[Actuator]) -> String {
    devices.iter().map(|one| format!("`{}`", one.tag())).collect::<Vec<_>>().join(", ")
}

fn at(spot: &Diagnostic, message: String, help: &str) -> Diagnostic {
    Diagnostic { message, ..spot.clone() }.with_help(help)
}

fn place(spot: &Diagnostic) -> String {
    format!("{}:{}:{}", spot.file, spot.line, spot.column)
}

/// Volumes and elements that must be there are, devices that are not there have no element, and C-1's stages follow one another.
pub(super) fn parts(network: Network<'_>, without: &Without, p: &mut Problems) {
    let mut lacking: Vec<String> = Vec::new();
    for (name, what) in missing_volumes(network.spec) {
        if network.spec.volumes.iter().any(|v| v.name == name) {
            p.push(at(&network.spot("volume", &name, ""), what, "its name is one that the simulator looks for"));
        } else {
            lacking.push(what);
        }
    }
    if !lacking.is_empty() {
        let help = "add them; docs/station-file.md lists the names that the simulator looks for";
        p.push(at(&network.spot("volume", "", ""), lacking.join("; "), help));
    }
    devices(network, without, p);
    if let Some((name, what)) = broken_chain(network.spec) {
        p.push(at(&network.spot("element", &name, "from"), what, STAGES));
    }
    if let Some((name, what)) = loose_end(network.spec) {
        p.push(at(&network.spot("element", &name, "to"), what, STAGES));
    }
}

/// How C-1 must be drawn.
const STAGES: &str = "the stages of C-1 are elements `C-1`, `C-1/second` and so on, the first from `separator`, each from where the one \
                      before delivers, the last to `discharge`";

fn devices(network: Network<'_>, without: &Without, p: &mut Problems) {
    let missing: Vec<Actuator> = unmoved(network.spec).into_iter().filter(|one| !without.devices.has(*one)).collect();
    if !missing.is_empty() {
        let heater = missing.iter().all(|one| Actuators::HEATER.has(*one));
        let help = if heater {
            "add `[element.\"H-1+H-2\"]`, its two contactors in series, or say `without = [\"H-1\", \"H-2\"]` in [controller]"
        } else {
            "each actuator needs an element of its tag, alone, in series as `XV-5+XV-10`, or as one of several ways as `XV-1/drain`"
        };
        let what = format!("no element follows {}", tags(&missing));
        p.push(at(&network.spot("element", "", ""), what, help));
    }
    let there = network
        .spec
        .elements
        .iter()
        .filter(|e| follows(&e.name).is_some_and(|devices| !devices.and(without.devices).is_empty()));
    for element in there {
        let here = network.spot("element", &element.name, "");
        let what = format!(
            "controller.without says that the heater is not there, and the network has `{}` at {}",
            element.name,
            place(&here)
        );
        p.push(at(&without.spot, what, "take the element out of the network, or the tags out of `without`"));
    }
}
