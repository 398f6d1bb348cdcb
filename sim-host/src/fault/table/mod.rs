//! The injections of all faults, in the order of the catalogue and by the rooms that it has.

mod actuators;
mod bridges;
mod conditions;
mod detectors;
mod loops;
mod machine;
mod people;
mod supply;

use super::catalogue::FaultId;
use super::injection::Injection;

/// All of them, by the rooms of the catalogue.
const ALL: &[&[Injection]] = &[
    loops::ALL,
    bridges::ALL,
    detectors::ALL,
    actuators::ALL,
    supply::ALL,
    machine::ALL,
    people::ALL,
    conditions::ALL,
];

/// All of them, by number.
pub fn injections() -> impl Iterator<Item = &'static Injection> {
    ALL.iter().copied().flatten()
}

/// The injection of a fault.
pub fn find(id: FaultId) -> Option<&'static Injection> {
    injections().find(|one| one.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::catalogue;
    use crate::fault::injection::Given;

    #[test]
    fn every_line_of_the_catalogue_has_its_injection_and_the_other_way_round() {
        let ids: Vec<String> = injections().map(|one| one.id.to_string()).collect();
        let lines: Vec<String> = catalogue::entries().iter().map(|one| one.id.clone()).collect();
        assert_eq!(ids, lines);
    }

    #[test]
    fn every_mode_of_every_fault_does_something_at_every_tag_and_severity() {
        for one in injections().filter(|one| one.refused.is_none()) {
            assert!(!one.modes.is_empty() && !one.tags.is_empty(), "{}", one.id);
            let named = one.modes.iter().filter(|mode| !mode.name.is_empty()).count();
            assert!(one.modes.len() == 1 && named == 0 || named == one.modes.len(), "{}: names of its modes", one.id);
            for (mode, tag) in one.modes.iter().flat_map(|mode| one.tags.iter().map(move |tag| (mode, tag))) {
                let usual = mode.severity.map_or(0.0, |severity| {
                    let text = severity.text(severity.usual_si());
                    severity
                        .read(&text)
                        .unwrap_or_else(|why| panic!("{}: its usual `{text}` is refused: {why:?}", one.id))
                });
                assert!(!(mode.does)(&Given { severity: usual, tag }).is_empty(), "{} {}", one.id, mode.name);
            }
        }
    }

    #[test]
    fn severities_out_of_range_nil_or_nonsense_are_refused_with_what_is_accepted() {
        for mode in injections().flat_map(|one| one.modes) {
            let Some(severity) = mode.severity else { continue };
            let (low, high) = (*severity.range_si().start(), *severity.range_si().end());
            for si in [low - (high - low), high + (high - low)] {
                let (_, help) = severity.read(&severity.text(si)).expect_err("outside");
                assert!(help.contains("accepted"), "{help}");
            }
            assert!(severity.read("full").is_err() && severity.read("").is_err() && severity.read("NaN bar").is_err());
        }
    }
}
