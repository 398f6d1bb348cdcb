//! Every reason to give up is reached by a test that says when it comes; and what these tests share.

use valvewright_core::frame::Actuators;
use valvewright_core::job::flow::PhaseRecord;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::talk::Notice;

use crate::bench::Bench;

/// The last record of this kind.
pub fn record(bench: &Bench, kind: PhaseKind) -> Option<PhaseRecord> {
    bench.station.job().records().iter().rev().find(|r| r.kind == kind).copied()
}

/// Runs on until the phase has a record; `turn` turns the world before each scan, by the seconds since now. What the record
/// says, and how long the phase ran, s.
pub fn ends(bench: &mut Bench, kind: PhaseKind, turn: impl Fn(&mut Bench, f64)) -> (Outcome, f64) {
    // Eight hours: longer than any phase may run.
    for scan in 0..8 * 3_600 * 20 {
        turn(bench, f64::from(scan) * 0.05);
        bench.scan(None);
        if let Some(record) = record(bench, kind) {
            return (record.outcome, f64::from(record.lasted.0) / 1e3);
        }
    }
    panic!("{kind:?} does not end: {:?}", bench.notices)
}

/// The phase gives up for this reason after so many seconds, to the scan, and soon nothing is on but the fan.
pub fn gives_up_after(bench: &mut Bench, kind: PhaseKind, why: GiveUp, seconds: f64, turn: impl Fn(&mut Bench, f64)) {
    let (outcome, lasted) = ends(bench, kind, turn);
    assert_eq!(outcome, Outcome::Failed(why), "after {lasted} s: {:?}", bench.notices);
    assert!((lasted - seconds).abs() < 0.02, "{why:?} came after {lasted} s, not {seconds} s");
    all_off(bench);
}

/// The same, whenever it comes.
pub fn gives_up(bench: &mut Bench, kind: PhaseKind, why: GiveUp, turn: impl Fn(&mut Bench, f64)) {
    let (outcome, lasted) = ends(bench, kind, turn);
    assert_eq!(outcome, Outcome::Failed(why), "after {lasted} s: {:?}", bench.notices);
    all_off(bench);
}

/// The phase is skipped for this reason, and the order ends well.
pub fn skips(bench: &mut Bench, kind: PhaseKind, why: GiveUp, turn: impl Fn(&mut Bench, f64)) -> f64 {
    let (outcome, lasted) = ends(bench, kind, turn);
    assert_eq!(outcome, Outcome::Skipped(why), "after {lasted} s: {:?}", bench.notices);
    assert!(bench.notices.contains(&Notice::OrderEnded(true)), "{:?}", bench.notices);
    bench.seconds(2);
    assert_eq!(bench.on(), Actuators::SAFE);
    lasted
}

/// The order has ended without success, and once the vacuum pump has run down nothing is on but the fan.
pub fn all_off(bench: &mut Bench) {
    assert!(bench.notices.contains(&Notice::OrderEnded(false)), "{:?}", bench.notices);
    bench.seconds(3);
    assert_eq!(bench.on(), Actuators::SAFE);
}

/// Nothing changes.
pub fn as_it_is(_: &mut Bench, _: f64) {}

/// Somebody leans on this scale and lets go, each for a second, too lightly for a trip: it never comes to rest.
pub fn leant_on(scale: usize, rest: f64) -> impl Fn(&mut Bench, f64) {
    move |bench, t| bench.world.grams[scale] = rest + if t % 2.0 < 1.0 { 2.0 } else { -2.0 }
}

/// Grams of a ledger's entry.
pub fn grams(entry: valvewright_core::units::Milligram) -> f64 {
    f64::from(entry.0) / 1e3
}

/// For each reason the test that reaches it: a new reason does not build before its test is named here.
macro_rules! reached {
    ($(($variant:ident $($shape:tt)?) $test:ident)*) => {
        const REACHED: &[(&str, &str)] = &[$((concat!("GiveUp::", stringify!($variant)), stringify!($test))),*];

        const fn _every_reason_is_listed(why: GiveUp) {
            match why {
                $(GiveUp::$variant $($shape)? => {})*
            }
        }
    };
}

reached! {
    (NotCoupled) no_phase_begins_on_a_vehicle_that_is_not_there
    (ReadingBad) no_sample_is_taken_with_a_broken_hose_gauge
    (ScaleUnsteady) a_recovery_waits_two_minutes_for_a_scale_at_rest
    (PressureTooLow) a_sample_of_hose_air_is_not_taken
    (PressureTooHigh) a_sample_waits_five_minutes_for_pressure_to_fall
    (SampleFilterOily) an_oily_or_unseen_filter_takes_no_sample
    (IdentifierUnsure) a_silent_identifier_is_asked_three_times
    (GasRefused(_)) a_gas_is_judged_at_its_limits
    (RefusalStands(_)) a_refused_gas_stays_refused_until_the_couplers_move
    (NoIdentity) a_recovery_without_identity_does_not_begin
    (VesselFull) a_recovery_ends_at_the_fill_limit_and_books_what_came
    (RecoveryTimeout) a_recovery_that_never_ends_is_given_up_after_four_hours
    (DrawsAir) air_that_stands_over_the_vessel_after_a_pull_is_found_in_the_hold
    (KeepsRising) the_sixth_pull_is_the_last
    (PumpShallow(_)) a_depth_that_gauge_or_pump_keeps_away_ends_without_a_hold
    (PressureForVacuum) a_pump_waits_five_minutes_for_its_leave
    (NotRecovered) an_open_circuit_is_evacuated_on_the_operators_word_at_any_height
    (NoVacuum) a_circuit_that_does_not_come_down_in_five_minutes_is_open
    (GaugeNotLive) a_gauge_that_stays_at_its_top_is_given_up
    (Leaks) a_hold_above_the_span_of_its_gauge_is_a_leak
    (LeakStands) a_found_leak_outlives_a_second_look_at_the_same_vacuum
    (StillWet) a_wet_circuit_is_evacuated_three_times_and_no_more
    (NotReached(_)) a_charge_that_can_no_longer_follow_is_refused_in_the_record
    (NoLeakVerdict) a_charge_without_a_leak_verdict_does_not_begin
    (VesselLow { .. }) a_charge_needs_its_mass_above_the_heel
    (NoRoom { .. }) a_recovery_without_room_for_the_label_charge_does_not_start
    (ChargeStalled) a_stalled_charge_tries_each_remedy_and_ends
    (Declined) hoses_stay_on_while_their_couplers_are_open
    (Blocked) a_phase_that_is_held_off_for_ten_minutes_ends
    (NotRested) a_vessel_that_has_not_rested_is_not_purged
    (NothingToPurge) a_vessel_without_air_is_not_purged
    (PurgeLossLimit) a_purge_stops_at_its_loss_limit
    (PulsesSpent) a_purge_stops_after_ninety_pulses
    (NotOrdered) a_dose_too_small_is_skipped
    (HighVoltage) a_high_voltage_compressor_gets_no_oil
    (NoOil) an_empty_bottle_gives_no_oil
    (OilBottleFull) a_full_bottle_takes_no_oil
    (SeparatorPressure(_)) oil_is_not_drained_from_a_separator_left_under_pressure
    (GaugesDisagree) a_separator_above_the_hoses_that_feed_it_says_that_a_gauge_is_wrong
    (HosesDisagree(..)) a_gauge_that_stands_still_neither_passes_nor_accuses
    (NothingToRecover) a_whole_order_skips_the_recovery_of_air
    (HoldsRefrigerant(_)) a_circuit_under_refrigerant_is_refused_with_what_it_holds
    (NotReleased(_)) nitrogen_that_is_not_let_out_keeps_the_pump_shut
    (TestPressure(_)) a_wrong_test_pressure_a_no_and_silence_end_the_test
    (PressureFalls(_)) a_pressure_that_falls_is_a_leak_of_this_connection
    (TooShallow(_)) a_rise_after_a_short_shallow_evacuation_is_a_leak_only_the_third_time
    (PressureImplausible) static_pressures_must_fit_the_ambient
    (NoAnswer) an_oily_or_unseen_filter_takes_no_sample
    (TookTooLong) a_purge_that_waits_between_its_pulses_ends_after_four_hours
    (TripsAgain) the_ninth_trip_of_a_phase_ends_it
    (ScaleDisagrees) a_stuck_scale_ends_the_charge_before_its_tolerance_has_gone
    (Overcharged(_)) a_charge_is_judged_once_the_hoses_are_cleared
    (Undercharged(_)) a_charge_is_judged_once_the_hoses_are_cleared
    (CouplersMoved) an_order_ends_when_the_couplers_come_off
    (LineLoaded(_)) a_line_under_pressure_is_not_opened
    (WeightOff(_)) a_wrong_weight_adjusts_nothing
    (NoReturn(_)) a_platform_that_does_not_come_back_adjusts_nothing
    (NotProven) a_pressure_switch_that_stays_shut_is_not_proven
    (NotStored) a_procedure_whose_result_is_not_stored_is_not_done
    (RecordSound) a_sound_record_is_not_restored
    (FlushShort(_)) a_rinse_that_does_not_come_back_leaves_the_hoses_as_they_were
    (CylinderFull(_)) a_cylinder_that_takes_nothing_gets_nothing
    (NotEvacuated(_)) a_vessel_that_comes_under_pressure_is_not_taken
}

/// The text of this function, attributes included.
fn text_of<'a>(sources: &'a str, test: &str) -> Option<&'a str> {
    let at = sources.find(&format!("fn {test}()"))?;
    let from = sources[..at].rfind("\n\n").unwrap_or(0);
    let to = at + sources[at..].find("\n}\n")?;
    Some(&sources[from..to])
}

#[test]
fn every_reason_to_give_up_is_reached_by_a_test_that_names_it() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/controller");
    let files = std::fs::read_dir(folder).expect("the folder of this test").map(|file| file.expect("a file").path());
    let sources: String = files.map(|path| std::fs::read_to_string(path).expect("text")).collect();
    let lacks = REACHED.iter().filter(|(variant, test)| {
        // The pressing of a variant into a constant or a helper would hide it: the test itself must name it.
        text_of(&sources, test).is_none_or(|text| !text.contains("#[test]") || !text.contains(variant))
    });
    assert_eq!(lacks.collect::<Vec<_>>(), Vec::<&(&str, &str)>::new());
}
