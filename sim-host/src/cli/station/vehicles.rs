//! The vehicle book on the command line.

use std::path::Path;

use clap::Args;
use serde_json::json;
use valvewright_core::record::event::Changed;

use super::{ChangeArgs, VehiclesVerb, put};
use crate::cli::Global;
use crate::cli::output::{Exit, Refusal, print, print_json};
use crate::shop::book::{self, Entry};
use crate::shop::book_rows::{self as rows, COLUMNS, Wrong};

/// No file of vehicles is longer, bytes.
const LONGEST: u64 = 1 << 20;

/// An entry to be added.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// Its name, at most 24 bytes.
    name: String,
    /// R-1234yf or R-134a.
    refrigerant: String,
    /// Charge on its label, g.
    #[arg(value_name = "CHARGE_G")]
    charge: String,
    /// Volume of its circuit, mL.
    #[arg(value_name = "CIRCUIT_ML")]
    circuit: String,
    /// Oil of its compressor: "PAG 46", "PAG 100" or "POE 68".
    #[arg(long, default_value = "PAG 46")]
    oil: String,
    /// Its compressor is driven by high voltage.
    #[arg(long)]
    high_voltage: bool,
    /// Couplers that it has: both, high or low.
    #[arg(long, default_value = "both")]
    sides: String,
    #[command(flatten)]
    change: ChangeArgs,
}

fn text(entries: &[Entry]) -> String {
    if entries.is_empty() {
        return "the book is empty\n".to_owned();
    }
    let line = |one: &Entry| {
        format!(
            "{:>6}  {:<6}  {:<24}  {:<8}  {:>7.1}  {:>7.0}  {:<7}  {:<4}  {:<5}  {}\n",
            one.number,
            one.kind,
            one.name,
            one.refrigerant,
            one.charge_g,
            one.circuit_ml,
            one.oil,
            if one.high_voltage { "yes" } else { "no" },
            one.sides,
            one.served.as_deref().unwrap_or("-")
        )
    };
    let head = format!(
        "{:>6}  {:<6}  {:<24}  {:<8}  {:>7}  {:>7}  {:<7}  {:<4}  {:<5}  {}\n",
        "number", "kind", "name", "gas", "g", "mL", "oil", "HV", "sides", "last service"
    );
    head + &entries.iter().map(line).collect::<String>()
}

fn wrong_rows(file: &Path, wrong: &[Wrong]) -> Refusal {
    let told: Vec<String> = wrong.iter().map(|one| format!("line {}: {}", one.line, one.why)).collect();
    let many = wrong.len();
    let why = format!("{}: {many} mistakes, and no row was taken\n  {}", file.display(), told.join("\n  "));
    Refusal::misuse(why).with_help(format!("columns: {}", COLUMNS.join(",")))
}

fn read(file: &Path) -> Result<String, Refusal> {
    let name = file.display();
    let unreadable = |why: &dyn std::fmt::Display| Refusal::misuse(format!("{name} cannot be read: {why}"));
    let size = std::fs::metadata(file).map_err(|why| unreadable(&why))?.len();
    if size > LONGEST {
        return Err(Refusal::misuse(format!("{name} is too long: {size} bytes, at most {LONGEST}")));
    }
    let bytes = std::fs::read(file).map_err(|why| unreadable(&why))?;
    String::from_utf8(bytes)
        .map_err(|_| Refusal::misuse(format!("{name} is not UTF-8 text")).with_help("save it as UTF-8"))
}

fn is_json(file: &Path) -> Result<bool, Refusal> {
    match file.extension().and_then(|end| end.to_str()) {
        Some("csv") => Ok(false),
        Some("json") => Ok(true),
        _ => Err(Refusal::misuse(format!("{} is neither .csv nor .json", file.display()))
            .with_help("the end of the name says which it is")),
    }
}

/// The book.
pub fn vehicles(verb: &VehiclesVerb, global: Global) -> Result<Exit, Refusal> {
    let (change, mut shop) = match verb {
        VehiclesVerb::List(store) => return shown(&book::entries(&store.open()?), global),
        VehiclesVerb::Export { store, out } => return export(&store.open()?, out.as_deref(), global),
        VehiclesVerb::Add(args) => (&args.change, args.change.store.open()?),
        VehiclesVerb::Remove { change, .. } | VehiclesVerb::Import { change, .. } => (change, change.store.open()?),
    };
    match verb {
        VehiclesVerb::Add(args) => {
            let high = args.high_voltage.to_string();
            let cells = [&args.name, &args.refrigerant, &args.charge, &args.circuit, &args.oil, &high, &args.sides];
            let made = rows::vehicle(&cells.map(|text| Some(text.clone())));
            let made = made.map_err(|wrong| {
                Refusal::misuse(wrong.join("; ")).with_help("such as: add \"grey estate\" R-1234yf 480 3500")
            })?;
            book::add(&mut shop, vec![made])?;
        }
        VehiclesVerb::Remove { number, .. } => {
            book::remove(&mut shop, *number)?;
        }
        VehiclesVerb::Import { file, .. } => {
            let json = is_json(file)?;
            let text = read(file)?;
            let made = if json { rows::from_json(&text) } else { rows::from_csv(&text) };
            book::add(&mut shop, made.map_err(|wrong| wrong_rows(file, &wrong))?)?;
        }
        VehiclesVerb::List(_) | VehiclesVerb::Export { .. } => {}
    }
    shop.changed(Changed::Vehicles, change.operator)?;
    change.store.keep(&shop)?;
    shown(&book::entries(&shop), global)
}

fn shown((entries, damaged): &(Vec<Entry>, usize), global: Global) -> Result<Exit, Refusal> {
    if *damaged > 0 {
        eprintln!("valvewright: {damaged} entries of the book can't be believed and are left out");
    }
    if global.json {
        print_json(&json!({ "version": 1, "damaged": damaged, "vehicles": entries }))?;
    } else {
        print(&text(entries))?;
    }
    Ok(Exit::Held)
}

fn export(shop: &crate::shop::opened::Shop, out: Option<&Path>, global: Global) -> Result<Exit, Refusal> {
    let (entries, _) = book::entries(shop);
    let json = match out {
        Some(file) => is_json(file)?,
        None => global.json,
    };
    let wrong = |why: &dyn std::fmt::Display| Refusal::ours(format!("the book has no such form: {why}"));
    let text = if json {
        serde_json::to_string_pretty(&json!({ "version": 1, "vehicles": entries })).map_err(|why| wrong(&why))? + "\n"
    } else {
        book::to_csv(&entries).map_err(|why| wrong(&why))?
    };
    match out {
        Some(file) => put(file, text.as_bytes())?,
        None => print(&text)?,
    }
    Ok(Exit::Held)
}
