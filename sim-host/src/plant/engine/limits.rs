//! Where a run ends because the plant's laws end, and what is said when a bound of the tables is met.

use super::Engine;
use crate::plant::fault::PlantFault;
use crate::plant::gas::ZERO_C;
use crate::plant::layout::NONE;
use crate::plant::node::{COLDEST, HOTTEST};
use crate::plant::spec::LawSpec;

/// Highest pressure with liquid data, Pa.
const HIGHEST: f64 = 20e6;
/// A heater's skin above this has burnt out, K (own choice: 600 degC).
const BURNT: f64 = 873.15;
/// Notes that are kept.
const MOST_NOTES: usize = 20;
/// Refrigerant below this share of the content's pressure leaves the temperature to the air, 1.
const PRESENT: f64 = 0.01;

impl Engine {
    /// Looks at the end of a step: sets a fault where a state has left what the laws cover, and notes bounds that are only passed by.
    pub(super) fn look(&mut self) {
        let Self { system, end, ahead: fault, notes, .. } = self;
        for (place, node) in system.parts.places.iter().zip(&end.nodes) {
            if !place.closed() {
                continue;
            }
            let celsius = node.t - ZERO_C;
            let made = |what: String, advice: &str| {
                Some(PlantFault { time: end.t, place: place.name.clone(), what, advice: advice.to_owned() })
            };
            let fluid = system.fluids.main;
            let present = node.p_r > PRESENT * node.p;
            if !node.p.is_finite() || !node.t.is_finite() {
                *fault = made(
                    "its state is no number".to_owned(),
                    "report this with the file: it is a fault of the program",
                );
            } else if node.p > HIGHEST {
                *fault = made(
                    format!(
                        "{:.0} bar abs is past the tables (at most {:.0} bar abs): full of liquid",
                        node.p / 1e5,
                        HIGHEST / 1e5
                    ),
                    "give it gas space, a relief valve or a `compliance`, or heat it less",
                );
            } else if present && node.t > fluid.t_max() || node.t >= HOTTEST - 1.0 {
                let most = if present { fluid.t_max() } else { HOTTEST };
                *fault = made(
                    format!("{celsius:.1} degC is past the tables (at most {:.0} degC)", most - ZERO_C),
                    "heat or compress it less, or let it give off heat",
                );
            } else if present && node.t < fluid.t_min() {
                note(notes, &place.name, || {
                    format!(
                        "`{}` passes {:.0} degC at t = {:.3} s: the tables end there and are continued, to {:.0} degC at most",
                        place.name,
                        fluid.t_min() - ZERO_C,
                        end.t,
                        COLDEST - ZERO_C
                    )
                });
            }
            if fault.is_some() {
                return;
            }
        }
        for (element, joint) in system.parts.elements.iter().zip(&system.layout.joints) {
            if let LawSpec::Heater(_) = element.law
                && joint.own != NONE
                && end.y[joint.own as usize] > BURNT
            {
                *fault = Some(PlantFault {
                    time: end.t,
                    place: element.name.clone(),
                    what: format!("its skin is at {:.0} degC and would burn out", end.y[joint.own as usize] - ZERO_C),
                    advice: "lower `power`, raise `to_wall`, or switch it off in time".to_owned(),
                });
                return;
            }
        }
    }

    /// The fault of a run whose steps became too many, or (with their length) too short, at the unknown with the worst error.
    pub(super) fn unsolved(&self, shortest: Option<f64>) -> PlantFault {
        let Self { system, worst: unknown, .. } = self;
        let unknown = *unknown;
        let layout = &system.layout;
        let seat = layout.seats.iter().position(|seat| seat.at.contains(&(unknown as u32)));
        let own = layout.joints.iter().position(|joint| joint.own as usize == unknown);
        let place = match (seat, own) {
            (Some(at), _) => system.parts.places[at].name.clone(),
            (None, Some(at)) => system.parts.elements[at].name.clone(),
            (None, None) => "network".to_owned(),
        };
        let busiest = seat.and_then(|at| {
            let near = layout.joints.iter().zip(&self.start.flows).zip(&system.parts.elements);
            near.filter(|((joint, flow), _)| joint.ends.contains(&at) && flow.rate > 0.0)
                .max_by(|a, b| a.0.1.rate.total_cmp(&b.0.1.rate))
                .map(|(_, element)| format!(" (most flows through `{}`)", element.name))
        });
        let why = match shortest {
            Some(seconds) => format!("no step of {seconds:.0e} s or more holds the tolerance"),
            None => format!("more than {:.0} steps a second were tried", self.tolerance.budget),
        };
        PlantFault {
        time: self.start.t,
        place,
        what: format!("{why}{}", busiest.unwrap_or_default()),
        advice: "make its volume larger or what opens into it smaller, raise `smoothing` or `outlet_margin`, or change `tolerance`"
            .to_owned(),
    }
    }
}

fn note(notes: &mut Vec<String>, place: &str, text: impl Fn() -> String) {
    let start = format!("`{place}` ");
    if notes.len() < MOST_NOTES && !notes.iter().any(|note| note.starts_with(&start)) {
        notes.push(text());
    }
}
