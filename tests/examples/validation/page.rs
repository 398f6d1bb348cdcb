//! The page: what is compared with what, a table of all cases, and each case with its charts.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use valvewright_sim::report::axis::significant;
use valvewright_tests::solved::{Allowed, Case, Found, Kind, Moment, Solved};

use super::panel::panels;
use super::plot::{HEIGHT, STYLE, WIDTH, picture};

/// Moments told in words at most; a purge has eighty pulses.
const MOMENTS: usize = 4;

/// The whole page.
pub fn page(found: &[(&Case, Result<Solved, String>)], (laws, [good, count]): &(Markup, [usize; 2])) -> Markup {
    let held = found.iter().filter(|one| one.1.as_ref().is_ok_and(|solved| solved.broken().is_empty())).count();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width";
                title { "Valvewright: solved cases" }
                style { (PreEscaped(STYLE)) (PreEscaped(include_str!("page.css"))) }
            }
            body {
                h1 { "Solved cases" }
                p.lead {
                    "The plant against solutions of the same equations made outside (scipy, CoolProp). Lines are ours, rings are the reference; beneath each "
                    "picture stands the difference, with the limit as a dashed line where it is near. "
                    b { (held) " of " (found.len()) " cases and " (good) " of " (count) " flow laws" } " stay within all their limits. What the reference solves is an ideal machine with sizes chosen for "
                    "the purpose: agreement says that the laws are solved rightly, not that a station of steel would do the same."
                }
                (summary(found))
                @for (case, solved) in found { (section(case, solved)) }
                (laws)
            }
        }
    }
}

const KINDS: [(Kind, &str); 4] =
    [(Kind::Pressure, "pressure"), (Kind::Temperature, "temperature"), (Kind::Mass, "mass"), (Kind::Share, "purity")];

fn summary(found: &[(&Case, Result<Solved, String>)]) -> Markup {
    html! {
        table {
            thead {
                tr {
                    th { "case" }
                    th { "what happens" }
                    th.number { "rows" }
                    @for (_, name) in KINDS { th.number { (name) } }
                    th.number { "times" }
                    th { "held" }
                }
            }
            tbody {
                @for (case, solved) in found {
                    tr {
                        td { a href=(format!("#{}", case.name)) { (case.name) } }
                        @match solved {
                            Ok(solved) => {
                                td { (solved.title) }
                                td.number { (solved.rows) }
                                @for (kind, _) in KINDS { td.number { (solved.nearest(kind).map_or(html! { "–" }, worst)) } }
                                td.number { (late(&solved.moments)) }
                                td { (verdict(solved)) }
                            }
                            Err(_) => {
                                td colspan="7" { "does not run" }
                                td { (sign(false)) }
                            }
                        }
                    }
                }
            }
        }
        p.note { "The quantity of each kind that comes nearest to its limit, with its worst difference at any row and, small, what is allowed." }
    }
}

fn sign(held: bool) -> Markup {
    html! { span.(if held { "held" } else { "broken" }) { @if held { "✓" } @else { "✕" } } }
}

fn verdict(solved: &Solved) -> Markup {
    sign(solved.broken().is_empty())
}

fn number(found: &Found, deviation: f64) -> String {
    let (factor, unit) = found.unit();
    format!("{} {unit}", significant(deviation.abs() * factor, 2)).trim_end().to_owned()
}

fn worst(found: &Found) -> Markup {
    html! { (number(found, found.worst().deviation)) " " small { (number(found, found.quantity.limit)) } }
}

fn late(moments: &[Moment]) -> Markup {
    let share = |one: &&Moment| (one.ours - one.theirs).abs() / one.limit;
    let worst = moments.iter().max_by(|a, b| share(a).total_cmp(&share(b)));
    html! {
        @match worst {
            Some(one) => { (significant((one.ours - one.theirs).abs(), 2)) " s " small { (significant(one.limit, 2)) " s" } }
            None => "–"
        }
    }
}

fn section(case: &Case, solved: &Result<Solved, String>) -> Markup {
    html! {
        section id=(case.name) {
            @match solved {
                Ok(solved) => {
                    h2 { (case.name) " " span { (solved.title) } " " (verdict(solved)) }
                    (times(case, solved))
                    @for line in solved.broken() { p.wrong { (line) } }
                    div.charts {
                        @for panel in panels(solved) {
                            svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img"
                                aria-label=(format!("{} of case {}", panel.title, case.name)) { (picture(&panel)) }
                        }
                    }
                    (source(case, solved))
                }
                Err(reason) => {
                    h2 { (case.name) " " span { "does not run" } " " (sign(false)) }
                    pre { (reason) }
                }
            }
        }
    }
}

fn times(case: &Case, solved: &Solved) -> Markup {
    let allowed = match case.end {
        Allowed::Seconds(seconds) => format!("{} s", significant(seconds, 2)),
        Allowed::Share(share) => format!("{} %", significant(100.0 * share, 2)),
    };
    html! {
        @if !solved.moments.is_empty() {
            p.note {
                @for one in solved.moments.iter().take(MOMENTS) {
                    (one.name) " at " (significant(one.ours, 6)) " s (reference " (significant(one.theirs, 6)) " s); "
                }
                @if solved.moments.len() > MOMENTS { (solved.moments.len() - MOMENTS) " more; " }
                "allowed " (allowed)
            }
        }
    }
}

fn source(case: &Case, solved: &Solved) -> Markup {
    html! {
        details {
            summary { "Reference, " (solved.rows) " of " (solved.wanted) " rows compared: tests/data/" (case.folder) "/" (case.name) ".csv" }
            @for line in &solved.head { p { (line) } }
        }
    }
}
