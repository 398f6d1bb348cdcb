//! What is read in each language: no gap, no figure or tag lost, units and commas of the language, and English where nothing is asked.

use std::collections::{BTreeMap, BTreeSet};

use regex_lite::Regex;
use valvewright_core::talk::Notice;
use valvewright_core::units::{AbsPa, Milligram};
use valvewright_sim::display::{Display, Language, STANDARD, Units, Zero};
use valvewright_sim::language::{notice, samples};
use valvewright_sim::run::words;

use crate::cli_bench::Bench;

const OTHERS: [Language; 3] = [Language::De, Language::Es, Language::Fr];

fn told() -> Vec<Notice> {
    samples::notices().into_iter().chain(samples::trips()).collect()
}

/// The command that prints what such a display shows.
fn again(display: &Display) -> String {
    let units = if display.units == Units::Us { "us" } else { "metric" };
    let zero = if display.zero == Zero::Absolute { "absolute" } else { "gauge" };
    let language = display.language.code();
    format!("valvewright list --notices --language {language} --units {units} --pressure {zero}")
}

/// The displays that figures are written on, in one language.
fn displays(language: Language) -> [Display; 4] {
    let gauge = Zero::Gauge(84_600.0);
    [(Units::Metric, Zero::Absolute), (Units::Metric, gauge), (Units::Us, Zero::Absolute), (Units::Us, gauge)]
        .map(|(units, zero)| Display { units, zero, language })
}

#[test]
fn every_notice_is_a_whole_sentence_in_every_language() {
    let raw = Regex::new(r"[{}\u{e000}-\u{f8ff}]|\$|\b(?:reason|phase|gas|trip|watch|level|broken|refusal|field|row)-")
        .expect("a pattern");
    for one in told() {
        let english = notice(&one).on(&STANDARD);
        for display in Language::ALL.into_iter().flat_map(displays) {
            let text = notice(&one).on(&display);
            assert!(!raw.is_match(&text), "{}: {text}", again(&display));
            assert!(text.ends_with(['.', '?']), "{}: {text}", again(&display));
            assert!(!text.contains("  ") && text == text.trim(), "{}: `{text}`", again(&display));
            assert!(display.language == Language::En || text != english, "{} is not translated", english);
        }
    }
}

/// Numbers with their decimal sign as a point, and tags, each as often as it stands.
fn facts(text: &str, comma: bool) -> BTreeMap<String, usize> {
    let number = Regex::new(r"[A-Z]{1,3}-[0-9]+[AB]?|\b[IH][0-9]{2}\b|[+-]?[0-9]+(?:[.,][0-9]+)?(?:e-?[0-9]+)?")
        .expect("a pattern");
    let mut found = BTreeMap::new();
    for one in number.find_iter(text) {
        let plain = if comma { one.as_str().replace(',', ".") } else { one.as_str().to_owned() };
        *found.entry(plain).or_default() += 1;
    }
    found
}

/// A set point or a tag that was mistyped in one language would send a person to the wrong device.
#[test]
fn every_figure_and_every_tag_is_that_of_the_english_text() {
    let mut seen = 0;
    for one in told() {
        for language in OTHERS {
            for (english, display) in displays(Language::En).iter().zip(displays(language)) {
                let (original, text) = (notice(&one).on(english), notice(&one).on(&display));
                assert_eq!(facts(&text, true), facts(&original, false), "{}: {text}\n{original}", again(&display));
                seen += facts(&text, true).len();
            }
        }
    }
    assert!(seen > 1_000, "{seen} figures and tags");
}

#[test]
fn figures_have_the_comma_and_units_of_the_language() {
    let point = Regex::new(r"[0-9]\.[0-9]").expect("a pattern");
    let english = Regex::new(r"\b(?:gauge|degC|degF|year|over the barometer)\b").expect("a pattern");
    for one in told() {
        for display in OTHERS.into_iter().flat_map(displays) {
            let text = notice(&one).on(&display);
            assert!(!point.is_match(&text) && !english.is_match(&text), "{}: {text}", again(&display));
        }
    }
    let hold = notice(&Notice::RecoveryHold(AbsPa(35_000)));
    let held = |language, at: usize| hold.on(&displays(language)[at]);
    assert_eq!(held(Language::De, 0), "0,35 bar abs erreicht: Wartezeit, ob der Druck wieder ansteigt.");
    assert_eq!(held(Language::De, 1), "-0,50 bar rel erreicht: Wartezeit, ob der Druck wieder ansteigt.");
    assert!(held(Language::Es, 3).starts_with("Presión de -7,2 psi rel alcanzada"), "{}", held(Language::Es, 3));
    let heavy = notice(&Notice::Recovered(Milligram(6_000_000)));
    assert_eq!(heavy.on(&displays(Language::Fr)[2]), "Récupéré\u{a0}: 211,6 oz (13,23 lb).");
}

#[test]
fn every_pressure_says_absolute_or_gauge_in_every_language() {
    let kinds = r"abs\b|rel\b|/s|über |au-dessus |au plus au-dessus |sobre ";
    let pressure = Regex::new(r"[0-9] (?:bar|mbar|psi)\b([^\n]{0,20})").expect("a pattern");
    let kind = Regex::new(&format!("^ ?(?:{kinds})")).expect("a pattern");
    // A difference of two pressures has no zero.
    let differences = |one: &Notice| matches!(one, Notice::PressureTest(..) | Notice::VesselExcess(_));
    let falls = |one: &Notice| notice(one).on(&STANDARD).contains("test pressure fell");
    let mut seen = 0;
    for one in told().into_iter().filter(|one| !differences(one) && !falls(one)) {
        for display in OTHERS.into_iter().flat_map(displays) {
            let text = notice(&one).on(&display);
            for found in pressure.captures_iter(&text) {
                assert!(kind.is_match(&found[1]), "{}: {text}", again(&display));
                seen += 1;
            }
        }
    }
    assert!(seen > 100, "{seen} pressures");
}

#[test]
fn french_holds_its_marks_to_the_word_before() {
    let loose = Regex::new(r" [:;?!»]|« ").expect("a pattern");
    let mut bound = 0;
    for one in told() {
        let text = notice(&one).on(&displays(Language::Fr)[0]);
        assert!(!loose.is_match(&text), "{text}");
        bound += text.matches('\u{a0}').count();
    }
    assert!(bound > 100, "{bound} marks");
}

/// What files and the rest of the program have is the English of this room.
#[test]
fn english_is_what_results_hold() {
    let ids: BTreeSet<&str> = told().iter().map(|one| words::notice(one).0).collect();
    assert_eq!(ids, words::IDS.iter().copied().collect(), "ids that scenario files know");
    for one in told() {
        for display in displays(Language::En) {
            assert_eq!(words::notice(&one).1.on(&display), notice(&one).on(&display));
        }
    }
}

#[test]
fn a_run_tells_its_notices_in_the_language_that_was_asked_for_and_changes_no_file_for_programs() {
    let bench = Bench::new();
    let run = |out: &str, more: &[&str]| {
        bench.run(&[&["run", "mild_hatchback", "--out", out][..], more].concat()).exits(0).out
    };
    let (english, german) = (run("a", &[]), run("b", &["--language", "de"]));
    assert!(english.contains("The couplers may be taken off.") && !english.contains("Kupplungen"), "{english}");
    assert!(german.contains("Die Kupplungen dürfen abgenommen werden."), "{german}");
    assert!(!german.contains("The couplers may be taken off.") && german.contains("; notices in German"), "{german}");
    assert!(german.contains("recovered") && german.contains("trace hash"), "the rest stays English: {german}");
    let read = |name: &str| std::fs::read_to_string(bench.path(name)).expect("written");
    let (plain, page) = (read("a/report.html"), read("b/report.html"));
    assert!(plain.contains("<ol class=\"notices\">") && !plain.contains("lang=\"de\""), "the English page");
    assert!(
        page.contains("<html lang=\"en\">")
            && page.contains("<ol class=\"notices\" lang=\"de\">")
            && page.contains("<title lang=\"de\">"),
        "the German page"
    );
    let told = Regex::new(r#"(?s)<ol class="notices".*?</ol>|<title lang=.*?</title>"#).expect("a pattern");
    let told: String = told.find_iter(&page).map(|one| one.as_str()).collect();
    assert!(told.matches("Rückgewonnen: ").count() == 2 && !told.contains("Recovered "), "list and flags: {told}");
    assert!(read("a/trace.csv") == read("b/trace.csv"), "the traces differ");
    let json = |name: &str| -> serde_json::Value {
        let mut of: serde_json::Value = serde_json::from_str(&read(name)).expect("JSON");
        ["wall_seconds", "speed"].iter().for_each(|one| of[*one] = serde_json::Value::Null);
        of
    };
    assert_eq!(json("a/result.json"), json("b/result.json"));
}

#[test]
fn a_language_that_is_not_there_is_refused_with_those_that_are() {
    for verb in [&["run", "mild_hatchback"][..], &["list", "--notices"][..]] {
        let said = Bench::new().run(&[verb, &["--language", "it"]].concat()).exits(64);
        said.complains(&["'it'", "--language", "en, de, es, fr"]);
    }
    for without in [["list", "--language", "de"], ["list", "--units", "us"]] {
        Bench::new().run(&without).exits(64).complains(&["--notices"]);
    }
}

#[test]
fn list_prints_all_notices_in_each_language() {
    let bench = Bench::new();
    for (language, sign) in [
        ("en", "Interlock HS-1 tripped: the emergency stop (HS-1) is pressed."),
        ("de", "der Not-Halt (HS-1) ist gedrückt"),
        ("es", "la parada de emergencia (HS-1) está pulsada"),
        ("fr", "l'arrêt d'urgence (HS-1) est enfoncé"),
    ] {
        let json = bench.run(&["list", "--notices", "--language", language, "--json"]).exits(0).json();
        let list = json["notices"].as_array().expect("a list");
        assert_eq!(json["language"], language);
        assert!(list.iter().any(|one| one["text"].as_str().is_some_and(|text| text.contains(sign))), "{language}");
        let ids: BTreeSet<&str> = list.iter().filter_map(|one| one["id"].as_str()).collect();
        let every: BTreeSet<&str> = told().iter().map(|one| words::notice(one).0).collect();
        assert_eq!(ids, every, "{language}");
        let text = bench
            .run(&["list", "--notices", "--language", language, "--units", "us", "--pressure", "gauge"])
            .exits(0)
            .out;
        assert!(text.contains("Trips") && text.contains("psi") && !text.contains(" bar abs erreicht"), "{text}");
    }
}
