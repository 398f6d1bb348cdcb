//! What a run is made of: the plant alone goes where it went in the run, and a network's file is read as it stands.

use valvewright_sim::run::{PlantAlone, network_of};
use valvewright_tests::job_runs::{Run, scenario};

const WORKSHOP: &str = include_str!("../../sim-host/networks/workshop.toml");

/// To the last bit of what rounding left in the accounts.
#[test]
fn the_plant_alone_ends_where_it_ended_in_the_run() {
    for run in Run::all_shipped() {
        let result = run.result();
        let mut alone = PlantAlone::new(&run.scenario).expect("the plant can be built");
        alone.repeat(&run.outcome.moves, result.ticks);
        let balance = alone.plant().balance();
        assert_eq!(alone.plant().time(), result.sim_seconds);
        assert_eq!(balance.mass_error_kg * 1e3, result.mass_balance_error_g, "{}", run.replay());
        let energy = balance.energy_error_j.abs() / balance.energy_scale_j.max(1e-9);
        assert_eq!(energy, result.energy_balance_error_rel, "{}", run.replay());
    }
}

/// What was read of a file is kept from run to run, but not beyond a change of its text.
#[test]
fn a_network_file_that_changes_between_two_runs_is_read_anew() {
    let folder = tempfile::tempdir().expect("a folder for temporary files");
    let path = folder.path().join("network.toml").display().to_string();
    let mut job = scenario("mild_hatchback", &[], "");
    let shipped = format!("{:?}", network_of(&job));
    job.station.network = Some(path.clone());
    let read = |text: &str| {
        std::fs::write(&path, text).expect("the folder is writable");
        format!("{:?}", network_of(&job))
    };
    assert_eq!(read(WORKSHOP), shipped);
    let broken = read("[[volume]]");
    assert!(broken.contains("network.toml"), "a fault names its file: {broken}");
    let other = WORKSHOP.replacen("\nvolume = \"0.1 L\"", "\nvolume = \"0.2 L\"", 1);
    assert!(other != WORKSHOP, "the edit found its place");
    assert!(read(&other) != shipped, "a bigger discharge pipe was not seen");
    assert_eq!(read(WORKSHOP), shipped);
}
