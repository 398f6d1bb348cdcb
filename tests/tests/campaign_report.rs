//! What a campaign says: every figure of a hand-made table worked out by hand, a comparison that finds what got worse, forms that are well formed.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use valvewright_sim::campaign::findings::{Change, Findings, Outcome, band, sections, share};
use valvewright_sim::campaign::table::{Writer, columns, facts_of};
use valvewright_sim::campaign::{CampaignError, Fault, Hazard, Row, SCHEMA};
use valvewright_sim::report::data::HazardLevel;

use crate::cli_bench::Bench;

/// A run with a fault of PT-1 or another device that began at 100 s.
pub fn run(index: u64, faults: &[(&str, &str, &str)]) -> Row {
    let fault = |(id, tag, moment): &(&str, &str, &str)| Fault {
        id: (*id).to_owned(),
        tag: (*tag).to_owned(),
        moment: (*moment).to_owned(),
        at: Some(100.0),
        began: Some(100.0),
        ..Fault::default()
    };
    Row {
        index,
        seed: 1,
        scenario: "made <up> & \"odd\" | `job`".to_owned(),
        faults: faults.iter().map(fault).collect(),
        fate: "ended",
        verdict: Some("pass"),
        end: Some(1_000.0),
        hazards: vec![Hazard { level: Some(HazardLevel::None), margin: Some(1.0), ..Hazard::default() }; 25],
        replay: format!("valvewright run made --fault 'run {index} <|>'"),
        ..Row::default()
    }
}

pub fn tripped(mut row: Row, rows: &[(&str, f64)]) -> Row {
    row.rows = rows.iter().map(|(id, after)| ((*id).to_owned(), *after)).collect();
    (row.fate, row.verdict, row.safe_after) = ("stands", Some("unfinished"), Some(1.0));
    row
}

/// Hazard number `at`, of 1, at a level at a time.
pub fn hazard(mut row: Row, at: usize, level: HazardLevel, t: f64, margin: f64) -> Row {
    let one = &mut row.hazards[at - 1];
    (one.level, one.margin, one.alert) = (Some(level), Some(margin), Some(t));
    one.accident = (level == HazardLevel::Accident).then_some(t);
    row
}

fn budget(mut row: Row, budget: f64, reaction: f64) -> Row {
    (row.budget, row.reaction, row.in_budget) = (Some(budget), Some(reaction), Some(reaction <= budget));
    row
}

pub const A: (&str, &str, &str) = ("F001", "PT-1", "recover pull 50 %");
const B: (&str, &str, &str) = ("F070", "K-1", "charge fill 50 %");
const C: (&str, &str, &str) = ("F003", "PT-1", "recover pull 10 %");

/// A dozen runs. F001 is found thrice, F070 harms, F003 is silent; H05 needs F003 and F070 together, H02 comes of F070 alone.
fn dozen() -> Vec<Row> {
    use HazardLevel::{Accident, Alert};
    let mut healed = run(9, &[C]);
    healed.faults[0].ended = Some(400.0);
    let mut refused = run(10, &[A]);
    (refused.fate, refused.verdict, refused.refused) = ("refused", None, Some("no <such> thing".to_owned()));
    refused.faults[0].began = None;
    let mut failed = run(11, &[A]);
    failed.verdict = Some("failed");
    vec![
        run(0, &[]),
        budget(tripped(run(1, &[A]), &[("I03", 0.5), ("I29", 0.7)]), 1.0, 0.5),
        budget(tripped(run(2, &[A]), &[("I03", 1.5)]), 1.0, 1.5),
        tripped(run(3, &[A]), &[("I29", 4.0)]),
        // Tripped at 110 s, before the accident at 120 s.
        hazard(tripped(run(4, &[B]), &[("I28", 10.0)]), 2, Accident, 120.0, -0.25),
        // Tripped at 110 s, after the accident at 105 s: too late.
        hazard(tripped(run(5, &[B]), &[("I28", 10.0)]), 2, Accident, 105.0, -0.5),
        hazard(run(6, &[B]), 2, Alert, 300.0, 0.4),
        // Both together: H05, and H02 again, which F070 brings about by itself.
        hazard(hazard(run(7, &[C, B]), 5, Accident, 200.0, -0.1), 2, Accident, 210.0, -0.1),
        run(8, &[C]),
        healed,
        refused,
        failed,
    ]
}

pub fn put(bench: &Bench, folder: &str, rows: &[Row], version: &str, told: usize) {
    let path = bench.path(folder);
    std::fs::create_dir_all(&path).expect("a folder");
    let facts = facts_of(version, (folder, "0123"), &[("runs", told.to_string())]);
    let mut table = Writer::new(Vec::new(), columns(folder, &[]), &facts).expect("a head");
    table.rows(rows).expect("rows");
    std::fs::write(path.join("result.parquet"), table.finish().expect("a foot")).expect("writable");
}

pub fn found(path: &Path) -> Findings {
    Findings::of(path, None, &mut |_| {}).unwrap_or_else(|wrong| panic!("{wrong}"))
}

fn of(rows: &[Row]) -> (Bench, Findings) {
    let bench = Bench::new();
    put(&bench, "one", rows, SCHEMA, rows.len());
    let found = found(&bench.path("one"));
    (bench, found)
}

#[test]
fn every_figure_of_a_hand_made_table_is_that_of_the_hand() {
    let (_bench, found) = of(&dozen());
    let counts = &found.counts;
    assert_eq!((counts.runs, counts.healthy, counts.late), (12, 1, 1));
    let ends: Vec<(&str, u64)> = counts.ends.iter().map(|(end, n)| (*end, *n)).collect();
    assert_eq!(ends, [("failed", 1), ("not run", 1), ("pass", 5), ("stands", 5)]);

    // F001: runs 1, 2, 3, 11, and run 10 without it; latencies 0.5, 1.5 and 4.
    let mode = &counts.faults["F001"];
    assert_eq!((mode.runs, mode.idle, mode.silent, mode.safe), (4, 1, 1, 3));
    assert_eq!((mode.first["I03"], mode.first["I29"]), (2, 1));
    assert_eq!((mode.median(), mode.worst()), (Some(1.5), Some(4.0)));
    assert_eq!((mode.budget, mode.reaction, mode.kept), (Some(1.0), Some(1.5), (1, 1)));
    // F070: runs 4 to 7; H02 in all of them, at worst -0.5.
    let mode = &counts.faults["F070"];
    assert_eq!((mode.runs, mode.hazards["H02"], mode.median()), (4, (HazardLevel::Accident, 4, -0.5), Some(10.0)));

    // PT-1: runs 1, 2, 3, 7, 8, 9, 11, found in 1, 2, 3 and 11. One fault in six, one of these healed, in run 8 nothing noticed.
    let cover = counts.components["PT-1"];
    assert_eq!((cover.runs, cover.found, cover.accidents), (7, 4, 1));
    assert_eq!((cover.single, cover.latent), ((6, 0), (5, 1)));
    // K-1: runs 4 to 7, found in time in run 4 alone. One fault in 4, 5, 6, an accident in two; in run 6 nothing noticed.
    let cover = counts.components["K-1"];
    assert_eq!((cover.runs, cover.found, cover.accidents), (4, 1, 3));
    assert_eq!((cover.single, cover.latent), ((3, 2), (3, 1)));
    // H02: runs 4 to 7, of which 4 was found in time. H05: run 7.
    let (h02, h05) = (counts.hazards[&1], counts.hazards[&4]);
    assert_eq!((h02.runs, h02.found, h02.accidents, h02.single, h02.latent), (4, 1, 3, (3, 2), (3, 1)));
    assert_eq!((h05.runs, h05.found, h05.accidents, h05.single), (1, 0, 1, (0, 0)));

    let row = |id: &str| (counts.rows[id].tripped, counts.rows[id].first, counts.rows[id].soonest);
    assert_eq!((row("I03"), row("I29"), row("I28")), ((2, 2, Some(0.5)), (2, 1, Some(0.7)), (2, 2, Some(10.0))));
    assert_eq!(counts.rows.values().filter(|one| one.tripped == 0).count(), 32 - 3);

    let spot = &counts.spots[&("F070".to_owned(), "charge fill".to_owned())];
    assert_eq!((spot.runs, spot.index, &spot.worst), (4, 4, &Outcome::Accident("H02")));
    let spot = &counts.spots[&("F001".to_owned(), "recover pull".to_owned())];
    assert_eq!((spot.runs, spot.index, &spot.worst), (5, 1, &Outcome::Ended("stands")));
}

#[test]
fn the_shortest_recipe_and_the_minimal_sets_are_told() {
    let (_bench, found) = of(&dozen());
    let all: Vec<_> = found.counts.cuts.accidents().map(|(at, runs, best)| (at, runs, best.index, best.at)).collect();
    // Of H02 run 5 has one fault and is the soonest; H05 needs both.
    assert_eq!(all, [(1, 3, 5, 105.0), (4, 1, 7, 200.0)]);
    let sets = |at: usize| {
        let sets = found.counts.cuts.minimal(at);
        sets.into_iter().map(|(faults, runs, _)| (faults.join(" + "), runs)).collect::<Vec<_>>()
    };
    assert_eq!(sets(1), [("F070 K-1".to_owned(), 2)], "run 7 holds the smaller set");
    assert_eq!(sets(4), [("F003 PT-1 + F070 K-1".to_owned(), 1)]);
}

#[test]
fn bands_and_shares_turn_at_their_limits() {
    let bands =
        [(0, "none"), (599, "none"), (600, "low"), (899, "low"), (900, "medium"), (989, "medium"), (990, "high")];
    assert!(bands.iter().all(|(part, name)| band(*part, 1_000) == *name));
    assert_eq!((band(0, 0), share(0, 0).as_str()), ("\u{2013}", "\u{2013}"));
    // Never rounded up: 100 % is all of them.
    assert_eq!((share(1_999, 2_000).as_str(), share(7, 7).as_str()), ("99.9 %", "100.0 %"));
}

/// The job's own alert is not a fault's; an accident always is.
#[test]
fn alerts_that_most_runs_have_or_that_came_before_the_fault_are_left_out() {
    let ids: Vec<String> = (1..=12).map(|n| format!("F{n:03}")).collect();
    let alert = |at: usize, id: &str, t: f64| {
        hazard(run(at as u64, &[(id, "PT-1", "recover pull 50 %")]), 8, HazardLevel::Alert, t, 0.3)
    };
    let usual: Vec<Row> = ids.iter().enumerate().map(|(at, id)| alert(at, id, 500.0)).collect();
    let (_one, found) = of(&usual);
    assert_eq!((found.usual.len(), found.counts.hazards.len()), (1, 0));
    // With nine different faults it is not taken for the job's own.
    let (_two, found) = of(&usual[..9]);
    assert_eq!((found.usual.len(), found.counts.hazards[&7].runs), (0, 9));
    let before = [alert(0, "F001", 99.0), alert(1, "F001", 100.0)];
    assert_eq!(of(&before).1.counts.hazards[&7].runs, 1);
}

fn against(better: &[Row], worse: &[Row]) -> (Bench, Findings) {
    let bench = Bench::new();
    put(&bench, "before", better, SCHEMA, better.len());
    put(&bench, "after", worse, SCHEMA, worse.len());
    let found = Findings::of(&bench.path("after"), Some(&bench.path("before")), &mut |_| {});
    (bench, found.unwrap_or_else(|wrong| panic!("{wrong}")))
}

#[test]
fn what_got_worse_and_better_is_found_run_by_run() {
    let before = dozen();
    let mut after = dozen();
    // In another order of other numbers, on another station: the same runs all the same.
    after.reverse();
    for (at, row) in after.iter_mut().enumerate() {
        (row.index, row.station) = (at as u64, "other".to_owned());
    }
    let same = against(&before, &after).1;
    let compared = same.comparison.as_ref().expect("compared");
    // Equal runs are numbered: of F001 there are four that only their number tells apart, so their order has to stay.
    assert_eq!((compared.common, compared.only_here, compared.only_there()), (12, 0, 0));

    let mut after = dozen();
    after[1].rows.clear();
    (after[1].fate, after[1].in_budget) = ("ended", Some(false));
    after[8] = hazard(run(8, &[C]), 7, HazardLevel::Accident, 500.0, -1.0);
    after[8].verdict = Some("failed");
    after.remove(11);
    let (bench, found) = against(&before, &after);
    let compared = found.comparison.as_ref().expect("compared");
    let kinds: Vec<Change> = compared.worse.iter().map(|one| one.change).collect();
    assert_eq!(kinds, [Change::Accident("H07"), Change::Pass, Change::Found, Change::Budget]);
    assert_eq!((compared.better.len(), compared.common, compared.only_there()), (0, 11, 1));
    assert!(compared.worse[0].replay.contains("run 8") && compared.worse[2].replay.contains("run 1 "));

    let said = bench.run(&["campaign", "--report", "after", "--against", "before"]).exits(1);
    assert!(said.out.contains("WORSE  new accident H07") && said.out.contains("worse 4 times"), "{}", said.out);
    for name in ["report.html", "report.md", "report.junit.xml"] {
        let text = std::fs::read_to_string(bench.path("after").join(name)).expect("written");
        assert!(text.contains("new accident H07"), "{name}");
    }
    // The other way round all of it is better.
    let said = bench.run(&["--json", "campaign", "--report", "before", "--against", "after"]).exits(0).json();
    assert_eq!((said["worse"].as_u64(), said["better"].as_u64()), (Some(0), Some(4)));
}

/// Python's own readers: expat for XML, and a count of tags that open and close for HTML.
const READ: &str = r#"
import sys, html.parser, xml.etree.ElementTree as tree
text = sys.stdin.buffer.read().decode()
if sys.argv[1] == "xml":
    root = tree.fromstring(text)
    cases = root.findall(".//testcase")
    assert int(root.get("tests")) == len(cases) > 0
    assert int(root.get("failures")) == len(root.findall(".//failure"))
else:
    class Page(html.parser.HTMLParser):
        open = []
        def handle_starttag(self, tag, attributes):
            assert tag not in ("script", "link", "img", "up"), tag
            assert len({name for name, _ in attributes}) == len(attributes), attributes
            if tag != "meta": self.open.append(tag)
        def handle_endtag(self, tag):
            assert self.open and self.open.pop() == tag, tag
    page = Page()
    page.feed(text); page.close()
    assert not page.open, page.open
    assert "http" not in text
"#;

fn well_formed(kind: &str, text: &str) {
    let mut python = Command::new("python3");
    let mut child = python.args(["-c", READ, kind]).stdin(Stdio::piped()).spawn().expect("python3 starts");
    child.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("it listens");
    assert!(child.wait().expect("it ends").success(), "{kind} is not well formed:\n{text}");
}

fn forms(found: &Findings) {
    well_formed("html", &found.page());
    well_formed("xml", &found.junit());
    // A row of a Markdown table has as many cells as its head, whatever stands in them.
    let bars = |line: &str| line.replace("\\|", "").matches('|').count();
    let markdown = found.markdown();
    let lines: Vec<&str> = markdown.lines().collect();
    let tables = lines.windows(2).filter(|pair| pair.iter().all(|line| line.starts_with('|')));
    assert!(tables.clone().all(|pair| bars(pair[0]) == bars(pair[1])), "{markdown}");
}

#[test]
fn page_markdown_and_junit_are_well_formed_and_the_same_for_the_same_table() {
    let (_bench, found) = of(&dozen());
    forms(&found);
    let (_again, again) = of(&dozen());
    assert!(found.page() == again.page() && found.markdown() == again.markdown() && found.junit() == again.junit());
    let page = found.page();
    for wanted in [
        "no diagnostic coverage of a certificate",
        "Every run weighs the same",
        "No certificate and no probability",
        "I01, I02, I04",
    ] {
        assert!(page.contains(wanted), "{wanted}");
    }
    assert!(page.contains("again: valvewright run made --fault 'run 4 &lt;|&gt;'"), "a cell has its command");
    std::fs::write(Path::new(env!("CARGO_TARGET_TMPDIR")).join("campaign-report.html"), page).expect("writable");
}

#[test]
fn campaigns_of_nothing_without_faults_and_of_refused_runs_can_be_read() {
    let refused: Vec<Row> = dozen().into_iter().filter(|row| row.fate == "refused").collect();
    for rows in [Vec::new(), vec![run(0, &[])], refused] {
        let (bench, found) = of(&rows);
        forms(&found);
        assert!(sections(&found).iter().all(|one| !one.title.is_empty() && !one.notes.is_empty()));
        let said = bench.run(&["campaign", "--report", "one"]).exits(0);
        assert!(said.out.contains("no hazard came to its accident level"), "{}", said.out);
        assert!(found.page().contains("No hazard came to its accident level in any run."));
    }
}

#[test]
fn a_folder_that_cannot_be_reported_is_refused_with_what_to_do() {
    let bench = Bench::new();
    let rows = dozen();
    put(&bench, "one", &rows, SCHEMA, rows.len());
    put(&bench, "old", &rows, "0", rows.len());
    put(&bench, "cut", &rows, SCHEMA, rows.len() + 1);
    put(&bench, "other", &[run(0, &[("F111", "XV-1", "at 5 s")])], SCHEMA, 1);
    std::fs::create_dir(bench.path("empty")).expect("a folder");
    std::fs::create_dir(bench.path("broken")).expect("a folder");
    bench.put("broken/result.parquet", "PAR1 no table PAR1");
    let refused = |words: &[&str], texts: &[&str]| bench.run(words).exits(64).complains(texts);
    refused(&["campaign", "--report", "nowhere"], &["nowhere/result.parquet", "there is no merged result", "--merge"]);
    refused(&["campaign", "--report", "empty"], &["there is no merged result"]);
    refused(&["campaign", "--report", "broken"], &["cannot be read as a table", "--merge"]);
    refused(&["campaign", "--report", "old"], &["layout is version 0", "this program reads version"]);
    refused(&["campaign", "--report", "cut"], &["12 rows of 13 runs"]);
    refused(&["campaign", "--report", "one", "--against", "other"], &["no run in common", "of one plan"]);
    refused(&["campaign", "--against", "one"], &["--report"]);
    refused(&["campaign", "quick", "--against", "one"], &["cannot be used with"]);
    refused(&["campaign", "quick", "--report", "one"], &["cannot be used with"]);
    assert!(!bench.path("one/report.html").exists(), "nothing is written where something was refused");
    let wrong = Findings::of(&bench.path("old"), None, &mut |_| {}).expect_err("another version");
    assert!(matches!(wrong, CampaignError::Folder(..)));
}
