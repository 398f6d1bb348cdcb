//! Whether a station's network has what the simulator looks for, and has it where the controller is told so.

use valvewright_core::frame::{Actuator, Actuators};

use super::derive::{Names, Network, spot};
use super::elements::{missing, slip, unmoved};
use super::names::{broken_chain, follows, loose_end, meant_volume, missing_volumes, unfit_volumes};
use crate::plant::NetworkSpec;
use crate::plant::spec::LawSpec;
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

/// All volumes that are looked for are there, under their names.
pub(super) fn volumes(names: Names<'_>, p: &mut Problems) {
    let place_of = |name: &str| spot(names.document, "volume", name, "");
    for name in names.volumes {
        if let Some(meant) = meant_volume(name, names.volumes) {
            let what = format!("volume `{name}` is no name that the simulator looks for");
            p.push(at(&place_of(name), what, &format!("nearest name: `{meant}`; {FREE}")));
        }
    }
    let lacking = missing_volumes(names.volumes);
    if !lacking.is_empty() {
        p.push(at(&place_of(""), needs(&lacking), LIST));
    }
}

/// All elements that are looked for are there, under their names; devices that are not there have none.
pub(super) fn elements(names: Names<'_>, network: Option<Network<'_>>, without: &Without, p: &mut Problems) {
    let place_of = |name: &str| spot(names.document, "element", name, "");
    // A slip is told once, at its own place, and not as what is missing because of it.
    let mut meant = names.elements.to_vec();
    for (name, meant) in names.elements.iter().zip(&mut meant) {
        if let Some(slip) = slip(name) {
            p.push(at(&place_of(name), slip.what, &format!("nearest name: `{}`; {FREE}", slip.meant)));
            *meant = slip.meant;
        }
    }
    let mut lacking = missing(&meant, without.devices);
    if network.is_some_and(|network| !relieved(network.spec)) {
        lacking.push("[element.\"PSV-1\"], a `relief valve` from `vessel`: a pressure vessel has one".to_owned());
    }
    let unmoved: Vec<Actuator> = unmoved(&meant).into_iter().filter(|one| !without.devices.has(*one)).collect();
    let (mut told, mut help) = (Vec::new(), Vec::new());
    if !unmoved.is_empty() {
        told.push(format!("no element follows {}", tags(&unmoved)));
        let heater = unmoved.iter().all(|one| Actuators::HEATER.has(*one));
        help.push(if heater { NO_HEATER } else { ONE_EACH });
    }
    if !lacking.is_empty() {
        told.push(needs(&lacking));
    }
    if !told.is_empty() {
        help.push(LIST);
        p.push(at(&place_of(""), told.join("; "), &help.join("; ")));
    }
    for (name, meant) in names.elements.iter().zip(&meant) {
        if follows(meant).is_some_and(|devices| !devices.and(without.devices).is_empty()) {
            let here = place(&place_of(name));
            let what =
                format!("controller.without says that the heater is not there, and the network has `{name}` at {here}");
            p.push(at(&without.spot, what, "take the element out of the network too, or the tags out of `without`"));
        }
    }
}

fn needs(lacking: &[String]) -> String {
    format!("the station needs {}", lacking.join("; "))
}

/// Where the names are to be seen.
const LIST: &str =
    "`valvewright list workshop` shows one of each; docs/station-file.md lists the names that the simulator looks for";
/// What stands against a name that is nearly one of them.
const FREE: &str = "a name of your own must be further from those in docs/station-file.md";
const NO_HEATER: &str =
    "add `[element.\"H-1+H-2\"]`, its two contactors in series, or say `without = [\"H-1\", \"H-2\"]` in [controller]";
const ONE_EACH: &str = "each actuator needs an element of its tag, alone, in series as `XV-5+XV-10`, or as one of several ways as `XV-1/drain`";

/// Whether the vessel has a relief valve, whatever its name.
fn relieved(network: &NetworkSpec) -> bool {
    network.elements.iter().any(|e| matches!(e.law, LawSpec::Relief(_)) && e.from == "vessel")
}

/// Volumes are what they must be, and C-1's stages follow one another.
pub(super) fn parts(network: Network<'_>, p: &mut Problems) {
    for (name, what) in unfit_volumes(network.spec) {
        p.push(at(&network.spot("volume", &name, ""), what, "its name is one that the simulator looks for"));
    }
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
