//! The table as one page for a browser or in print: no network, no scripts.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::{Role, Row};

use super::{key, marks, words};
use crate::display::Display;
use crate::evidence::{Evidence, Id, Where, state};

/// The report's style, so that both lie side by side in one binder.
const STYLE: &str = include_str!("../report/style.css");
const OWN: &str = include_str!("matrix.css");

/// The page for these rows.
pub fn page(rows: &[&Row], evidence: &Evidence, display: &Display) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Interlock table – Valvewright" }
                style { (PreEscaped(STYLE)) (PreEscaped(OWN)) }
            }
            body {
                header {
                    div {
                        p.kicker { "Valvewright · controller core " (env!("CARGO_PKG_VERSION")) }
                        h1 { "Interlock table" }
                        p.summary { "What must not happen, whatever anybody wants: each row acts while any of its causes stands. " (key()) }
                    }
                }
                p.strip { "Uncertified design. Figures: " (display.setting()) ". A bad input counts as tripped at once." }
                main {
                    div.matrix-box { (overview(rows, evidence)) }
                    div.rows { @for row in rows { (full(row, evidence, display)) } }
                }
            }
        }
    };
    markup.into_string()
}

fn overview(rows: &[&Row], evidence: &Evidence) -> Markup {
    html! {
        table.matrix {
            thead { tr {
                th { "Row" }
                @for one in Actuator::ALL { th { (one.tag()) } }
                th { "Latch" } th { "Answers" }
            } }
            tbody {
                @for row in rows {
                    tr {
                        td { a href=(format!("#{}", row.id.as_str().to_lowercase())) { (row.id) } }
                        @for one in Actuator::ALL {
                            @let mark = marks(row, one);
                            td.mark.(mark.to_lowercase()) { (mark) }
                        }
                        td { (words::latch(row.latch)) }
                        td.nowrap { @for one in words::hazards(row) { abbr title=(evidence.hazard_title(one)) { (one) } " " } }
                    }
                }
            }
        }
    }
}

fn full(row: &Row, evidence: &Evidence, display: &Display) -> Markup {
    html! {
        section.row-card id=(row.id.as_str().to_lowercase()) {
            h2 { (row.id) span.why { (row.why.text()) } }
            table {
                thead { tr { th { "" } th { "Acts when" } th { "Clears" } } }
                tbody {
                    @for one in row.causes {
                        tr {
                            td { @match one.role {
                                Role::Trip => { span.pill.failed { "trip" } }
                                Role::Permit => { span.pill.refused { "permission" } }
                            } }
                            td { (words::acts(one).on(display)) }
                            td { (words::clears(one).on(display)) }
                        }
                    }
                }
            }
            dl {
                @for (what, list) in words::effects(row) { dt { (what) } dd { @for tag in list { span.nowrap { (tag) } " " } } }
                dt { "Latch" } dd { (words::latch(row.latch)) ": " (words::latch_sentence(row.latch)) }
                dt { "To clear" } dd { (row.reset.text()) }
                dt { "Answers" } dd { @for one in words::hazards(row) { div { (one) " " (evidence.hazard_title(one)) } } }
                (proof(row, evidence))
            }
        }
    }
}

/// The faults that can defeat a row, each with its words for who points at it, and what shows the row.
fn proof(row: &Row, evidence: &Evidence) -> Markup {
    let faults = evidence.faults_of(row);
    let met = |place: Where| faults.iter().filter(|one| one.1 == place).map(|one| one.0).collect::<Vec<_>>();
    let id = Id::from(row.id);
    html! {
        dt { "Can be defeated" }
        dd {
            @for (place, list) in Where::ALL.map(|place| (place, met(place))) {
                @if !list.is_empty() {
                    div {
                        (place.words()) ": "
                        @for one in list { abbr title=(format!("{} ({}): {}", one.component, one.tag, one.failure_mode)) { (one.id) } " " }
                    }
                }
            }
        }
        dt { "Shown by" }
        dd.shown {
            @if evidence.shown_by(id).next().is_none() { (state(evidence, id)) }
            @for one in evidence.shown_by(id) { div title=(one.command()) { (one.name) } }
        }
    }
}
