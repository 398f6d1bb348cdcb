//! The controller alone on a scripted bench, without plant or simulator: builds and runs in seconds.
//!
//! `cargo test -p valvewright-core --test controller`; one area: the same with its name behind it.

mod air_windows;
mod answers;
mod attacker;
// The test crate uses what is not used here.
#[allow(dead_code)]
mod bench;
mod charge_traps;
mod charging;
mod codes;
mod connection;
mod connection_facts;
mod cross_checks;
mod cross_hoses;
mod decontaminate;
mod devices;
mod drive_moments;
mod drive_order;
mod effect_checks;
mod effect_limits;
mod effect_moments;
mod exchange;
mod flush;
mod found_rows;
mod gauge_moves;
mod give_up;
mod give_up_charge;
mod give_up_end;
mod give_up_gas;
mod give_up_oil;
mod give_up_order;
mod give_up_purge;
mod give_up_vacuum;
mod hose_rows;
mod interlock_bench;
mod interlock_matrix;
mod interlock_moments;
#[cfg(feature = "what-if")]
mod interlock_moved;
mod interlock_rows;
mod job_flow;
mod kept;
mod leak_shape;
mod live_loops;
mod machine;
mod nitrogen;
mod no_heater;
mod one_coupler;
mod order_limits;
mod pressure_test;
mod pump_inlet;
mod restore;
mod rows;
mod scale_witness;
mod short_vacuum;
mod station_identify;
mod upkeep;
mod vacuum;
mod vessel_change;
