//! The HTML report of one run: one file, no network, whole without scripts and in print.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::axis::{clock, duration, significant};
use super::chart::{chart, mark, readable};
use super::cursor::samples;
use super::data::{Outcome, RunResult, Trace, Verdict};
use super::driver::{self, driven};
use super::shown::shown;
use super::{hazards, jobs, proof, properties, stops};
use crate::display::{Amount, Display};
use crate::scenario::Scenario;
use crate::scenario::model::Sides;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("cursor.js");

/// The whole page. Equal runs give equal bytes: no wall time goes in.
pub fn page(scenario: &Scenario, result: &RunResult, trace: &Trace, display: &Display) -> String {
    let trace = &shown(trace, display);
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (scenario.title) " – Valvewright run report" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (head(scenario, result, display))
                main {
                    (cards(scenario, result, display))
                    section.chart-box { (chart(result, trace, display)) (key()) (hazards::key(trace)) }
                    (jobs::table(result, display))
                    div.columns.found {
                        section { h2 { "Phases" } (phases(result, display)) }
                        section { h2 { "Expectations" } (expectations(result, display)) (properties::table(result, display)) (proof::list(result, display)) }
                    }
                    div.columns {
                        section { h2 { (if jobs::is_row(result) { "The first job" } else { "The job" }) } (facts(scenario, display)) }
                        section { h2 { "Interlock trips" } (trips(result, display)) }
                    }
                    (stops::section(result, display))
                    section { h2 { "Hazards, in truth" } (hazards::table(result, display)) }
                    section { h2 { "Notices" } (notices(result, display)) }
                    (cautions())
                }
                script type="application/json" id="samples" { (PreEscaped(samples(trace))) }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    markup.into_string()
}

/// Indicator colour of a verdict after IEC 60073: green normal, yellow abnormal, red danger or fault, white neutral.
fn lamp(verdict: Verdict) -> (&'static str, &'static str, &'static str) {
    match verdict {
        Verdict::Pass => ("green", "✓", "Passed"),
        Verdict::Refused => ("yellow", "!", "Refused"),
        Verdict::Failed => ("red", "✕", "Failed"),
        Verdict::Aborted => ("white", "■", "Aborted"),
        Verdict::Unfinished => ("white", "…", "Unfinished"),
    }
}

fn head(scenario: &Scenario, result: &RunResult, display: &Display) -> Markup {
    let (lamp, sign, word) = lamp(result.verdict);
    let word = jobs::passed(result).unwrap_or_else(|| word.to_owned());
    let lamp = if result.controller.core { lamp } else { "white" };
    let word = driver::verdict(result, &word);
    html! {
        header {
            div {
                p.kicker { "Valvewright · simulated service job · " (result.scenario) ", seed " (result.seed) " · station " (result.station.name)
                    @if !result.without.is_empty() { " · what if, without row " (result.without.join(", ")) }
                    @if !result.moved.is_empty() { " · what if, set point " (result.moved.join(", ")) }
                }
                h1 { (scenario.title) }
                p.summary { (verdict_sentence(result, display)) }
            }
            div {
                div.verdict.(lamp) { span.sign { (sign) } span { (word) } }
                @match result.expectations.iter().filter(|one| !one.held).count() {
                    0 => {}
                    1 => { span.pill.failed { "✕ one expectation failed" } }
                    failed => { span.pill.failed { "✕ " (failed) " expectations failed" } }
                }
            }
        }
        @if result.partial {
            p.partial { "Partial: " (driver::cut_off(result)) ". All figures stand for the " (duration(result.sim_seconds)) " that ran." }
        }
        @if let Some(words) = driven(result) {
            p.partial[result.controller.fault.is_some()] { "The controller ran " (words) "." }
        }
        p.strip { "Result of a simulator with an uncertified controller design. It is no record of work on a real vehicle, and no instruction for it. Figures: " (display.setting()) "." }
    }
}

/// The outcome in one or two sentences, for those who read nothing else.
fn verdict_sentence(result: &RunResult, display: &Display) -> String {
    let culprit =
        result.phases.iter().find(|p| matches!(p.outcome, Outcome::Failed | Outcome::Refused | Outcome::Aborted));
    let length = duration(result.sim_seconds);
    let failed = result.expectations.iter().filter(|one| !one.held).count();
    let what = match (result.verdict, culprit) {
        _ if jobs::is_row(result) => format!("{} in {length}.", jobs::passed(result).unwrap_or_default()),
        (Verdict::Pass, _) => passed_sentence(result, &length),
        (_, Some(phase)) => {
            format!("{} ended the order after {length}: {}", readable(&phase.name), phase.detail.on(display))
        }
        (Verdict::Unfinished, None) => format!("The run ended after {length}, before the order did."),
        (verdict, None) => format!("The order ended with {} after {length}.", verdict.word()),
    };
    let what = if what.ends_with('.') { what } else { what + "." };
    match (result.expectations.len(), failed) {
        (0, _) => what,
        (all, 0) => format!("{what} All {all} expectations of the scenario held."),
        (all, failed) => format!("{what} {failed} of {all} expectations did not hold."),
    }
}

fn passed_sentence(result: &RunResult, length: &str) -> String {
    let skipped = result.phases.iter().filter(|phase| phase.outcome == Outcome::Skipped).count();
    match (result.phases.len(), skipped) {
        (1, 0) => format!("The phase passed in {length}."),
        (all, 0) => format!("All {all} phases passed in {length}."),
        (all, skipped) => format!("{} of {all} phases passed in {length}, {skipped} left out.", all - skipped),
    }
}

fn card(name: &str, big: &str, unit: &str, lines: &[String], picture: Option<Markup>) -> Markup {
    html! {
        div.card {
            h3 { (name) }
            p.big { (big) span.unit { (unit) } }
            @if let Some(picture) = picture { (picture) }
            @for line in lines { p { (line) } }
        }
    }
}

fn cards(scenario: &Scenario, result: &RunResult, display: &Display) -> Markup {
    // To a tenth of a gram, or as fine in ounces.
    let number = |gram: f64| {
        let figure = display.figure(Amount::Mass(gram * 1e-3));
        let fine = 10f64.powi(i32::try_from(figure.places).unwrap_or(1));
        significant((figure.value * fine).round() / fine, 6)
    };
    let unit = display.figure(Amount::Mass(0.0)).unit;
    let mass = |gram: f64| format!("{} {unit}", number(gram));
    let signed = |gram: f64| {
        if gram < 0.0 { mass(gram) } else { format!("+{}", mass(gram)) }
    };
    let oil = |ml: f64| {
        let figure = display.figure(Amount::Oil(ml * 1e-6));
        (significant(figure.value, 3), figure.unit)
    };
    let recovered = result.recovered_g;
    let content = scenario.jobs().map(|job| job.vehicle.content).sum::<f64>() * 1e3;
    let share = if content > 0.0 { recovered.truth / content * 100.0 } else { 0.0 };
    let charged = result.charged_g;
    let nothing = charged.truth.abs() < 0.5 && charged.shown.unwrap_or(0.0).abs() < 0.5;
    let row = jobs::is_row(result);
    let charge_lines = match charged.target {
        Some(_) if row => vec![format!("true {} in all jobs", mass(charged.truth))],
        Some(target) if nothing => vec![format!("ordered {}", mass(target)), "nothing was charged".to_owned()],
        Some(target) => {
            vec![
                format!("ordered {}", mass(target)),
                format!("true {} ({})", mass(charged.truth), signed(charged.truth - target)),
            ]
        }
        None => vec!["the order does not charge".to_owned()],
    };
    let tolerance = scenario.expect.charged_within.map_or(15.0, |kg| kg * 1e3);
    let picture =
        charged.target.filter(|_| !nothing && !row).map(|target| band(charged.truth - target, tolerance, display));
    let (drained_true, oil_unit) = oil(result.oil_drained_ml_true);
    let drained = result.oil_drained_ml.map_or("–".to_owned(), |ml| oil(ml).0);
    let said = |gram: Option<f64>| gram.map_or("–".to_owned(), number);
    let off = recovered.shown.map_or("not said by the controller".to_owned(), |gram| signed(gram - recovered.truth));
    html! {
        section.cards {
            (card("Recovered", &said(recovered.shown), unit, &[
                format!("true {} ({off})", mass(recovered.truth)),
                format!("{share:.1} % of {} in the circuit", mass(content)),
            ], None))
            (card("Charged", &said(charged.shown), unit, &charge_lines, picture))
            @if !row { (leak_card(result, display)) }
            (card("Oil drained", &drained, oil_unit, &[format!("true {drained_true} {oil_unit}")], None))
            (card("Job", &duration(result.sim_seconds), "", &[
                format!("{} phases, {} notices", result.phases.len(), result.notices.len()),
                match result.interlocks.len() {
                    0 if !driver::has_rows(result) => "interlocks not said".to_owned(),
                    0 => "no interlock tripped".to_owned(),
                    1 => "one interlock tripped".to_owned(),
                    n => format!("{n} interlock trips"),
                },
            ], None))
        }
    }
}

fn leak_card(result: &RunResult, display: &Display) -> Markup {
    let leak = &result.leak;
    let Some(rate) = leak.g_per_year else {
        return card("Leak check", "–", "", &[readable(&leak.verdict)], None);
    };
    let year = |gram: f64| {
        let figure = display.figure(Amount::Loss(gram * 1e-3));
        match figure.unit {
            "g/year" if gram >= 1e3 => (significant(gram / 1e3, 2), "kg/year"),
            unit => (significant(figure.value, 2), unit),
        }
    };
    let mut lines = vec![format!("verdict: {}", readable(&leak.verdict).to_lowercase())];
    let (shown, unit) = if let (Some(si), Some(below)) = (leak.below_pa_m3_per_s, leak.below_g_per_year) {
        lines.push(format!("air inflow below {} Pa m³/s in vacuum", significant(si, 3)));
        let (below, unit) = year(below);
        (format!("< {below}"), unit)
    } else {
        lines.extend(leak.pa_m3_per_s.map(|si| format!("{} Pa m³/s in vacuum", significant(si, 2))));
        year(rate)
    };
    lines.extend(leak.smallest_g_per_year.map(|gram| {
        let (least, unit) = year(gram);
        format!("smallest seen here: {least} {unit}")
    }));
    card("Leak check", &shown, unit, &lines, None)
}

/// How far the true charge is off its target, g: the band is the tolerance, the mark is the truth. Beyond three tolerances it sticks to
/// the end.
fn band(off: f64, tolerance: f64, display: &Display) -> Markup {
    let place = |off: f64| 100.0 + (off / tolerance.max(0.1)).clamp(-2.9, 2.9) * 32.0;
    let at = place(off);
    let limit = display.figure(Amount::MassDifference(tolerance * 1e-3));
    let limit = format!("{} {}", significant(limit.value, 3), limit.unit);
    html! {
        svg.band viewBox="0 0 200 30" role="img" aria-label=(format!("tolerance {limit} either side of the target")) {
            rect.outer x="4" y="9" width="192" height="8" rx="4" {}
            rect.inner x=(place(-tolerance)) y="9" width=(place(tolerance) - place(-tolerance)) height="8" {}
            line.aim x1="100" x2="100" y1="5" y2="21" {}
            path.mark d=(format!("M{at:.1} 10l-5-8h10z")) {}
            text x=(place(-tolerance)) y="28" text-anchor="middle" { "−" (limit) }
            text x=(place(tolerance)) y="28" text-anchor="middle" { "+" (limit) }
        }
    }
}

fn key() -> Markup {
    html! {
        p.key {
            span { svg viewBox="0 0 26 8" { line.line.c0.shown x1="0" x2="26" y1="4" y2="4" {} } "as the station shows it" }
            span { svg viewBox="0 0 26 8" { line.line.c0.true x1="0" x2="26" y1="4" y2="4" {} } "true, from the plant" }
            span { "figures at the right: lowest … highest, or the value at the cursor" }
            span.script { "move over the chart, or use the arrow keys in it, to read values" }
        }
    }
}

fn phases(result: &RunResult, display: &Display) -> Markup {
    html! {
        table {
            thead { tr { th { "" } th { "Phase" } th { "Outcome" } th.number { "Time" } th { "Finding" } } }
            tbody {
                @for (at, phase) in result.phases.iter().enumerate() {
                    tr {
                        td.number { (at + 1) }
                        td.nowrap {
                            @if let Some(job) = jobs::job_of(result, at) { "job " (job) ": " }
                            (readable(&phase.name))
                        }
                        td.nowrap { span.pill.(phase.outcome.word()) { (mark(phase.outcome)) " " (phase.outcome.word()) } }
                        td.number.nowrap { (duration(phase.seconds)) }
                        td { (phase.detail.on(display)) }
                    }
                }
            }
        }
    }
}

fn expectations(result: &RunResult, display: &Display) -> Markup {
    html! {
        table {
            thead { tr { th { "" } th { "Expected" } th { "Found" } } }
            tbody {
                @for one in &result.expectations {
                    tr {
                        td { span.pill.(if one.held { "pass" } else { "failed" }) { (if one.held { "✓" } else { "✕" }) } }
                        td.nowrap[one.name.len() < 40] { (one.name) }
                        td { (one.detail.on(display)) }
                    }
                }
            }
        }
    }
}

fn notices(result: &RunResult, display: &Display) -> Markup {
    html! {
        @if result.notices.is_empty() { p { "None was given." } }
        ol.notices lang=[display.foreign()] {
            @for notice in &result.notices { li { span.when { (clock(notice.t_s)) } span { (notice.on(display)) } } }
        }
    }
}

fn trips(result: &RunResult, display: &Display) -> Markup {
    html! {
        @if !driver::has_rows(result) { p { "The controller tells none." } }
        @else if result.interlocks.is_empty() { p { "None tripped." } }
        @else {
            table.list {
                tbody {
                    @for trip in &result.interlocks {
                        tr {
                            td.number.nowrap { (clock(trip.t_s)) }
                            td.nowrap { span.pill.failed { (trip.id) } }
                            td {
                                (trip.reading.on(display))
                                @if !trip.waits_for.is_empty() { div.soft { "waits for: " (trip.waits_for.on(display)) } }
                                @if !trip.to_clear.is_empty() { div.soft { "to clear: " (trip.to_clear) } }
                                div.soft { "why: " (trip.cause) }
                            }
                            td.nowrap { @match trip.cleared_t_s { Some(t) => { "released " (clock(t)) } None => { "stands" } } }
                        }
                    }
                }
            }
        }
    }
}

fn facts(scenario: &Scenario, display: &Display) -> Markup {
    let (site, station, vehicle, order) = (&scenario.site, &scenario.station, &scenario.vehicle, &scenario.order);
    let celsius = |kelvin: f64| display.words(Amount::Temperature(kelvin));
    let grams = |kg: f64| display.words(Amount::Mass(kg));
    let sides = match order.sides {
        Sides::Both => "both couplers",
        Sides::Low => "low side only",
        Sides::High => "high side only",
    };
    html! {
        @if !scenario.summary.is_empty() { p { (scenario.summary) } }
        dl {
            dt { "Site" } dd {
                (celsius(site.ambient)) ", barometer " (display.words(Amount::Barometer(site.barometer))) ", "
                (significant(site.humidity * 100.0, 3)) " % humidity"
            }
            dt { "Station" } dd { (refrigerant(station.refrigerant)) ", " (grams(station.vessel_content)) " in the vessel" }
            dt { "Vehicle" } dd { (vehicle.label) @if vehicle.high_voltage { ", high voltage" } }
            dt { "Circuit" } dd {
                (grams(vehicle.content)) " of " (grams(vehicle.charge_label)) " " (refrigerant(vehicle.refrigerant)) ", "
                (significant(vehicle.volumes.total() * 1e3, 3)) " L, " (celsius(vehicle.engine_bay))
                @if vehicle.leak > 0.0 { ", hole of " (significant(vehicle.leak * 1e3, 3)) " mm" }
                @if vehicle.water > 0.0 { ", " (grams(vehicle.water)) " of water" }
                @if vehicle.air > 0.0 { ", " (grams(vehicle.air)) " of air" }
            }
            @if let Some((of, mass)) = order.upkeep {
                dt { "Order" } dd { "upkeep: " (of.name().replace('_', " ")) @if mass > 0.0 { ", by " (grams(mass)) } }
            } @else {
            dt { "Order" } dd {
                @if order.charge > 0.0 { "charge " (grams(order.charge)) ", " }
                "evacuate " (duration(order.evacuate_time)) " to " (display.words(Amount::Pressure(order.evacuate_depth))) ", hold "
                (duration(order.leak_hold)) ", " (sides)
            }
            }
        }
    }
}

fn refrigerant(one: valvewright_core::fluid::Refrigerant) -> &'static str {
    match one {
        valvewright_core::fluid::Refrigerant::R1234yf => "R-1234yf",
        valvewright_core::fluid::Refrigerant::R134a => "R-134a",
    }
}

fn cautions() -> Markup {
    html! {
        section.cautions {
            h2 { "Before you take any of this to a real machine" }
            ul {
                li { b { "Simulator. " } "Plant, instruments and figures are models. The controller design is not certified, tested or approved for any machine." }
                li { b { "Flammable gas. " } "R-1234yf is mildly flammable (ASHRAE 34 class A2L). Ventilation and the absence of ignition sources are not optional." }
                li { b { "Pressure. " } "Vessel, hoses and circuit hold liquefied gas under pressure; liquid locked between shut valves can burst a line." }
                li { b { "Cold burns. " } "Escaping refrigerant boils far below freezing and burns skin and eyes." }
                li { b { "High voltage. " } "Electrically driven compressors carry lethal voltage and take only their own kind of oil." }
                li { b { "Law and licence. " } "Releasing refrigerant is prohibited in many places; work on circuits needs training and a licence under the local code." }
            }
        }
    }
}
