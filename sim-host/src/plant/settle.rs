//! What moves and what rests during a step: elements through which nothing can pass, volumes that nothing flows into or out of.

use super::spec::{LawSpec, OilLaw};
use super::system::System;

impl System {
    /// Finds out which elements rest from `t` on, until a stroke begins or ends.
    pub fn settle(&mut self, t: f64) {
        let Self { parts, layout, idle, busy, lone, alike, .. } = self;
        alike.clear();
        alike.resize(parts.places.len(), false);
        busy.clear();
        idle.clear();
        lone.clear();
        lone.extend(parts.places.iter().map(|place| {
            place.oil.is_none_or(|oil| oil.law == OilLaw::Film) && place.pool.is_none() && place.uptake.is_none()
        }));
        if layout.moist {
            lone.fill(false);
        }
        for (index, (element, joint)) in parts.elements.iter().zip(&layout.joints).enumerate() {
            let still = element.stroke.end() <= t + 1e-12 && element.stroke.opening(t) <= 0.0;
            let rests = match element.law {
                LawSpec::Heater(_) | LawSpec::HeatLink(_) => false,
                LawSpec::Relief(_) => !element.memory.lifted,
                _ => still,
            };
            idle.push(rests);
            if !rests {
                busy.push(index as u32);
                if !matches!(element.law, LawSpec::Heater(_) | LawSpec::HeatLink(_)) {
                    for end in joint.ends {
                        if let Some(lone) = lone.get_mut(end) {
                            *lone = false;
                        }
                    }
                }
            }
        }
    }
}
