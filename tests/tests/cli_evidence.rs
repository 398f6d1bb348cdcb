//! `valvewright matrix --evidence`: all hazards, or one id in full, in each form; what is said where there is no such id; and what the forms of
//! the table say of a row's evidence.

use crate::cli_bench::Bench;
use valvewright_core::interlock::table::ROWS;
use valvewright_sim::evidence::{Evidence, Id, Missing, Where};

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_overview_names_every_hazard_with_its_rows_and_what_shows_it_within_80_columns() {
    let text = Bench::new().run(&["matrix", "--evidence"]).exits(0).out;
    let evidence = Evidence::shipped();
    for one in &evidence.hazards {
        let (_, rest) = text.split_once(&format!("\n{} {}\n", one.id, one.title)).expect("a hazard");
        let part = rest.split("\n\n").next().unwrap_or_default();
        let rows: Vec<Id> = evidence.rows_of(one.id).into_iter().map(|row| Id::from(row.id)).collect();
        let told = flat(part).contains(&format!("rows {}", valvewright_sim::evidence::list(&rows)));
        assert_eq!(told, !rows.is_empty(), "{}: {rows:?} in {part}", one.id);
        let shown = evidence.shown_by(one.id).count();
        assert_eq!(part.contains(&format!("{shown} test")) || part.contains("1 test"), shown > 0, "{part}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    for (kind, shown, of) in valvewright_sim::evidence::counts(evidence) {
        assert!(flat(&text).contains(&format!("{} {shown} of {of} shown", kind.noun())), "{text}");
    }
}

#[test]
fn one_id_of_each_kind_is_told_in_full() {
    let bench = Bench::new();
    let told = |id: &str| flat(&bench.run(&["matrix", "--evidence", id]).exits(0).out);
    let cases: [(&str, &[&str]); 8] = [
        (
            "h08",
            &[
                "the vacuum pump sees pressure",
                "Answered by I11",
                "F057 vacuum isolation valve (XV-6): stuck open",
                "H08a what P-1 passes at 6.8 bar: 44 g/s (computed",
            ],
        ),
        ("I11", &["Answers H08", "At what it reads F009", "At what it moves F057", "controller test"]),
        ("hs1", &["a person says stop", "Answers H25"]),
        (
            "F057",
            &[
                "Leads to H08",
                "Found by PT-4 over-range",
                "Within 1 s",
                "Can defeat I01",
                "I11 a vacuum pump",
                "test silent_harms::a_pump_valve_that_stays",
            ],
        ),
        ("F005", &["latent: shows only with a second fault", "Within proof test"]),
        ("lc6", &["mass is a ledger", "Every gram is somewhere", "job_whole::a_recovery_given_up_books_what_came_in"]),
        ("W24", &["12 L", "11.80", "40 CFR Part 82 Subpart B, Appendix C", "7.2 (seen)", "Used by H02"]),
        ("F131", &["low atmospheric pressure", "valvewright run mountain_repair"]),
    ];
    for (id, parts) in cases {
        let text = told(id);
        for part in parts {
            assert!(text.contains(part), "{id}: `{part}` is missing in:\n{text}");
        }
    }
    if let Some(open) = Evidence::shipped().open.iter().find(|one| one.missing == Missing::Showing) {
        assert!(told(&open.id.to_string()).contains(&format!("open: {}", open.why)), "{}", open.id);
    }
    let json = bench.run(&["matrix", "--evidence", "F057", "--json"]).exits(0).json();
    assert_eq!((&json["id"], &json["kind"], &json["is"]["tag"]), (&"F057".into(), &"fault".into(), &"XV-6".into()));
    assert!(json["around"].as_array().is_some_and(|all| all.contains(&"I11".into())), "{json}");
    let shown = json["shown_by"].as_array().expect("a list");
    assert!(shown.iter().any(|one| one["command"].as_str().is_some_and(|text| text.starts_with("cargo test -p "))));
}

#[test]
fn every_id_has_its_text_its_record_and_its_line() {
    let (bench, evidence) = (Bench::new(), Evidence::shipped());
    let all = bench.run(&["matrix", "--evidence", "--json"]).exits(0).json();
    let ids: Vec<String> = evidence.ids().iter().map(ToString::to_string).collect();
    let told: Vec<&str> = all.as_array().expect("a list").iter().filter_map(|one| one["id"].as_str()).collect();
    assert_eq!(told, ids);
    let csv = bench.run(&["matrix", "--evidence", "--format", "csv"]).exits(0).out;
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let lines: Vec<csv::StringRecord> = reader.records().map(|line| line.expect("as many cells")).collect();
    assert_eq!(lines.iter().map(|line| &line[0]).collect::<Vec<_>>(), ids);
    for (line, id) in lines.iter().zip(evidence.ids()) {
        // Shown or open: as the graph is closed. Both only where a part is shown and the reaction is not met.
        let partly = evidence.open(id).is_some_and(|open| open.missing == Missing::Reaction);
        assert!(line[4].is_empty() != line[5].is_empty() || partly && !line[5].is_empty(), "{id}");
        assert!(valvewright_sim::evidence::full(evidence, id).is_some_and(|text| text.contains("Shown by")), "{id}");
        let page = valvewright_sim::evidence::pages::section(evidence, id).expect("defined");
        assert!(page.starts_with(&format!("## {id}\n")), "{page}");
    }
}

#[test]
fn an_id_that_is_none_is_refused_with_the_nearest_and_all() {
    let bench = Bench::new();
    let beyond = format!("F{}", 139);
    for wrong in [beyond.as_str(), "pump", "H6", "mass", ""] {
        let said = bench.run(&["matrix", "--evidence", wrong]).exits(64);
        said.complains(&[
            "is no hazard, row, fault, law or worked example",
            "nearest: ",
            "H01-H25",
            "F001-F138",
            "W1-W39",
        ]);
        assert!(said.out.is_empty());
    }
    bench.run(&["matrix", "--evidence", &beyond]).exits(64).complains(&[&["F", "13"].concat()]);
    bench.run(&["matrix", "--evidence", "--format", "html"]).exits(64).complains(&["leave --evidence out"]);
    bench.run(&["matrix", "F057"]).exits(64).complains(&["no interlock row is called"]);
}

/// Text, Markdown, page, spreadsheet and JSON of the table say what can defeat each row, and what shows it.
#[test]
fn every_form_of_the_table_says_what_can_defeat_a_row_and_what_shows_it() {
    let (bench, evidence) = (Bench::new(), Evidence::shipped());
    let page = bench.run(&["matrix", "--format", "html"]).exits(0).out;
    let csv = bench.run(&["matrix", "--format", "csv"]).exits(0).out;
    let json = bench.run(&["matrix", "--json"]).exits(0).json();
    let mut lines = csv::Reader::from_reader(csv.as_bytes());
    let lines: Vec<csv::StringRecord> = lines.records().map(|line| line.expect("as many cells")).collect();
    for (at, row) in ROWS.iter().enumerate() {
        let id = row.id.as_str();
        let faults: Vec<String> = evidence.faults_of(row).iter().map(|one| one.0.id.to_string()).collect();
        let shown: Vec<String> = evidence.shown_by(Id::from(row.id)).map(|one| one.name.clone()).collect();
        assert!(!faults.is_empty() && !shown.is_empty(), "{id}");
        let text = flat(&bench.run(&["matrix", id]).exits(0).out);
        let book = bench.run(&["matrix", id, "--format", "markdown"]).exits(0).out;
        let (_, card) = page.split_once(&format!("id=\"{}\"", id.to_lowercase())).expect("a card");
        let card = card.split("</section>").next().unwrap_or_default();
        for name in &shown {
            for (form, told) in
                [("text", &*text), ("book", &*book), ("page", card), ("csv", &lines[at][lines[at].len() - 1])]
            {
                assert!(told.contains(name.as_str()), "{id}: {name} is missing in the {form}");
            }
        }
        assert_eq!(lines[at][lines[at].len() - 2].split(' ').collect::<Vec<_>>(), faults, "{id}");
        let list = |key: &str, part: &str| -> Vec<String> {
            let all = json[at][key].as_array().expect("a list").iter();
            all.filter_map(|one| one[part].as_str().map(str::to_owned)).collect()
        };
        assert_eq!((list("defeated_by", "id"), list("shown_by", "name")), (faults.clone(), shown), "{id}");
        assert!(faults.iter().all(|fault| card.contains(fault.as_str())), "{id}");
    }
}

/// A fault meets a row where it reads or moves what the fault is at, towards a hazard that the row answers.
#[test]
fn faults_meet_rows_at_the_tags_they_share() {
    let evidence = Evidence::shipped();
    let met = |row: &str, fault: &str| {
        let row = ROWS.iter().find(|one| one.id.as_str() == row).expect("a row");
        evidence.faults_of(row).into_iter().find(|one| one.0.id.to_string() == fault).map(|one| one.1)
    };
    for (row, fault, place) in [
        ("I01", "F039", Some(Where::Read)),
        ("I01", "F059", Some(Where::Moved)),
        ("I01", "F046", Some(Where::Elsewhere)),
        ("I01", "F001", None),
        ("I20", "F133", Some(Where::Read)),
        ("I20", "F137", Some(Where::Read)),
        ("I08", "F054", Some(Where::Moved)),
        ("I05", "F035", Some(Where::Read)),
        ("I19", "F061", Some(Where::Moved)),
        ("I12", "F135", Some(Where::Moved)),
        ("I12", "F080", Some(Where::Elsewhere)),
        ("I11", "F032", None),
    ] {
        assert_eq!(met(row, fault), place, "{row}, {fault}");
    }
}
