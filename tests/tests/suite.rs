//! Every check that runs the crates as a user would, in one program: one link instead of forty.
//!
//! A name says what is checked: `fluid_*` properties, `rig_*` and `flow_*` plant against reference solutions, `sense_*`, `interlock_*`, `drive_*`,
//! `station_*` and `job_*` the controller and whole jobs, `port_*` the adapters of a board, `scenario_*` files, `cli_*` the command,
//! `report_*` results, `docs_*` the book. One of them alone: `cargo test -p valvewright-tests --test suite rig_reference`.

mod board_compare;
mod cli_bench;
mod cli_board;
mod cli_input;
mod cli_random;
mod cli_verbs;
mod core_fluid;
mod core_formats;
mod docs_interlocks;
mod docs_links;
mod drive_order;
mod effect_checks;
mod flow_reference;
mod fluid_data;
mod fluid_pairs;
mod fluid_reference;
mod fluid_solvers;
mod fluid_transport;
mod fluid_water;
mod fluid_worked;
mod identifier_line;
mod instrument_identifier;
mod instrument_scale;
mod instrument_signals;
mod interlock_bench;
mod interlock_matrix;
mod interlock_rows;
mod job_contents;
mod job_operator;
mod job_random;
mod job_standard;
mod job_whole;
mod leak_shape;
mod link_session;
mod order_limits;
mod port_bench;
mod port_board;
mod port_inbox;
mod port_loops;
mod port_pins;
mod port_serial;
mod port_watchdog;
mod report_files;
mod report_page;
mod report_sample;
mod rig_keys;
mod rig_plant;
mod rig_reference;
mod scale_weighing;
mod scenario_expect;
mod scenario_files;
mod scenario_random;
mod scenario_reader;
mod scenario_schema;
mod sense_channels;
mod station_charge;
mod station_identify;
mod station_random;
mod trip_words;
mod units;
mod vessel_air;
mod worked_examples;
