//! A ticket as text for paper of 32 or 42 columns: no line is longer, figures stand at the right, nothing is cut off.

use super::slip::Slip;
use super::teller::Teller;
use super::ticket::{Moment, Ticket};
use super::ticket_figures::Mass;
use super::words;
use crate::display::Language;
use crate::language::number;
use crate::report::axis::clock;
use crate::report::data::Verdict;

/// Columns that papers have.
pub const COLUMNS: [usize; 2] = [32, 42];

/// A mass in grams and in ounces, as the language writes them; nothing where it was not said.
pub fn figures(of: &Mass, language: Language) -> Option<[String; 2]> {
    let (g, oz) = (of.g?, of.oz?);
    Some([format!("{} g", number(language, format!("{g:.1}"))), format!("{} oz", number(language, format!("{oz:.2}")))])
}

/// Both in their columns, which hold 10 kg, the most that an order may charge; or what stands in place of them.
fn mass(of: &Mass, language: Language) -> String {
    let both = figures(of, language).map(|[g, oz]| format!("{g:>9} {oz:>9}"));
    both.unwrap_or_else(|| of.text.clone().unwrap_or_default())
}

/// The ticket in lines of `columns`.
pub fn text(ticket: &Ticket, language: Language, columns: usize) -> String {
    let teller = Teller::new(language);
    let mut slip = Slip::new(columns);
    for line in &ticket.header {
        slip.centre(line);
    }
    slip.rule('=');
    slip.centre(&ticket.title);
    slip.centre(&if ticket.verdict == Verdict::Pass {
        ticket.headline.clone()
    } else {
        format!("*** {} ***", ticket.headline)
    });
    if let Some(reason) = &ticket.reason {
        slip.text(&teller.word(words::REASON), 0);
        slip.text(reason, 2);
    }
    for remark in &ticket.remarks {
        slip.text(remark, 0);
    }
    slip.rule('=');
    slip.text(&ticket.uncertified, 0);
    slip.rule('-');
    for fact in &ticket.facts {
        slip.pair(&fact.name, &fact.text);
    }
    slip.text(&ticket.clock, 0);
    head(&mut slip, &teller, words::MASSES);
    for one in &ticket.masses {
        slip.pair(&one.name, &mass(one, language));
    }
    if let Some(vehicle) = &ticket.findings.vehicle {
        slip.text(vehicle, 0);
    }
    head(&mut slip, &teller, words::FINDINGS);
    for one in [&ticket.findings.gas, &ticket.findings.vacuum] {
        slip.pair(&one.name, &one.text);
    }
    for one in [&ticket.findings.leak, &ticket.findings.hoses] {
        slip.text(&one.name, 0);
        slip.text(&one.text, 2);
    }
    head(&mut slip, &teller, words::PHASES);
    for one in &ticket.phases {
        slip.pair(&one.name, &format!("{} {:>7}", one.outcome_text, clock(one.seconds)));
    }
    moments(&mut slip, &teller, words::WARNINGS, &ticket.warnings);
    moments(&mut slip, &teller, words::TRIPS, &ticket.trips);
    head(&mut slip, &teller, words::CAUTIONS);
    for caution in &ticket.cautions {
        slip.text(caution, 0);
    }
    slip.rule('=');
    slip.finish()
}

fn head(slip: &mut Slip, teller: &Teller, id: &'static str) {
    slip.rule('-');
    slip.text(&teller.word(id), 0);
    slip.gap();
}

fn moments(slip: &mut Slip, teller: &Teller, id: &'static str, all: &[Moment]) {
    head(slip, teller, id);
    if all.is_empty() {
        slip.text(&teller.word(words::NONE), 0);
    }
    for one in all {
        slip.text(&one.time, 0);
        slip.text(&one.text, 2);
    }
}
