//! The findings as one page for a browser or in print: no network, no scripts. Greys for what is as it may be, colour for hazards only.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::cell::{Cell, Section, Tone};
use super::tables::sections;
use super::{CAUTION, Findings, heat, judge};

const STYLE: &str = include_str!("findings.css");

/// The page.
pub fn page(of: &Findings) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Campaign " (of.campaign) " \u{2013} Valvewright" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    div {
                        p.kicker { "Valvewright, what a campaign says" }
                        h1 { (of.campaign) ", " (of.counts.runs) " runs" }
                        p.kicker { "digest " (of.digest) }
                    }
                    (verdict(of))
                }
                main {
                    p.strip { (CAUTION) }
                    (ends(of))
                    @let tables = sections(of);
                    @for one in tables.iter().filter(|one| one.id == "against") { (section(one)) }
                    (map(of))
                    @for one in tables.iter().filter(|one| one.id != "against") { (section(one)) }
                }
                (cautions(of))
            }
        }
    };
    markup.into_string()
}

fn verdict(of: &Findings) -> Markup {
    let (sign, word, class) = match &of.comparison {
        Some(other) if other.worse.is_empty() => ("\u{2713}", format!("nothing worse than {}", other.other), "grey"),
        Some(other) => ("!", format!("worse than {}", other.other), "red"),
        None if of.counts.cuts.is_empty() => ("\u{2713}", "no accident".to_owned(), "grey"),
        None => ("!", format!("{} hazards at accident level", of.counts.cuts.accidents().count()), "red"),
    };
    html! { div class=(format!("verdict {class}")) { span.sign { (sign) } (word) } }
}

fn ends(of: &Findings) -> Markup {
    html! {
        dl {
            @for (end, runs) in &of.counts.ends { dt { (end) } dd { (runs) } }
            @if of.counts.healthy > 0 { dt { "without a fault" } dd { (of.counts.healthy) } }
            @if of.counts.late > 0 { dt { "reaction too late" } dd { (of.counts.late) } }
            @if of.counts.stuck.0 > 0 { dt { "no rest after healing" } dd { (of.counts.stuck.0) } }
        }
        @if !of.counts.refused.is_empty() {
            details { summary { "Why runs were refused" } ul { @for (why, runs) in &of.counts.refused { li { (runs) ": " (why) } } } }
        }
    }
}

fn map(of: &Findings) -> Markup {
    let steps = heat::steps(of);
    html! {
        section id="map" {
            h2 { "Fault by step" }
            @if steps.is_empty() { p.kicker { "No fault was planned in any run." } } @else {
                p.kicker { (heat::KEY) " Point at a cell for its runs and the command that has the worst of them again." }
                p.kicker { (heat::left_out(of)) }
                div.scroll { table.heat {
                    thead { tr { th { "Fault" } @for step in &steps { th.step { span { (step) } } } } }
                    tbody { @for fault in of.counts.faults.keys() { (line(of, fault, &steps)) } }
                } }
                @let hot = heat::hot(of);
                @if !hot.rows.is_empty() { details { summary { (hot.rows.len()) " cells with a hazard, and their commands" } (table(&hot)) } }
            }
        }
    }
}

fn line(of: &Findings, fault: &str, steps: &[&str]) -> Markup {
    html! {
        tr {
            th scope="row" title=(judge::what(fault)) { (fault) }
            @for step in steps {
                @match heat::spot(of, fault, step) {
                    Some(spot) => { td class=(spot.worst.class()) title=(heat::told(fault, step, spot)) { (spot.worst.mark()) } }
                    None => { td {} }
                }
            }
        }
    }
}

fn section(of: &Section) -> Markup {
    html! {
        section id=(of.id) {
            h2 { (of.title) }
            @for note in &of.notes { p.kicker { (note) } }
            @if !of.head.is_empty() { (table(of)) }
        }
    }
}

fn table(of: &Section) -> Markup {
    let figures = |at: usize| of.rows.first().and_then(|row| row.get(at)).is_some_and(|cell| cell.tone == Tone::Figure);
    html! {
        div.scroll { table {
            thead { tr { @for (at, head) in of.head.iter().enumerate() { @if figures(at) { th.number { (head) } } @else { th { (head) } } } } }
            tbody { @for row in &of.rows { tr { @for one in row { (cell(one)) } } } }
        } }
    }
}

fn cell(of: &Cell) -> Markup {
    html! {
        @match of.tone {
            Tone::Plain => { td { (of.text) } }
            Tone::Figure => { td.number { (of.text) } }
            Tone::Command => { td { code { (of.text) } } }
            Tone::Alert => { td { span.pill.yellow { (of.text) } } }
            Tone::Accident => { td { span.pill.red { (of.text) } } }
        }
    }
}

fn cautions(of: &Findings) -> Markup {
    html! {
        section.cautions {
            h2 { "Before you take any of this to a real machine" }
            ul {
                li { b { "Simulator. " } "Plant, instruments, faults and figures are models. The controller design is not certified, tested or approved for any machine." }
                @if let Some(rates) = &of.rates {
                    li { b { "Rates are of a file. " } "How often a fault comes was taken from " (rates.file) "; nothing here proves these figures." }
                } @else {
                    li { b { "Shares are no rates. " } "How often a fault comes is not in them; bands and shares are of the runs that this plan asked for." }
                }
                li { b { "Flammable gas under pressure. " } "R-1234yf is mildly flammable (ASHRAE 34 class A2L); liquid burns the skin with cold, and bursts what it is locked into." }
                li { b { "High voltage. " } "Electrically driven compressors carry lethal voltage and take only their own kind of oil." }
                li { b { "Law and licence. " } "Releasing refrigerant is prohibited in many places; work on circuits needs training and a licence under the local code." }
            }
        }
    }
}
