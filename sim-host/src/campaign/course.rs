//! A run from its fork, or its beginning, to the scan in which it is decided, and with healing on to the station's rest.

use valvewright_core::frame::Actuators;
use valvewright_core::job::PhaseKind;
use valvewright_core::job::flow::JobState;
use valvewright_core::row::RowSet;
use valvewright_core::talk::Command;

use super::case::Case;
use super::moments::place;
use super::one::{Fate, HELD_FOR, LONGEST, quiet_for};
use super::plan::Heal;
use super::progress::{Person, Rest};
use super::reacts::Reacts;
use crate::report::data::{HazardResult, RunResult};
use crate::run::{RunError, Scene, Seams, Simulation, Stand};
use crate::scenario::Scenario;

/// What came of a run.
pub struct Course {
    /// How it came to its end.
    pub fate: Fate,
    /// Judged numbers: of the order's end where healing went on behind it.
    pub result: RunResult,
    /// What became of each hazard to the run's end.
    pub hazards: Vec<HazardResult>,
    /// Digest of every frame and every output to the run's end.
    pub hash: String,
    /// Scans that were made.
    pub scans: u64,
    /// Simulated time at the end, s.
    pub end_s: f64,
    /// The length of a scan, s.
    pub scan_s: f64,
    /// From the first fault to the first scan in which nothing but the fan was on, s.
    pub safe_after: Option<f64>,
    /// From the fault to what its own scenario asks for, s.
    pub reaction: Option<f64>,
    /// How it came to rest after healing; none without healing.
    pub rest: Option<Rest>,
    /// Rows that stood, were latched or withheld something in a scan of it.
    pub acted: RowSet,
}

/// Rows that stand, are latched or withhold something after this scan. A run in which a row does so in no scan is the same without that row.
pub fn acting(run: &Simulation) -> RowSet {
    let rows = run.station().interlocks();
    rows.tripped().or(rows.standing()).or(rows.latched()).or(rows.withheld())
}

/// What is looked at scan by scan.
struct Looking<'a> {
    case: &'a Case,
    /// When the first fault began, s.
    began: Option<f64>,
    /// When the last one that has come came, s; moves on while one is waited for.
    came: f64,
    waits: bool,
    /// Which have come.
    seen: Vec<bool>,
    quiet_since: f64,
    was: (Option<PhaseKind>, &'static str),
    safe_after: Option<f64>,
    acted: RowSet,
}

impl<'a> Looking<'a> {
    /// Before the next scan of a run, as it would stand there had it looked at all scans before.
    fn new(case: &'a Case, run: &Simulation, scan: f64) -> Self {
        let waits = case.on_condition();
        let began = case.first();
        Self {
            case,
            began,
            came: 0.0,
            waits,
            seen: vec![false; case.faults.len()],
            quiet_since: (run.time() - scan).max(0.0),
            was: place(run),
            safe_after: None,
            acted: acting(run),
        }
    }

    /// Looks at the scan that was made at `t`.
    fn see(&mut self, run: &Simulation, t: f64) {
        self.acted = self.acted.or(acting(run));
        if self.waits {
            let acting = run.faults_acting();
            if self.began.is_none() && acting.contains(&true) {
                self.began = Some(t);
            }
            self.seen.iter_mut().zip(acting).for_each(|(seen, acts)| *seen |= acts);
            self.waits = self.seen.contains(&false);
        }
        let coming = t < self.case.last();
        if coming || self.waits {
            self.came = t;
        }
        let on = run.outputs().on.without(Actuators::SAFE);
        let now = place(run);
        if now != self.was || on != Actuators::NONE || coming {
            (self.was, self.quiet_since) = (now, t);
        }
        if let Some(began) = self.began.filter(|began| self.safe_after.is_none() && t >= *began - HALF)
            && on == Actuators::NONE
        {
            self.safe_after = Some(since(began, t));
        }
    }

    /// How it ends where nothing can come any more.
    fn decided(&self, run: &Simulation, t: f64) -> Option<Fate> {
        let state = run.station().job().state();
        if t - self.quiet_since > if state == JobState::Paused { HELD_FOR } else { quiet_for(run.order()) } {
            return Some(if matches!(state, JobState::Ended(_)) { Fate::Ended } else { Fate::Stands });
        }
        (!self.case.faults.is_empty() && t - self.came > LONGEST).then_some(Fate::Goes)
    }
}

/// Half of the shortest scan, s: two times nearer than this are one.
pub const HALF: f64 = 0.005;

/// Time from `began` to `t`, s, to the microsecond: what two times that are one differ by is no time.
pub fn since(began: f64, t: f64) -> f64 {
    ((t - began).max(0.0) * 1e6).round() / 1e6
}

/// Takes a run on to its end. Its faults are in it from its beginning, or come into it now, where it stands at the moment of the first.
///
/// # Errors
/// A fault cannot come in this job, with the reason.
pub fn take_on(
    case: &Case,
    scenario: &Scenario,
    (mut run, forked): (Simulation, bool),
    heal: Option<Heal>,
    reacts: Option<&Reacts>,
) -> Result<Course, RunError> {
    if forked {
        case.faults.iter().try_for_each(|fault| run.inject(fault))?;
    }
    let scan = scenario.station.scan;
    let mut looking = Looking::new(case, &run, scan);
    let mut reaction = reacts.and_then(|one| one.on(&run));
    let mut reacted = None;
    let (mut person, mut ended): (Option<Person<'_>>, Option<RunResult>) = (None, None);
    let (fate, rest) = loop {
        let t = run.time();
        let press = person.as_mut().and_then(|one| one.press(&run, t));
        let stand = pressed(&mut run, press)?;
        looking.see(&run, t);
        if let (Some(asked), Some(began)) = (&mut reaction, looking.began)
            && t >= began - HALF
            && run.is_so(asked)
        {
            reacted = Some(since(began, t));
            reaction = None;
        }
        if stand == Stand::Broken {
            break (Fate::Broken, person.map(|one| Rest { after: None, why: one.why(&run) }));
        }
        let Some(heal) = heal.filter(|_| !case.faults.is_empty()) else {
            if stand == Stand::Over {
                break (if ended_by_itself(&run) { Fate::Ended } else { Fate::Goes }, None);
            }
            if let Some(fate) = looking.decided(&run, t) {
                break (fate, None);
            }
            continue;
        };
        if stand == Stand::Over {
            if ended.is_none() {
                ended = Some(run.fork().finish().result);
            }
            run.go_on();
        }
        if person.is_none() && is_healed(case, &looking, (&run, stand), heal, t) {
            person = Some(Person::new(scenario, &run, t, heal.within));
        }
        if person.is_none() && t > looking.came.max(case.last()) + heal.after + LONGEST {
            break (
                Fate::Goes,
                Some(Rest { after: None, why: "a fault has an end of its own that never came".to_owned() }),
            );
        }
        if let Some(rest) = person.as_mut().and_then(|one| one.look(&run, t, scan)) {
            let fate = if ended_by_itself(&run) { Fate::Ended } else { Fate::Stands };
            break (fate, Some(rest));
        }
    };
    let hazards = run.hazards().map(|all| all.results()).unwrap_or_default();
    let (hash, scans, end_s) = (run.hash(), run.scans(), run.time());
    let result = ended.unwrap_or_else(|| run.finish().result);
    let Looking { safe_after, acted, .. } = looking;
    Ok(Course { fate, result, hazards, hash, scans, end_s, scan_s: scan, safe_after, reaction: reacted, rest, acted })
}

fn ended_by_itself(run: &Simulation) -> bool {
    !run.station().job().busy()
}

/// One scan, with what is pressed in it unless the scenario's operator presses something else.
fn pressed(run: &mut Simulation, press: Option<Command>) -> Result<Stand, RunError> {
    let Some(press) = press else { return run.step() };
    let mut hand = |scene: &mut Scene<'_>| {
        scene.operator.command.get_or_insert_with(|| press.clone());
    };
    run.scan(&mut Seams { faults: Some(&mut hand), observer: None })
}

/// All faults have come and gone, those aside whose work stays; or nothing comes any more before one of them.
fn is_healed(case: &Case, looking: &Looking<'_>, (run, stand): (&Simulation, Stand), heal: Heal, t: f64) -> bool {
    let over = looking.waits && (stand == Stand::Over || looking.decided(run, t).is_some());
    if !over && (looking.waits || t < looking.came.max(case.last()) + heal.after) {
        return false;
    }
    let acting = run.faults_acting();
    let stays = case.faults.iter().map(|one| one.injection().is_some_and(|injection| injection.stays));
    !acting.iter().zip(stays).any(|(acts, stays)| *acts && !stays)
}
