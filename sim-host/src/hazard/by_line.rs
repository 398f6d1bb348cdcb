//! Pipes, hoses and valves: H03 locked liquid, H14 ways that are open though told to be shut, H25 couplers that come off.

use valvewright_core::frame::ACTUATOR_COUNT;

use crate::plant::Plant;
use crate::report::data::{Kind, What};

use super::limits;
use super::sight::{SECTIONS, Sight, Values};
use super::span::{Positions, Span};
use super::track::Finding;

/// What H03 is judged by.
pub const SHARE: What = What { words: "of a pipe that is shut at all its ends full of liquid", kind: Kind::Share };
/// The same when it is full.
const LOCKED: What = What { words: "in a pipe that is full of liquid and shut at all its ends", kind: Kind::Pressure };
/// What H14 is judged by.
pub const PASSED: What = What { words: "through a way that was told to be shut", kind: Kind::Mass };
/// What H25 is judged by.
pub const HOSE: What = What { words: "in a hose whose coupler came off under pressure", kind: Kind::Mass };

/// Sections that are hoses.
const HOSES: [usize; 2] = [0, 1];

/// H03 at one moment, of all sections; `plant` stands at it or close by, for the openings.
pub fn locked(values: &Values, sight: &Sight, plant: &Plant) -> Finding {
    let mut worst = Finding::calm(&SHARE);
    for at in 0..SECTIONS.len() {
        let [share, pressure, ..] = values.section(at);
        // Half full is far from it, and most are: their ends are not worth a look.
        if share <= 0.5 * limits::LOCKED_FULL || !sight.shut(plant, at) {
            continue;
        }
        worst = worst.or(if share > limits::LOCKED_FULL {
            Finding::on(&limits::LOCKED_PRESSURE, pressure, &LOCKED)
        } else {
            Finding { margin: 1.0 - 0.5 * share / limits::LOCKED_FULL, figure: share, what: &SHARE }
        });
    }
    worst
}

/// H14: what has passed since all ways were shut indeed, kg.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Against {
    passed: f64,
}

impl Against {
    /// Findings at both ends of a span. `held` says that some actuator is not what it is told to be.
    pub fn judge(
        &mut self,
        span: &Span<'_>,
        sight: &Sight,
        plant: &Plant,
        leak_by: Option<&[f64; ACTUATOR_COUNT]>,
    ) -> (Finding, Finding) {
        let none = [0.0; ACTUATOR_COUNT];
        let leaks = leak_by.unwrap_or(&none);
        let before = self.passed;
        if leak_by.is_none() && span.at.acting == span.at.told {
            self.passed = 0.0;
            return (Finding::calm(&PASSED), Finding::calm(&PASSED));
        }
        let mut open = false;
        for way in sight.ways.iter().filter(|way| span.at.open_against_order(way.series, leaks)) {
            open = true;
            self.passed += plant.read(way.flow).abs() * span.length();
        }
        if !open {
            self.passed = 0.0;
            return (Finding::calm(&PASSED), Finding::calm(&PASSED));
        }
        let on = |mass: f64| Finding::on(&limits::PASSED, mass, &PASSED);
        (on(before), on(self.passed))
    }
}

/// H25 at the moment when couplers come off.
pub fn uncoupled(values: &Values, was: &Positions, now: &Positions) -> Option<Finding> {
    let opens = was.coupled && !now.coupled;
    let under = HOSES.iter().map(|at| values.section(*at)).filter(|[_, p, ..]| *p > limits::COUPLER_OPENS);
    let found = under.map(|[.., mass]| Finding::on(&limits::HOSE_HOLDS, mass, &HOSE).alerted());
    opens.then(|| found.fold(Finding::calm(&HOSE), Finding::or))
}
