//! The book's page of faults: its table is the catalogue's as the program has it, its example reads, and it names every key.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- docs_faults` writes the table anew.

use std::fs;
use std::path::PathBuf;

use valvewright_sim::fault::text;
use valvewright_sim::scenario::parse_fault;
use valvewright_tests::job_runs::scenario;

const HEAD: &str = "## The catalogue\n\n";

fn page() -> (PathBuf, String) {
    let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/faults.md"));
    let text = fs::read_to_string(&path).expect("docs/faults.md is there");
    (path, text)
}

#[test]
fn the_committed_table_is_made_from_the_catalogue() {
    let (path, text) = page();
    let (before, _) = text.split_once(HEAD).expect("it has the catalogue");
    let made = format!("{before}{HEAD}{}", text::book());
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        fs::write(&path, &made).expect("the page can be written");
    }
    let committed = page().1;
    assert!(committed == made, "docs/faults.md is not what the catalogue says: run with VALVEWRIGHT_WRITE=1");
}

#[test]
fn the_example_reads_and_every_key_is_named() {
    let (_, text) = page();
    let example = text.split("```toml").nth(1).and_then(|rest| rest.split("```").next()).expect("an example");
    assert_eq!(scenario("mild_hatchback", &[], example).faults.len(), 1);
    let help = parse_fault::read_words("F001 zzqx=1").expect_err("no such key");
    let help = help.iter().find_map(|one| one.help.as_deref()?.split_once("valid keys: ")).expect("the keys").1;
    let keys: Vec<&str> = help.split(", ").map(str::trim).collect();
    assert!(keys.len() > 15, "{keys:?}");
    let silent: Vec<_> = keys.iter().filter(|key| !text.contains(&format!("`{key}`"))).collect();
    assert!(silent.is_empty(), "docs/faults.md does not name {silent:?}");
}
