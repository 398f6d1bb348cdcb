//! Networks from TOML: every key with its unit and range, unknown keys refused with the nearest valid one.
//!
//! ```toml
//! refrigerant = "R1234yf"
//! [volume.loop]
//! volume = "4 L"
//! temperature = "25 degC"
//! refrigerant = "600 g"
//! [element.vent]
//! kind = "orifice"
//! from = "loop"
//! to = "ambient"
//! ```

mod element;
mod flow;
mod keys;
mod machine;
mod oil;
mod volume;

use super::spec::{AmbientSpec, Draw, ElementSpec, Mixing, NetworkSpec, VolumeSpec};
use crate::fluid::FluidKind;
use crate::scenario::diagnostic::{Diagnostic, Problems, Source};
use crate::scenario::quantity::Dim;
use crate::scenario::reader::{self, Node};
use keys::Keys;
pub(super) use volume::misfit;

/// Most volumes a file may hold, and most elements: the matrix's order of elimination takes the cube of their number.
pub const MOST_PARTS: usize = 500;

/// Accepted ranges, SI, of what more than one kind of table or a schedule can say.
pub(crate) mod range {
    use std::ops::RangeInclusive;

    pub type Range = RangeInclusive<f64>;
    pub const TEMPERATURES: Range = 203.15..=363.15;
    pub const AIR_TEMPERATURES: Range = 233.15..=343.15;
    pub const AIR_PRESSURES: Range = 5e4..=1.2e5;
    pub const PRESSURES: Range = 0.0..=4e6;
    pub const CONDUCTANCES: Range = 0.0..=1e5;
    /// Of the heater's own joint: without one its heat goes nowhere.
    pub const JOINTS: Range = 1e-3..=1e5;
    pub const BORES: Range = 0.0..=0.1;
    /// Of what has a length, too.
    pub const PIPE_BORES: Range = 1e-5..=0.1;
    pub const LENGTHS: Range = 1e-3..=100.0;
    pub const COUNTS: Range = 1.0..=20.0;
    /// As a share of the bore: friction laws are fitted up to a twentieth (Moody's chart).
    pub const ROUGHEST: f64 = 0.05;
    pub const LOSSES: Range = 0.0..=1e4;
    pub const SHARES: Range = 0.0..=1.0;
    pub const MASSES: Range = 0.0..=200.0;
    pub const SMOOTHING: Range = 1e-3..=1e5;
    pub const PERMEANCES: Range = 0.0..=1e-3;
    pub const COMPLIANCES: Range = 0.0..=1e-5;
    pub const EXPONENTS: Range = 1.01..=1.67;
    pub const NONEQUILIBRIUM: Range = 1.0..=2.4;
    pub const CRACKING: Range = 0.0..=4e6;
    pub const STROKES: Range = 0.0..=600.0;
    pub const DISPLACEMENTS: Range = 1e-9..=1e-2;
    pub const SPEEDS: Range = 0.1..=500.0;
    pub const CLEARANCES: Range = 0.0..=0.5;
    pub const ISENTROPIC: Range = 0.05..=1.0;
    pub const CURRENTS: Range = 0.0..=1e3;
    pub const PUMPING: Range = 1e-7..=1.0;
    pub const ULTIMATE: Range = 0.0..=1e5;
    pub const STALL: Range = 1e3..=1e7;
    pub const BALLAST: Range = 0.0..=0.1;
    pub const RELIEFS: Range = 1e3..=1e7;
    pub const POWERS: Range = 0.0..=1e5;
    pub const OIL_FLOWS: Range = 0.0..=10.0;
    pub const AIRINGS: Range = 0.0..=10.0;
}

/// Reads a whole network file. A `[controller]` in it belongs to the station around it (`crate::station`) and is not looked at.
pub fn network(source: &Source) -> Result<NetworkSpec, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut root = document.root();
    let mut problems = Problems::new();
    let _ = problems.take(root.opt_string("title"));
    let _of_the_station = root.misplaced("controller", "");
    let parts = network_part(&mut root, &mut problems);
    root.finish_into(&mut problems);
    match parts.spec {
        Some(spec) if problems.is_empty() => Ok(spec),
        _ => Err(problems.into_list()),
    }
}

/// What a file says of its network.
pub(crate) struct Parts {
    /// The network, as far as it could be read; none without its refrigerant.
    pub spec: Option<NetworkSpec>,
    /// Names of all volumes, also of those that could not be read.
    pub volumes: Vec<String>,
    /// Names of all elements, likewise.
    pub elements: Vec<String>,
}

/// The refrigerants of a file.
struct Fluids {
    main: Option<FluidKind>,
    second: Option<FluidKind>,
    /// The file names a second one, known or not.
    two: bool,
}

/// A volume that elements may join.
struct Declared<'a> {
    name: &'a str,
    /// None: something in its table is wrong.
    read: Option<VolumeSpec>,
}

/// Reads the network keys (`refrigerant`, `ambient`, `volume`, `element`) of a file's root.
pub(crate) fn network_part(root: &mut Node, problems: &mut Problems) -> Parts {
    let main = problems.take(refrigerant(root, "refrigerant"));
    let two = root.has("second_refrigerant");
    let second = if two { problems.take(second(root, main)) } else { None };
    let mixing = mixing(root, problems, two);
    let fluids = Fluids { main, second, two };
    let ambient = ambient(root, problems);
    let volumes = volumes(root, &fluids, &ambient, problems);
    let elements = elements(root, &volumes, problems);
    let names = |all: Vec<&str>| all.into_iter().map(str::to_owned).collect();
    Parts {
        volumes: names(volumes.iter().map(|one| one.name).collect()),
        elements: names(elements.iter().map(|one| one.0).collect()),
        spec: main.map(|fluid| NetworkSpec {
            fluid,
            second,
            mixing,
            ambient,
            volumes: volumes.into_iter().filter_map(|one| one.read).collect(),
            elements: elements.into_iter().filter_map(|one| one.1).collect(),
        }),
    }
}

fn refrigerant(root: &mut Node, key: &str) -> Result<FluidKind, Diagnostic> {
    let text = root.string(key)?;
    text.parse().map_err(|_| {
        let known = FluidKind::ALL.map(FluidKind::label).join(", ");
        root.error_at(key, format!("refrigerant `{text}` is not known")).with_help(format!("accepted: {known}"))
    })
}

fn second(root: &mut Node, main: Option<FluidKind>) -> Result<FluidKind, Diagnostic> {
    let found = refrigerant(root, "second_refrigerant")?;
    if Some(found) == main {
        return Err(root
            .error_at("second_refrigerant", format!("{found} is the main refrigerant already"))
            .with_help("name another one, or leave the key out"));
    }
    Ok(found)
}

fn mixing(root: &mut Node, problems: &mut Problems, two: bool) -> Mixing {
    let mut keys = Keys::new(root, problems);
    if !two {
        keys.out_of_place(&["mixing"], "it says how two refrigerants mix; name the other as `second_refrigerant`");
        return Mixing::default();
    }
    match keys.word("mixing", &["real", "ideal"]) {
        Some("ideal") => Mixing::Ideal,
        _ => Mixing::Real,
    }
}

fn ambient(root: &mut Node, problems: &mut Problems) -> AmbientSpec {
    let usual = AmbientSpec::default();
    let read = Keys::new(root, problems).part("ambient", |keys| AmbientSpec {
        temperature: keys.or("temperature", Dim::Temperature, range::AIR_TEMPERATURES, usual.temperature),
        pressure: keys.or("pressure", Dim::Pressure, range::AIR_PRESSURES, usual.pressure),
        humidity: keys.or("humidity", Dim::Fraction, range::SHARES, usual.humidity),
    });
    read.unwrap_or(usual)
}

fn volumes<'n>(
    root: &mut Node<'n>,
    fluids: &Fluids,
    ambient: &AmbientSpec,
    problems: &mut Problems,
) -> Vec<Declared<'n>> {
    let mut made: Vec<Declared> = Vec::new();
    let table = root.node("volume");
    for (name, mut node) in tables(table.map(Some), "volume", problems) {
        let fit = simple(name, &node).and_then(|()| free(name, "volume", &[], &node));
        let named = problems.take(fit).is_some();
        let (read, kind_known) = volume::volume(name, &mut node, fluids, ambient, problems);
        if kind_known {
            node.finish_into(problems);
        }
        made.push(Declared { name, read: read.filter(|_| named) });
    }
    made
}

fn elements<'n>(
    root: &mut Node<'n>,
    volumes: &[Declared],
    problems: &mut Problems,
) -> Vec<(&'n str, Option<ElementSpec>)> {
    let mut made = Vec::new();
    let table = root.opt_node("element");
    for (name, mut node) in tables(table, "element", problems) {
        let fit = simple(name, &node).and_then(|()| free(name, "element", volumes, &node));
        let named = problems.take(fit).is_some();
        let (read, kind_known) = element::element(name, &mut node, volumes, problems);
        if kind_known {
            node.finish_into(problems);
        }
        made.push((name, read.filter(|_| named)));
    }
    made
}

/// The tables of one part of the file. One too many is told with the limit; those after it are not read.
fn tables<'n>(
    table: Result<Option<Node<'n>>, Diagnostic>,
    what: &str,
    problems: &mut Problems,
) -> Vec<(&'n str, Node<'n>)> {
    let Some(Some(mut table)) = problems.take(table) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for name in table.keys() {
        // What is no table is told; the others are read all the same.
        all.extend(problems.take(table.opt_node(name)).flatten().map(|node| (name, node)));
    }
    if let Some((_, first)) = all.get(MOST_PARTS) {
        problems.push(
            first
                .error_here(format!(
                    "this is {what} {} of {}; at most {MOST_PARTS} are read",
                    MOST_PARTS + 1,
                    all.len()
                ))
                .with_help(format!(
                    "use {MOST_PARTS} {what}s or fewer, for instance by `count` or by lumping like parts"
                )),
        );
        all.truncate(MOST_PARTS);
    }
    all
}

/// Longest name of a volume or element.
const LONGEST_NAME: usize = 60;

/// Names stand in signal names, in CSV heads and in conditions, so nothing may be in them that means something there.
fn simple(name: &str, node: &Node) -> Result<(), Diagnostic> {
    let fine = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '+' | '/');
    let help = "names are made of letters, digits, `_`, `-`, `+` and `/`, such as hose_low or \"XV-5+XV-10\"";
    match name.chars().find(|c| !fine(*c)) {
        Some(wrong) => {
            Err(node.error_here(format!("the name {name:?} has the character {wrong:?} in it")).with_help(help))
        }
        None if name.is_empty() => Err(node.error_here("the name is empty").with_help(help)),
        None if name.chars().count() > LONGEST_NAME => Err(node
            .error_here(format!("the name `{name}` is longer than {LONGEST_NAME} characters"))
            .with_help("use a shorter one")),
        None => Ok(()),
    }
}

/// A name must mean one thing.
fn free(name: &str, what: &str, volumes: &[Declared], node: &Node) -> Result<(), Diagnostic> {
    if name == "ambient" || name == "vacuum" {
        return Err(node
            .error_here(format!("no {what} can be called `{name}`: the name stands for what is around the network"))
            .with_help("choose another name"));
    }
    if volumes.iter().any(|volume| volume.name == name) {
        return Err(node
            .error_here(format!("`{name}` is a volume already; its signals would be mistaken for the element's"))
            .with_help("choose another name for the element"));
    }
    Ok(())
}

/// What an outlet draws.
fn draws(keys: &mut Keys, key: &str) -> Option<Draw> {
    Some(match keys.word(key, &["vapour", "liquid", "mixed"])? {
        "liquid" => Draw::Liquid,
        "mixed" => Draw::Mixed,
        _ => Draw::Vapour,
    })
}
