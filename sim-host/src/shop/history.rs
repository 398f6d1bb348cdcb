//! Services as the log has them: for people, as CSV and as JSON. One that can't be believed is told as lost, by its number.

use serde::Serialize;
use valvewright_core::order::PhaseKind;
use valvewright_core::record::service::{Ending, Mass, PhaseEnd, Service};
use valvewright_core::record::{Holding, LogId};

use super::opened::{Shop, when};
use super::{Trouble, book};
use crate::fluid::FluidKind;
use crate::run::words;

/// A service as it is shown and exported.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// Its number in the log.
    pub number: u32,
    /// It can't be believed any more; all else is then empty.
    pub lost: bool,
    /// When it began and ended by the station's clock.
    pub begun: String,
    /// See [`Entry::begun`].
    pub ended: String,
    /// `met`, `not_met` or `interrupted`.
    pub ending: &'static str,
    /// Number of the order in its run.
    pub order: u16,
    /// Number of the vehicle in the book, and its name there, if it still is.
    pub vehicle: u32,
    /// See [`Entry::vehicle`].
    pub vehicle_name: String,
    /// The station's.
    pub refrigerant: String,
    /// Number of the operator, and the name that it has now.
    pub operator: u16,
    /// See [`Entry::operator`].
    pub operator_name: String,
    /// Masses, g; absent where they were not said.
    pub ordered_g: Option<f64>,
    /// Recovered.
    pub recovered_g: Option<f64>,
    /// Charged.
    pub charged_g: Option<f64>,
    /// Vented by a purge.
    pub vented_g: Option<f64>,
    /// Used oil.
    pub oil_drained_g: Option<f64>,
    /// New oil.
    pub oil_injected_g: Option<f64>,
    /// Left in the hoses at most.
    pub hoses_g: Option<f64>,
    /// What the vessel weighs less than all this says.
    pub unknown_g: Option<f64>,
    /// `pass`, `leak`, `moisture`, `not_checked`.
    pub leak: &'static str,
    /// What the gas was found to be.
    pub gas: &'static str,
    /// The first trip, and how many.
    pub trip: Option<&'static str>,
    /// See [`Entry::trip`].
    pub trips: u8,
    /// Phases that were begun or judged.
    pub phases: Vec<Phase>,
    /// It was exported before.
    pub exported: bool,
}

/// A phase of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Phase {
    /// Its name in files.
    pub name: &'static str,
    /// `done`, `skipped`, `failed`, `aborted` or `open`.
    pub end: &'static str,
    /// How long it took, s.
    pub seconds: u16,
}

/// The word of an ending.
pub const fn ending(of: Ending) -> &'static str {
    match of {
        Ending::Running => "running",
        Ending::Met => "met",
        Ending::NotMet => "not_met",
        Ending::Interrupted => "interrupted",
    }
}

const fn phase_end(of: PhaseEnd) -> &'static str {
    match of {
        PhaseEnd::Never => "never",
        PhaseEnd::Done => "done",
        PhaseEnd::Skipped => "skipped",
        PhaseEnd::Failed => "failed",
        PhaseEnd::Aborted => "aborted",
        PhaseEnd::Open => "open",
    }
}

/// What the log of services holds.
///
/// # Errors
/// The store can't be believed.
pub fn holding(shop: &Shop) -> Result<Holding, Trouble> {
    shop.look(|all| all.holding(LogId::Services)).map_err(|why| Trouble::of_store("the services", why))
}

/// All services that are kept, by number; `None` for one that is lost.
///
/// # Errors
/// The store can't be believed.
pub fn services(shop: &Shop) -> Result<Vec<(u32, Option<Service>)>, Trouble> {
    let holding = holding(shop)?;
    Ok(shop.look(|all| {
        let numbers = holding.oldest.max(1)..holding.next;
        numbers.map(|number| (number, all.service(number).ok().flatten())).collect()
    }))
}

/// A mass, g.
pub fn grams(of: &Service, which: Mass) -> Option<f64> {
    of.mass(which).map(|mass| f64::from(mass.0) * 1e-3)
}

fn entry(shop: &Shop, number: u32, of: &Service, names: &[(u32, String)], exported: bool) -> Entry {
    let operator = shop.roster().get(of.operator).map(|one| one.name.to_string());
    let vehicle = names.iter().find(|(one, _)| *one == of.book).map(|(_, name)| name.clone());
    let phases = PhaseKind::ALL.into_iter().zip(&of.phases).filter(|(_, note)| note.end != PhaseEnd::Never);
    Entry {
        number,
        lost: false,
        begun: when(of.begun),
        ended: when(of.ended),
        ending: ending(of.ending),
        order: of.order,
        vehicle: of.book,
        vehicle_name: vehicle.unwrap_or_default(),
        refrigerant: of.refrigerant.map_or_else(String::new, |one| FluidKind::from(one).label().to_owned()),
        operator: of.operator,
        operator_name: operator.unwrap_or_default(),
        ordered_g: grams(of, Mass::Ordered),
        recovered_g: grams(of, Mass::Recovered),
        charged_g: grams(of, Mass::Charged),
        vented_g: grams(of, Mass::Vented),
        oil_drained_g: grams(of, Mass::OilDrained),
        oil_injected_g: grams(of, Mass::OilInjected),
        hoses_g: grams(of, Mass::Hoses),
        unknown_g: grams(of, Mass::Unknown),
        leak: words::leak(of.leak.verdict),
        gas: words::gas(of.gas),
        trip: of.trip.map(|row| row.as_str()),
        trips: of.trips,
        phases: phases
            .map(|(kind, note)| Phase { name: kind.name(), end: phase_end(note.end), seconds: note.seconds })
            .collect(),
        exported,
    }
}

/// All that are kept, as they are shown.
///
/// # Errors
/// The store can't be believed.
pub fn entries(shop: &Shop) -> Result<Vec<Entry>, Trouble> {
    let exported = holding(shop)?.exported;
    let names: Vec<(u32, String)> = book::entries(shop).0.into_iter().map(|one| (one.number, one.name)).collect();
    let lost = Service::default();
    let shown = services(shop)?.into_iter().map(|(number, of)| match of {
        Some(of) => entry(shop, number, &of, &names, number <= exported),
        None => Entry { lost: true, ending: "lost", ..entry(shop, number, &lost, &names, number <= exported) },
    });
    Ok(shown.collect())
}

/// Services as CSV; phases have two columns each.
///
/// # Errors
/// None is known: what is written is text.
pub fn csv(entries: &[Entry]) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = [
        "number",
        "lost",
        "begun",
        "ended",
        "ending",
        "order",
        "vehicle",
        "vehicle_name",
        "refrigerant",
        "operator",
        "operator_name",
        "ordered_g",
        "recovered_g",
        "charged_g",
        "vented_g",
        "oil_drained_g",
        "oil_injected_g",
        "hoses_g",
        "unknown_g",
        "leak",
        "gas",
        "trip",
        "trips",
    ];
    let phases = PhaseKind::ALL.iter().flat_map(|kind| [kind.name().to_owned(), format!("{}_s", kind.name())]);
    writer.write_record(head.iter().map(|name| (*name).to_owned()).chain(phases))?;
    for one in entries {
        let mass = |g: Option<f64>| g.map_or_else(String::new, |g| format!("{g:.3}"));
        let mut row = vec![
            one.number.to_string(),
            one.lost.to_string(),
            one.begun.clone(),
            one.ended.clone(),
            one.ending.to_owned(),
            one.order.to_string(),
            one.vehicle.to_string(),
            one.vehicle_name.clone(),
            one.refrigerant.clone(),
            one.operator.to_string(),
            one.operator_name.clone(),
        ];
        let masses = [
            one.ordered_g,
            one.recovered_g,
            one.charged_g,
            one.vented_g,
            one.oil_drained_g,
            one.oil_injected_g,
            one.hoses_g,
            one.unknown_g,
        ];
        row.extend(masses.map(mass));
        row.extend([one.leak, one.gas, one.trip.unwrap_or("")].map(str::to_owned));
        row.push(one.trips.to_string());
        for kind in PhaseKind::ALL {
            let phase = one.phases.iter().find(|phase| phase.name == kind.name());
            row.push(phase.map_or_else(String::new, |phase| phase.end.to_owned()));
            row.push(phase.map_or_else(String::new, |phase| phase.seconds.to_string()));
        }
        writer.write_record(row)?;
    }
    Ok(String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default())
}

/// Marks all services as exported and lets go of whole pages of them where the log is half full.
///
/// # Errors
/// The store does not take the mark.
pub fn exported(shop: &mut Shop) -> Result<u32, Trouble> {
    let holding = holding(shop)?;
    let last = holding.next.saturating_sub(1);
    if last > holding.exported {
        shop.change("the mark of the export", |all| all.mark_exported(LogId::Services, last))?;
    }
    // What was exported stays for reprints as long as there is room for the next year.
    let mut holding = self::holding(shop)?;
    while holding.room < holding.capacity / 2 {
        if !shop.change("the oldest page", |all| all.let_go(LogId::Services))? {
            break;
        }
        holding = self::holding(shop)?;
    }
    Ok(last)
}

fn mass(g: Option<f64>) -> String {
    g.map_or_else(|| "-".to_owned(), |g| format!("{g:.1}"))
}

/// For a terminal.
pub fn text(entries: &[Entry]) -> String {
    let mut out = format!(
        "{:>6}  {:<19}  {:<11}  {:>9}  {:>9}  {:>9}  {:<11}  {}\n",
        "number", "begun", "ended", "recovered", "charged g", "unknown g", "leak", "vehicle"
    );
    for one in entries {
        if one.lost {
            out += &format!("{:>6}  can't be believed any more\n", one.number);
            continue;
        }
        let vehicle = if one.vehicle_name.is_empty() { "not in the book" } else { &one.vehicle_name };
        out += &format!(
            "{:>6}  {:<19}  {:<11}  {:>9}  {:>9}  {:>9}  {:<11}  {}\n",
            one.number,
            one.begun,
            one.ending,
            mass(one.recovered_g),
            mass(one.charged_g),
            mass(one.unknown_g),
            one.leak,
            vehicle
        );
    }
    out
}
