//! `papers`: tickets and the ledger of refrigerant, from result files.

use std::path::Path;

use chrono::NaiveDate;
use clap::{Args, Subcommand, ValueEnum};
use serde_json::json;

use super::Global;
use super::display::LanguageArg;
use super::output::{Exit, Refusal, print, print_json};
use crate::papers::ledger::{Booked, By, ledger};
use crate::papers::read::{self, Run};
use crate::papers::ticket::{HEADER_LETTERS, HEADER_LINES, Setting, Ticket, VERSION, ticket};
use crate::papers::{bought, date, ledger_page, ledger_text, ticket_page, ticket_text};
use crate::scenario::diagnostic::Source;

/// No result file is longer, bytes: the most notices that a run may tell, with all else of it.
const LONGEST: u64 = 64 << 20;
/// No file of purchases is longer, bytes.
const LONGEST_CSV: u64 = 16 << 20;
/// Letters in the name of an operator at most.
const NAME_LETTERS: usize = 64;

/// Which paper.
#[derive(Debug, Subcommand)]
pub enum PapersVerb {
    /// The ticket of each job of a run, from its result.json.
    Ticket(TicketArgs),
    /// The books of refrigerant over any number of runs, with purchases and what was given away.
    Ledger(LedgerArgs),
}

/// A ticket.
#[derive(Debug, Args)]
pub struct TicketArgs {
    /// Result file of a run; with @2026-03-02 behind it, of a run that began on that day.
    #[arg(value_name = "RESULT.json[@DATE]")]
    result: String,
    /// Columns of the paper, for text.
    #[arg(long, value_name = "N", default_value = "42", value_parser = ["32", "42"])]
    columns: String,
    /// Form.
    #[arg(long, value_enum, default_value_t = TicketForm::Text, conflicts_with = "json")]
    format: TicketForm,
    /// Language of the paper.
    #[arg(long, value_enum, default_value_t = LanguageArg::En, value_name = "LANGUAGE")]
    language: LanguageArg,
    /// A line of the workshop at the head, at most four of 32 letters [default: an invented workshop].
    #[arg(long, value_name = "TEXT")]
    header: Vec<String>,
    /// Who served the station.
    #[arg(long, value_name = "NAME")]
    operator: Option<String>,
    /// One job of a row, from 1 [default: all of them].
    #[arg(long, value_name = "N")]
    job: Option<usize>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum TicketForm {
    /// For narrow paper.
    Text,
    /// One page for a browser or in print.
    Html,
    /// For programs.
    Json,
}

/// A ledger.
#[derive(Debug, Args)]
pub struct LedgerArgs {
    /// Result files of runs; with @2026-03-02 behind one, it began on that day [default: 2026-01-01].
    #[arg(value_name = "RESULT.json[@DATE]", required_unless_present = "bought")]
    results: Vec<String>,
    /// Purchases and what was moved or given away, as CSV.
    #[arg(long, value_name = "FILE.csv")]
    bought: Vec<String>,
    /// Length of a period.
    #[arg(long, value_enum, default_value_t = ByArg::Month, value_name = "PERIOD")]
    by: ByArg,
    /// Form.
    #[arg(long, value_enum, default_value_t = LedgerForm::Text, conflicts_with = "json")]
    format: LedgerForm,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ByArg {
    /// A day.
    Day,
    /// A month.
    Month,
    /// A year.
    Year,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LedgerForm {
    /// For a terminal.
    Text,
    /// A line for each period, place and refrigerant.
    Csv,
    /// A line for each record, with the days until which it is kept.
    RecordsCsv,
    /// One page with a drawing, for a browser or in print.
    Html,
    /// For programs.
    Json,
}

/// Prints papers.
pub fn papers(verb: &PapersVerb, global: Global) -> Result<Exit, Refusal> {
    match verb {
        PapersVerb::Ticket(args) => tickets(args, global),
        PapersVerb::Ledger(args) => books(args, global),
    }
}

/// The text of a file that is no longer than `most`.
fn text(name: &str, most: u64) -> Result<String, Refusal> {
    let path = Path::new(name);
    let unreadable = |wrong: std::io::Error| match wrong.kind() {
        std::io::ErrorKind::NotFound => Refusal::misuse(format!("no file is called `{name}`"))
            .with_help("`valvewright run SCENARIO` writes results/SCENARIO/result.json"),
        _ => Refusal::misuse(format!("{name} cannot be read: {wrong}")),
    };
    let size = std::fs::metadata(path).map_err(unreadable)?.len();
    if size > most {
        return Err(Refusal::misuse(format!("{name} is too long: {size} bytes, at most {most}")));
    }
    let bytes = std::fs::read(path).map_err(unreadable)?;
    String::from_utf8(bytes)
        .map_err(|_| Refusal::misuse(format!("{name} is not UTF-8 text")).with_help("save it as UTF-8"))
}

/// A result file and the day on which its run began. A file that has the whole name, `@` and all, goes first.
fn result(name: &str) -> Result<(String, Run, NaiveDate), Refusal> {
    let dated = name.rsplit_once('@').filter(|_| !Path::new(name).is_file());
    let (file, day) = match dated {
        Some((file, day)) => {
            let read = date::read(day).ok_or_else(|| {
                let wrong = Refusal::misuse(format!("`{day}` behind {file}@ is no date"));
                wrong.with_help("write year, month and day: 2026-01-31; from 1970 to 2199")
            });
            (file, read?)
        }
        None => (name, date::first_day()),
    };
    let run = read::run(&text(file, LONGEST)?);
    let run = run.map_err(|unfit| Refusal::misuse(format!("{file} {}", unfit.why)).with_help(unfit.help))?;
    Ok((file.to_owned(), run, day))
}

/// A text that goes onto paper as it is.
fn printable(flag: &str, text: &str, most: usize) -> Result<(), Refusal> {
    let letters = text.chars().count();
    if letters > most {
        let wrong = Refusal::misuse(format!("{flag} `{text}` has {letters} letters"));
        return Err(wrong.with_help(format!("accepted range: at most {most} letters")));
    }
    if text.contains(char::is_control) {
        return Err(
            Refusal::misuse(format!("{flag} has a sign that is no letter")).with_help("leave line ends and tabs out")
        );
    }
    Ok(())
}

/// What the flags say; where they say nothing, what the run's workshop says.
fn setting(args: &TicketArgs, run: &Run, (dated, day): (bool, NaiveDate)) -> Result<Setting, Refusal> {
    if args.header.len() > HEADER_LINES {
        let wrong = Refusal::misuse(format!("--header is given {} times", args.header.len()));
        return Err(
            wrong.with_help(format!("accepted range: at most {HEADER_LINES} lines of {HEADER_LETTERS} letters"))
        );
    }
    args.header.iter().try_for_each(|line| printable("--header", line, HEADER_LETTERS))?;
    args.operator.iter().try_for_each(|name| printable("--operator", name, NAME_LETTERS))?;
    let own = run.service.workshop.as_ref();
    let headers = [Some(&args.header), own.map(|own| &own.header)];
    let header = headers.into_iter().flatten().find(|lines| !lines.is_empty()).cloned();
    let operator = args.operator.clone().or_else(|| own.and_then(|own| own.operator.clone()));
    let day = own.filter(|_| !dated).and_then(|own| date::read(&own.day)).unwrap_or(day);
    let header = header.unwrap_or_else(|| Setting::default().header);
    Ok(Setting { header, operator, language: args.language.language(), day })
}

fn tickets(args: &TicketArgs, global: Global) -> Result<Exit, Refusal> {
    let (file, run, day) = result(&args.result)?;
    let setting = setting(args, &run, (file != args.result, day))?;
    let (began, all) = (run.jobs.len(), run.jobs_in_all);
    let numbers = match args.job {
        Some(number) if (1..=began).contains(&number) => number - 1..number,
        Some(number) if (1..=all).contains(&number) => {
            return Err(Refusal::misuse(format!("job {number} of {file} was never begun"))
                .with_help(format!("{began} of {all} jobs were")));
        }
        Some(number) => {
            return Err(
                Refusal::misuse(format!("{file} has no job {number}")).with_help(format!("accepted range: 1 to {all}"))
            );
        }
        None => 0..began,
    };
    let made: Vec<Ticket> = numbers.filter_map(|number| ticket(&run, number, &setting)).collect();
    if made.is_empty() {
        return Err(Refusal::misuse(format!("{file} holds no job"))
            .with_help("the run was broken off before its first order ended"));
    }
    let language = setting.language;
    let columns = if args.columns == "32" { 32 } else { 42 };
    match args.format {
        _ if global.json => print_json(&json!({ "version": VERSION, "tickets": made }))?,
        TicketForm::Json => print_json(&json!({ "version": VERSION, "tickets": made }))?,
        TicketForm::Html => print(&ticket_page::page(&made, language))?,
        TicketForm::Text => {
            let papers: Vec<String> = made.iter().map(|one| ticket_text::text(one, language, columns)).collect();
            print(&papers.join("\n"))?;
        }
    }
    Ok(Exit::Held)
}

fn books(args: &LedgerArgs, global: Global) -> Result<Exit, Refusal> {
    let mut runs = Vec::new();
    for name in &args.results {
        let (file, run, day) = result(name)?;
        runs.push(Booked { run, file, day });
    }
    let mut rows = Vec::new();
    for name in &args.bought {
        let source = Source::new(name, text(name, LONGEST_CSV)?);
        rows.extend(bought::read(&source).map_err(Refusal::file)?.into_iter().map(|row| (name.clone(), row)));
    }
    let by = match args.by {
        ByArg::Day => By::Day,
        ByArg::Month => By::Month,
        ByArg::Year => By::Year,
    };
    let books = ledger(&runs, &rows, by).map_err(|unfit| Refusal::misuse(unfit.why).with_help(unfit.help))?;
    let csv = |made: Result<String, csv::Error>| {
        made.map_err(|wrong| Refusal::ours(format!("the ledger has no CSV form: {wrong}")))
    };
    match args.format {
        _ if global.json => print_json(&ledger_text::json(&books))?,
        LedgerForm::Json => print_json(&ledger_text::json(&books))?,
        LedgerForm::Csv => print(&csv(ledger_text::csv(&books))?)?,
        LedgerForm::RecordsCsv => print(&csv(ledger_text::records_csv(&books))?)?,
        LedgerForm::Html => print(&ledger_page::page(&books))?,
        LedgerForm::Text => print(&ledger_text::text(&books))?,
    }
    Ok(Exit::Held)
}
