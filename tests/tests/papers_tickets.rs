//! Tickets: whole on the narrowest paper in every language, honest about failures and leak checks, and made of what the station said alone.

use std::path::PathBuf;
use std::sync::OnceLock;

use valvewright_sim::display::Language;
use valvewright_sim::language;
use valvewright_sim::papers::read::{self, Run};
use valvewright_sim::papers::slip::{Slip, wrap};
use valvewright_sim::papers::ticket::{Setting, Ticket, ticket};
use valvewright_sim::papers::ticket_figures::OUNCE;
use valvewright_sim::papers::{ticket_page, ticket_text, words};
use valvewright_sim::report::data::Verdict;
use valvewright_sim::report::files;
use valvewright_sim::report::service::Service;
use valvewright_sim::run::{Control, RunOptions, run_scenario};
use valvewright_sim::scenario::shipped::{FAULTS, QUESTIONS, SHIPPED};
use valvewright_tests::job_runs::scenario;

/// The result file of a shipped scenario.
fn file(name: &str) -> String {
    let scenario = scenario(name, &[], "");
    let options = RunOptions { no_samples: true, ..RunOptions::default() };
    let run = run_scenario(&scenario, &options, &mut |_| Control::Continue);
    let result = run.unwrap_or_else(|why| panic!("{name}: {why}")).result;
    files::filed(&result, &Service::of(&scenario)).expect("it has a form")
}

fn read(text: &str) -> Run {
    read::run(text).unwrap_or_else(|unfit| panic!("{unfit:?}"))
}

/// The result file of every shipped scenario, every question and every fifth fault, by name: the healthy ones never fail.
fn all() -> &'static [(&'static str, String)] {
    static ALL: OnceLock<Vec<(&str, String)>> = OnceLock::new();
    ALL.get_or_init(|| {
        let some = FAULTS.iter().step_by(5);
        SHIPPED.iter().chain(QUESTIONS).chain(some).map(|one| (one.name, file(one.name))).collect()
    })
}

fn setting(language: Language) -> Setting {
    Setting { language, ..Setting::default() }
}

fn again(name: &str, language: Language, columns: usize, job: usize) -> String {
    let code = language.code();
    format!(
        "valvewright run {name} --out X && valvewright papers ticket X/result.json --columns {columns} --language {code} --job {}",
        job + 1
    )
}

/// Text without what wrapping did to it.
fn flat(text: &str) -> String {
    text.chars().filter(|one| !one.is_whitespace()).collect()
}

fn bare(id: &'static str, language: Language) -> String {
    flat(&valvewright_sim::papers::teller::Teller::new(language).word(id))
}

#[test]
fn every_ticket_keeps_to_its_paper_says_its_verdict_and_has_every_phase_in_every_language() {
    let mut seen = std::collections::BTreeSet::new();
    let mut count = 0;
    for (name, text) in all() {
        let run = read(text);
        assert!(!run.jobs.is_empty(), "{name}");
        for (number, job) in run.jobs.iter().enumerate() {
            for language in Language::ALL {
                let ticket = ticket(&run, number, &setting(language)).expect("it was begun");
                for columns in ticket_text::COLUMNS {
                    let again = again(name, language, columns, number);
                    let paper = ticket_text::text(&ticket, language, columns);
                    for line in paper.lines() {
                        assert!(line.chars().count() <= columns, "{again}\n{line}");
                    }
                    let paper = flat(&paper);
                    assert!(paper.contains(&bare(words::headline(job.verdict), language)), "{again}");
                    for phase in &job.phases {
                        let kinds = valvewright_core::order::PhaseKind::ALL.map(language::phase);
                        let id = kinds.into_iter().find(|id| id.ends_with(&format!("-{}", phase.name)));
                        let named = bare(id.unwrap_or_else(|| panic!("{again}: {}", phase.name)), language);
                        let line = named + &bare(words::outcome(phase.outcome), language);
                        assert!(paper.to_lowercase().contains(&line.to_lowercase()), "{again}: {line}");
                    }
                    assert!(paper.contains(&bare(words::UNCERTIFIED, language)), "{again}");
                    count += 1;
                }
            }
            seen.insert(job.verdict.word());
        }
    }
    assert!(count > 8 * SHIPPED.len(), "{count} papers");
    assert_eq!(seen.len(), Verdict::ALL.len(), "verdicts: {seen:?}");
}

#[test]
fn nothing_is_cut_off_on_narrow_paper() {
    for (name, text) in all() {
        let run = read(text);
        for number in 0..run.jobs.len() {
            for language in Language::ALL {
                let of = ticket(&run, number, &setting(language)).expect("it was begun");
                for columns in ticket_text::COLUMNS {
                    let (again, paper) =
                        (again(name, language, columns, number), flat(&ticket_text::text(&of, language, columns)));
                    let findings = [&of.findings.gas, &of.findings.vacuum, &of.findings.leak, &of.findings.hoses];
                    let facts = of.facts.iter().chain(findings).flat_map(|fact| [&fact.name, &fact.text]);
                    let told = of.warnings.iter().chain(&of.trips).flat_map(|one| [&one.time, &one.text]);
                    let rest = of.cautions.iter().chain(&of.header).chain(&of.reason).chain(&of.findings.vehicle);
                    for text in facts.chain(told).chain(rest) {
                        assert!(paper.contains(&flat(text)), "{again}: {text}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_job_that_was_not_completed_says_so_before_anything_but_the_workshop_and_says_why() {
    let mut bad = 0;
    for (name, text) in all() {
        let run = read(text);
        for (number, job) in run.jobs.iter().enumerate().filter(|(_, job)| job.verdict != Verdict::Pass) {
            let of = ticket(&run, number, &setting(Language::En)).expect("it was begun");
            let paper = ticket_text::text(&of, Language::En, 42);
            let again = again(name, Language::En, 42, number);
            let head: Vec<&str> = paper.lines().skip(of.header.len() + 2).take(1).collect();
            assert!(head[0].contains("*** NOT COMPLETED"), "{again}\n{paper}");
            let reason = of.reason.clone().unwrap_or_default();
            assert!(!reason.is_empty() && !reason.contains("did not say"), "{again}: {reason}");
            assert!(!flat(&paper).contains("***Completed"), "{again} {:?}", job.verdict);
            bad += 1;
        }
    }
    assert!(bad >= 5, "{bad} jobs");
}

/// A statement of tightness stands only where the result has one, and says how little the hold could see.
#[test]
fn a_leak_statement_says_no_more_than_the_hold_could_see() {
    let (mut tight, mut lapsed) = (0, 0);
    for (name, text) in all() {
        let value: serde_json::Value = serde_json::from_str(text).expect("JSON");
        let run = read(text);
        for (number, job) in run.jobs.iter().enumerate() {
            let of = ticket(&run, number, &setting(Language::En)).expect("it was begun");
            let said = of.findings.leak.text.contains("no leak above the limit");
            assert_eq!(
                said,
                job.leak.verdict == "pass",
                "{}: {}",
                again(name, Language::En, 42, number),
                of.findings.leak.text
            );
            if said {
                let least = value["jobs"][number]["leak"]["smallest_g_per_year"].as_f64().expect("it was checked");
                assert!(
                    of.findings.leak.text.contains(&format!("could not have seen less than {least:.0} g/year")),
                    "{name}: {least}"
                );
                tight += 1;
            }
            lapsed += usize::from(of.findings.leak.text.contains("no longer counts"));
        }
    }
    assert!(tight >= 5, "{tight} tight, {lapsed} lapsed");
    // A verdict that fell away after the hold takes its statement along.
    let (_, text) = all().iter().find(|(name, _)| *name == "mild_hatchback").expect("shipped");
    let mut run = read(text);
    run.jobs[0].leak.verdict = "not_checked".to_owned();
    let of = ticket(&run, 0, &setting(Language::En)).expect("it was begun");
    assert_eq!(of.findings.leak.text, "An earlier hold no longer counts: not checked.");
}

/// Every figure of the truth is turned into another one: no paper changes.
#[test]
fn a_ticket_holds_nothing_of_the_truth() {
    fn twist(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(map) => {
                for (key, one) in map.iter_mut() {
                    let truth = key.as_str() == "true" || key.ends_with("_true");
                    let about = ["reached", "hazards", "faults", "stops", "expectations", "accidents", "balances"]
                        .contains(&key.as_str());
                    match one {
                        one if truth => *one = serde_json::json!(123_456.789),
                        one if about => *one = serde_json::json!([]),
                        one => twist(one),
                    }
                }
            }
            serde_json::Value::Array(list) => list.iter_mut().for_each(twist),
            _ => {}
        }
    }
    for (name, text) in all().iter().take(8) {
        let mut value: serde_json::Value = serde_json::from_str(text).expect("JSON");
        twist(&mut value);
        value["ledger"] = serde_json::json!({ "start_g": 1.0, "end_g": 2.0 });
        let (run, other) = (read(text), read(&value.to_string()));
        for number in 0..run.jobs.len() {
            let made = |run| ticket(run, number, &setting(Language::En)).expect("it was begun");
            assert_eq!(made(&run), made(&other), "{name}");
        }
    }
}

#[test]
fn masses_are_what_the_station_said_in_grams_and_in_avoirdupois_ounces() {
    let (_, text) = all().iter().find(|(name, _)| *name == "mild_hatchback").expect("shipped");
    let value: serde_json::Value = serde_json::from_str(text).expect("JSON");
    let of = ticket(&read(text), 0, &setting(Language::En)).expect("it was begun");
    let mass = |id: &str| of.masses.iter().find(|one| one.id == id).unwrap_or_else(|| panic!("{id}")).clone();
    let shown = value["recovered_g"]["shown"].as_f64().expect("it was said");
    assert_eq!(mass("recovered").g, Some(shown));
    assert_eq!(mass("charged").g, value["charged_g"]["shown"].as_f64().map(|g| (g * 1e3).round() / 1e3));
    assert!((mass("recovered").oz.expect("a figure") * OUNCE - shown).abs() < 0.02);
    // Where no power failed, nothing but the last word counts; faults cut it in ways that nothing tells.
    for (name, text) in all().iter().filter(|(name, _)| !FAULTS.iter().any(|fault| fault.name == *name)) {
        let run = read(text);
        let cut = run.notices.iter().any(|one| one.text.contains("interrupted by a loss of power"));
        for (number, job) in run.jobs.iter().enumerate().filter(|_| !cut) {
            let of = ticket(&run, number, &setting(Language::En)).expect("it was begun");
            let g = |id: &str| of.masses.iter().find(|one| one.id == id).and_then(|one| one.g);
            let fine = |g: Option<f64>| g.map(|g| (g * 1e3).round() / 1e3);
            assert_eq!(
                (g("recovered"), g("charged")),
                (fine(job.recovered_g.shown), fine(job.charged_g.shown)),
                "{name}"
            );
        }
    }
    // 16 oz are a pound of 453.592 37 g.
    assert!((16.0 * OUNCE - 453.592_37).abs() < 1e-12);
    let told = |id: &str| {
        value["notices"].as_array().expect("a list").iter().find(|one| one["id"] == id).expect("told")["text"].clone()
    };
    for (id, notice) in [("oil_drained", "oil_drained"), ("oil_new", "oil_injected")] {
        let g = format!("{:.1} g.", mass(id).g.expect("a figure"));
        assert!(told(notice).as_str().is_some_and(|text| text.ends_with(&g)), "{} and {g}", told(notice));
    }
}

/// The last word of a controller that began anew is nothing, and the result has it.
#[test]
fn what_was_told_before_a_power_cut_stands_on_the_ticket() {
    let text = file("f079");
    let value: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(value["recovered_g"]["shown"], 0.0, "the result has its last word");
    let of = ticket(&read(&text), 0, &setting(Language::En)).expect("it was begun");
    let told = |id: &str| {
        let all = value["notices"].as_array().expect("a list");
        all.iter().find(|one| one["id"] == id).expect("told")["text"].as_str().expect("text").to_owned()
    };
    for (id, notice) in [("recovered", "recovered"), ("charged", "interrupted"), ("oil_drained", "oil_drained")] {
        let mass = of.masses.iter().find(|one| one.id == id).expect("a line");
        let g = format!("{:.1} g.", mass.g.unwrap_or_else(|| panic!("{id} is not said: valvewright run f079")));
        assert!(told(notice).ends_with(&g) && !g.starts_with("0.0"), "{id}: {} and {g}", told(notice));
    }
    // A controller that lost even the order does not tell of the cut.
    let mut lost = read(&text);
    lost.notices.retain(|one| !matches!(one.told, Some(valvewright_core::talk::Notice::Interrupted(..))));
    let without = ticket(&lost, 0, &setting(Language::En)).expect("it was begun");
    let g = |of: &Ticket, id: &str| of.masses.iter().find(|one| one.id == id).and_then(|one| one.g);
    assert_eq!(g(&without, "recovered"), g(&of, "recovered"));
    assert_eq!(g(&without, "charged"), None, "what the charge came to was never told");
    // Cut before it told what was recovered, it has not said it: that is not nothing.
    let mut run = read(&text);
    run.notices.retain(|one| !matches!(one.told, Some(valvewright_core::talk::Notice::Recovered(_))));
    let of = ticket(&run, 0, &setting(Language::En)).expect("it was begun");
    let mass = of.masses.iter().find(|one| one.id == "recovered").expect("a line");
    assert_eq!((mass.g, mass.text.as_deref()), (None, Some("not said")));
}

#[test]
fn words_wrap_within_any_width_and_no_letter_is_lost() {
    let long = "Ünbréakable\u{7}wordwithoutanyblankthatislongerthanthepaper and\n some   more « mots » of it";
    for width in 1..50 {
        let lines = wrap(long, width);
        assert!(lines.iter().all(|line| line.chars().count() <= width), "{width}: {lines:?}");
        let whole: String = long.chars().map(|one| if one.is_control() { ' ' } else { one }).collect();
        assert_eq!(flat(&lines.concat()), flat(&whole), "{width}");
    }
    let mut slip = Slip::new(32);
    slip.pair("A name of nearly the whole width", "and its value");
    slip.pair("name", "value\u{1b}[2J");
    let text = slip.finish();
    assert!(text.lines().all(|line| line.chars().count() <= 32) && !text.contains('\u{1b}'), "{text:?}");
}

fn record(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("data/papers").join(name)
}

/// Holds a paper against the one on record.
#[track_caller]
pub(crate) fn on_record(name: &str, made: &str) {
    let path = record(name);
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder can be made");
        std::fs::write(&path, made).expect("the record can be written");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == made,
        "{} differs; look at it, then VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- papers_\n{made}",
        path.display()
    );
}

#[test]
fn four_tickets_are_what_was_read_with_care_when_they_were_recorded() {
    let of = |name: &str, number: usize, language: Language| -> Ticket {
        ticket(&read(&file(name)), number, &setting(language)).expect("it was begun")
    };
    on_record("good.txt", &ticket_text::text(&of("mild_hatchback", 0, Language::En), Language::En, 32));
    on_record("refused.txt", &ticket_text::text(&of("monday_morning", 2, Language::De), Language::De, 42));
    on_record("failed.txt", &ticket_text::text(&of("f067", 0, Language::Fr), Language::Fr, 42));
    on_record("tripped.txt", &ticket_text::text(&of("f061", 0, Language::Es), Language::Es, 32));
    let page = ticket_page::page(&[of("monday_morning", 2, Language::De)], Language::De);
    assert!(page.contains("<html lang=\"de\">") && page.contains("NICHT ABGESCHLOSSEN"), "{page}");
    assert!(!page.contains("http") && !page.contains("<script"), "a page without network and scripts: {page}");
}
