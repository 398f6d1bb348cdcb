//! From a scenario file to a [`Scenario`]: every value with its range, every mistake with its place, as many as there are.

use std::ops::RangeInclusive;

use super::bounds::{KELVIN, MINUTE, choice, plain_name, rating};
use super::diagnostic::{Diagnostic, Problems, Source};
use super::model::*;
use super::parse_row::jobs;
use super::parse_vehicle::refrigerant;
use super::quantity::Dim;
use super::reader::{self, Node};
use crate::evidence::{self, Evidence, Id};

/// Air and wall temperatures the plant is made for, K.
const AMBIENT: RangeInclusive<f64> = KELVIN - 10.0..=KELVIN + 50.0;
/// Reads a scenario, or says everything that is wrong with it.
pub fn read(source: &Source) -> Result<Scenario, Vec<Diagnostic>> {
    read_on(source, None)
}

/// The same on another station than the file names: a shipped name or a path from here.
pub fn read_on(source: &Source, station: Option<&str>) -> Result<Scenario, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let scenario = read_root(document.root(), station, &mut problems);
    scenario.filter(|_| problems.is_empty()).ok_or_else(|| problems.into_list())
}

/// Reads the table of a whole file.
pub(super) fn read_root(mut root: Node, other: Option<&str>, p: &mut Problems) -> Option<Scenario> {
    let name = p.take(plain_name(&mut root));
    let title = p.take(root.string("title"));
    let summary = p.take(root.opt_string("summary"));
    let shows = p.take(shows(&mut root));
    let seed = p.take(root.opt_integer("seed", 0..=i64::MAX));
    let time_limit = p.take(root.quantity_or("time_limit", Dim::Time, MINUTE..=86_400.0, 8.0 * 3600.0));
    let site = p.take(root.node("site")).and_then(|node| read_site(node, p));
    let station = p.take(root.node("station")).and_then(|node| station(node, site.as_ref(), other, p));
    let list = jobs(&mut root, site.as_ref(), station.as_ref(), p);
    for later in ["sweep"] {
        if root.has(later) {
            let what = format!("[[{later}]] is not supported yet; the file would not do what it says");
            p.push(root.error_at(later, what).with_help(format!("take the [[{later}]] tables out")));
            p.take(root.nodes(later));
        }
    }
    root.finish_into(p);
    let mut list = list?.into_iter();
    let Job { vehicle, order, operator, expect, faults, properties, .. } = list.next()?;
    Some(Scenario {
        name: name?,
        title: title?,
        summary: summary?.unwrap_or_default().trim().to_owned(),
        shows: shows?,
        seed: seed?.unwrap_or(1).unsigned_abs(),
        time_limit: time_limit?,
        site: site?,
        station: station?,
        vehicle,
        order,
        operator,
        expect,
        faults,
        properties,
        then: list.collect(),
    })
}

/// Ids of what the file shows, each once and defined.
fn shows(root: &mut Node) -> Result<Vec<Id>, Diagnostic> {
    let list = root.strings("shows")?;
    let mut ids = Vec::new();
    for text in list {
        let all = Evidence::shipped();
        match Id::parse(&text).filter(|id| all.node(*id).is_some()) {
            Some(id) if ids.contains(&id) => {
                return Err(root.error_at("shows", format!("shows: `{text}` is given twice")).with_help("keep one"));
            }
            Some(id) => ids.push(id),
            None => {
                let near: Vec<String> = all.nearest(&text).iter().map(ToString::to_string).collect();
                let help = format!("nearest: {}; accepted: {}", near.join(", "), evidence::list(&all.ids()));
                return Err(root.error_at("shows", format!("shows: `{text}` is not known here")).with_help(help));
            }
        }
    }
    Ok(ids)
}

fn read_site(mut node: Node, p: &mut Problems) -> Option<Site> {
    let ambient = p.take(node.quantity("ambient", Dim::Temperature, AMBIENT));
    let barometer = p.take(node.quantity_or("barometer", Dim::Pressure, 60e3..=110e3, 101_325.0));
    let humidity = p.take(node.quantity_or("humidity", Dim::Fraction, 0.0..=1.0, 0.5));
    node.finish_into(p);
    Some(Site { ambient: ambient?, barometer: barometer?, humidity: humidity? })
}

/// What the record store holds.
fn record(node: &mut Node, p: &mut Problems) -> Option<Record> {
    let drier_used = p.take(node.quantity_or("drier_used", Dim::Mass, 0.0..=1_000.0, 0.0));
    let pump_oil_used = p.take(node.quantity_or("pump_oil_used", Dim::Time, 0.0..=3.6e7, 0.0));
    let replacement_broken_off = p.take(node.bool_or("replacement_broken_off", false));
    let lost = p.take(node.bool_or("record_lost", false));
    let not_flushed = p.take(node.bool_or("not_flushed", false));
    let program_changed = p.take(node.bool_or("program_changed", false));
    let span_differs = p.take(node.opt_quantity("span_differs", Dim::Fraction, -0.1..=0.1));
    Some(Record {
        drier_used: drier_used?,
        pump_oil_used: pump_oil_used?,
        replacement_broken_off: replacement_broken_off?,
        lost: lost?,
        not_flushed: not_flushed?,
        program_changed: program_changed?,
        span_differs: span_differs?,
    })
}

fn station(mut node: Node, site: Option<&Site>, other: Option<&str>, p: &mut Problems) -> Option<Station> {
    let ambient = site.map_or(KELVIN + 20.0, |site| site.ambient);
    let refrigerant = p.take(refrigerant(&mut node));
    let named = p.take(node.opt_string("network"));
    // A path counts from the file that names it.
    let own = named.as_ref().map(|named| named.as_deref().map(|name| crate::station::resolve(&node.source.name, name)));
    let network = own.map(|own| other.map(str::to_owned).or(own));
    let most = rating(network.as_ref().and_then(|network| network.as_deref())).rated;
    let vessel_content = p.take(node.quantity("vessel_content", Dim::Mass, 0.0..=most));
    let vessel_air = p.take(node.quantity_or("vessel_air", Dim::Mass, 0.0..=0.2, 0.0));
    let temperature = p.take(node.quantity_or("temperature", Dim::Temperature, AMBIENT, ambient));
    let rested = p.take(node.quantity_or("rested", Dim::Time, 0.0..=30.0 * 86_400.0, 0.0));
    let new_oil = p.take(choice(&mut node, "new_oil", &OilKind::WORDS, &OilKind::ALL, OilKind::Pag46));
    let new_oil_amount = p.take(node.quantity_or("new_oil_amount", Dim::Volume, 0.0..=1e-3, 250e-6));
    let scan = p.take(node.quantity_or("scan", Dim::Time, 0.01..=0.1, 0.05));
    let foreign_in_hoses = p.take(node.quantity_or("foreign_in_hoses", Dim::Mass, 0.0..=0.1, 0.0));
    let record = record(&mut node, p);
    node.finish_into(p);
    Some(Station {
        foreign_in_hoses: foreign_in_hoses?,
        record: record?,
        refrigerant: refrigerant?,
        vessel_content: vessel_content?,
        vessel_air: vessel_air?,
        temperature: temperature?,
        rested: rested?,
        new_oil: new_oil?,
        new_oil_amount: new_oil_amount?,
        scan: scan?,
        network: network?,
    })
}
