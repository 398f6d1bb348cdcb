//! What a scenario expects of its run.

use serde::Serialize;

use crate::report::data::{Outcome, Verdict};

/// What shall come of a run. What is absent is not judged, but the verdict always is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Expect {
    /// How the order ends; `pass` where the file says nothing.
    pub verdict: Verdict,
    /// How single phases end, by the word of the phase.
    pub phases: Vec<(String, Outcome)>,
    /// The leak check's verdict.
    pub leak: Option<String>,
    /// Largest difference between shown and true recovered mass, kg.
    pub recovered_within: Option<f64>,
    /// Smallest true share of the content that is recovered, 0 to 1.
    pub recovered_share: Option<f64>,
    /// Longest recovery, s.
    pub recovery_time: Option<f64>,
    /// Largest difference between ordered and true charge, kg.
    pub charged_within: Option<f64>,
    /// Exactly these interlock rows trip, in any order; `Some` of nothing means none does.
    pub trips: Option<Vec<String>>,
    /// Exactly these hazards come to their accident level, in any order; of nothing, none does. Where the file is silent, none may.
    pub hazards: Option<Vec<String>>,
    /// Longest job, s.
    pub job_time: Option<f64>,
    /// Most refrigerant that may go into the air, in truth, kg.
    pub escaped_most: Option<f64>,
    /// Most refrigerant that may be in the vessel, in truth, kg.
    pub vessel_most: Option<f64>,
    /// Largest share of the vessel that may be full of liquid, in truth, 0 to 1.
    pub vessel_level_most: Option<f64>,
}

impl Default for Expect {
    fn default() -> Self {
        Self {
            verdict: Verdict::Pass,
            phases: Vec::new(),
            leak: None,
            recovered_within: None,
            recovered_share: None,
            recovery_time: None,
            charged_within: None,
            trips: None,
            hazards: None,
            job_time: None,
            escaped_most: None,
            vessel_most: None,
            vessel_level_most: None,
        }
    }
}
