//! Where the parts of a network stand on the page. The parts that every station has, by their names in its file, stand in the order in
//! which the refrigerant goes; what a user's own network has besides gets a row of its own at the bottom.

use serde_json::{Value, json};

use crate::plant::spec::{LawSpec, NetworkSpec, PlaceKind};
use crate::run::network_of;
use crate::scenario::Scenario;

/// Width and height of the drawing.
const SIZE: (u32, u32) = (1200, 640);

/// Known places and the middle of each.
const KNOWN: [(&str, u32, u32); 16] = [
    ("vessel", 130, 330),
    ("condenser", 130, 90),
    ("discharge", 330, 90),
    ("interstage", 330, 215),
    ("separator", 510, 90),
    ("used_oil", 510, 230),
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
type Corner = (u32, u32);

/// Lines that do not go straight, and where their symbols stand.
const WAYS: [(&str, &[Corner], Corner); 19] = [
    ("XV-4", &[(275, 90), (130, 90), (130, 302)], (130, 200)),
    ("XV-1", &[(825, 160), (795, 160), (795, 80), (745, 80)], (795, 120)),
    ("XV-2", &[(825, 430), (765, 430), (765, 100), (745, 100)], (765, 275)),
    ("XV-5+XV-10+XV-1", &[(185, 325), (840, 325), (840, 198)], (270, 325)),
    ("XV-5+XV-10+XV-2", &[(185, 365), (860, 365), (860, 412)], (400, 365)),
    ("XV-9+XV-1", &[(565, 470), (810, 470), (810, 180), (825, 180)], (640, 470)),
    ("XV-9+XV-2", &[(510, 508), (510, 530), (880, 530), (880, 468)], (640, 530)),
    ("NRV-2", &[(690, 62), (690, 36), (40, 36), (40, 320), (75, 320)], (600, 36)),
    ("NRV-3", &[(880, 142), (880, 14), (24, 14), (24, 340), (75, 340)], (600, 14)),
    ("NRV-4", &[(910, 468), (910, 610), (110, 610), (110, 358)], (640, 610)),
    ("XV-7", &[(92, 302), (92, 230)], (92, 268)),
    ("PSV-1", &[(168, 302), (168, 230)], (168, 268)),
    ("H-1+H-2", &[(150, 358), (150, 410)], (150, 410)),
    ("K-1", &[(385, 540), (440, 540)], (440, 540)),
    ("P-1", &[(690, 258), (690, 312)], (690, 295)),
    ("leak", &[(1015, 142), (1015, 80)], (1015, 110)),
    ("release", &[(1060, 142), (1060, 80)], (1060, 110)),
    ("nitrogen", &[(1140, 78), (1105, 142)], (1122, 110)),
    ("expansion", &[(1030, 412), (1030, 198)], (1030, 305)),
];

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
                (90 + (others - 1) % 9 * 130, SIZE.1 + 60 + (others - 1) / 9 * 90)
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
            // Behind a condenser XV-4 goes straight down to the vessel.
            let straight = one.name == "XV-4" && one.from != "discharge";
            let way = WAYS.iter().find(|(name, ..)| *name == one.name && !straight);
            let (line, at) = (way.map(|(_, line, _)| *line), way.map(|(.., at)| *at));
            json!({ "name": one.name, "from": one.from, "to": one.to, "symbol": symbol(&one.name, &one.law), "line": line, "at": at })
        })
        .collect();
    let height = if others == 0 { SIZE.1 } else { SIZE.1 + 90 * (1 + (others - 1) / 9) };
    Ok(json!({ "width": SIZE.0, "height": height, "places": places, "elements": elements }))
}
