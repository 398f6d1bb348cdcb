//! The book's pages of evidence, laws and worked examples are made from the tables: what is committed is what they say now.
//!
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- evidence docs_` writes them anew.

use crate::evidence_scan::{fresh, house, keep};
use valvewright_sim::evidence::pages;

#[test]
fn the_page_of_evidence_is_made_from_the_tables() {
    keep("docs/evidence.md", &pages::evidence(&fresh()));
}

#[test]
fn the_page_of_laws_is_made_from_the_tables() {
    keep("docs/laws.md", &pages::laws(&fresh()));
}

#[test]
fn the_page_of_worked_examples_is_made_from_the_tables() {
    keep("docs/worked.md", &pages::worked(&fresh()));
}

/// Every hazard, fault, law and worked example has its line in the book.
#[test]
fn every_id_has_its_place_in_the_book() {
    let read = |page: &str| std::fs::read_to_string(house().join("docs").join(page)).expect("a page");
    let (evidence, laws, worked) = (read("evidence.md"), read("laws.md"), read("worked.md"));
    let all = fresh();
    for one in &all.hazards {
        assert!(evidence.contains(&format!("\n## {}\n", one.id)), "{}", one.id);
        assert!(one.figure.iter().all(|figure| evidence.contains(&format!("\n| {} |", figure.id))), "{}", one.id);
    }
    for one in &all.faults {
        assert_eq!(
            evidence.matches(&format!("\n| {} |", one.id)).count(),
            one.hazards.len() + usize::from(all.open(one.id).is_some()),
            "{}",
            one.id
        );
    }
    assert!(all.laws.iter().all(|one| laws.contains(&format!("\n### {}\n", one.id))));
    assert!(all.examples.iter().all(|one| worked.contains(&format!("\n| {} |", one.id))));
    assert!(all.sources.iter().all(|one| worked.contains(&format!("\n| `{}` |", one.id))));
}
