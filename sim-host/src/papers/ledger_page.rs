//! A ledger as one page for a browser or in print: a drawing and a table for each place, the records, what the law wants kept.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::chart::chart;
use super::ledger::{Ledger, Line};
use super::ledger_text::{CAUTION, COLUMNS, RULES, carbon, figures, kg, plain, remarks};
use super::ticket_page::STYLE;

/// The page.
pub fn page(ledger: &Ledger) -> String {
    let mut places: Vec<Vec<&Line>> = Vec::new();
    for line in &ledger.lines {
        let same = |of: &&Line| of.place == line.place && of.refrigerant == line.refrigerant;
        match places.last_mut().filter(|last| last.first().is_some_and(same)) {
            Some(last) => last.push(line),
            None => places.push(vec![line]),
        }
    }
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Refrigerant ledger" }
                style { (PreEscaped(STYLE)) }
            }
            body { article.sheet.broad {
                h1 { "Refrigerant ledger" }
                p.strip { (CAUTION) }
                @for lines in &places { (place(lines)) }
                h2 { "Records, and until when each is kept" }
                (records(ledger))
                h2 { "How to read it" }
                ul { @for one in remarks(ledger) { li { (one) } } }
                h2 { "What the law wants kept" }
                dl.wide { @for (law, what) in RULES { div { dt { (law) } dd { (what) } } } }
            } }
        }
    };
    markup.into_string()
}

fn place(lines: &[&Line]) -> Markup {
    let title = lines.first().map_or(String::new(), |line| format!("{}, {}", line.place, line.refrigerant));
    html! {
        h2 { (title) }
        figure { (chart(lines, &title)) figcaption { "Upwards what came, downwards what went, for each period; the line is the closing stock." } }
        @for (unit, co2) in [("kg", false), ("t of CO2 equivalent", true)] {
            h3 { "In " (unit) }
            table {
                thead { tr { th { "Period" } @for name in COLUMNS { th.figure { (name) } } } }
                tbody { @for line in lines { tr {
                    td { (line.period) }
                    @for mg in figures(line) { td.figure { (if co2 { carbon(line, mg) } else { plain(kg(mg)) }) } }
                } } }
            }
        }
    }
}

fn records(ledger: &Ledger) -> Markup {
    html! {
        table {
            thead { tr {
                th { "Made" } th { "US until" } th { "EU until" } th { "What" } th { "Place" } th { "Gas" }
                th.figure { "in kg" } th.figure { "out kg" } th { "Party or vehicle" } th { "Document" }
            } }
            tbody { @for one in &ledger.records { tr {
                td.nowrap { (one.made) } td.nowrap { (one.keep_until_us) } td.nowrap { (one.keep_until_eu) } td { (one.what) } td.nowrap { (one.place) } td.nowrap { (one.refrigerant) }
                td.figure { (plain(one.in_kg)) } td.figure { (plain(one.out_kg)) } td { (one.party) } td { (one.document) }
            } } }
        }
    }
}
