//! What a scenario describes, as plain data in SI: the site, the station, the vehicle, the order, the operator, the expectations.

use serde::Serialize;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::order::PHASE_COUNT;
use valvewright_core::token::{Part, Typed};

use super::expect::Expect;
use crate::evidence::Id;
use crate::fault::Planned;
use crate::logic::Property;

/// One job on one vehicle, or several in a row on one station. Vehicle, order, operator and expectations are those of the first job;
/// [`Scenario::jobs`] gives them all.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scenario {
    /// Short name: letters, digits, `_` and `-`; results go to a folder of this name.
    pub name: String,
    /// One line for lists.
    pub title: String,
    /// What is told, in a few sentences.
    pub summary: String,
    /// Ids of rows, faults and others that the file shows; none in most files.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shows: Vec<Id>,
    /// Seed of everything random.
    pub seed: u64,
    /// Simulated time after which a job is given up, s (60 to 86 400), counted from its start.
    pub time_limit: f64,
    /// Where it happens.
    pub site: Site,
    /// The service station.
    pub station: Station,
    /// The vehicle.
    pub vehicle: Vehicle,
    /// What is ordered.
    pub order: Order,
    /// Who serves the station.
    pub operator: Operator,
    /// What shall come of it.
    pub expect: Expect,
    /// What breaks.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<Planned>,
    /// What shall hold while it runs.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub properties: Vec<Property>,
    /// The jobs after the first, in their order; none in most files.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub then: Vec<Job>,
}

/// A job of a row.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Job {
    /// Time from the end of the job before until this one begins, in which the vehicles change, s (60 to 86 400); 0 for the first.
    pub after: f64,
    /// The vehicle as it comes.
    pub vehicle: Vehicle,
    /// What is ordered.
    pub order: Order,
    /// Who serves the station; the times of planned acts count from the start of the job.
    pub operator: Operator,
    /// What shall come of it.
    pub expect: Expect,
    /// What breaks; times count from the start of the job.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<Planned>,
    /// What shall hold while it runs.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub properties: Vec<Property>,
}

/// The workshop.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Site {
    /// Air temperature, K.
    pub ambient: f64,
    /// Air pressure, Pa.
    pub barometer: f64,
    /// Relative humidity, 0 to 1.
    pub humidity: f64,
}

/// The service station at the start of the job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Station {
    /// The refrigerant it is built and filled for.
    pub refrigerant: Refrigerant,
    /// Refrigerant in the vessel, kg.
    pub vessel_content: f64,
    /// Air in the vessel, kg.
    pub vessel_air: f64,
    /// Temperature of vessel and station, K; the ambient's where the file says nothing.
    pub temperature: f64,
    /// How long the vessel has been left alone before the job, s; its air can only be judged after four hours.
    pub rested: f64,
    /// Kind of oil in the new-oil bottle.
    pub new_oil: OilKind,
    /// Oil in the new-oil bottle, m3.
    pub new_oil_amount: f64,
    /// Period of the controller's scan, s (0.01 to 0.1).
    pub scan: f64,
    /// The station's file: name of a shipped one, or path; the first shipped one where absent.
    pub network: Option<String>,
    /// The other of the two refrigerants in the hoses, kg, as a refused vehicle leaves it there; the record says so then.
    pub foreign_in_hoses: f64,
    /// What its record store holds when the job begins.
    pub record: Record,
}

/// What the record store of a station holds when the job begins; nothing of it, as after commissioning, by default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Record {
    /// Refrigerant that went through the filter-drier, kg (WQI-1).
    pub drier_used: f64,
    /// How long P-1 ran on its oil, s (KQI-1).
    pub pump_oil_used: f64,
    /// A replacement was broken off between its code and its new life.
    pub replacement_broken_off: bool,
    /// Nothing of it can be read.
    pub lost: bool,
    /// The hoses were not flushed since they were open to a vehicle without high voltage.
    pub not_flushed: bool,
    /// The program is another than the one under which the scales were last seen to weigh.
    pub program_changed: bool,
    /// By how much of itself the span of the vessel scale on record differs from the one in use; none on record where absent.
    pub span_differs: Option<f64>,
}

/// The vehicle's circuit and what is in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Vehicle {
    /// Its name in a row of vehicles, fit for a folder; none where the file has one vehicle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What it is, for readers.
    pub label: String,
    /// Refrigerant on its under-bonnet label.
    pub refrigerant: Refrigerant,
    /// Charge on that label, kg.
    pub charge_label: f64,
    /// Refrigerant in the circuit now, all kinds together, kg.
    pub content: f64,
    /// What that refrigerant really is.
    pub gas: GasMix,
    /// Air in the circuit, kg.
    pub air: f64,
    /// Liquid water in the circuit, kg.
    pub water: f64,
    /// Inner volumes of the circuit.
    pub volumes: Volumes,
    /// Kind of oil in its compressor.
    pub oil: OilKind,
    /// Oil in the circuit, m3.
    pub oil_amount: f64,
    /// Diameter of a leak hole, m; 0 is tight.
    pub leak: f64,
    /// Where the leak is.
    pub leak_side: Side,
    /// Its compressor is driven by high voltage.
    pub high_voltage: bool,
    /// It is no vehicle: the piece of pipe between the couplers that the station's flush port is.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub flush_port: bool,
    /// Air temperature about the circuit, K; the ambient's where the file says nothing.
    pub engine_bay: f64,
}

/// Inner volumes of a vehicle's circuit, m3.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Volumes {
    /// Condenser, liquid line and discharge line.
    pub high_side: f64,
    /// Evaporator and suction line.
    pub low_side: f64,
    /// Accumulator or receiver on the low side.
    pub accumulator: f64,
}

impl Volumes {
    /// All of them, m3.
    pub fn total(&self) -> f64 {
        self.high_side + self.low_side + self.accumulator
    }
}

/// Mass shares of what is in the circuit, without air; they sum to 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GasMix {
    /// R-1234yf.
    pub r1234yf: f64,
    /// R-134a.
    pub r134a: f64,
    /// Hydrocarbons (propane, butane).
    pub hydrocarbon: f64,
    /// Any other refrigerant.
    pub other: f64,
}

impl GasMix {
    /// One refrigerant alone.
    pub const fn pure(refrigerant: Refrigerant) -> Self {
        let none = Self { r1234yf: 0.0, r134a: 0.0, hydrocarbon: 0.0, other: 0.0 };
        match refrigerant {
            Refrigerant::R1234yf => Self { r1234yf: 1.0, ..none },
            Refrigerant::R134a => Self { r134a: 1.0, ..none },
        }
    }
}

pub use super::oil::OilKind;

/// A side of the circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Low side.
    Low,
    /// High side.
    High,
}

/// Phases and couplers are the controller's own; a file names a phase by [`Phase::name`].
pub use valvewright_core::job::{PhaseKind as Phase, Sides};
pub use valvewright_core::order::Procedure;

/// Words of scenario files for the phases, in the order of [`Phase::ALL`].
pub const PHASE_WORDS: [&str; PHASE_COUNT] = {
    let (mut words, mut at) = ([""; PHASE_COUNT], 0);
    while at < PHASE_COUNT {
        words[at] = Phase::ALL[at].name();
        at += 1;
    }
    words
};

/// The work order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Order {
    /// Phases in the order in which they run.
    pub phases: Vec<Phase>,
    /// Refrigerant to charge, kg; 0 when the order does not charge.
    pub charge: f64,
    /// Shortest evacuation, s.
    pub evacuate_time: f64,
    /// Pressure to be reached in evacuation, Pa absolute.
    pub evacuate_depth: f64,
    /// Length of the vacuum hold of the leak check, s.
    pub leak_hold: f64,
    /// Nitrogen over the barometer in the pressure test, Pa.
    pub test_over: f64,
    /// Length of the pressure test, s.
    pub test_hold: f64,
    /// New oil to inject, m3. 0 leaves the injection out.
    pub inject_oil: f64,
    /// Couplers that the vehicle has.
    pub sides: Sides,
    /// The procedure of upkeep, and the mass that it goes by, kg; none where another order is given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub upkeep: Option<(Procedure, f64)>,
}

impl Order {
    /// Whether the phase is ordered.
    pub fn has(&self, phase: Phase) -> bool {
        self.phases.contains(&phase)
    }
}

/// What the operator can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Act {
    /// Yes to the open question.
    Confirm,
    /// No to the open question.
    Decline,
    /// Hold the running phase.
    Pause,
    /// Go on.
    Resume,
    /// End the order.
    Abort,
    /// Press the reset button.
    Reset,
    /// Press the emergency stop (HS-1).
    EmergencyStop,
    /// Release the emergency stop.
    ReleaseStop,
    /// Open the service door (ZS-1).
    OpenDoor,
    /// Shut it.
    ShutDoor,
    /// Take the couplers off the vehicle (ZS-2).
    Uncouple,
    /// Put them on.
    Couple,
    /// Type the code of a part that was exchanged; which, and the code, stand beside it.
    Exchange,
    /// Do by hand what the open question asks, and say yes.
    DoAsAsked,
}

impl Act {
    /// Every act.
    pub const ALL: [Self; 14] = [
        Self::Confirm,
        Self::Decline,
        Self::Pause,
        Self::Resume,
        Self::Abort,
        Self::Reset,
        Self::EmergencyStop,
        Self::ReleaseStop,
        Self::OpenDoor,
        Self::ShutDoor,
        Self::Uncouple,
        Self::Couple,
        Self::Exchange,
        Self::DoAsAsked,
    ];
    /// Its word in scenario files.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }
    /// Words of scenario files, in the order of [`Act::ALL`].
    pub const WORDS: [&'static str; 14] = [
        "confirm",
        "decline",
        "pause",
        "resume",
        "abort",
        "reset",
        "emergency_stop",
        "release_stop",
        "open_door",
        "shut_door",
        "uncouple",
        "couple",
        "exchange",
        "do_as_asked",
    ];
}

/// When the operator acts.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Trigger {
    /// At this simulated time, s.
    At(f64),
    /// When a phase begins.
    PhaseStart(Phase),
    /// When a notice of this id is given.
    Notice(String),
}

/// One thing the operator does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlannedAct {
    /// What sets it off; each planned act is done once.
    pub when: Trigger,
    /// Delay after that, s.
    pub after: f64,
    /// The act.
    pub act: Act,
    /// Of an exchange: the part, and its code as it is typed.
    pub exchange: Option<(Part, Typed)>,
}

/// How questions of the station are answered that no planned act answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Answers {
    /// Yes.
    Confirm,
    /// No.
    Decline,
    /// Not at all.
    None,
}

/// The operator.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Operator {
    /// How questions are answered as a rule.
    pub answers: Answers,
    /// How long an answer takes, s.
    pub delay: f64,
    /// The order is given so long after the job begins, s: what is done before it is done at an idle station.
    pub begins: f64,
    /// The reference weight that is really put on a platform, kg; the ordered one where absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weight: Option<f64>,
    /// The vessel that is put in comes full of air, and not evacuated.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub vessel_of_air: bool,
    /// What is done beside that.
    pub acts: Vec<PlannedAct>,
}
