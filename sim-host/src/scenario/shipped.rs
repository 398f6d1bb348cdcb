//! The scenarios that come with the program.

use super::diagnostic::Source;
pub use super::fault_files::{FAULTS, Shipped};

/// Run when the command is given no arguments.
pub const DEMO: &str = "mild_hatchback";

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(Shipped { name: $name, text: include_str!(concat!("../../scenarios/", $name, ".toml")) }),*]
    };
}

macro_rules! upkeep {
    ($($name:literal),* $(,)?) => {
        &[$(Shipped { name: $name, text: include_str!(concat!("../../scenarios/upkeep/", $name, ".toml")) }),*]
    };
}

/// Every shipped scenario, the demo first.
pub const SHIPPED: &[Shipped] = shipped![
    "mild_hatchback",
    "hot_yard",
    "cold_morning",
    "small_leak",
    "large_leak",
    "wet_circuit",
    "new_condenser",
    "mountain_repair",
    "nearly_empty",
    "harvester",
    "city_bus",
    "fresh_off_the_road",
    "in_from_the_frost",
    "vessel_nearly_empty",
    "vessel_nearly_full",
    "pumped_over_lunch",
    "very_wet",
    "fine_leak",
    "forgotten_seal",
    "shipped_under_nitrogen",
    "proof_under_nitrogen",
    "proof_that_fails",
    "single_port",
    "yard_coach",
    "cold_vessel",
    "monday_morning",
];

/// Scenarios that put one question to the interlock table: where what answers one hazard leads towards another, and what may not be done
/// before it is earned.
pub const QUESTIONS: &[Shipped] = shipped![
    "fan_through_every_trip",
    "stopped_with_liquid_in_the_lines",
    "restart_on_a_full_separator",
    "heater_behind_a_hot_car",
    "purge_at_a_cost",
    "charge_goes_on_from_the_ledger",
    "hoses_under_a_latched_trip",
    "permissions_are_earned",
    "filter_at_its_limit",
    "filter_exchanged",
    "replacement_broken_off",
    "span_set_with_a_wrong_weight",
    "hybrid_before_the_flush",
    "foreign_in_hoses",
];

/// Procedures of upkeep: each done, and each refused or failed.
pub const UPKEEP: &[Shipped] = upkeep![
    "check_weight",
    "check_weight_fails",
    "decontaminate",
    "decontaminate_full_cylinder",
    "fill_vessel",
    "fill_vessel_foreign_gas",
    "fill_vessel_no_room",
    "flush_hoses",
    "flush_not_on_port",
    "filter_drier_exchange",
    "filter_drier_under_pressure",
    "gas_detector_blind",
    "gas_detector_test",
    "identifier_check",
    "identifier_check_fails",
    "internal_leak_check",
    "internal_leak_found",
    "internal_leak_stuck_gauge",
    "new_oil_scale_calibration",
    "oil_scale_calibration",
    "oil_scale_wrong_weight",
    "pressure_switch_stuck",
    "pressure_switch_test",
    "pump_oil_change",
    "pump_oil_wrong_code",
    "relief_valve_exchange",
    "relief_valve_not_exchanged",
    "restore_record",
    "restore_record_sound",
    "restore_record_wrong_code",
    "sample_filter_change",
    "sample_filter_not_changed",
    "vessel_change",
    "vessel_change_not_evacuated",
    "vessel_change_under_pressure",
    "vessel_scale_calibration",
    "vessel_scale_wrong_weight",
];

/// The source of a shipped scenario, those of questions, faults and upkeep among them.
pub fn source(name: &str) -> Option<Source> {
    SHIPPED
        .iter()
        .chain(QUESTIONS)
        .chain(FAULTS)
        .chain(UPKEEP)
        .find(|one| one.name == name)
        .map(|one| Source::new(format!("{name}.toml"), one.text))
}
