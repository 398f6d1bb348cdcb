//! The commands of papers: what they print, and what they refuse with words: files of another kind, cut short or of another shape.

use crate::cli_bench::Bench;

/// A bench with a result of the quick demo job in it.
fn bench() -> Bench {
    let bench = Bench::new();
    bench.run(&["run", "large_leak", "--out", "a", "--no-report", "--trace", "none"]).exits(0);
    bench
}

fn result(bench: &Bench) -> String {
    std::fs::read_to_string(bench.path("a/result.json")).expect("it was written")
}

#[test]
fn a_ticket_comes_as_text_page_and_json_the_same_each_time() {
    let bench = bench();
    let ask = |more: &[&str]| bench.run(&[&["papers", "ticket", "a/result.json"][..], more].concat()).exits(0).out;
    let text = ask(&["--columns", "32", "--header", "Hall 3", "--operator", "O. Example", "--language", "fr"]);
    assert!(text.contains("Hall 3\n") && text.contains("O. Example") && text.contains("NON ACHEVÉ"), "{text}");
    assert_eq!(ask(&[]), ask(&[]), "the same bytes");
    assert!(ask(&["--format", "html"]).starts_with("<!DOCTYPE html>"));
    let json: serde_json::Value = serde_json::from_str(&ask(&["--format", "json"])).expect("JSON");
    assert_eq!((&json["version"], &json["tickets"][0]["version"]), (&serde_json::json!(1), &serde_json::json!(1)));
    assert_eq!(json["tickets"][0]["verdict"], "refused");
    assert_eq!(ask(&["--json"]), ask(&["--format", "json"]));
    let dated = bench.run(&["papers", "ticket", "a/result.json@2028-02-29"]).exits(0).out;
    assert!(dated.contains("2028-02-29 00:00:00") && !dated.contains("2026-"), "{dated}");
}

/// What a program reads from standard output makes the same papers as the file.
#[test]
fn the_json_of_run_makes_a_ticket_as_its_file_does() {
    let bench = Bench::new();
    let said = bench.run(&["run", "large_leak", "--out", "a", "--no-report", "--trace", "none", "--json"]).exits(0).out;
    bench.put("b.json", &said);
    let of = |file: &str| bench.run(&["papers", "ticket", file]).exits(0).out;
    assert_eq!(of("a/result.json"), of("b.json"));
}

#[test]
fn a_header_that_is_too_long_is_refused_with_the_limit() {
    let bench = bench();
    let ask = |more: &[&str]| bench.run(&[&["papers", "ticket", "a/result.json"][..], more].concat()).exits(64);
    let long = "x".repeat(33);
    ask(&["--header", &long]).complains(&["33 letters", "at most 32 letters"]);
    bench.run(&["papers", "ticket", "a/result.json", "--header", &"ü".repeat(32)]).exits(0);
    let five: Vec<&str> = ["--header", "a"].repeat(5);
    ask(&five).complains(&["--header is given 5 times", "at most 4 lines of 32 letters"]);
    ask(&["--header", "a\nb"]).complains(&["no letter"]);
    ask(&["--operator", &"x".repeat(65)]).complains(&["at most 64 letters"]);
    ask(&["--columns", "40"]).complains(&["32", "42"]);
    ask(&["--job", "2"]).complains(&["no job 2", "1 to 1"]);
    ask(&["--job", "0"]).complains(&["no job 0"]);
}

#[test]
fn a_file_that_is_no_whole_result_of_this_shape_is_refused_with_what_it_is() {
    let bench = bench();
    let whole = result(&bench);
    let value: serde_json::Value = serde_json::from_str(&whole).expect("JSON");
    let with = |key: &str, to: serde_json::Value| {
        let mut other = value.clone();
        other[key] = to;
        other.to_string()
    };
    let mut older = value.clone();
    older.as_object_mut().expect("an object").remove("service");
    let mut service = value["service"].clone();
    service["format"] = serde_json::json!(2);
    let tickets = bench.run(&["papers", "ticket", "a/result.json", "--json"]).exits(0).out;
    let books = bench.run(&["papers", "ledger", "a/result.json", "--json"]).exits(0).out;
    let cut = whole.char_indices().nth(whole.chars().count() / 2).map_or("", |(at, _)| &whole[..at]);
    let cases = [
        ("cut", cut.to_owned(), "is not whole"),
        ("empty", String::new(), "is not whole"),
        ("text", "date,kind\n".to_owned(), "is no JSON"),
        ("list", "[1]".to_owned(), "is a list"),
        ("several", format!("[{whole},{whole}]"), "several results"),
        ("other", "{\"a\": 1}".to_owned(), "is no result of a run"),
        ("tickets", tickets, "tickets that were made of one"),
        ("books", books, "but a ledger"),
        ("older", older.to_string(), "an older program wrote it"),
        ("newer", with("service", service), "has the shape 2 for papers, and this program reads shape 1"),
        ("odd", with("jobs", serde_json::json!("many")), "is no result as this program writes it"),
        ("torn", with("jobs_in_all", serde_json::json!(7)), "contradicts itself"),
    ];
    for (name, text, says) in cases {
        bench.put(name, &text);
        for verb in ["ticket", "ledger"] {
            let said = bench.run(&["papers", verb, name]).exits(64);
            said.complains(&[name, says, "help: "]);
            assert!(said.out.is_empty(), "{name}: {}", said.out);
        }
    }
    bench.run(&["papers", "ticket", "missing.json"]).exits(64).complains(&["no file is called `missing.json`"]);
    bench.run(&["papers", "ticket", "a/result.json@2027-02-29"]).exits(64).complains(&["is no date", "2026-01-31"]);
    // A notice of a later program is told in its own words, and the ticket comes all the same.
    let mut later = value.clone();
    later["notices"][0]["told"] = serde_json::json!({ "Unheard": [1, 2] });
    later["notices"][0]["text"] = serde_json::json!("Something unheard of.");
    bench.put("later", &later.to_string());
    let said = bench.run(&["papers", "ticket", "later"]).exits(0).out;
    assert!(said.contains("Something unheard of."), "{said}");
}
