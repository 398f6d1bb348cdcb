//! The names that the simulator looks for in a station's network, and what is said where one is missing.

use valvewright_core::frame::{Actuator, Actuators};

use crate::plant::NetworkSpec;
use crate::plant::spec::{ElementSpec, LawSpec, PlaceKind, VolumeSpec};

/// What a volume of a station must be.
enum Needs {
    /// A closed volume.
    Closed,
    /// With a wall, whose temperature is measured.
    Wall,
    /// With oil, which is drained, weighed or dissolves.
    Oil,
    /// An oil bottle.
    Bottle,
    /// The aired cabinet.
    Cabinet,
}

/// Volumes that each network of a station has.
const VOLUMES: [(&str, Needs); 14] = [
    ("vessel", Needs::Wall),
    ("discharge", Needs::Wall),
    ("separator", Needs::Oil),
    ("manifold", Needs::Closed),
    ("pump_inlet", Needs::Closed),
    ("hose_low", Needs::Closed),
    ("hose_high", Needs::Closed),
    ("vehicle_high", Needs::Closed),
    ("vehicle_low", Needs::Closed),
    ("accumulator", Needs::Oil),
    ("used_oil", Needs::Bottle),
    ("new_oil", Needs::Bottle),
    ("cabinet", Needs::Cabinet),
    ("nitrogen_bottle", Needs::Closed),
];

/// Volumes that may be there, and are looked for.
const OPTIONAL: [&str; 2] = ["condenser", "interstage"];

/// The actuators that an element follows by its name: `XV-1/liquid` follows XV-1, `XV-5+XV-10` both; none for another name.
pub(super) fn follows(name: &str) -> Option<Actuators> {
    let tags = name.split('/').next().unwrap_or(name);
    let parts = tags.split('+').map(|tag| Actuator::ALL.into_iter().find(|a| a.tag() == tag));
    Some(Actuators::of(&parts.collect::<Option<Vec<_>>>()?))
}

/// What no volume of these names is, each with what it must be.
pub(super) fn missing_volumes(names: &[String]) -> Vec<String> {
    let lacking = VOLUMES.iter().filter(|(name, _)| !names.iter().any(|one| one == name));
    let told = lacking.map(|(name, needs)| {
        let kind = match needs {
            Needs::Bottle => "a bottle",
            Needs::Cabinet => "a cabinet",
            Needs::Wall => "a closed volume with a wall",
            Needs::Oil => "a closed volume with oil",
            Needs::Closed => "a closed volume",
        };
        format!("[volume.{name}], {kind}")
    });
    told.collect()
}

/// Volumes that are not what they must be, and what each lacks.
pub(super) fn unfit_volumes(network: &NetworkSpec) -> Vec<(String, String)> {
    let unfit = |(name, needs): &(&str, Needs)| {
        let volume = network.volumes.iter().find(|v| v.name == *name)?;
        short(volume, needs).map(|what| ((*name).to_owned(), format!("volume `{name}` {what}")))
    };
    VOLUMES.iter().filter_map(unfit).collect()
}

/// The volume that may be there, is not, and was meant by this name.
pub(super) fn meant_volume(name: &str, names: &[String]) -> Option<&'static str> {
    let known = VOLUMES.iter().any(|one| one.0 == name) || OPTIONAL.contains(&name);
    let absent = OPTIONAL.into_iter().filter(|one| !names.iter().any(|other| other == one));
    absent.filter(|_| !known).find(|one| strsim::osa_distance(one, &name.to_lowercase()) <= 2)
}

fn short(volume: &VolumeSpec, needs: &Needs) -> Option<&'static str> {
    let closed = volume.kind == PlaceKind::Closed;
    match needs {
        Needs::Bottle => (volume.kind != PlaceKind::Bottle).then_some("must be `kind = \"bottle\"`"),
        Needs::Cabinet => (!matches!(volume.kind, PlaceKind::Cabinet { .. })).then_some("must be `kind = \"cabinet\"`"),
        _ if !closed => Some("must be a closed volume"),
        Needs::Wall => volume.wall.is_none().then_some("needs a wall: its temperature is measured"),
        Needs::Oil => volume.oil.is_none().then_some("needs oil, if only `mass = \"0 g\"`"),
        Needs::Closed => None,
    }
}

/// The stages of C-1 from the separator on, each drawing from where the one before delivers.
pub fn stages(network: &NetworkSpec) -> Vec<&ElementSpec> {
    let c1 = Actuators::of(&[Actuator::C1]);
    let compressor = |e: &&ElementSpec| matches!(e.law, LawSpec::Compressor(_)) && follows(&e.name) == Some(c1);
    let mut chain: Vec<&ElementSpec> = Vec::new();
    let mut at = "separator";
    while let Some(next) = network.elements.iter().filter(compressor).find(|e| e.from == at) {
        if chain.iter().any(|one| one.name == next.name) {
            break;
        }
        at = &next.to;
        chain.push(next);
    }
    chain
}

/// What is wrong with the compressors that follow C-1, if anything: the element to be pointed at, what, and what to do.
pub(super) fn broken_chain(network: &NetworkSpec) -> Option<(String, String)> {
    let c1 = Actuators::of(&[Actuator::C1]);
    let chain = stages(network);
    let own = network.elements.iter().filter(|e| follows(&e.name) == Some(c1));
    let stray = own.clone().find(|e| !chain.iter().any(|one| one.name == e.name))?;
    let what = if matches!(stray.law, LawSpec::Compressor(_)) {
        let end = chain.last().map_or("separator", |last| last.to.as_str());
        format!("`{}` is no stage of C-1: it draws from `{}`, and the gas comes from `{end}`", stray.name, stray.from)
    } else {
        format!("`{}` follows C-1 and is no compressor", stray.name)
    };
    Some((stray.name.clone(), what))
}

/// The last stage where it does not end before PSH-1 and TT-2.
pub(super) fn loose_end(network: &NetworkSpec) -> Option<(String, String)> {
    let last = *stages(network).last()?;
    let what = format!("the last stage of C-1, `{}`, delivers into `{}`", last.name, last.to);
    (last.to != "discharge").then(|| (last.name.clone(), what))
}
