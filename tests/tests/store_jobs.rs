//! Power goes at every step of the flash in whole jobs of the controller, once and twice, and comes and goes: the station comes up with nothing but the
//! fan on, finds what was acknowledged or what was being stored, tells the order that was broken off, takes no burnt code, and owes what it owed.
//!
//! The longer form: `cargo run --release -p valvewright-tests --example cuts`.

use valvewright_core::token::Typed;
use valvewright_tests::job_cuts::{Count, brown_outs, pairs, singles};

/// The code that the exchange of the filter-drier is typed.
const CODE: &str = "48002-ZJKS8-NGPR9-R";

fn tried(what: &str, name: &str, done: Result<Count, String>) -> Count {
    let count = done.unwrap_or_else(|wrong| panic!("{what} in {name}, {wrong}"));
    println!("{what} in {name}: {count:?}");
    count
}

/// In every phase of a service: what it had charged is told to the step in which it is kept, and no counter falls.
/// Shows F077, F084, F085, H18, H24.
#[test]
fn a_service_that_power_breaks_off_at_any_step_of_the_flash_is_told() {
    let count = tried("single cuts", "mild_hatchback", singles("mild_hatchback", 1, None));
    assert!(count.points > 3_000 && count.interrupted > 3_000, "{count:?}");
}

/// A code is burnt or it is not, in each step of its exchange: burnt, it is refused ever after, and the leak check stays owed.
/// Shows F084, F085, H17, LC8.
#[test]
fn an_exchange_that_power_breaks_off_at_any_step_of_the_flash_gives_no_second_life() {
    let code = Typed::read(CODE);
    let count = tried("single cuts", "filter_drier_exchange", singles("filter_drier_exchange", 1, code));
    assert!(count.points > 1_500 && count.burnt > 300 && count.fresh > 150, "{count:?}");
}

/// The span in use is the one on record, old or new, and a procedure given anew comes to its end.
/// Shows F084, F085, H15.
#[test]
fn a_calibration_and_a_bump_test_that_power_breaks_off_leave_old_or_new() {
    for name in ["vessel_scale_calibration", "gas_detector_test"] {
        let count = tried("single cuts", name, singles(name, 5, None));
        // A detector that is still given test gas trips, and its test is not begun anew.
        let ended = if name == "gas_detector_test" { count.ended[1] } else { count.ended[0] };
        assert!(count.points > 900 && ended > 0, "{count:?}");
    }
}

/// A second cut at each step of the start that follows.
/// Shows F084, F085, F091, H17.
#[test]
fn power_that_goes_again_in_the_start_after_a_cut_leaves_old_or_new() {
    for name in ["filter_drier_exchange", "vessel_scale_calibration"] {
        let count = tried("pairs of cuts", name, pairs(name, 8));
        assert!(count.points > 500, "{count:?}");
    }
}

/// I30 holds what starts too often, and the order that was broken off is still told when power stays.
#[test]
fn power_that_comes_and_goes_twenty_times_loses_nothing() {
    for (name, every) in [("mild_hatchback", 20), ("filter_drier_exchange", 12), ("vessel_scale_calibration", 3)] {
        let count = tried("brown-outs", name, brown_outs(name, every));
        assert!(count.points > 10 && count.interrupted > 0, "{count:?}");
    }
}
