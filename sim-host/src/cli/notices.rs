//! `list --notices`: all that the controller can tell a person, with sample figures, for whoever reads or translates it.

use clap::Args;
use serde_json::json;
use valvewright_core::talk::Notice;

use super::Global;
use super::display::{DisplayArgs, LanguageArg};
use super::output::{Exit, Refusal, print, print_json};
use crate::display::Display;
use crate::display::wrap::{bold, entry};
use crate::language::{self, samples};

/// The air around the samples, Pa: a standard atmosphere.
const BAROMETER: f64 = 101_325.0;

/// How the notices are told.
#[derive(Debug, Args, PartialEq)]
pub struct ToldArgs {
    /// Language of the notices, with --notices; the heads stay English.
    #[arg(long, value_enum, default_value_t = LanguageArg::En, value_name = "LANGUAGE", requires = "notices")]
    language: LanguageArg,
    #[command(flatten)]
    display: DisplayArgs,
}

impl ToldArgs {
    /// Without `--notices` there is nothing that units and zero would change.
    pub fn refuse_without_notices(&self) -> Result<(), Refusal> {
        if self.display == DisplayArgs::default() {
            return Ok(());
        }
        let wrong = Refusal::misuse("--units and --pressure are for the sample figures of --notices");
        Err(wrong.with_help("add --notices, or leave them out"))
    }
}

/// Under which head a notice is printed.
const fn head(of: &Notice) -> &'static str {
    match of {
        Notice::Asked(_) => "Questions",
        Notice::Refused(_) => "Refusals",
        Notice::PhaseStarted(_) | Notice::PhaseEnded(..) => "Phases, and why one is given up",
        Notice::Tripped(..) => "Trips: each cause of each row, sound and bad",
        _ => "Notices",
    }
}

/// Prints them.
pub fn notices(args: &ToldArgs, global: Global) -> Result<Exit, Refusal> {
    let display = Display { language: args.language.language(), ..args.display.display(BAROMETER) };
    let trips = |one: &Notice| matches!(one, Notice::Tripped(..));
    let all: Vec<Notice> = samples::notices().into_iter().filter(|one| !trips(one)).chain(samples::trips()).collect();
    let told = |one: &Notice| (language::notice_id(one), language::notice(one).on(&display));
    if global.json {
        let list: Vec<_> = all.iter().map(told).map(|(id, text)| json!({ "id": id, "text": text })).collect();
        print_json(&json!({ "language": display.language.code(), "units": display.setting(), "notices": list }))?;
        return Ok(Exit::Held);
    }
    let mut out = String::new();
    let mut heads: Vec<&str> = Vec::new();
    for one in &all {
        if !heads.contains(&head(one)) {
            heads.push(head(one));
        }
    }
    for title in heads {
        out += &format!("{}{}\n", if out.is_empty() { "" } else { "\n" }, bold(title));
        let mut last = "";
        for (id, text) in all.iter().filter(|one| head(one) == title).map(told) {
            entry(&mut out, if id == last { "" } else { id }, &text);
            last = id;
        }
    }
    print(&out)?;
    Ok(Exit::Held)
}
