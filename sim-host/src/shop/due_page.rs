//! What is due as one page for a browser or in print: a bar for each, light and dark, without scripts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::due::{Item, Level};
use super::opened::when;

/// Colours after Okabe and Ito (2008), each with a word and a pattern of its own beside it.
const STYLE: &str = "
:root { color-scheme: light dark; --paper: #fff; --ink: #14191d; --soft: #4a555d; --line: #d0d6da; --track: #e4e8ea; --back: #eef0f2; }
@media (prefers-color-scheme: dark) { :root { --paper: #1b2024; --ink: #e8ecef; --soft: #aab4bb; --line: #3a444b; --track: #2b3339; --back: #101418; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--back); color: var(--ink); font: 15px/1.45 system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif; }
main { background: var(--paper); max-width: 860px; margin: 24px auto; padding: 24px 28px; border: 1px solid var(--line); }
h1 { font-size: 24px; margin: 0 0 4px; }
h2 { font-size: 16px; margin: 22px 0 8px; border-bottom: 1px solid var(--line); padding-bottom: 3px; }
p { margin: 4px 0; } .soft { color: var(--soft); }
.strip { border: 1px dashed var(--soft); padding: 6px 10px; margin: 10px 0; font-weight: 600; }
.one { display: grid; grid-template-columns: 1fr auto; gap: 2px 14px; padding: 9px 0; border-bottom: 1px solid var(--line); }
.one > * { min-width: 0; } .name { font-weight: 600; } .level { font-weight: 600; white-space: nowrap; text-align: right; }
.bar { grid-column: 1 / -1; position: relative; height: 14px; background: var(--track); border-radius: 3px; overflow: hidden; }
.bar i { position: absolute; inset: 0 auto 0 0; border-radius: 3px 0 0 3px; }
.bar b { position: absolute; left: 80%; top: 0; bottom: 0; border-left: 2px dashed var(--soft); }
.good i { background: #0072b2; } .soon i { background: repeating-linear-gradient(45deg, #e69f00 0 8px, #b87d00 8px 12px); }
.due i { background: repeating-linear-gradient(45deg, #d55e00 0 5px, #8f3f00 5px 10px); }
.due .level { color: #b3261e; } .soon .level { color: #8a6a00; }
@media (prefers-color-scheme: dark) { .due .level { color: #ff8a73; } .soon .level { color: #e6b84d; } }
.words { grid-column: 1 / -1; color: var(--soft); }
@media (max-width: 560px) { main { margin: 0; border: 0; padding: 16px; } }
@media print { body { background: #fff; } main { border: 0; margin: 0; } .one { break-inside: avoid; } }
";

const CAUTIONS: [&str; 3] = [
    "A simulator with an uncertified design: no record of a real station, and nothing here replaces local codes and licensed practice.",
    "The gas may be flammable and stands under pressure. A part is exchanged only by its guided procedure, with its hoses cleared and the pressure shown.",
    "What is good here is within its limit by what is on record; it is not proven to work.",
];

const fn class(of: Level) -> &'static str {
    match of {
        Level::Good => "one good",
        Level::Soon => "one soon",
        Level::Due => "one due",
        Level::Unknown => "one unknown",
    }
}

fn line(of: &Item) -> Markup {
    // A bar that is full says no more than full; the figure beside it does.
    let width = of.share.map(|share| (share.clamp(0.0, 1.0) * 1000.0).round() / 10.0);
    html! {
        div class=(class(of.level)) {
            span.name { (of.name) }
            span.level { @if let Some(share) = of.share { (format!("{:.0} %, ", (share * 100.0).floor())) } (of.level.word()) }
            @if let Some(width) = width {
                div.bar role="img" aria-label=(format!("{width} percent of the limit, a warning from 80 on")) { i style=(format!("width:{width}%")) {} b {} }
            }
            span.words { (of.used) @if !of.left.is_empty() { "; " (of.left) } "." }
        }
    }
}

/// The page. `damaged` is what of the store could not be believed.
pub fn page(items: &[Item], clock: u32, damaged: &[String]) -> String {
    let count = |level| items.iter().filter(|one| one.level == level).count();
    let groups = [
        ("Due", Level::Due),
        ("Due soon: 80 % and more of the limit", Level::Soon),
        ("Not known", Level::Unknown),
        ("Good", Level::Good),
    ];
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "What is due" }
                style { (PreEscaped(STYLE)) }
            }
            body { main {
                h1 { "What is due" }
                p.soft { "By the station's clock: " (when(clock)) }
                p { (count(Level::Due)) " due, " (count(Level::Soon)) " due soon, " (count(Level::Unknown)) " not known, " (count(Level::Good)) " good" }
                p.strip { "Simulated station, uncertified design" }
                @if !damaged.is_empty() {
                    h2 { "Of the store this could not be believed" }
                    ul { @for one in damaged { li { (one) } } }
                }
                @for (head, level) in groups {
                    @if count(level) > 0 {
                        h2 { (head) }
                        @for one in items.iter().filter(|one| one.level == level) { (line(one)) }
                    }
                }
                h2 { "Cautions" }
                ul { @for one in CAUTIONS { li { (one) } } }
                p.soft { "The bar is the share of the limit that is used; the dashed line stands at 80 %. Limits: 68 kg and 60 h are common practice without a source, a year between calibrations too; 80 % is an own choice." }
            } }
        }
    };
    markup.into_string()
}
