//! The years as one page for a browser or in print: how it ended, six drawings, the sums, what was judged, and cautions.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use valvewright_core::kept::Limits;

use super::calendar::{DAY, YEAR};
use super::chart::{Bars, Lane};
use super::judge::Law;
use super::plan::Kind;
use super::tally::{MONTHS, Month, OUTCOMES, Point, Tally};
use super::text::{CAUTION, again, unsigned};

const STYLE: &str = include_str!("years.css");

/// The page.
pub fn page(tally: &Tally, plan_file: Option<&str>) -> String {
    let (sign, word, class) = match (tally.held(), tally.partial) {
        (false, _) => ("!", "a judgement failed", "red"),
        (true, true) => ("~", "broken off", "yellow"),
        (true, false) => ("\u{2713}", "all judgements held", "green"),
    };
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Years of services" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    div {
                        p.kicker { "Valvewright, years of services on one station" }
                        h1 { (tally.services) " services in " (tally.years()) @if tally.years() == 1 { " year" } @else { " years" } }
                        p.kicker { "seed " (tally.plan.seed) ", " (tally.plan.a_week) " a week, " (tally.count(|m| m.cuts)) " power cuts, " (tally.count(|m| m.mistakes)) " mistakes of the operator" }
                    }
                    div class=(format!("verdict {class}")) { span.sign { (sign) } (word) }
                }
                main {
                    p.strip { (CAUTION) }
                    (drawings(tally))
                    (sums(tally))
                    (judged(tally, plan_file))
                }
                (cautions())
            }
        }
    };
    markup.into_string()
}

fn figure(title: &str, what: &str, drawing: &Markup) -> Markup {
    html! { figure { h2 { (title) } div.scroll { (drawing) } figcaption { (what) } } }
}

fn drawings(tally: &Tally) -> Markup {
    let years = (YEAR / DAY, tally.years());
    let line = |of: &dyn Fn(&Point) -> f64| tally.points.iter().map(|point| (point.day, of(point))).collect::<Vec<_>>();
    let lane = |title: &str, unit, class, points: &[(f64, f64)], limit, ticks: &[f64]| {
        Lane { title, unit, class, points, limit, ticks, years }.draw()
    };
    let drier = f64::from(Limits::USUAL.drier.0) * 1e-6;
    let pump = f64::from(Limits::USUAL.pump_oil) / 3_600.0;
    let content = lane("Content of the vessel", "kg", "c0", &line(&|p| p.vessel_kg), None, &tally.cut_days);
    let drier =
        lane("Mass through the filter-drier", "kg", "c2", &line(&|p| p.drier_kg), Some((drier, "limit of F-1")), &[]);
    let pump = lane("Hours of the pump oil", "h", "c4", &line(&|p| p.pump_h), Some((pump, "limit of P-1's oil")), &[]);
    let rating = (f64::from(tally.rating), "rated erases of a page");
    let wear = lane("Wear of the flash", "erases", "c3", &line(&|p| f64::from(p.wear)), Some(rating), &[]);
    html! {
        (figure("What the vessel and its pipes held", "In truth, after each service. It falls with charges, rises with recoveries, and jumps where the shop bought or sent away. Each tick at the foot is a power cut.", &content))
        (figure("Filter-drier, F-1", "WQI-1 as the store had acknowledged it. Each fall to zero is an exchange against a code.", &drier))
        (figure("Pump oil, P-1", "KQI-1 as the store had acknowledged it.", &pump))
        (figure("Services a month, by how they ended", "Refused: the vehicle or its gas was found wanting, or a row of the table stood. Cut off: power went; the vehicle was served again.", &services(tally)))
        (figure("Refrigerant in and out of the station, by year", "In truth. Upwards what came into the station, downwards what left it.", &flows(tally)))
        (figure("Wear of the flash", "Erases of the most erased page against what each page is rated for.", &wear))
    }
}

fn services(tally: &Tally) -> Markup {
    let classes = ["c2", "c4", "c1", "c6", "c3", "c0"];
    let parts: Vec<(&str, &str)> = OUTCOMES.into_iter().zip(classes).collect();
    let mut periods: Vec<Vec<f64>> =
        tally.months.iter().map(|month| month.outcomes.iter().map(|n| f64::from(*n)).collect()).collect();
    // A year that was broken off keeps its place on the axis.
    periods.resize(tally.years() * MONTHS, vec![0.0; OUTCOMES.len()]);
    let names = names(tally);
    Bars { title: "Services a month", unit: "services", parts: &parts, periods: &periods, names: &names }.draw()
}

fn names(tally: &Tally) -> Vec<String> {
    (0..tally.years()).map(|year| format!("year {}", year + 1)).collect()
}

fn flows(tally: &Tally) -> Markup {
    let parts = [("bought", "c0"), ("recovered", "c5"), ("charged", "c2"), ("sent away", "c4"), ("lost", "c1")];
    let of: [fn(&Month) -> f64; 5] =
        [|m| m.bought_g, |m| m.recovered_g, |m| -m.charged_g, |m| -m.sold_g, |m| -m.lost_g];
    let periods: Vec<Vec<f64>> =
        (0..tally.years()).map(|year| of.iter().map(|one| tally.of_year(year, one) * 1e-3).collect()).collect();
    let names = names(tally);
    Bars { title: "Refrigerant by year", unit: "kg", parts: &parts, periods: &periods, names: &names }.draw()
}

fn sums(tally: &Tally) -> Markup {
    let kg = |g: f64| format!("{:.3}", g * 1e-3);
    let columns = ["recovered", "charged", "bought", "sent away", "lost", "unknown"];
    let of: [fn(&Month) -> f64; 6] =
        [|m| m.recovered_g, |m| m.charged_g, |m| m.bought_g, |m| m.sold_g, |m| m.lost_g, |m| m.unknown_g];
    let list = |all: Vec<(String, u32)>| {
        let all: Vec<String> = all.into_iter().map(|(name, count)| format!("{name} {count}")).collect();
        if all.is_empty() { "none".to_owned() } else { all.join(", ") }
    };
    let kinds: Vec<String> = Kind::ALL.map(|kind| format!("{} {}", kind.word(), tally.of_kind(kind))).to_vec();
    html! {
        h2 { "Refrigerant by year, kg, in truth" }
        div.scroll { table {
            thead { tr { th { "Year" } @for name in columns { th.number { (name) } } } }
            tbody {
                @for year in 0..tally.years() { tr { td { (year + 1) } @for one in of { td.number { (kg(tally.of_year(year, one))) } } } }
                tr.sum { td { "all" } @for one in of { td.number { (kg(tally.sum(one))) } } }
            }
        } }
        p.kicker { "Unknown is by how much the station's content changed beyond what it told: hoses, oil, the error of its scale, and orders that power cut off." }
        h2 { "Counted" }
        dl {
            dt { "Services" } dd { (kinds.join(", ")) }
            dt { "Exchanges" } dd { (tally.count(|m| m.driers)) " filter-driers, " (tally.count(|m| m.pump_oils)) " pump oils, " (tally.count(|m| m.cleanings[0])) " decontaminations (and " (tally.count(|m| m.cleanings[1])) " in vain), oil bottles " (tally.count(|m| m.bottles)) " times" }
            dt { "Codes" } dd { (tally.count(|m| m.codes_taken)) " taken; refused: " (list(tally.by_name(|m| &m.codes_refused))) }
            dt { "Power" } dd { (tally.count(|m| m.cuts)) " cuts, " (tally.count(|m| m.starts)) " starts after them, " (tally.count(|m| m.again)) " vehicles served again" }
            dt { "Trips" } dd { (list(tally.by_name(|m| &m.trips))) }
        }
        (ledger(tally))
    }
}

fn ledger(tally: &Tally) -> Markup {
    let of = &tally.ledger;
    let rows = [
        ("+", "in the station at the start", of.opening),
        ("+", "bought", of.bought),
        ("+", "brought by vehicles", of.brought),
        ("\u{2212}", "sent away", of.sold),
        ("\u{2212}", "left in vehicles", of.left),
        ("\u{2212}", "gone with used oil", of.with_oil),
        ("\u{2212}", "into the air", of.lost),
        ("=", "in the station now", of.station),
        ("=", "in hoses and bottles now", of.between),
        ("=", "in the bay now", of.vehicle),
    ];
    html! {
        h2 { "Ledger, kg, in truth" }
        table { tbody {
            @for (sign, what, kg) in rows { tr { td { (sign) " " (what) } td.number { (format!("{:.6}", unsigned(kg))) } } }
            tr.sum { td { "nowhere, g; at most after any service" } td.number { (format!("{:.1e}; {:.1e}", tally.ledger_error_g, tally.ledger_worst_g)) } }
        } }
        p.kicker { "By its own books the station holds " (format!("{:.3}", tally.books_kg)) " kg, in truth " (format!("{:.3}", tally.holds_kg)) " kg." }
    }
}

fn judged(tally: &Tally, plan_file: Option<&str>) -> Markup {
    html! {
        h2 { "Judged after every service" }
        table { tbody { @for law in Law::ALL {
            @let failed = tally.failed.get(&law).copied().unwrap_or(0);
            tr {
                td { span class=(if failed == 0 { "pill green" } else { "pill red" }) { (if failed == 0 { "held" } else { "failed" }) } " " (law.words()) }
                td.number { (tally.judged.get(&law).copied().unwrap_or(0)) " times" @if failed > 0 { ", " (failed) " failed" } }
            }
        } } }
        @if let Some(first) = tally.breaches.first() {
            ul { @for told in &tally.breaches { li { "Service " (told.service) ": " (told.breach.what) } } }
            p { "The first again: " code { (again(tally, first.service, plan_file)) } }
        }
        p.kicker { "Digest of every frame and output: " code { (tally.hash) } }
    }
}

fn cautions() -> Markup {
    html! {
        section.cautions {
            h2 { "Before you take any of this to a real machine" }
            ul {
                li { b { "Simulator. " } "Plant, instruments, vehicles and figures are models. The controller design is not certified, tested or approved for any machine." }
                li { b { "Flammable gas under pressure. " } "R-1234yf is mildly flammable (ASHRAE 34 class A2L); liquid burns the skin with cold, and bursts what it is locked into." }
                li { b { "High voltage. " } "Electrically driven compressors carry lethal voltage and take only their own kind of oil." }
                li { b { "Law and licence. " } "Releasing refrigerant is prohibited in many places; work on circuits needs training and a licence under the local code." }
            }
        }
    }
}
