//! The language of formulas: what is written is what is read, each mistake is told where it stands with what would be right, and what
//! could be read in two ways is refused.

use std::sync::LazyLock;

use valvewright_core::frame::Actuator;
use valvewright_core::job::PhaseKind;
use valvewright_core::row::RowId;
use valvewright_sim::logic::formula::{Atom, Fact, Formula, Parsed, Signal, Span};
use valvewright_sim::logic::names::Names;
use valvewright_sim::logic::{Wrong, parse};
use valvewright_sim::scenario::quantity::Dim;
use valvewright_sim::station;
use valvewright_tests::random_formulas::pair;

static NAMES: LazyLock<Names> = LazyLock::new(|| {
    let workshop = station::load(None).expect("shipped");
    Names::new(Some(&workshop.network), vec!["F023".to_owned()])
});

fn read(text: &str) -> Parsed {
    parse::parse(text, &NAMES).unwrap_or_else(|wrong| panic!("{text}: {wrong:?}"))
}

fn wrong(text: &str) -> Wrong {
    match parse::parse(text, &NAMES) {
        Ok(parsed) => panic!("{text} was read: {parsed:?}"),
        Err(wrong) => wrong,
    }
}

#[test]
fn a_drawn_formula_is_read_as_it_is_written() {
    for seed in 0..2_000 {
        let pair = pair(seed);
        let text = pair.text();
        let parsed = read(&text);
        assert_eq!(parsed.formula, pair.formula, "seed {seed}: {text}");
        assert_eq!(parsed.atoms.len(), pair.limits.len(), "seed {seed}");
    }
}

fn atom(at: usize) -> Box<Formula> {
    Box::new(Formula::Atom(at))
}

fn span(from: f64, to: f64) -> Option<Span> {
    Some(Span { from, to })
}

#[test]
fn whenever_then_is_an_implication_at_all_times() {
    let whenever = |effect: Formula| Formula::Always(None, Box::new(Formula::Implies(atom(0), Box::new(effect))));
    let off = Box::new(Formula::Not(atom(1)));
    for (text, effect) in [
        ("whenever row I03 then C-1 is off", (*off).clone()),
        ("whenever row I03 stands then within 1 s C-1 is off", Formula::Eventually(span(0.0, 1.0), off.clone())),
        ("whenever row I03 then for 500 ms C-1 is off", Formula::Always(span(0.0, 0.5), off.clone())),
        ("whenever row I03 then from 1 s to 1 min C-1 is off", Formula::Always(span(1.0, 60.0), off)),
    ] {
        assert_eq!(read(text).formula, whenever(effect), "{text}");
    }
    // All that follows `then` belongs to it.
    let both = read("whenever row I03 then within 1 s C-1 is on and P-1 is on").formula;
    let effect = Formula::Eventually(span(0.0, 1.0), Box::new(Formula::And(atom(1), atom(2))));
    assert_eq!(both, whenever(effect));
}

#[test]
fn facts_are_what_their_words_say() {
    for (text, fact, so) in [
        ("XV-5 is on", Fact::On(Actuator::Xv5), true),
        ("XV-5 is off", Fact::On(Actuator::Xv5), false),
        ("XV-5 is not off", Fact::On(Actuator::Xv5), true),
        ("K-1 is not on", Fact::On(Actuator::K1), false),
        ("phase is leak_check", Fact::Phase(Some(PhaseKind::LeakCheck)), true),
        ("phase is not none", Fact::Phase(None), false),
        ("row I28", Fact::Row(RowId::I28), true),
        ("row HS-1 stands", Fact::Row(RowId::Hs1), true),
        ("row I05 withholds", Fact::Withheld(RowId::I05), true),
        ("fault F023 acts", Fact::Fault(0), true),
        ("ZS-1 is open", Fact::Closed(valvewright_core::frame::Switches::ZS1_DOOR_SHUT), false),
        ("door is open", Fact::DoorShut, false),
        ("vehicle is coupled", Fact::Coupled, true),
        ("stop is released", Fact::Stop, false),
    ] {
        let parsed = read(text);
        let of = if so { Formula::Atom(0) } else { Formula::Not(atom(0)) };
        assert_eq!(parsed.formula, of, "{text}");
        assert_eq!(parsed.atoms[0].atom, Atom::Is(fact), "{text}");
    }
}

#[test]
fn comparisons_know_the_units_of_their_signals() {
    for (text, limit, of) in [
        ("vessel.p < 16 bar", 16e5, Dim::Pressure),
        ("PT-4 > 300 Pa", 300.0, Dim::Pressure),
        ("vessel.t<-5 degC", 268.15, Dim::Temperature),
        ("WT-1A >= 1.5 kg", 1.5, Dim::Mass),
        ("AT-2 <= 10 %", 0.1, Dim::Fraction),
        ("vessel.level < 0.8", 0.8, Dim::Fraction),
        ("C-1.flow > 2 g/s", 2e-3, Dim::MassFlow),
        ("K-1.flow > 40 m3/h", 40.0 / 3600.0, Dim::VolumeFlow),
        ("ST-1 > 1000 rpm", 1000.0 / 60.0, Dim::Speed),
        ("PT-2 - PT-3 < 200 mbar", 2e4, Dim::PressureDifference),
        ("vessel.m + discharge.m < 9 kg", 9.0, Dim::Mass),
        ("IT-1 < 1e1 A", 10.0, Dim::Current),
    ] {
        let Atom::Compare { limit: found, dim, .. } = read(text).atoms.remove(0).atom else { panic!("{text}") };
        assert!((found - limit).abs() <= 1e-12 * limit.abs(), "{text}: {found}");
        assert_eq!(dim, of, "{text}");
    }
    let Atom::Compare { terms, limit, .. } = read("PT-2 < PT-3").atoms.remove(0).atom else { panic!("compared") };
    assert_eq!((terms.len(), terms[1].0, limit), (2, true, 0.0));
    let Atom::Compare { terms, .. } = read("XV-5+XV-10+XV-1.flow > 1 g/s").atoms.remove(0).atom else { panic!() };
    assert_eq!(terms, [(false, Signal::Plant("XV-5+XV-10+XV-1.flow".to_owned()))]);
}

/// The text, the mistake's place in it, words of the message, words of the help.
#[test]
fn every_mistake_is_told_at_its_place_with_what_is_right() {
    for (text, at, message, help) in [
        ("", 0, "something to look at is needed, this is the end", "vessel.p < 16 bar"),
        ("always", 6, "something to look at is needed", "in brackets"),
        ("vesel.p < 16 bar", 0, "no volume or element `vesel`", "nearest name: `vessel.p`"),
        ("vessel.pp < 16 bar", 0, "`pp` can't be read of `vessel`", "nearest name: `vessel.p`"),
        ("C-1.level < 3", 0, "`level` can't be read of `C-1`", "flow_ref"),
        ("PT-9 < 16 bar", 0, "nothing is called `PT-9`", "nearest name: `PT-"),
        ("vessel.p < 16 bars", 11, "unknown unit `bars`", "nearest valid unit: `bar`"),
        ("vessel.p < 16 barg", 11, "unknown unit `barg`", "absolute"),
        ("vessel.p < 16 g", 11, "wrong unit", "accepted units: kPa"),
        ("vessel.p < 16", 11, "has no unit", "kPa"),
        ("vessel.p < bar", 11, "nothing is called `bar`", ""),
        ("vessel.p < PT-1 - 3 bar", 16, "goes on with `-`", "join"),
        ("vessel.p = 16 bar", 9, "a comparison is needed behind `vessel.p`", "<, <=, > or >="),
        ("vessel.p < vessel.t", 11, "is a temperature, an absolute pressure is needed", "one kind"),
        ("vessel.p + PT-1 < 3 bar", 9, "says nothing", "`vessel.p - PT-1`"),
        ("vessel.p < XV-5", 11, "`XV-5` has no value", "`is`"),
        ("XV-5 on", 5, "`is` is needed, this is `on`", "XV-5 is on"),
        ("XV-5 is opened", 8, "`XV-5` is never `opened`", "on, off"),
        ("phase is recovery", 9, "`phase` is never `recovery`", "nearest word: `recover`"),
        ("row I99", 4, "no interlock row `I99`", "rows: I01"),
        ("told charge_stal", 5, "no notice `charge_stal`", "nearest notice: `charge_stall`"),
        ("fault F24 acts", 6, "no fault `F24`", "F023"),
        ("alwas XV-5 is on", 0, "nothing is called `alwas`", "nearest word: `always`"),
        ("eventually for 5 s XV-5 is on", 11, "`for` does not go here", "always for 5 s"),
        ("always within 5 s XV-5 is on", 7, "`within` does not go here", "eventually within 5 s"),
        ("eventually within 5 XV-5 is on", 18, "unknown unit `XV-5`", "s, min"),
        ("eventually within -1 s XV-5 is on", 18, "outside the accepted range", "0 s to 1 d"),
        ("eventually from 5 s to 2 s XV-5 is on", 23, "ends before it begins", "nearer time first"),
        ("eventually from 5 s XV-5 is on", 20, "`to` is needed", "from 2 s to 5 s"),
        ("whenever row I03 C-1 is off", 17, "`then` is needed, this is `C-1`", "whenever A then B"),
        ("(XV-5 is on", 11, "`)` is needed, this is the end", "close the bracket"),
        ("XV-5 is on)", 10, "goes on with `)`", "join"),
        ("XV-5 is on XV-6 is on", 11, "goes on with `XV-6`", "and"),
        ("always XV-5 is on and XV-6 is on", 18, "read in two ways", "`always (A and B)`"),
        ("XV-5 is on and XV-6 is on or XV-7 is on", 26, "read in two ways", "(A and B) or C"),
        ("always XV-5 is on implies XV-6 is on", 18, "read in two ways", "brackets"),
        ("XV-5 is on until XV-6 is on until XV-7 is on", 28, "read in two ways", "brackets"),
        ("XV-5 is on and whenever row I03 then C-1 is off", 15, "`whenever` reaches to the end", "(whenever A then B)"),
        ("vessel.p < 1e400 bar", 11, "too large", "finite"),
        ("ÄÖ < 3", 0, "nothing is called `ÄÖ`", "vessel.p"),
        ("vessel.p < 16 bar € 3", 18, "goes on with `€`", "join"),
    ] {
        let found = wrong(text);
        assert_eq!(found.at.start, at, "{text}: {found:?}");
        assert!(found.message.contains(message), "{text}: {found:?}");
        assert!(found.help.contains(help) && !found.help.is_empty(), "{text}: {found:?}");
    }
}

#[test]
fn two_hundred_nested_nots_are_read_and_more_than_the_stack_holds_are_refused() {
    let nots = "not ".repeat(200) + "XV-5 is on";
    let mut formula = &read(&nots).formula;
    let mut depth = 0;
    while let Formula::Not(of) = formula {
        (formula, depth) = (of, depth + 1);
    }
    assert_eq!((depth, formula), (200, &Formula::Atom(0)));
    for text in
        ["not ".repeat(5_000), "(".repeat(100_000), "always (".repeat(5_000), "(whenever row I03 then ".repeat(3_000)]
    {
        let found = wrong(&(text + "XV-5 is on"));
        assert!(
            found.message.contains("stand in each other") || found.message.contains("200 comparisons"),
            "{found:?}"
        );
    }
    let long = vec!["XV-5 is on"; 300].join(" and ");
    assert!(wrong(&long).message.contains("more than 200 comparisons"));
}

/// Whatever stands there, the reader answers.
#[test]
fn a_formula_cut_off_or_scrambled_is_told_and_never_panics() {
    let text = "whenever (XV-5+XV-10+XV-1.flow > 1.5e-1 g/s and phase is charge) then within 1 s not (PT-2 - PT-3 <= 20 °C or row I03)";
    for end in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
        for start in (0..end).filter(|at| text.is_char_boundary(*at)) {
            if let Err(wrong) = parse::parse(&text[start..end], &NAMES) {
                assert!(wrong.at.start <= end - start && !wrong.help.is_empty(), "{wrong:?}");
            }
        }
    }
}

#[test]
fn a_formula_is_told_in_a_sentence() {
    for (text, says) in [
        ("always vessel.p < 16 bar", "at all times vessel.p < 16 bar"),
        ("never XV-5 is on", "at no time XV-5 is on"),
        (
            "whenever row I03 then within 1 s C-1 is off",
            "whenever row I03 stands, then some time within the next 1 s C-1 is off",
        ),
        ("always for 10 s (XV-5 is off or K-1 is on)", "all the time for the next 10 s (XV-5 is off or K-1 is on)"),
        (
            "C-1 is off until within 5 min FSL-1 is closed",
            "C-1 is off until FSL-1 is closed, which comes some time within the next 5 min",
        ),
        ("eventually from 500 ms to 2 s not vessel.p < 1 bar", "some time from 500 ms to 2 s later vessel.p >= 1 bar"),
        ("once within 3 s told paused", "some time within the last 3 s paused is told"),
        ("phase is not charge implies XV-5 is off", "if phase is not charge, then XV-5 is off"),
        (
            "not (K-1 is on until C-1 is on)",
            "it is not so that (K-1 is on until C-1 is on, which comes before the end)",
        ),
    ] {
        assert_eq!(read(text).sentence(), says);
    }
}

/// Every formula that the book shows, in a block of its own or in a file.
#[test]
fn the_formulas_of_the_book_are_read() {
    let page = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/properties.md");
    let page = std::fs::read_to_string(page).expect("the page");
    let blocks = |language: &str| -> Vec<String> {
        let blocks = page.split("```").skip(1).step_by(2).filter_map(|one| one.strip_prefix(language));
        blocks.flat_map(str::lines).filter(|line| !line.is_empty()).map(str::to_owned).collect()
    };
    let files = blocks("toml\n").into_iter();
    let formulas =
        files.filter_map(|line| line.strip_prefix("formula = ").map(|text| text.trim_matches('"').to_owned()));
    let all: Vec<String> = blocks("text\n").into_iter().chain(formulas).collect();
    assert!(all.len() > 10, "{} formulas", all.len());
    for formula in &all {
        read(formula);
    }
    for word in ["never", "always", "eventually", "until", "whenever", "once", "historically", "since", "implies"] {
        assert!(page.contains(&format!("`{word} ")) || page.contains(&format!(" {word} ")), "{word}");
    }
}
