//! The HTML report of one run: one file, no network, whole without scripts and in print.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::axis::{clock, duration, significant};
use super::chart::{chart, mark, readable};
use super::cursor::samples;
use super::data::{Outcome, RunResult, Trace, Verdict};
use super::text::board_words;
use crate::scenario::Scenario;
use crate::scenario::model::Sides;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("cursor.js");
const KELVIN: f64 = 273.15;

/// The whole page. Equal runs give equal bytes: no wall time goes in.
pub fn page(scenario: &Scenario, result: &RunResult, trace: &Trace) -> String {
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
                (head(scenario, result))
                main {
                    (cards(scenario, result))
                    section.chart-box { (chart(result, trace)) (key()) }
                    div.columns.found {
                        section { h2 { "Phases" } (phases(result)) }
                        section { h2 { "Expectations" } (expectations(result)) (balances(result)) }
                    }
                    div.columns {
                        section { h2 { "The job" } (facts(scenario)) }
                        section { h2 { "Interlock trips" } (trips(result)) }
                    }
                    section { h2 { "Notices" } (notices(result)) }
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

fn head(scenario: &Scenario, result: &RunResult) -> Markup {
    let (lamp, sign, word) = lamp(result.verdict);
    html! {
        header {
            div {
                p.kicker { "Valvewright · simulated service job · " (result.scenario) ", seed " (result.seed) }
                h1 { (scenario.title) }
                p.summary { (verdict_sentence(result)) }
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
            p.partial { "Partial: the run was interrupted. All figures stand for the " (duration(result.sim_seconds)) " that ran." }
        }
        @if let Some(board) = &result.board {
            p.partial[board.fault.is_some()] { "The controller ran " (board_words(board)) "." }
        }
        p.strip { "Result of a simulator with an uncertified controller design. It is no record of work on a real vehicle, and no instruction for it." }
    }
}

/// The outcome in one or two sentences, for those who read nothing else.
fn verdict_sentence(result: &RunResult) -> String {
    let culprit =
        result.phases.iter().find(|p| matches!(p.outcome, Outcome::Failed | Outcome::Refused | Outcome::Aborted));
    let length = duration(result.sim_seconds);
    let failed = result.expectations.iter().filter(|one| !one.held).count();
    let what = match (result.verdict, culprit) {
        (Verdict::Pass, _) => passed_sentence(result, &length),
        (_, Some(phase)) => format!("{} ended the order after {length}: {}", readable(&phase.name), phase.detail),
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

fn cards(scenario: &Scenario, result: &RunResult) -> Markup {
    let gram = |value: f64| significant((value * 10.0).round() / 10.0, 6);
    let signed = |value: f64| {
        if value < 0.0 { gram(value) } else { format!("+{}", gram(value)) }
    };
    let recovered = result.recovered_g;
    let content = scenario.vehicle.content * 1e3;
    let share = if content > 0.0 { recovered.truth / content * 100.0 } else { 0.0 };
    let charged = result.charged_g;
    let nothing = charged.truth.abs() < 0.5 && charged.shown.abs() < 0.5;
    let charge_lines = match charged.target {
        Some(target) if nothing => vec![format!("ordered {} g", gram(target)), "nothing was charged".to_owned()],
        Some(target) => {
            vec![
                format!("ordered {} g", gram(target)),
                format!("true {} g ({} g)", gram(charged.truth), signed(charged.truth - target)),
            ]
        }
        None => vec!["the order does not charge".to_owned()],
    };
    let tolerance = scenario.expect.charged_within.map_or(15.0, |kg| kg * 1e3);
    html! {
        section.cards {
            (card("Recovered", &gram(recovered.shown), "g", &[
                format!("true {} g ({} g)", gram(recovered.truth), signed(recovered.shown - recovered.truth)),
                format!("{share:.1} % of {} g in the circuit", gram(content)),
            ], None))
            (card("Charged", &gram(charged.shown), "g", &charge_lines, charged.target.filter(|_| !nothing).map(|target| band(target, tolerance, charged.truth))))
            (leak_card(result))
            (card("Oil drained", &significant(result.oil_drained_ml, 3), "mL",
                &[format!("true {} mL", significant(result.oil_drained_ml_true, 3))], None))
            (card("Job", &duration(result.sim_seconds), "", &[
                format!("{} phases, {} notices", result.phases.len(), result.notices.len()),
                match result.interlocks.len() {
                    0 => "no interlock tripped".to_owned(),
                    1 => "one interlock tripped".to_owned(),
                    n => format!("{n} interlock trips"),
                },
            ], None))
        }
    }
}

fn leak_card(result: &RunResult) -> Markup {
    let leak = &result.leak;
    let Some(rate) = leak.g_per_year else {
        return card("Leak check", "–", "", &[readable(&leak.verdict)], None);
    };
    let heavy = |rate: f64| if rate < 1e3 { (rate, "g/year") } else { (rate / 1e3, "kg/year") };
    let mut lines = vec![format!("verdict: {}", readable(&leak.verdict).to_lowercase())];
    let (shown, unit) = if let (Some(si), Some(year)) = (leak.below_pa_m3_per_s, leak.below_g_per_year) {
        lines.push(format!("air inflow below {} Pa m³/s in vacuum", significant(si, 3)));
        let (year, unit) = heavy(year);
        (format!("< {}", significant(year, 2)), unit)
    } else {
        lines.extend(leak.pa_m3_per_s.map(|si| format!("{} Pa m³/s in vacuum", significant(si, 2))));
        let (rate, unit) = heavy(rate);
        (significant(rate, 2), unit)
    };
    lines.extend(leak.smallest_g_per_year.map(|g| format!("smallest seen here: {} g/year", significant(g, 2))));
    card("Leak check", &shown, unit, &lines, None)
}

/// The charge on a scale about its target: the band is the tolerance, the mark is the truth. Beyond three tolerances it sticks to the end.
fn band(target: f64, tolerance: f64, truth: f64) -> Markup {
    let place = |off: f64| 100.0 + (off / tolerance.max(0.1)).clamp(-2.9, 2.9) * 32.0;
    let at = place(truth - target);
    html! {
        svg.band viewBox="0 0 200 30" role="img" aria-label=(format!("tolerance {tolerance:.0} g either side of the target")) {
            rect.outer x="4" y="9" width="192" height="8" rx="4" {}
            rect.inner x=(place(-tolerance)) y="9" width=(place(tolerance) - place(-tolerance)) height="8" {}
            line.aim x1="100" x2="100" y1="5" y2="21" {}
            path.mark d=(format!("M{at:.1} 10l-5-8h10z")) {}
            text x=(place(-tolerance)) y="28" text-anchor="middle" { "−" (significant(tolerance, 3)) " g" }
            text x=(place(tolerance)) y="28" text-anchor="middle" { "+" (significant(tolerance, 3)) " g" }
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

fn phases(result: &RunResult) -> Markup {
    html! {
        table {
            thead { tr { th { "" } th { "Phase" } th { "Outcome" } th.number { "Time" } th { "Finding" } } }
            tbody {
                @for (at, phase) in result.phases.iter().enumerate() {
                    tr {
                        td.number { (at + 1) }
                        td.nowrap { (readable(&phase.name)) }
                        td.nowrap { span.pill.(phase.outcome.word()) { (mark(phase.outcome)) " " (phase.outcome.word()) } }
                        td.number.nowrap { (duration(phase.seconds)) }
                        td { (phase.detail) }
                    }
                }
            }
        }
    }
}

fn expectations(result: &RunResult) -> Markup {
    html! {
        table {
            thead { tr { th { "" } th { "Expected" } th { "Found" } } }
            tbody {
                @for one in &result.expectations {
                    tr {
                        td { span.pill.(if one.held { "pass" } else { "failed" }) { (if one.held { "✓" } else { "✕" }) } }
                        td.nowrap { (one.name) }
                        td { (one.detail) }
                    }
                }
            }
        }
    }
}

fn balances(result: &RunResult) -> Markup {
    html! {
        h2 { "Proof of the run" }
        dl {
            @for one in &result.balances {
                dt { "Balance: " (one.what) }
                dd {
                    (significant(one.scale, 4)) " " (one.unit) ", of which " (significant(one.left, 3)) " " (one.unit)
                    " left; error " (significant(one.error, 2)) " " (one.unit)
                }
            }
            @if let Some(fault) = &result.plant_fault {
                dt { "Ended early" } dd { "The plant could not go on: " (fault) }
            }
            dt { "Controller scans" } dd { (result.ticks) }
            dt { "Trace hash" } dd.hash { (result.trace_hash) }
        }
    }
}

fn notices(result: &RunResult) -> Markup {
    html! {
        @if result.notices.is_empty() { p { "None was given." } }
        ol.notices {
            @for notice in &result.notices { li { span.when { (clock(notice.t_s)) } span { (notice.text) } } }
        }
    }
}

fn trips(result: &RunResult) -> Markup {
    html! {
        @if result.interlocks.is_empty() { p { "None tripped." } }
        @else {
            table.list {
                tbody {
                    @for trip in &result.interlocks {
                        tr {
                            td.number.nowrap { (clock(trip.t_s)) }
                            td.nowrap { span.pill.failed { (trip.id) } }
                            td { (trip.cause) ": " (trip.reading) }
                            td.nowrap { @match trip.cleared_t_s { Some(t) => { "released " (clock(t)) } None => { "stands" } } }
                        }
                    }
                }
            }
        }
    }
}

fn facts(scenario: &Scenario) -> Markup {
    let (site, station, vehicle, order) = (&scenario.site, &scenario.station, &scenario.vehicle, &scenario.order);
    let celsius = |kelvin: f64| format!("{} degC", significant(kelvin - KELVIN, 3));
    let grams = |kg: f64| format!("{} g", significant(kg * 1e3, 5));
    let sides = match order.sides {
        Sides::Both => "both couplers",
        Sides::Low => "low side only",
        Sides::High => "high side only",
    };
    html! {
        @if !scenario.summary.is_empty() { p { (scenario.summary) } }
        dl {
            dt { "Site" } dd { (celsius(site.ambient)) ", " (significant(site.barometer / 100.0, 5)) " mbar, " (significant(site.humidity * 100.0, 3)) " % humidity" }
            dt { "Station" } dd { (refrigerant(station.refrigerant)) ", " (grams(station.vessel_content)) " in the vessel" }
            dt { "Vehicle" } dd { (vehicle.label) @if vehicle.high_voltage { ", high voltage" } }
            dt { "Circuit" } dd {
                (grams(vehicle.content)) " of " (grams(vehicle.charge_label)) " " (refrigerant(vehicle.refrigerant)) ", "
                (significant(vehicle.volumes.total() * 1e3, 3)) " L, " (celsius(vehicle.engine_bay))
                @if vehicle.leak > 0.0 { ", hole of " (significant(vehicle.leak * 1e3, 3)) " mm" }
                @if vehicle.water > 0.0 { ", " (grams(vehicle.water)) " of water" }
                @if vehicle.air > 0.0 { ", " (grams(vehicle.air)) " of air" }
            }
            dt { "Order" } dd {
                @if order.charge > 0.0 { "charge " (grams(order.charge)) ", " }
                "evacuate " (duration(order.evacuate_time)) " to " (significant(order.evacuate_depth / 100.0, 3)) " mbar, hold "
                (duration(order.leak_hold)) ", " (sides)
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
