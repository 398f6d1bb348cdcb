//! Tickets as one page for a browser or in print, without network and scripts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::teller::Teller;
use super::ticket::{Moment, Ticket};
use super::ticket_figures::Mass;
use super::ticket_text::figures;
use super::words;
use crate::display::Language;
use crate::report::axis::clock;
use crate::report::data::{Outcome, Verdict};

/// Colours after IEC 60073, never without a word beside them; on paper black on white.
pub const STYLE: &str = include_str!("papers.css");

/// All of them on one page, each on its own sheet in print.
pub fn page(tickets: &[Ticket], language: Language) -> String {
    let teller = Teller::new(language);
    let title = teller.word(words::TITLE);
    let markup = html! {
        (DOCTYPE)
        html lang=(language.code()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { @for ticket in tickets { (sheet(ticket, language, &teller)) } }
        }
    };
    markup.into_string()
}

const fn lamp(of: Verdict) -> &'static str {
    match of {
        Verdict::Pass => "good",
        Verdict::Refused => "odd",
        Verdict::Failed => "bad",
        Verdict::Aborted | Verdict::Unfinished => "plain",
    }
}

fn sheet(ticket: &Ticket, language: Language, teller: &Teller) -> Markup {
    let word = |id| teller.word(id);
    let findings = [&ticket.findings.gas, &ticket.findings.vacuum, &ticket.findings.leak, &ticket.findings.hoses];
    html! {
        article.sheet {
            address { @for line in &ticket.header { (line) br; } }
            h1 { (ticket.title) }
            div.verdict.(lamp(ticket.verdict)) {
                strong { (ticket.headline) }
                @if let Some(reason) = &ticket.reason { p { span.soft { (word(words::REASON)) } br; (reason) } }
                @for remark in &ticket.remarks { p { (remark) } }
            }
            p.strip { (ticket.uncertified) }
            dl { @for fact in &ticket.facts { div { dt { (fact.name) } dd { (fact.text) } } } }
            p.soft { (ticket.clock) }
            h2 { (word(words::MASSES)) }
            table { tbody { @for one in &ticket.masses { (mass(one, language)) } } }
            @if let Some(vehicle) = &ticket.findings.vehicle { p { (vehicle) } }
            h2 { (word(words::FINDINGS)) }
            dl.wide { @for one in findings { div { dt { (one.name) } dd { (one.text) } } } }
            h2 { (word(words::PHASES)) }
            table { tbody { @for one in &ticket.phases { tr {
                th scope="row" { (one.name) }
                td.(if matches!(one.outcome, Outcome::Pass | Outcome::Skipped) { "plain" } else { "bad" }) { (one.outcome_text) }
                td.figure { (clock(one.seconds)) }
            } } } }
            (moments(&word(words::WARNINGS), &ticket.warnings, &word(words::NONE)))
            (moments(&word(words::TRIPS), &ticket.trips, &word(words::NONE)))
            h2 { (word(words::CAUTIONS)) }
            ul { @for caution in &ticket.cautions { li { (caution) } } }
        }
    }
}

fn mass(of: &Mass, language: Language) -> Markup {
    html! {
        tr {
            th scope="row" { (of.name) }
            @match figures(of, language) {
                Some(both) => { @for one in both { td.figure { (one) } } }
                None => { td.figure colspan="2" { @if let Some(text) = &of.text { (text) } } }
            }
        }
    }
}

fn moments(title: &str, all: &[Moment], none: &str) -> Markup {
    html! {
        h2 { (title) }
        @if all.is_empty() { p { (none) } }
        @else { dl.wide { @for one in all { div { dt { (one.time) } dd { (one.text) } } } } }
    }
}
