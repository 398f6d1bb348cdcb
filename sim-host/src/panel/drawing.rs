//! Where the parts of a network stand on the page. The parts that every station has, by their names in its file, stand in the order in
//! which the refrigerant goes; what a user's own network has besides gets a row of its own at the bottom. No two labels of a shipped station
//! touch, whatever flows (`tests/browser/drawing.py`).

use serde::Serialize;
use serde_json::{Value, json};

use crate::plant::spec::{ElementSpec, LawSpec, NetworkSpec, PlaceKind};
use crate::run::network_of;
use crate::scenario::Scenario;

/// Width and height of the drawing, and how far it goes up beyond 0: the way round the top, with its label above.
const WIDTH: i32 = 1225;
const HEIGHT: i32 = 640;
const TOP: i32 = -54;

/// Known places and the middle of each.
const KNOWN: [(&str, i32, i32); 16] = [
    ("vessel", 130, 330),
    ("condenser", 130, 90),
    ("discharge", 330, 90),
    ("interstage", 330, 235),
    ("separator", 510, 90),
    ("used_oil", 510, 260),
    ("manifold", 690, 90),
    ("pump_inlet", 690, 230),
    ("new_oil", 510, 480),
    ("hose_low", 880, 170),
    ("hose_high", 880, 440),
    ("vehicle_low", 1060, 170),
    ("accumulator", 1140, 305),
    ("vehicle_high", 1060, 440),
    ("nitrogen_bottle", 1140, 50),
    ("cabinet", 330, 540),
];

/// A corner of a line.
type Corner = (i32, i32);

/// Where a label stands: name and flow beside the symbol, or one above and one below.
#[derive(Clone, Copy, Serialize)]
#[serde(rename_all = "snake_case")]
enum Side {
    Left,
    Right,
    Around,
}
use Side::{Around, Left, Right};

/// A line that does not go straight, where its symbol stands, and on which side its label.
type Way = (&'static [Corner], Corner, Side);

/// Those that do not go straight.
const WAYS: [(&str, Way); 21] = [
    ("XV-4", (&[(275, 90), (130, 90), (130, 302)], (130, 200), Right)),
    ("XV-1", (&[(825, 160), (795, 160), (795, 80), (745, 80)], (795, 120), Right)),
    ("XV-2", (&[(825, 430), (765, 430), (765, 100), (745, 100)], (765, 275), Right)),
    ("XV-5+XV-10+XV-1", (&[(185, 325), (840, 325), (840, 198)], (270, 325), Around)),
    ("XV-5+XV-10+XV-2", (&[(185, 365), (860, 365), (860, 412)], (400, 365), Around)),
    ("XV-9+XV-1", (&[(565, 470), (810, 470), (810, 180), (825, 180)], (640, 470), Around)),
    ("XV-9+XV-2", (&[(510, 508), (510, 530), (880, 530), (880, 468)], (640, 530), Around)),
    ("NRV-2", (&[(690, 62), (690, 22), (40, 22), (40, 320), (75, 320)], (600, 22), Around)),
    ("NRV-3", (&[(880, 142), (880, -22), (24, -22), (24, 340), (75, 340)], (300, -22), Around)),
    ("NRV-4", (&[(910, 468), (910, 610), (110, 610), (110, 358)], (640, 610), Around)),
    ("XV-7", (&[(92, 302), (92, 230)], (92, 268), Left)),
    ("PSV-1", (&[(168, 302), (168, 230)], (168, 268), Right)),
    ("H-1+H-2", (&[(150, 358), (150, 410)], (150, 410), Right)),
    ("K-1", (&[(385, 540), (440, 540)], (440, 540), Around)),
    ("P-1", (&[(690, 258), (690, 312)], (690, 295), Right)),
    ("C-1/second", (&[(305, 207), (305, 118)], (305, 162), Left)),
    ("overflow", (&[(355, 207), (355, 118)], (355, 140), Right)),
    ("leak", (&[(1010, 142), (1010, 108)], (1010, 125), Left)),
    ("release", (&[(1035, 142), (1035, 66)], (1035, 84), Left)),
    ("nitrogen", (&[(1140, 78), (1105, 142)], (1122, 110), Right)),
    ("expansion", (&[(1030, 412), (1030, 198)], (1030, 305), Left)),
];
/// C-1 where it has a second stage: down to what stands between the two.
const FIRST_STAGE: Way = (&[(470, 118), (470, 215), (385, 215)], (470, 165), Left);

/// How an element's line goes, where it does not go straight.
fn way(one: &ElementSpec) -> Option<Way> {
    match (one.name.as_str(), one.from.as_str(), one.to.as_str()) {
        // Behind a condenser XV-4 goes straight down to the vessel.
        ("XV-4", from, _) if from != "discharge" => None,
        ("C-1", "separator", "interstage") => Some(FIRST_STAGE),
        (name, ..) => WAYS.iter().find(|(known, _)| *known == name).map(|(_, way)| *way),
    }
}

/// Which symbol an element has.
fn symbol(name: &str, law: &LawSpec) -> &'static str {
    match law {
        LawSpec::Compressor(_) => "compressor",
        LawSpec::VacuumPump(_) => "pump",
        LawSpec::Relief(_) => "relief",
        LawSpec::Heater(_) => "heater",
        LawSpec::Fan(_) => "fan",
        LawSpec::HeatLink(_) => "heat",
        LawSpec::DrawOff(_) => "draw",
        _ if name.starts_with("NRV") => "check",
        _ if name.starts_with("coupler") => "hand",
        _ if name.starts_with("XV") => "valve",
        _ => "restriction",
    }
}

/// The drawing of a scenario's network.
///
/// # Errors
/// The network cannot be read.
pub fn of(scenario: &Scenario) -> Result<Value, String> {
    let spec: NetworkSpec = network_of(scenario).map_err(|why| why.to_string())?;
    let mut others = 0;
    let places: Vec<Value> = spec
        .volumes
        .iter()
        .map(|one| {
            let known = KNOWN.iter().find(|(name, ..)| *name == one.name).map(|(_, x, y)| (*x, *y));
            let (x, y) = known.unwrap_or_else(|| {
                others += 1;
                (90 + (others - 1) % 9 * 130, HEIGHT + 60 + (others - 1) / 9 * 90)
            });
            let kind = match one.kind {
                PlaceKind::Bottle => "bottle",
                PlaceKind::Cabinet { .. } => "cabinet",
                _ => "volume",
            };
            json!({ "name": one.name, "kind": kind, "litres": one.volume * 1e3, "x": x, "y": y })
        })
        .collect();
    let elements: Vec<Value> = spec
        .elements
        .iter()
        .map(|one| {
            let way = way(one);
            let (line, at, side) = (way.map(|(line, ..)| line), way.map(|(_, at, _)| at), way.map(|(.., side)| side));
            json!({
                "name": one.name, "from": one.from, "to": one.to, "symbol": symbol(&one.name, &one.law), "line": line, "at": at, "side": side,
            })
        })
        .collect();
    let height = if others == 0 { HEIGHT } else { HEIGHT + 90 * (1 + (others - 1) / 9) };
    Ok(json!({ "width": WIDTH, "height": height, "top": TOP, "places": places, "elements": elements }))
}
