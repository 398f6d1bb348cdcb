//! What is read against what is true: H15 the vessel's scale, H21 loops that look well and are wrong. Looked at once a second.

use valvewright_core::frame::{ANALOG_COUNT, Actuator, Analog, RawFrame, Scale};

use crate::instrument::Truth;
use crate::report::data::{Kind, What};

use super::catalogue::Id;
use super::facts::Station;
use super::limits;
use super::span::Positions;
use super::track::Finding;

/// What H15 is judged by.
pub const SCALE: What = What { words: "on WT-1 against what stands on it", kind: Kind::MassDifference };
/// The same while it measures a charge.
const MOVED: What =
    What { words: "by which WT-1 went wrong while something was charged by it", kind: Kind::MassDifference };
/// What H21 is judged by.
pub const BLIND: What = What { words: "for which a reading looked well and was wrong", kind: Kind::Time };

/// Counts of a converter for each milliampere (24 mA are 65 535 counts).
const PER_MA: f64 = 65_535.0 / 24.0;
/// A loop outside this is seen to be broken, mA (NAMUR NE 43).
const LOOKS_WELL: (f64, f64) = (3.8, 20.5);

/// A look at scale and loops.
#[derive(Debug)]
pub struct Look<'a> {
    /// What the instruments touch.
    pub truth: &'a Truth,
    /// What they gave.
    pub frame: &'a RawFrame,
    /// Speed of the fan in truth, rpm.
    pub fan_rpm: f64,
    /// What is on.
    pub at: &'a Positions,
    /// Time since the last look, s.
    pub since: f64,
}

/// H15.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Weighing {
    /// Errors of both bridges when the charge at hand began, kg.
    began: Option<[f64; 2]>,
    wrong: u32,
    moved: u32,
}

impl Weighing {
    /// Finding of one look. It alerts by the error itself; the accident is an error that moved while a charge was measured.
    pub fn judge(&mut self, look: &Look<'_>, station: &Station) -> Finding {
        let charges = look.at.charges();
        let relied = charges || look.at.recovers() && look.at.on(Actuator::C1);
        let truth = look.truth.m_vessel_kg;
        let errors = [Scale::Wt1A, Scale::Wt1B].map(|scale| {
            let (zero, per_kg) = station.scales[scale as usize];
            (f64::from(look.frame.scales[scale as usize].code) - zero) / per_kg - truth
        });
        if !relied {
            *self = Self::default();
            return Finding::calm(&SCALE);
        }
        let largest = |of: [f64; 2]| if of[0].abs() > of[1].abs() { of[0] } else { of[1] };
        let (fixed, share) = limits::SCALE_WRONG;
        let (error, limit) = (largest(errors), fixed + share * truth);
        let began = if charges { *self.began.get_or_insert(errors) } else { errors };
        if !charges {
            self.began = None;
        }
        let moved = largest([errors[0] - began[0], errors[1] - began[1]]);
        let count = |so_far: u32, wrong: bool| if wrong { so_far.saturating_add(1) } else { 0 };
        self.wrong = count(self.wrong, error.abs() > limit);
        self.moved = count(self.moved, moved.abs() > limits::SCALE_MOVED);
        if self.moved >= limits::SCALE_LOOKS {
            return Finding { margin: 1.0 - moved.abs() / limits::SCALE_MOVED, figure: moved, what: &MOVED }.happened();
        }
        let found = Finding { margin: 1.0 - 0.5 * (error.abs() / limit).min(1.0), figure: error, what: &SCALE };
        if self.wrong >= limits::SCALE_LOOKS {
            found.alerted()
        } else {
            Finding { margin: found.margin.max(0.51), ..found }
        }
    }
}

/// The hazards that a loop guards against.
const fn guards(input: Analog) -> &'static [Id] {
    match input {
        Analog::Pt1 => &[Id::H02, Id::H05, Id::H13, Id::H23],
        Analog::Pt2 | Analog::Pt3 => &[Id::H06, Id::H08, Id::H25],
        Analog::Pt4 => &[Id::H08, Id::H10, Id::H16],
        Analog::Pt5 => &[Id::H07, Id::H13],
        Analog::Tt1 => &[Id::H02, Id::H05, Id::H09],
        Analog::Tt2 | Analog::Tt3 | Analog::It1 => &[Id::H09],
        Analog::Tt4 => &[Id::H05, Id::H06, Id::H10],
        Analog::At2 => &[Id::H01],
        Analog::St1 => &[Id::H22],
        Analog::Et1 | Analog::Et2 => &[Id::H24],
    }
}

/// H21: each loop's truth as its device lags behind it, and for how many looks it has been wrong.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Blind {
    lagged: [Option<f64>; ANALOG_COUNT],
    wrong: [u32; ANALOG_COUNT],
}

impl Blind {
    /// Finding of one look. `stands` says whether a hazard is at its alert level or beyond: a loop that is blind while it is needed is
    /// an accident.
    pub fn judge(&mut self, look: &Look<'_>, station: &Station, stands: impl Fn(Id) -> bool) -> Finding {
        let mut worst = Finding::calm(&BLIND);
        for (at, truth) in touched(look).into_iter().enumerate() {
            let [low, high, lag, gain, offset, noise] = station.loops[at];
            let before = self.lagged[at].unwrap_or(truth);
            let follows = if lag > 0.0 { 1.0 - (-look.since / lag).exp() } else { 1.0 };
            let lagged = before + follows * (truth - before);
            self.lagged[at] = Some(lagged);
            let per_ma = (high - low) / 16.0;
            let current = f64::from(look.frame.analog[at]) / PER_MA;
            let ends = (low + (LOOKS_WELL.0 - 4.0) * per_ma, low + (LOOKS_WELL.1 - 4.0) * per_ma);
            let shown = low + (current - 4.0) * per_ma;
            let (times, for_long) = limits::BLIND;
            let tolerance = times * (gain * lagged.abs() + offset + noise);
            let looks_well = (LOOKS_WELL.0..=LOOKS_WELL.1).contains(&current);
            let wrong = (shown - lagged.clamp(ends.0, ends.1)).abs() > tolerance;
            let blind = looks_well && wrong && look.at.works();
            self.wrong[at] = if blind { self.wrong[at].saturating_add(1) } else { 0 };
            let time = f64::from(self.wrong[at]) * look.since;
            let margin = 1.0 - 0.5 * (time / f64::from(for_long)).min(1.0);
            let found = Finding { margin, figure: time, what: &BLIND };
            let needed = || Analog::ALL.get(at).is_some_and(|input| guards(*input).iter().any(|one| stands(*one)));
            worst = worst.or(if margin <= 0.5 && needed() { found.happened() } else { found });
        }
        worst
    }
}

/// What each loop touches, in the order of [`Analog`].
fn touched(look: &Look<'_>) -> [f64; ANALOG_COUNT] {
    let truth = look.truth;
    [
        truth.p_vessel,
        truth.p_low,
        truth.p_high,
        truth.p_vacuum,
        truth.p_separator,
        truth.t_vessel_wall,
        truth.t_discharge,
        truth.t_heater,
        truth.t_ambient,
        truth.lfl_share,
        truth.c1_current_a,
        look.fan_rpm,
        truth.supply_v,
        truth.rail_v,
    ]
}
