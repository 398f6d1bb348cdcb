//! What the job and the loop tell the interlocks, beside the readings.

use crate::frame::Actuators;
use crate::kept::KeptFacts;
use crate::machine::MachineFacts;
use crate::row::WatchSet;
use crate::units::{AbsPa, Milligram};

/// What the job and the loop tell the interlocks. Everything false and empty is the safest set: nothing is permitted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Facts {
    /// The gas was identified on this connection, fits, and the verdict is fresh (I05).
    pub identity_pass: bool,
    /// The leak check passed on this connection and the verdict is fresh (I14).
    pub leak_pass: bool,
    /// The circuit holds no refrigerant worth recovering (I11).
    pub circuit_empty: bool,
    /// Hose pressure has stood for a watched minute (I11).
    pub hoses_stand: bool,
    /// Pressure of the air around the station; zero permits no vacuum pump.
    pub barometer: AbsPa,
    /// A rested vessel shows non-condensables (I06).
    pub purge_permitted: bool,
    /// Measured charge rate outside 0.3-3 times the model for 2 s (I08).
    pub charge_flow_wrong: bool,
    /// A commanded effect did not follow in time (I19).
    pub effect_mismatch: bool,
    /// The vessel scale moved more than 5 g in 10 s with all valves shut (I20).
    pub scale_creep: bool,
    /// The heater is on and the wall does not warm (I12).
    pub heats_nothing: bool,
    /// One contactor of the heater is on and its skin warms (I12).
    pub heater_welded: bool,
    /// The station has no heater: TT-3 trips nothing and holds nothing (I12).
    pub no_heater: bool,
    /// Of [`WatchSet::FOUND`], the conditions that are seen not to stand.
    pub well: WatchSet,
    /// The last scan came late (I08).
    pub scan_late: bool,
    /// Five air changes by K-1 are done and FSL-1 was seen open before (I28).
    pub air_proven: bool,
    /// The fan is off on purpose for the FSL-1 test; nothing else is on.
    pub air_test: bool,
    /// Most the vessel may hold now (I02); zero or less trips.
    pub fill_limit: Milligram,
    /// A reference weight may lie on the vessel's platform, and be put on or taken off, or the vessel itself be changed.
    pub weight_on: bool,
    /// Outputs of the last scan, after the gate.
    pub applied: Actuators,
    /// What the job wants on.
    pub wanted: Actuators,
    /// The rail's relay is held open, or has just closed (I30).
    pub rail_dead: bool,
    /// The rail did not follow its relay in the self-test (I26).
    pub self_test_failed: bool,
    /// What the controller finds out about its own machine.
    pub machine: MachineFacts,
    /// What outlived power, and how the station started.
    pub kept: KeptFacts,
}
