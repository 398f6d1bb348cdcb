//! The texts of what the controller tells: every message stands in every language, with the arguments that it is given and no others.
//!
//! Read from the files with the parser of Project Fluent. What is told is walked through the samples, which do not build without a line
//! for each variant.

use std::collections::{BTreeMap, BTreeSet};

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey};
use valvewright_core::interlock::table::ROWS;
use valvewright_core::row::{ROW_COUNT, WATCH_COUNT};
use valvewright_core::talk::Notice;
use valvewright_sim::display::{Amount, Display, Language, Units, Zero};
use valvewright_sim::language::{Arg, Message, UNITS, files, notice, samples};
use valvewright_sim::papers::words;

/// What the pattern of a text needs.
#[derive(Default, Debug, PartialEq)]
struct Needs {
    arguments: BTreeSet<String>,
    /// Selectors with the words of their variants; the one that stands for all others is marked `*`.
    selects: BTreeMap<String, BTreeSet<String>>,
    /// What no text of ours has: functions, terms, references to other messages.
    strange: Vec<String>,
}

fn look(pattern: &Pattern<&str>, needs: &mut Needs) {
    for element in &pattern.elements {
        if let PatternElement::Placeable { expression } = element {
            expression_needs(expression, needs);
        }
    }
}

fn expression_needs(expression: &Expression<&str>, needs: &mut Needs) {
    match expression {
        Expression::Inline(inline) => {
            inline_needs(inline, needs);
        }
        Expression::Select { selector, variants } => {
            let name = inline_needs(selector, needs).unwrap_or_else(|| "?".to_owned());
            let mut own = BTreeSet::new();
            for variant in variants {
                let key = match variant.key {
                    VariantKey::Identifier { name } => name.to_owned(),
                    VariantKey::NumberLiteral { value } => value.to_owned(),
                };
                let key = if variant.default { format!("*{key}") } else { key };
                needs.selects.entry(name.clone()).or_default().insert(key.clone());
                if !own.insert(key.clone()) {
                    needs.strange.push(format!("{key} twice"));
                }
                look(&variant.value, needs);
            }
        }
    }
}

fn inline_needs(inline: &InlineExpression<&str>, needs: &mut Needs) -> Option<String> {
    match inline {
        InlineExpression::VariableReference { id } => {
            needs.arguments.insert(id.name.to_owned());
            Some(id.name.to_owned())
        }
        InlineExpression::Placeable { expression } => {
            expression_needs(expression, needs);
            None
        }
        other => {
            needs.strange.push(format!("{other:?}"));
            None
        }
    }
}

/// Every text of a language by its id; a file that the parser takes offence at, or an id that stands twice, fails.
fn texts(language: Language) -> BTreeMap<String, Needs> {
    let mut all = BTreeMap::new();
    for (name, text) in files(language) {
        let file = format!("sim-host/locales/{}/{name}.ftl", language.code());
        let parsed = fluent_syntax::parser::parse(*text).unwrap_or_else(|(_, wrong)| panic!("{file}: {wrong:?}"));
        for entry in parsed.body {
            let message = match entry {
                Entry::Message(message) => message,
                Entry::Comment(_) | Entry::GroupComment(_) | Entry::ResourceComment(_) => continue,
                Entry::Term(_) | Entry::Junk { .. } => panic!("{file}: {entry:?}"),
            };
            let id = message.id.name;
            assert!(message.attributes.is_empty(), "{file}: {id} has attributes");
            let mut needs = Needs::default();
            look(message.value.as_ref().unwrap_or_else(|| panic!("{file}: {id} is empty")), &mut needs);
            assert_eq!(needs.strange, Vec::<String>::new(), "{file}: {id}");
            assert!(all.insert(id.to_owned(), needs).is_none(), "{file}: {id} stands twice");
        }
    }
    all
}

/// Everything that can be told.
fn told() -> Vec<Notice> {
    samples::notices().into_iter().chain(samples::trips()).collect()
}

/// Every message that can be told, on its own or within another one.
fn messages() -> Vec<Message> {
    let mut all = Vec::new();
    told().iter().for_each(|one| notice(one).each(&mut |message| all.push(message.clone())));
    all.extend(words::samples());
    all
}

/// Ids of the texts whose English is the core's own or the display's.
fn borrowed() -> BTreeSet<String> {
    let mut ids: BTreeSet<String> = UNITS.iter().map(|(_, id)| (*id).to_owned()).collect();
    for message in messages() {
        for (_, arg) in &message.args {
            if let Arg::Core(id, _) = arg {
                ids.insert(id.clone());
            }
        }
    }
    ids
}

#[test]
fn every_text_that_is_told_stands_in_every_language_and_none_beside() {
    let told: BTreeSet<String> = messages().iter().map(|one| one.id.to_owned()).collect();
    assert!(told.len() > 190, "only {} texts are told", told.len());
    for language in Language::ALL {
        let mut wanted = told.clone();
        if language != Language::En {
            wanted.extend(borrowed());
        }
        let stands: BTreeSet<String> = texts(language).into_keys().collect();
        let missing: Vec<_> = wanted.difference(&stands).collect();
        let unused: Vec<_> = stands.difference(&wanted).collect();
        let place = format!("sim-host/locales/{}", language.code());
        assert!(missing.is_empty(), "{place} lacks {missing:?}");
        assert!(unused.is_empty(), "{place} has texts that nothing tells: {unused:?}");
    }
}

#[test]
fn each_text_uses_exactly_the_arguments_that_it_is_given() {
    for language in Language::ALL {
        let texts = texts(language);
        for message in messages() {
            let given: BTreeSet<String> = message.args.iter().map(|(name, _)| (*name).to_owned()).collect();
            assert_eq!(given.len(), message.args.len(), "{}: an argument is given twice", message.id);
            let used = &texts[message.id].arguments;
            assert_eq!(*used, given, "sim-host/locales/{}: {}: used and given differ", language.code(), message.id);
        }
        for id in borrowed() {
            assert!(texts.get(&id).is_none_or(|text| text.arguments.is_empty()), "{id} is given no arguments");
        }
    }
}

#[test]
fn a_text_selects_by_words_that_it_is_given_and_knows_all_of_them() {
    /// The plural categories of Unicode.
    const PLURALS: [&str; 6] = ["zero", "one", "two", "few", "many", "other"];
    let mut seen = 0;
    for language in Language::ALL {
        let texts = texts(language);
        for message in messages() {
            for (name, arg) in &message.args {
                let place = format!("sim-host/locales/{}: {}: ${name}", language.code(), message.id);
                let Some(keys) = texts[message.id].selects.get(*name) else {
                    assert!(!matches!(arg, Arg::Choice(..)), "{place} is a choice, and nothing is selected by it");
                    continue;
                };
                let found: BTreeSet<&str> = keys.iter().map(|key| key.trim_start_matches('*')).collect();
                match arg {
                    Arg::Choice(word, words) => {
                        assert!(words.contains(word), "{place} is given `{word}`, which is none of {words:?}");
                        assert_eq!(found, words.iter().copied().collect(), "{place}");
                    }
                    Arg::Whole(_) => {
                        assert!(found.iter().all(|key| PLURALS.contains(key)), "{place} selects by {found:?}");
                    }
                    other => panic!("{place}: {other:?} is nothing to select by"),
                }
                seen += 1;
            }
        }
    }
    assert!(seen > 20, "{seen} choices were looked at");
}

/// The samples are what all of this stands on.
#[test]
fn the_samples_hold_every_row_every_cause_and_every_reading_of_one() {
    let trips = samples::trips();
    let causes: BTreeSet<_> = trips
        .iter()
        .filter_map(|one| match one {
            Notice::Tripped(_, first) => first.map(|first| first.watch),
            _ => None,
        })
        .collect();
    assert_eq!(causes.len(), WATCH_COUNT, "causes of the table");
    let rows = trips.iter().filter(|one| matches!(one, Notice::Tripped(_, None))).count();
    assert_eq!((rows, ROWS.len()), (ROW_COUNT, ROW_COUNT));
    let readings: BTreeSet<&str> = messages().iter().map(|one| one.id).filter(|id| id.starts_with("trip-")).collect();
    assert!(readings.len() >= 8, "{readings:?}");
}

/// A unit that is a word would stand in English between translated words.
#[test]
fn a_unit_is_a_sign_or_has_a_text() {
    const SIGNS: [&str; 10] = ["bar", "mbar", "psi", "Pa", "kPa", "g", "kg", "oz", "lb", "mL"];
    let amounts = [
        Amount::Pressure(300_000.0),
        Amount::Pressure(300.0),
        Amount::Barometer(95_000.0),
        Amount::OverBarometer(8_000.0),
        Amount::Difference(900.0),
        Amount::Margin(500.0),
        Amount::Margin(5_000.0),
        Amount::Temperature(300.0),
        Amount::Mass(0.4),
        Amount::Mass(40.0),
        Amount::MassDifference(-0.3),
        Amount::Weight(4.0),
        Amount::Loss(0.004),
    ];
    for units in [Units::Metric, Units::Us] {
        for zero in [Zero::Absolute, Zero::Gauge(95_000.0)] {
            for amount in amounts {
                let unit = Display { units, zero, ..Display::default() }.figure(amount).unit;
                assert!(SIGNS.contains(&unit) || UNITS.iter().any(|(name, _)| *name == unit), "{unit} has no text");
            }
        }
    }
}

/// A text whose English has changed since it was translated may say something else in the other languages.
#[test]
fn no_english_text_has_changed_since_it_was_translated() {
    const FILE: &str = "tests/data/language/translated.csv";
    let mut english: BTreeMap<String, String> = BTreeMap::new();
    for (name, text) in files(Language::En) {
        let (mut id, mut lines) = (None::<String>, Vec::new());
        for line in text.lines().filter(|line| !line.starts_with('#')).chain(["end = "]) {
            let begins = line.split_once(" = ").filter(|(id, _)| !id.contains([' ', '{']));
            if let Some((next, first)) = begins {
                if let Some(id) = id.replace(next.to_owned()) {
                    assert!(english.insert(id.clone(), lines.join(" ").trim().to_owned()).is_none(), "{name}: {id}");
                }
                lines = vec![first];
            } else {
                lines.push(line.trim());
            }
        }
    }
    for message in messages() {
        for (_, arg) in message.args {
            if let Arg::Core(id, text) = arg {
                english.insert(id, text.to_owned());
            }
        }
    }
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    let made: String = std::iter::once("id,english when it was translated\n".to_owned())
        .chain(english.iter().map(|(id, text)| format!("{id},{}\n", quoted(text))))
        .collect();
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(FILE);
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        std::fs::write(&file, &made).expect("the file can be written");
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    let (kept, made): (BTreeSet<&str>, BTreeSet<&str>) = (kept.lines().collect(), made.lines().collect());
    let changed: Vec<_> = made.difference(&kept).chain(kept.difference(&made)).collect();
    assert!(
        changed.is_empty(),
        "changed since it was translated: {changed:#?}\nlook at these ids in sim-host/locales/de, es and fr, then run \
         VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- language_texts"
    );
}
