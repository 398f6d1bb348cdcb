//! The work order of a drawn scenario: whole, a part that workshops order by itself, or any phases at all.

use super::draw::{Draw, Mood, duration};
use super::{Job, Plan};
use crate::scenario::model::{PHASE_WORDS, Phase};

/// Parts of a job that make sense by themselves.
const PARTS: [&[&str]; 9] = [
    &["identify", "recover"],
    &["identify", "recover", "drain_oil", "evacuate", "leak_check"],
    &["evacuate", "leak_check"],
    &["evacuate", "leak_check", "charge"],
    &["pressure_test", "evacuate", "leak_check", "charge"],
    &["purge", "evacuate", "leak_check", "charge", "verify"],
    &["evacuate", "leak_check", "inject_oil", "charge", "verify"],
    &["evacuate", "leak_check", "charge", "verify", "clear_hoses"],
    &["evacuate", "leak_check", "inject_oil", "charge", "verify", "clear_hoses"],
];

/// Phases of a service; upkeep is drawn by itself where it is.
pub(super) fn of_service() -> Vec<&'static str> {
    PHASE_WORDS.into_iter().filter(|word| *word != Phase::Upkeep.name()).collect()
}

fn whole() -> Vec<&'static str> {
    of_service().into_iter().filter(|word| *word != Phase::PressureTest.name()).collect()
}

/// Draws which phases are ordered.
pub(super) fn phases(draw: &mut Draw, mood: Mood) -> Vec<&'static str> {
    if draw.chance(mood.of([0, 10, 35])) {
        of_service().into_iter().filter(|_| draw.chance(60)).collect()
    } else if draw.chance(40) {
        whole()
    } else {
        draw.pick(&PARTS).to_vec()
    }
}

/// Writes the order for a vehicle with this charge on its label, g.
pub(super) fn order(job: &mut Job, plan: &Plan, label_g: i64) {
    job.table("order");
    if plan.phases == whole() {
        job.set("phases", "whole");
    } else {
        job.line(&format!("phases = [\"{}\"]", plan.phases.join("\", \"")));
    }
    let share = job.range([(100, 100), (85, 110), (5, 200)]);
    if plan.has("charge") {
        let charge = (label_g * share / 100).min(plan.usable_g()).max(50);
        job.set("charge", &format!("{charge} g"));
    }
    let evacuate = match job.draw.between(0, 99) {
        0..80 => job.draw.between(60, 300),
        80..97 => job.draw.between(300, 1_200),
        _ => job.range([(300, 1_200), (300, 3_600), (300, 14_400)]),
    };
    let depths = [(20, 100), (100, 300), (300, 1_000), (1_000, 5_000)];
    let (low, high) = if job.mood == Mood::Plain { (200, 500) } else { job.draw.pick(&depths) };
    let depth = job.draw.between(low, high);
    let hold = if job.draw.chance(85) { job.draw.between(120, 300) } else { job.draw.between(300, 900) };
    job.set("evacuate_time", &duration(evacuate));
    job.set("evacuate_depth", &format!("{depth} Pa"));
    job.set("leak_hold", &duration(hold));
    let most = job.mood.of([20, 30, 100]).min(plan.new_oil_ml);
    let wanted = if plan.has("inject_oil") { 70 } else { 20 };
    if job.draw.chance(wanted) && most > 0 {
        let oil = job.draw.between(1, most);
        job.set("inject_oil", &format!("{oil} mL"));
    }
    let sides = job.draw.pick(&["both", "both", "low", "high"]);
    job.set("sides", sides);
}
