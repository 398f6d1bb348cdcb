//! `run --store`: a run in a workshop's history. What goes in from the store before it, and what goes back after it.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use valvewright_core::record::LogId;

use super::display::{DisplayArgs, LanguageArg};
use super::output::Refusal;
use super::run_args::RunArgs;
use crate::display::{Display, Language, Units};
use crate::flash::Image;
use crate::papers::ticket::{DEMO_HEADER, Setting, ticket};
use crate::papers::{date, read, ticket_text};
use crate::report::service;
use crate::run::{EPOCH, Workshop, kept, opened};
use crate::scenario::Scenario;
use crate::scenario::diagnostic::Source;
use crate::shop::opened::{Shop, clock_of, moment};
use crate::shop::{Trouble, book, presets, settings};

/// Columns of the ticket that a run prints.
const COLUMNS: usize = 42;
const DAY: u32 = 86_400;

/// A run's stay in its workshop.
pub struct Visit {
    path: PathBuf,
    /// What the run takes with it.
    pub workshop: Workshop,
    /// Presets that were put into the orders.
    pub presets: Vec<String>,
    day: NaiveDate,
    header: Vec<String>,
    operator: Option<String>,
    language: Language,
    us_units: bool,
    prints: bool,
    /// The first service that the run may write.
    first: u32,
}

impl From<Trouble> for Refusal {
    fn from(of: Trouble) -> Self {
        Self::misuse(of.why).with_help(of.help)
    }
}

/// When the run begins: on the day that was asked for, else on the day after the last run.
fn begins(asked: Option<&str>, last: Option<&Image>) -> Result<(u32, NaiveDate), Refusal> {
    let ended = last.map_or(0, |image| image.now);
    let now = match asked {
        Some(text) => {
            let wrong = || {
                Refusal::misuse(format!("--date `{text}` is no date"))
                    .with_help("write year, month and day: 2026-01-31; from 2000 to 2135")
            };
            date::read(text).and_then(clock_of).ok_or_else(wrong)?
        }
        None if last.is_none() => EPOCH,
        None => ended.div_ceil(DAY).saturating_mul(DAY),
    };
    if now < ended {
        let when = crate::shop::opened::when(ended);
        return Err(Refusal::misuse("--date lies before the end of the last run on this store")
            .with_help(format!("that was {when}; give a later day, or none for the next")));
    }
    Ok((now, moment(now).map_or_else(date::first_day, |at| at.date())))
}

/// A service must have its place in the log before it begins (F090). A start may cost one, and a cut in the run is one.
fn has_room(shop: &Shop, scenario: &Scenario) -> Result<(), Refusal> {
    let Ok(holding) = shop.look(|all| all.holding(LogId::Services)) else { return Ok(()) };
    let faults: usize = scenario.jobs().map(|job| job.faults.len()).sum();
    let need = (scenario.jobs().count() + faults + 2) as u32;
    if holding.room >= need {
        return Ok(());
    }
    let open = holding.next.saturating_sub(1).saturating_sub(holding.exported);
    let why = format!(
        "the log of services is full: room for {} more, this run may need {need}, and {open} were not exported",
        holding.room
    );
    Err(Refusal::misuse(why).with_help("export them: `valvewright station history --export csv --out FILE --store STORE`; the order is refused before it begins"))
}

/// Enters the workshop: reads its store, or makes it, and puts its presets into the orders.
pub fn enter(path: &Path, args: &RunArgs, scenario: &mut Scenario, source: &Source) -> Result<Visit, Refusal> {
    let image = crate::shop::opened::read(path)?;
    // Known before the run, and not when its end has nowhere to go.
    if path.parent().is_some_and(|folder| !folder.as_os_str().is_empty() && !folder.is_dir()) {
        let why = format!("--store {}: its folder does not exist", path.display());
        return Err(Refusal::misuse(why).with_help("make the folder first"));
    }
    let (now, day) = begins(args.date.as_deref(), image.as_ref())?;
    let mut shop = match &image {
        Some(image) => Shop::open(image)?,
        None => {
            let made = opened(kept(scenario), None).map_err(|why| Refusal::misuse(why.to_string()))?;
            Shop::new(made.0, made.1, now)
        }
    };
    for one in shop.damaged() {
        eprintln!("valvewright: {} is damaged: {one}", path.display());
    }
    let roster = shop.roster();
    let operator = match args.operator {
        None => None,
        Some(number) => match roster.get(number) {
            Some(one) => Some(format!("{} ({number})", one.name)),
            None => {
                return Err(Refusal::misuse(format!("--operator {number}: nobody has this number"))
                    .with_help("`valvewright station operators list --store FILE` says who is on the list"));
            }
        },
    };
    has_room(&shop, scenario)?;
    let preset = shop.look(|all| all.presets()).map(|item| item.or(Default::default()).0).unwrap_or_default();
    let presets = presets::apply(&preset, scenario, source);
    // What a lost store does not take, the station will say.
    let book = if shop.kept().is_some() { book::of_jobs(&mut shop, scenario)? } else { Vec::new() };
    let set = shop.settings();
    let first = shop.look(|all| all.next_service()).unwrap_or(1);
    let workshop =
        Workshop { image: Some(shop.image()), now, clock: set.clock, operator: args.operator.unwrap_or(0), book };
    Ok(Visit {
        path: path.to_owned(),
        workshop,
        presets,
        day,
        header: settings::header(&set),
        operator,
        language: settings::language(&set),
        us_units: set.us_units,
        prints: set.ticket,
        first,
    })
}

impl Visit {
    /// What papers are told of the workshop.
    pub fn service(&self) -> service::Workshop {
        service::Workshop {
            header: self.header.clone(),
            operator: self.operator.clone(),
            day: date::day_words(self.day),
            presets: self.presets.clone(),
        }
    }

    /// The display of the settings, where no flag asks for another one.
    pub fn display(&self, args: &RunArgs, asked: Display) -> Display {
        let units = if self.us_units && args.display == DisplayArgs::default() { Units::Us } else { asked.units };
        let language = if args.language == LanguageArg::En { self.language } else { asked.language };
        Display { units, language, ..asked }
    }

    /// The tickets of a result, where the workshop prints any.
    pub fn tickets(&self, result: &str) -> Option<String> {
        let run = read::run(result).ok().filter(|_| self.prints)?;
        let header = if self.header.is_empty() { DEMO_HEADER.map(str::to_owned).to_vec() } else { self.header.clone() };
        let setting = Setting { header, operator: self.operator.clone(), language: self.language, day: self.day };
        let made = (0..run.jobs.len()).filter_map(|job| ticket(&run, job, &setting));
        let papers: Vec<String> = made.map(|one| ticket_text::text(&one, self.language, COLUMNS)).collect();
        Some(papers.join("\n")).filter(|text| !text.is_empty())
    }

    /// Leaves the workshop: its store goes back into the file. Returns a line on it.
    pub fn leave(&self, store: Option<&(Image, u32)>) -> Result<String, Refusal> {
        let Some((image, not_kept)) = store else { return Ok(String::new()) };
        let mut shop = Shop::open(image)?;
        let numbers = self.first..shop.look(|all| all.next_service()).unwrap_or(self.first);
        for number in numbers.clone() {
            if let Ok(Some(service)) = shop.look(|all| all.service(number)) {
                book::served(&mut shop, service.book, service.ended)?;
            }
        }
        let failed = |of: Trouble| Refusal::unfinished(of.why).with_help(of.help);
        crate::shop::opened::write(&self.path, &shop.image()).map_err(failed)?;
        if *not_kept > 0 {
            eprintln!("valvewright: the store did not take {not_kept} records of this run");
        }
        let services: Vec<String> = numbers.map(|number| number.to_string()).collect();
        let written =
            if services.is_empty() { "no service".to_owned() } else { format!("service {}", services.join(", ")) };
        Ok(format!("{}: {written}", self.path.display()))
    }
}
