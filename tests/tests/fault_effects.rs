//! Every fault of the catalogue can be injected, in each of its ways, and its work shows at its level beside a twin that lacks it alone.

use std::collections::BTreeSet;

use valvewright_sim::fault::injections;
use valvewright_tests::fault_scenes::SHOWN;

/// What cannot be injected, and must not be silently forgotten: by number.
const REFUSED: &[u8] = &[];

/// Shows LS5.
#[test]
fn every_fault_in_every_way_shows_its_work() {
    let mut unseen = Vec::new();
    for one in SHOWN {
        if let Some(why) = one.unseen() {
            unseen.push(format!("{}: {why}\n  replay: {}", one.fault, one.replay()));
        }
    }
    assert!(unseen.is_empty(), "{} of {} scenes:\n{}", unseen.len(), SHOWN.len(), unseen.join("\n"));
}

#[test]
fn every_way_of_every_fault_has_a_scene_and_what_is_refused_says_why() {
    let scenes: BTreeSet<String> = SHOWN
        .iter()
        .map(|one| {
            let mode = one.fault.split(' ').find_map(|word| word.strip_prefix("mode=")).unwrap_or_default();
            format!("{} {mode}", one.id())
        })
        .collect();
    let mut refused = Vec::new();
    for one in injections() {
        if let Some(why) = one.refused {
            assert!(why.len() > 20 && one.modes.is_empty(), "{}: {why}", one.id);
            refused.push(one.id.0);
            continue;
        }
        for mode in one.modes {
            let name = format!("{} {}", one.id, mode.name);
            assert!(scenes.contains(&name), "no scene shows {name}");
        }
    }
    assert_eq!(refused, REFUSED, "the faults that cannot be injected");
    assert_eq!(injections().count(), 138);
}

#[test]
fn a_fault_that_changes_nothing_is_found_to_change_nothing() {
    // A switch that is welded and closed anyhow, and a watchdog that is not needed: the proof above takes neither.
    for fault in ["F043", "F098"] {
        let mut scene = *SHOWN.iter().find(|one| one.fault == fault).expect("it has a scene");
        (scene.with, scene.span) = (&[], (20.0, 30.0));
        let why = scene.unseen();
        assert!(why.as_ref().is_some_and(|why| why.contains("nothing of it shows")), "{fault}: {why:?}");
    }
}
