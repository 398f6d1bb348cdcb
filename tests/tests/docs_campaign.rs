//! The book's page of campaigns: its table of columns is the program's, it names every key of a plan and every shipped plan.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- docs_campaign` writes the table anew.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use valvewright_sim::campaign::SCHEMA;
use valvewright_sim::campaign::plan::{self, Design, SHIPPED};
use valvewright_sim::campaign::table::{Kind, columns};
use valvewright_sim::scenario::diagnostic::Source;

const HEAD: &str = "<!-- columns -->\n";
const END: &str = "<!-- end of the columns -->\n";

fn page() -> (PathBuf, String) {
    let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/campaign.md"));
    let text = fs::read_to_string(&path).expect("docs/campaign.md is there");
    (path, text)
}

fn word(of: Kind) -> &'static str {
    match of {
        Kind::Whole => "UInt64",
        Kind::Number => "Float64",
        Kind::Text => "Utf8",
        Kind::Flag => "Boolean",
        Kind::Texts => "list of Utf8",
        Kind::Numbers => "list of Float64",
    }
}

/// The hazards' columns once for all of them.
fn table() -> String {
    let mut made = String::from("\n| column | type | says |\n| --- | --- | --- |\n");
    for one in columns("any", &["site.ambient"]) {
        let hazard = one.name.as_bytes()[0] == b'h' && one.name.as_bytes()[1].is_ascii_digit();
        let name = match one.name.strip_prefix("h01_") {
            Some(what) => format!("`h01_{what}` to `h25_{what}`"),
            None if hazard => continue,
            None if one.name == "site.ambient" => "each varied key, such as `site.ambient`".to_owned(),
            None => format!("`{}`", one.name),
        };
        writeln!(made, "| {name} | {} | {} |", word(one.kind), one.what).expect("a text");
    }
    made + "\n"
}

#[test]
fn the_committed_table_of_columns_is_the_programs() {
    let (path, text) = page();
    let (before, rest) = text.split_once(HEAD).expect("it has the columns");
    let (_, after) = rest.split_once(END).expect("they end");
    let made = format!("{before}{HEAD}{}{END}{after}", table());
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        fs::write(&path, &made).expect("the page can be written");
    }
    assert!(page().1 == made, "docs/campaign.md is not what the program says: run with VALVEWRIGHT_WRITE=1");
    assert!(made.contains(&format!("Version {SCHEMA};")), "the page says the version of the layout");
}

/// The keys that the reader offers in place of one that is nowhere.
fn offered(text: &str) -> BTreeSet<String> {
    let all = plan::read(&Source::new("plan.toml", text)).expect_err("a key is unknown");
    let help = all.iter().find(|one| one.message.contains("`nowhere`")).and_then(|one| one.help.clone());
    let help = help.unwrap_or_else(|| panic!("nothing is said of the unknown key:\n{all:?}\n{text}"));
    let keys = help.split_once("valid keys: ").map(|(_, keys)| keys.to_owned()).unwrap_or_else(|| panic!("{help}"));
    keys.split(", ").map(str::to_owned).collect()
}

#[test]
fn the_page_names_every_key_design_and_shipped_plan() {
    let top = "name = \"one\"\ntitle = \"One\"\ndesign = \"full\"\n";
    let base = "[factors]\nscenario = [\"mild_hatchback\"]\n";
    let nowhere = "nowhere = 1\n";
    let mut keys = offered(&format!("{top}{nowhere}{base}"));
    keys.extend(offered(&format!("{top}{base}{nowhere}")));
    for table in
        ["[faults]", "[[fault]]\nid = \"F001\"", "[moments]", "[heal]", "[[run]]\nscenario = \"mild_hatchback\""]
    {
        keys.extend(offered(&format!("{top}{base}{table}\n{nowhere}")));
    }
    assert!(keys.len() > 30, "{keys:?}");
    let (_, text) = page();
    let named = |word: &str| [format!("`{word}`"), format!("[{word}]")].iter().any(|form| text.contains(form));
    let silent: Vec<&String> = keys.iter().filter(|key| !named(key)).collect();
    assert!(silent.is_empty(), "docs/campaign.md does not name {silent:?}");
    assert!(Design::WORDS.iter().all(|word| named(word)));
    assert!(SHIPPED.iter().all(|one| named(one.name)));
}
