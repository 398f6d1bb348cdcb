//! The bounded proofs in a quick form: nothing forbidden is seen in any order of a few acts, and an error that is planted is found, with a way
//! that leads there again. The long form is the example `proof`; what it shows and hides stands in `docs/model.md`.

use std::fmt::Debug;
use std::hash::Hash;

use valvewright_core::row::{RowId, RowSet};

#[path = "../model/mod.rs"]
mod model;

use model::codes::Codes;
use model::drive::Drives;
use model::job::Jobs;
use model::locks::Locks;
use model::{Bounded, explore, replay};

/// Threads of a quick form.
const THREADS: usize = 2;

/// Nothing forbidden is seen in at least so many states, and what has to be reached is.
fn holds<M: Bounded>(model: M, states: usize)
where
    M::State: Clone + Hash + PartialEq + Debug + Send + Sync + 'static,
    M::Action: Clone + PartialEq + Debug + Send + Sync + 'static,
{
    let found = explore(model, THREADS, |_, _| ());
    println!("{} acts, {} states that differ, {:?}", found.tried, found.unique, found.took);
    assert!(found.way.is_none(), "{:?}", found.way);
    assert_eq!(found.unseen, Vec::<&str>::new(), "what is never reached shows nothing");
    assert!(found.unique >= states, "{} states that differ", found.unique);
}

/// Something of this kind is found, the way there leads there again, and without the error it leads nowhere.
fn is_found<M: Bounded>(planted: M, sound: M, what: &str) -> String
where
    M::State: Clone + Hash + PartialEq + Debug + Send + Sync + 'static,
    M::Action: Clone + PartialEq + Debug + Send + Sync + 'static,
{
    let again = |model: &M, numbers: &str| replay(model, numbers, |_, _| ()).expect("a way of this model");
    let starts = planted.starts();
    let found = explore(planted, THREADS, |_, _| ());
    let way = found.way.expect("a planted error is found");
    println!("{}: {} = {}", way.wrong, way.numbers, way.acts.join(", "));
    assert!(way.wrong.contains(what), "{way:?}");
    assert_eq!(
        way.acts[0],
        starts[way.numbers.split('/').next().and_then(|at| at.parse::<usize>().ok()).expect("a start")]
    );
    assert_eq!(again(&sound, &way.numbers), None, "it is the planted error that was found");
    way.numbers
}

/// Shows LC3.
#[test]
fn no_order_of_causes_buttons_phases_and_cuts_frees_a_latch_or_stops_the_fan() {
    holds(Locks { depth: 4, together: 1, bounces: false }, 30_000);
}

#[test]
fn no_order_of_wishes_and_inhibits_brings_the_drive_out_of_order() {
    holds(Drives { depth: 4, at_once: false }, 80_000);
}

#[test]
fn no_two_acts_in_the_middle_of_any_phase_show_what_may_not_be_seen() {
    holds(Jobs::new(2, "", RowSet::NONE), 4_000);
}

/// Shows H17.
#[test]
fn no_order_of_codes_and_power_cuts_buys_two_lives() {
    holds(Codes::new(3, false, false), 2_000);
}

#[test]
fn a_button_that_bounces_is_found() {
    let model = |bounces| Locks { depth: 4, together: 1, bounces };
    is_found(model(true), model(false), "without a fresh press");
}

#[test]
fn a_drive_without_dead_times_is_found() {
    let model = |at_once| Drives { depth: 3, at_once };
    is_found(model(true), model(false), "");
}

#[test]
fn an_emergency_stop_that_is_left_out_is_found() {
    let model = |rows| Jobs::new(1, "amid charge", rows);
    is_found(model(RowSet::one(RowId::Hs1)), model(RowSet::NONE), "emergency stop");
}

#[test]
fn a_store_that_forgets_burnt_codes_is_found() {
    let model = |forgets| Codes::new(4, forgets, false);
    is_found(model(true), model(false), "two lives");
}

#[test]
fn a_way_that_is_none_is_told() {
    let model = Drives { depth: 2, at_once: false };
    for (way, told) in [
        ("0", "a start and acts"),
        ("7/0", "starts go from 0 to 1"),
        ("0/99", "acts go from 0 to 20"),
        ("0/1.1.1", "nowhere"),
        ("0/1.2.3", "at its depth"),
    ] {
        let error = replay(&model, way, |_, _| ()).expect_err("no way");
        assert!(error.contains(told), "{way}: {error}");
    }
}
