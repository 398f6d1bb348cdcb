//! A plan from a file that a person can read: every key with its range, every mistake with its place.

use std::ops::RangeInclusive;

use valvewright_core::fluid::Refrigerant;

use super::plan::{KIND_COUNT, Kind, Plan, SEASONS};
use crate::scenario::diagnostic::{Diagnostic, Problems, Source};
use crate::scenario::quantity::Dim;
use crate::scenario::reader::{self, Node};
use crate::station;

/// Air temperatures of a workshop, K.
const AIR: RangeInclusive<f64> = 268.15..=313.15;
const NAMES: [&str; 2] = ["R-1234yf", "R-134a"];

/// Reads a plan, or says everything that is wrong with it.
///
/// # Errors
/// All mistakes of the file, each with its place.
pub fn read(source: &Source) -> Result<Plan, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let plan = root(document.root(), &source.name, &mut problems);
    plan.filter(|_| problems.is_empty()).ok_or_else(|| problems.into_list())
}

fn root(mut node: Node, file: &str, p: &mut Problems) -> Option<Plan> {
    let usual = Plan::default();
    let years = p.take(node.opt_integer("years", 1..=40));
    let seed = p.take(node.opt_integer("seed", 0..=i64::MAX));
    let a_week = p.take(node.opt_integer("services_a_week", 1..=60));
    let named = p.take(node.opt_string("station"));
    let station = named.map(|named| named.map(|name| station::resolve(file, &name)));
    if let Some(Some(name)) = &station
        && let Err(why) = station::load(Some(name))
    {
        p.push(node.error_at("station", why.to_string()));
    }
    let refrigerant = p.take(node.opt_one_of("refrigerant", &NAMES));
    let scan = p.take(node.quantity_or("scan", Dim::Time, 0.01..=0.1, usual.scan));
    let fine = p.take(node.bool_or("fine", usual.fine));
    let mixed = p.take(node.bool_or("mixed", usual.mixed));
    let pages = p.take(node.opt_integer("flash_pages", 2..=16));
    let shares = p.take(node.opt_node("services")).and_then(|node| shares(node, p));
    let weather = p.take(node.opt_node("weather")).and_then(|node| weather(node, p));
    let odds = p.take(node.opt_node("odds")).and_then(|node| odds(node, p));
    let times = p.take(node.opt_node("times")).and_then(|node| times(node, p));
    let record = p.take(node.opt_node("record")).and_then(|node| record(node, p));
    node.finish_into(p);
    let ((seasons, spread), [cuts, mistakes, wrong_codes, high_side], (evacuate, leak_hold)) =
        (weather?, odds?, times?);
    let (drier_used, pump_oil_used) = record?;
    Some(Plan {
        years: years?.map_or(usual.years, |n| n as u32),
        seed: seed?.map_or(usual.seed, i64::unsigned_abs),
        a_week: a_week?.map_or(usual.a_week, |n| n as u32),
        station: station?,
        refrigerant: if refrigerant? == Some(NAMES[1]) { Refrigerant::R134a } else { Refrigerant::R1234yf },
        shares: shares?,
        seasons,
        spread,
        cuts,
        mistakes,
        wrong_codes,
        high_side,
        evacuate,
        leak_hold,
        mixed: mixed?,
        drier_used,
        pump_oil_used,
        flash_pages: pages?.map_or(usual.flash_pages, |n| n as u8),
        scan: scan?,
        fine: fine?,
    })
}

/// The number nearest to what was written: 70 times a hundredth is a hair above 0.7. Shares are drawn in millionths, so nothing is lost.
fn nearest(share: f64) -> f64 {
    (share * 1e9).round() / 1e9
}

/// A table that is not there holds its usual values.
fn shares(node: Option<Node>, p: &mut Problems) -> Option<[f64; KIND_COUNT]> {
    let mut found = Plan::default().shares;
    let Some(mut node) = node else { return Some(found) };
    // Whoever names some kinds wants no others.
    found = [0.0; KIND_COUNT];
    for kind in Kind::ALL {
        found[kind as usize] = nearest(p.take(node.quantity_or(kind.word(), Dim::Fraction, 0.0..=1.0, 0.0))?);
    }
    if found.iter().sum::<f64>() <= 0.0 {
        let wrong = node.error_here("services: no kind of service has a share");
        p.push(
            wrong.with_help(format!("give at least one of {} a share above 0", Kind::ALL.map(Kind::word).join(", "))),
        );
    }
    node.finish_into(p);
    Some(found)
}

fn weather(node: Option<Node>, p: &mut Problems) -> Option<([f64; 4], f64)> {
    let Plan { mut seasons, mut spread, .. } = Plan::default();
    let Some(mut node) = node else { return Some((seasons, spread)) };
    for (name, mean) in SEASONS.into_iter().zip(&mut seasons) {
        *mean = p.take(node.quantity_or(name, Dim::Temperature, AIR, *mean))?;
    }
    spread = p.take(node.quantity_or("spread", Dim::TemperatureDifference, 0.0..=10.0, spread))?;
    node.finish_into(p);
    Some((seasons, spread))
}

fn odds(node: Option<Node>, p: &mut Problems) -> Option<[f64; 4]> {
    let usual = Plan::default();
    let usual = [
        ("power_cut", usual.cuts),
        ("mistake", usual.mistakes),
        ("wrong_code", usual.wrong_codes),
        ("high_side", usual.high_side),
    ];
    let Some(mut node) = node else { return Some(usual.map(|(_, share)| share)) };
    let found = usual.map(|(key, share)| p.take(node.quantity_or(key, Dim::Fraction, 0.0..=1.0, share)).map(nearest));
    node.finish_into(p);
    let [cuts, mistakes, wrong_codes, high_side] = found;
    Some([cuts?, mistakes?, wrong_codes?, high_side?])
}

/// What a station that is not new has behind it.
fn record(node: Option<Node>, p: &mut Problems) -> Option<(f64, f64)> {
    let usual = Plan::default();
    let Some(mut node) = node else { return Some((usual.drier_used, usual.pump_oil_used)) };
    let drier = p.take(node.quantity_or("drier_used", Dim::Mass, 0.0..=100.0, usual.drier_used));
    let oil = p.take(node.quantity_or("pump_oil_used", Dim::Time, 0.0..=360_000.0, usual.pump_oil_used));
    node.finish_into(p);
    Some((drier?, oil?))
}

/// Two limits of a draw.
type Span = (f64, f64);

fn times(node: Option<Node>, p: &mut Problems) -> Option<(Span, Span)> {
    let usual = Plan::default();
    let Some(mut node) = node else { return Some((usual.evacuate, usual.leak_hold)) };
    let mut pair = |name: &str, within: RangeInclusive<f64>, (low, high): Span| {
        let (least, most) = (format!("{name}_least"), format!("{name}_most"));
        let low = p.take(node.quantity_or(&least, Dim::Time, within.clone(), low))?;
        let high = p.take(node.quantity_or(&most, Dim::Time, within, high.max(low)))?;
        if high < low {
            let wrong = node.error_at(&most, format!("times.{most} is below times.{least}"));
            p.push(wrong.with_help("the most is at least the least"));
        }
        Some((low, high))
    };
    let evacuate = pair("evacuate", 60.0..=7_200.0, usual.evacuate);
    let hold = pair("leak_hold", 120.0..=3_600.0, usual.leak_hold);
    node.finish_into(p);
    Some((evacuate?, hold?))
}
