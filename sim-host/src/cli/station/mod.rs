//! `station`: what a workshop sees and changes of a station's store.

mod change;
mod look;
mod vehicles;

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::display::LanguageArg;
use super::output::{Exit, Refusal};
use super::{Global, output};
use crate::shop::opened::{self, Shop};

/// What is asked.
#[derive(Debug, Subcommand)]
pub enum StationVerb {
    /// Counters, generation, wear and room of the store.
    Show(StoreArgs),
    /// Services on record; exporting them marks them as exported.
    History(HistoryArgs),
    /// The ticket of a service, printed again from its record.
    Reprint(ReprintArgs),
    /// What happened: trips, starts, exchanges, changes.
    Events(EventsArgs),
    /// What is due, with a forecast; as text or as a page with bars.
    Due(DueArgs),
    /// Operating hours of the station and its machines.
    Hours(StoreArgs),
    /// The last starts and what they found.
    Selftest(StoreArgs),
    /// Settings: shown, or changed by KEY=VALUE.
    Settings(SettingsArgs),
    /// Who serves the station.
    #[command(subcommand)]
    Operators(OperatorsVerb),
    /// Presets of the phases: shown, or changed by PHASE.PARAMETER=VALUE.
    Presets(PresetsArgs),
    /// The vehicle book.
    #[command(subcommand)]
    Vehicles(VehiclesVerb),
}

/// Which store.
#[derive(Debug, Clone, Args)]
pub struct StoreArgs {
    /// The store's file, made by `run --store`.
    #[arg(long, value_name = "FILE")]
    store: PathBuf,
}

/// And who changes it.
#[derive(Debug, Clone, Args)]
pub struct ChangeArgs {
    #[command(flatten)]
    store: StoreArgs,
    /// Who you are, by the number in the list of operators.
    #[arg(long, value_name = "NUMBER")]
    operator: Option<u16>,
}

/// Services.
#[derive(Debug, Args)]
pub struct HistoryArgs {
    #[command(flatten)]
    store: StoreArgs,
    /// Write all of them into a file and mark them as exported.
    #[arg(long, value_enum, value_name = "FORM", requires = "out")]
    export: Option<Form>,
    /// The file; it must not exist yet.
    #[arg(long, value_name = "FILE", requires = "export")]
    out: Option<PathBuf>,
}

/// Form of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// Comma-separated values.
    Csv,
    /// JSON.
    Json,
}

/// A ticket.
#[derive(Debug, Args)]
pub struct ReprintArgs {
    /// Number of the service.
    #[arg(value_name = "NUMBER")]
    number: u32,
    #[command(flatten)]
    store: StoreArgs,
    /// Columns of the paper.
    #[arg(long, value_name = "N", default_value = "42", value_parser = ["32", "42"])]
    columns: String,
    /// Language of the paper [default: that of the settings].
    #[arg(long, value_enum, value_name = "LANGUAGE")]
    language: Option<LanguageArg>,
}

/// Events.
#[derive(Debug, Args)]
pub struct EventsArgs {
    #[command(flatten)]
    store: StoreArgs,
    /// Only the last so many.
    #[arg(long, value_name = "N")]
    last: Option<usize>,
}

/// What is due.
#[derive(Debug, Args)]
pub struct DueArgs {
    #[command(flatten)]
    change: ChangeArgs,
    /// Write a page with bars; it must not exist yet.
    #[arg(long, value_name = "FILE.html")]
    html: Option<PathBuf>,
    /// A proof test was made now and is due next on this day: gas_detector=2027-01-31 (supervisor).
    #[arg(long, value_name = "TEST=DATE")]
    proved: Option<String>,
}

/// Settings.
#[derive(Debug, Args)]
pub struct SettingsArgs {
    /// What to change.
    #[arg(value_name = "KEY=VALUE")]
    changes: Vec<String>,
    #[command(flatten)]
    change: ChangeArgs,
}

/// Presets.
#[derive(Debug, Args)]
pub struct PresetsArgs {
    /// What to change; `none` as value takes a preset away (supervisor).
    #[arg(value_name = "PHASE.PARAMETER=VALUE")]
    changes: Vec<String>,
    #[command(flatten)]
    change: ChangeArgs,
}

/// Operators.
#[derive(Debug, Subcommand)]
pub enum OperatorsVerb {
    /// Who is on the list.
    List(StoreArgs),
    /// Add one (supervisor, but for the first).
    Add {
        /// 1 to 9999.
        number: u16,
        /// At most 16 letters.
        name: String,
        /// What they may do.
        #[arg(value_enum)]
        role: RoleArg,
        #[command(flatten)]
        change: ChangeArgs,
    },
    /// Take one off (supervisor); the last supervisor stays.
    Remove {
        /// Who.
        number: u16,
        #[command(flatten)]
        change: ChangeArgs,
    },
}

/// What an operator may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RoleArg {
    /// Serves vehicles.
    Technician,
    /// And changes what is protected.
    Supervisor,
}

/// The vehicle book.
#[derive(Debug, Subcommand)]
pub enum VehiclesVerb {
    /// Own entries and recent ones.
    List(StoreArgs),
    /// Add an entry.
    Add(vehicles::AddArgs),
    /// Take an entry away.
    Remove {
        /// Its number in the book.
        number: u32,
        #[command(flatten)]
        change: ChangeArgs,
    },
    /// Add all entries of a CSV or JSON file, or none.
    Import {
        /// The file; its name ends in .csv or .json.
        file: PathBuf,
        #[command(flatten)]
        change: ChangeArgs,
    },
    /// Print the book as CSV, or as JSON with --json; or write it into a file.
    Export {
        #[command(flatten)]
        store: StoreArgs,
        /// The file, which must not exist yet; its name ends in .csv or .json.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
}

impl StoreArgs {
    /// Opens it, and says what of it is damaged.
    fn open(&self) -> Result<Shop, Refusal> {
        let name = self.store.display();
        let image = opened::read(&self.store)?.ok_or_else(|| {
            Refusal::misuse(format!("no file is called `{name}`"))
                .with_help("`valvewright run SCENARIO --store FILE` makes it")
        })?;
        let shop = Shop::open(&image)?;
        for one in shop.damaged() {
            eprintln!("valvewright: {name} is damaged: {one}");
        }
        Ok(shop)
    }

    /// Writes it back.
    fn keep(&self, shop: &Shop) -> Result<(), Refusal> {
        opened::write(&self.store, &shop.image()).map_err(|of| Refusal::unfinished(of.why).with_help(of.help))
    }
}

/// A file that is not overwritten.
fn put(path: &std::path::Path, bytes: &[u8]) -> Result<(), Refusal> {
    if path.exists() {
        let why = format!("{} exists and is not overwritten", path.display());
        return Err(Refusal::misuse(why).with_help("give another file"));
    }
    output::write(path, bytes)
}

/// Answers.
pub fn station(verb: &StationVerb, global: Global) -> Result<Exit, Refusal> {
    match verb {
        StationVerb::Show(args) => look::show(args, global),
        StationVerb::History(args) => look::history(args, global),
        StationVerb::Reprint(args) => look::reprint(args, global),
        StationVerb::Events(args) => look::events(args, global),
        StationVerb::Due(args) => look::due(args, global),
        StationVerb::Hours(args) => look::hours(args, global),
        StationVerb::Selftest(args) => look::selftest(args, global),
        StationVerb::Settings(args) => change::settings(args, global),
        StationVerb::Operators(verb) => change::operators(verb, global),
        StationVerb::Presets(args) => change::presets(args, global),
        StationVerb::Vehicles(verb) => vehicles::vehicles(verb, global),
    }
}
