//! `code`: codes of replacement parts for demonstrations and tests, and what a station would say of one.

use clap::{Args, Subcommand};
use serde::Serialize;
use valvewright_core::token::code::LAST_SERIAL;
use valvewright_core::token::used::Standing;
use valvewright_core::token::{Code, CodeFault, CodeKey, Draft, Kind, Typed, Used};

use super::output::{Exit, Refusal, print, print_json};
use super::{Global, input};
use crate::run::words;
use crate::station;

/// What to do with codes.
#[derive(Debug, Subcommand)]
pub enum CodeVerb {
    /// Make codes, one a line.
    Mint(MintArgs),
    /// Say what a code is, and whether a station with this key would take it.
    Check(CheckArgs),
}

/// What to make.
#[derive(Debug, Args)]
pub struct MintArgs {
    /// What for.
    #[arg(long, value_name = "KIND", value_parser = Kind::ALL.map(Kind::name))]
    kind: String,
    /// Serial number of the first; a station takes each number of a kind once.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=i64::from(LAST_SERIAL)))]
    serial: u32,
    /// How many, with serial numbers that follow each other.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    count: u32,
    #[command(flatten)]
    key: KeyArgs,
}

/// What to look at.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The code, with or without dashes.
    #[arg(value_name = "CODE")]
    code: String,
    /// Serial numbers of its kind that were used, in the order in which they were.
    #[arg(long, value_name = "N", value_delimiter = ',')]
    used: Vec<u32>,
    #[command(flatten)]
    key: KeyArgs,
}

/// Whose key.
#[derive(Debug, Args)]
struct KeyArgs {
    /// The station whose `code_key` it is, shipped or a file [default: the key of demonstrations, which is no secret].
    #[arg(long, value_name = "NAME|FILE")]
    station: Option<String>,
}

impl KeyArgs {
    fn key(&self) -> Result<CodeKey, Refusal> {
        let Some(name) = &self.station else { return Ok(CodeKey::DEMO) };
        let name = input::station(name)?;
        let file = station::load(Some(&name)).map_err(|why| Refusal::misuse(why.to_string()))?;
        Ok(file.facts.code_key)
    }
}

#[derive(Serialize)]
struct Minted {
    code: String,
    kind: &'static str,
    serial: u32,
    key: &'static str,
}

#[derive(Serialize)]
struct Checked {
    taken: bool,
    kind: Option<&'static str>,
    serial: Option<u32>,
    why: Option<String>,
}

/// Makes or checks codes.
pub fn code(verb: &CodeVerb, global: Global) -> Result<Exit, Refusal> {
    match verb {
        CodeVerb::Mint(args) => mint(args, global),
        CodeVerb::Check(args) => check(args, global),
    }
}

fn mint(args: &MintArgs, global: Global) -> Result<Exit, Refusal> {
    let key = args.key.key()?;
    let last = args.serial.saturating_add(args.count - 1);
    if last > LAST_SERIAL {
        let why = format!("serial numbers end at {LAST_SERIAL}, and the last of these would be {last}");
        return Err(Refusal::misuse(why).with_help("ask for fewer, or begin lower"));
    }
    let kind = Kind::ALL.into_iter().find(|kind| kind.name() == args.kind).unwrap_or(Kind::FilterDrier);
    let whose = if key == CodeKey::DEMO { "demo" } else { "own" };
    let minted = (args.serial..=last).filter_map(|serial| {
        let code = Code { kind, serial }.mint(&key)?;
        Some(Minted { code: grouped(code), kind: kind.name(), serial, key: whose })
    });
    let minted: Vec<Minted> = minted.collect();
    if global.json {
        print_json(&minted)?;
        return Ok(Exit::Held);
    }
    if whose == "demo" {
        eprintln!("made with the key of demonstrations, which is no secret: for simulations only");
    }
    let lines: Vec<String> = minted.iter().map(|one| format!("{}  {} {}\n", one.code, one.kind, one.serial)).collect();
    print(&lines.concat())?;
    Ok(Exit::Held)
}

fn check(args: &CheckArgs, global: Global) -> Result<Exit, Refusal> {
    let key = args.key.key()?;
    let typed = Typed::read(&args.code).ok_or_else(|| {
        let why = format!("`{}` has not sixteen symbols", args.code);
        Refusal::misuse(why).with_help("a code is typed as 5-5-5-1, with or without dashes")
    })?;
    let used = args.used.iter().fold(Used::NONE, |used, serial| used.with(*serial));
    let proven = Draft::read(typed).and_then(|draft| draft.prove(&key));
    let taken = proven.and_then(|code| match used.look(code.serial) {
        Standing::Fresh => Ok(code),
        Standing::Used => Err(CodeFault::UsedBefore),
        Standing::TooOld => Err(CodeFault::TooOld),
    });
    let found = Checked {
        taken: taken.is_ok(),
        kind: proven.ok().map(|code| code.kind.name()),
        serial: proven.ok().map(|code| code.serial),
        why: taken.err().map(words::code),
    };
    if global.json {
        print_json(&found)?;
    } else {
        let of = found.kind.zip(found.serial).map(|(kind, serial)| format!("{kind} {serial}: ")).unwrap_or_default();
        print(&match &found.why {
            None => format!("{of}it would be taken\n"),
            Some(why) => format!("{of}it would not be taken: {why}\n"),
        })?;
    }
    Ok(if found.taken { Exit::Held } else { Exit::Failed })
}

fn grouped(code: Typed) -> String {
    String::from_utf8_lossy(&code.grouped()).into_owned()
}
