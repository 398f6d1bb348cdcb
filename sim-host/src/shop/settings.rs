//! Settings of a workshop: shown, and changed by `key=value`.

use serde::Serialize;
use valvewright_core::record::settings::{
    CLOCK_MOST, Clock, HEADER_BYTES, HEADER_LETTERS, HEADER_LINES, Language as Stored, Settings, line,
};

use super::Trouble;
use crate::display::Language;
use crate::scenario::diagnostic::nearest;

/// Keys, with what each may be.
const KEYS: [(&str, &str); 9] = [
    ("language", "en, de, es, fr"),
    (
        "clock",
        "seconds ahead of the board's own, such as +3600 or -60, at most 90000 each way; or not_set (supervisor)",
    ),
    ("ticket", "on, off"),
    ("buzzer", "on, off"),
    ("units", "metric, us"),
    ("header1", "a line of a ticket's head: at most 32 letters in 47 bytes; empty takes it away"),
    ("header2", "as header1"),
    ("header3", "as header1"),
    ("header4", "as header1"),
];

/// A setting as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    /// Its key.
    pub key: &'static str,
    /// Its value.
    pub value: String,
    /// What it may be.
    pub accepted: &'static str,
}

/// The language of papers and display.
pub fn language(of: &Settings) -> Language {
    match of.language {
        Stored::En => Language::En,
        Stored::De => Language::De,
        Stored::Es => Language::Es,
        Stored::Fr => Language::Fr,
    }
}

/// The head of the tickets, as far as it has lines; empty where nothing is set.
pub fn header(of: &Settings) -> Vec<String> {
    let mut lines: Vec<String> = of.header.iter().map(ToString::to_string).collect();
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines
}

fn value(of: &Settings, key: &str) -> String {
    let switch = |on: bool| if on { "on" } else { "off" }.to_owned();
    match key {
        "language" => language(of).code().to_owned(),
        "clock" => match of.clock {
            Clock::NotSet => "not_set".to_owned(),
            Clock::Offset(offset) => format!("{offset:+}"),
        },
        "ticket" => switch(of.ticket),
        "buzzer" => switch(of.buzzer),
        "units" => if of.us_units { "us" } else { "metric" }.to_owned(),
        _ => place(key).and_then(|at| of.header.get(at)).map(ToString::to_string).unwrap_or_default(),
    }
}

fn place(key: &str) -> Option<usize> {
    key.strip_prefix("header")?.parse::<usize>().ok()?.checked_sub(1).filter(|at| *at < HEADER_LINES)
}

/// All settings.
pub fn lines(of: &Settings) -> Vec<Line> {
    KEYS.into_iter().map(|(key, accepted)| Line { key, value: value(of, key), accepted }).collect()
}

fn one_of<T: Copy>(key: &str, text: &str, all: &[(&str, T)]) -> Result<T, Trouble> {
    all.iter().find(|(word, _)| *word == text).map(|(_, one)| *one).ok_or_else(|| {
        let words = all.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", ");
        Trouble::new(format!("{key}: `{text}` is no choice"), format!("accepted: {words}"))
    })
}

/// Changes one; whether it was the clock.
///
/// # Errors
/// There is no such key, or the value is not accepted; the range is named.
pub fn change(of: &mut Settings, text: &str) -> Result<bool, Trouble> {
    let all = || KEYS.iter().map(|(key, _)| *key).collect::<Vec<_>>().join(", ");
    let Some((key, value)) = text.split_once('=') else {
        return Err(Trouble::new(format!("`{text}` is no setting"), format!("write KEY=VALUE; keys: {}", all())));
    };
    let switch = [("on", true), ("off", false)];
    match key {
        "language" => {
            of.language =
                one_of(key, value, &[("en", Stored::En), ("de", Stored::De), ("es", Stored::Es), ("fr", Stored::Fr)])?;
        }
        "ticket" => of.ticket = one_of(key, value, &switch)?,
        "buzzer" => of.buzzer = one_of(key, value, &switch)?,
        "units" => of.us_units = one_of(key, value, &[("metric", false), ("us", true)])?,
        "clock" => {
            of.clock = clock(value)?;
            return Ok(true);
        }
        _ => match place(key) {
            Some(at) => {
                let read = line(value).ok_or_else(|| {
                    let letters = value.chars().count();
                    Trouble::new(
                        format!(
                            "{key}: `{value}` has {letters} letters in {} bytes, or a sign that is no letter",
                            value.len()
                        ),
                        format!("accepted: at most {HEADER_LETTERS} letters in at most {HEADER_BYTES} bytes"),
                    )
                })?;
                if let Some(line) = of.header.get_mut(at) {
                    *line = read;
                }
            }
            None => {
                let near = nearest(key, KEYS.iter().map(|(key, _)| *key));
                let near = near.map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
                return Err(Trouble::new(format!("there is no setting `{key}`"), format!("{near}settings: {}", all())));
            }
        },
    }
    Ok(false)
}

fn clock(text: &str) -> Result<Clock, Trouble> {
    if text == "not_set" {
        return Ok(Clock::NotSet);
    }
    let offset = text.strip_prefix('+').unwrap_or(text).parse::<i32>().ok();
    let within = offset.filter(|offset| offset.unsigned_abs() <= CLOCK_MOST.unsigned_abs());
    within.map(Clock::Offset).ok_or_else(|| {
        let help = format!("accepted: -{CLOCK_MOST} to +{CLOCK_MOST} seconds ahead of the board's own, or not_set");
        Trouble::new(format!("clock: `{text}` is no time that it could be ahead"), help)
    })
}
