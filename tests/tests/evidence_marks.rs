//! Marks and citations are read as written: attacks on both readers. Ids in here that mean nothing are put together from parts, since
//! this file is read too.

use crate::evidence_scan::cites;
use crate::evidence_scan::marks::{Marks, read};
use valvewright_sim::evidence::Id;

fn shown(text: &str) -> Vec<String> {
    let marks = read(text);
    assert_eq!((marks.wrong, marks.idle), (Vec::<String>::new(), Vec::new()), "{text}");
    marks.shown.into_iter().map(|(test, id)| format!("{test} {id}")).collect()
}

/// A mark of these words.
fn mark(words: &str) -> String {
    format!("/// Says.\n/// {}ows {words}\n#[test]\nfn a() {{}}", "Sh")
}

#[test]
fn a_mark_counts_on_a_test_that_runs() {
    assert_eq!(shown(&mark("I03.")), ["a I03"]);
    assert_eq!(shown(&mark("I03, F039-F041 and HS-1.")), ["a I03", "a F039", "a F040", "a F041", "a HS-1"]);
    assert_eq!(shown(&mark("LC6, LS4, W24, H02.")), ["a LC6", "a LS4", "a W24", "a H02"]);
    assert_eq!(shown(&format!("mod m {{ mod n {{ {} }} }}", mark("I03."))), ["m::n::a I03"]);
    assert_eq!(shown(&format!("#[cfg(test)] mod m {{ {} }}", mark("I03."))), ["m::a I03"]);
    assert_eq!(shown(&format!("proptest! {{ #![x(y)] {} }}", mark("I03.").replace("a()", "a(x in 0..1)"))), ["a I03"]);
    assert_eq!(shown(&mark("I03.").replace("#[test]", "#[test]\n#[should_panic]")), ["a I03"]);
}

#[test]
fn what_is_no_mark_of_a_test_that_runs_does_not_count() {
    for text in [
        mark("I03.").replace("/// ", "// "),
        format!("/* {} */", mark("I03.")),
        mark("I03.").lines().map(|line| format!("// {line}\n")).collect::<String>(),
        format!("const A: &str = r##\"{}\"##;", mark("I03.")),
        mark("what happens when I03 trips."),
        "/// I03 trips.\n#[test]\nfn a() {}".to_owned(),
    ] {
        assert_eq!(shown(&text), Vec::<String>::new(), "{text}");
    }
    for (attribute, why) in [
        ("#[ignore]", "is ignored"),
        ("#[ignore = \"long\"]", "is ignored"),
        ("#[cfg_attr(miri, ignore)]", "may be ignored"),
        ("#[cfg(windows)]", "is there under"),
    ] {
        let text = mark("I03.").replace("#[test]", &format!("#[test]\n{attribute}"));
        let marks = read(&text);
        assert!(marks.shown.is_empty() && marks.wrong.is_empty() && marks.idle[0].2.contains(why), "{marks:?}");
    }
    let marks = read(&format!("#[cfg(any())] mod m {{ {} }}", mark("I03.")));
    assert!(marks.shown.is_empty() && marks.idle[0].0 == "m::a", "{marks:?}");
}

#[test]
fn a_mark_that_cannot_be_read_or_stands_on_no_test_is_told() {
    let (few, none) = (["F", "02"].concat(), ["F", "0l1"].concat());
    let (back, mixed) = (["F041", "F039"].join("-"), ["H01", "F039"].join("-"));
    for (text, why) in [
        (mark("I03"), "full stop"),
        (mark("I03; F001."), "is no id"),
        (mark(&format!("{few}.")), "is no id"),
        (mark(&format!("{none}.")), "is no id"),
        (mark(&format!("{back}.")), "does not run"),
        (mark(&format!("{mixed}.")), "does not run"),
        (mark("I03,, F001."), "is no id"),
        (mark("I03. And more."), "is no id"),
        (mark("I03.").replace("#[test]", ""), "before no test"),
        (mark("I03.").replace("fn a() {}", "struct A;"), "before no test"),
        (format!("fn b() {{ {} }}", mark("I03.")), "before no test"),
        (format!("other! {{ {} }}", mark("I03.")), "before no test"),
    ] {
        let marks = read(&text);
        assert!(marks.shown.is_empty() && marks.wrong.len() == 1 && marks.wrong[0].contains(why), "{text}\n{marks:?}");
    }
    assert!(read(&format!("{} fn a( {{", mark("I03."))).wrong[0].contains("no Rust"));
    assert_eq!(read(""), Marks::default());
}

fn cited(text: &str) -> Vec<String> {
    let (cites, wrong) = cites::read(text);
    assert_eq!(wrong, Vec::<String>::new(), "{text}");
    cites.into_iter().map(|cite| format!("{} {}", cite.line, cite.id)).collect()
}

#[test]
fn ids_are_found_alone_and_in_ranges() {
    assert_eq!(cited("x\n(F023: y), H01a; W4, RowId::I03"), ["2 F023", "2 H01", "2 W4", "2 I03"]);
    assert_eq!(cited("F039-F041"), ["1 F039", "1 F040", "1 F041"]);
    assert_eq!(cited("I10 to I12, W1–W2"), ["1 I10", "1 I11", "1 I12", "1 W1", "1 W2"]);
    assert_eq!(cited("Law 6 of the controller, LS4, HS-1"), ["1 LS4", "1 LC6", "1 HS-1"]);
    assert_eq!(cited("H1, H-2, K1, F1, F-1, W-2, f64, XI03, I03x, H01ab, LS-1"), Vec::<String>::new());
}

#[test]
fn what_looks_like_an_id_and_is_none_is_told() {
    for text in [
        ["F", "02"].concat(),
        ["F", "0234"].concat(),
        ["I", "003"].concat(),
        ["H", "001"].concat(),
        ["W", "100"].concat(),
    ] {
        assert_eq!(cites::read(&text).1.len(), 1, "{text}");
    }
    assert_eq!(cites::read(&["F041", "F039"].join("-")).1.len(), 1);
    assert_eq!(cites::read(&["F039", "041"].join("-")).1.len(), 1);
    assert_eq!(cites::read(&["la", "w 6"].concat()).1.len(), 1, "of whom?");
    let beyond: Vec<String> =
        [("F", 139), ("H", 26), ("W", 40)].iter().map(|(head, number)| format!("{head}{number}")).collect();
    assert_eq!(cited(&beyond.join(" ")).len(), 3, "read here, and found undefined by the graph");
}

#[test]
fn an_id_is_written_as_it_is_read() {
    for text in ["H01", "I03", "HS-1", "F001", "F138", "LC1", "LS9", "W1", "W39"] {
        assert_eq!(Id::parse(text).map(|id| id.to_string()).as_deref(), Some(text));
        assert_eq!(Id::typed(&text.to_lowercase().replace('-', "")), Id::parse(text));
    }
    for text in ["LC", "h01", " H01", "H1", "F1", "", "HS1"] {
        assert_eq!(Id::parse(text), None, "{text}");
    }
    for (head, number) in [("H", "00"), ("I", "63"), ("F", "000"), ("W", "0"), ("W", "01"), ("LC", "0")] {
        assert_eq!(Id::parse(&[head, number].concat()), None, "{head}{number}");
    }
}
