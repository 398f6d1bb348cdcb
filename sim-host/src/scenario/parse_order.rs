//! The order, operator and expect tables of a scenario file.

use std::ops::RangeInclusive;

use valvewright_core::job::{PhaseSet, WorkOrder};
use valvewright_core::token::{Part, Typed};
use valvewright_core::units::{AbsPa, Millis};

use super::bounds::{MINUTE, choice, rating};
use super::diagnostic::{Diagnostic, Problems, nearest};
use super::expect::Expect;
use super::model::*;
use super::quantity::Dim;
use super::reader::Node;
use crate::report::data::{Outcome, Verdict};
use crate::station::Rating;

/// What the leak check can say, as results write it.
const LEAK_WORDS: [&str; 5] = ["pass", "leak", "moisture", "inconclusive", "not_checked"];

/// The controller's own limits, so that a file it would refuse is refused while it is read.
fn seconds(range: (Millis, Millis)) -> RangeInclusive<f64> {
    f64::from(range.0.0) * 1e-3..=f64::from(range.1.0) * 1e-3
}

fn pascal(range: (AbsPa, AbsPa)) -> RangeInclusive<f64> {
    f64::from(range.0.0)..=f64::from(range.1.0)
}

/// The keys of an order; whoever calls finishes the table. What the vessel holds at the start is known of the `first` job only.
pub(super) fn order(
    node: &mut Node,
    station: Option<&Station>,
    vehicle: Option<&Vehicle>,
    first: bool,
    p: &mut Problems,
) -> Option<Order> {
    let phases = p.take(phases(node));
    let charges = phases.as_ref().map(|list| list.contains(&Phase::Charge));
    let recovers = phases.as_ref().is_some_and(|list| list.contains(&Phase::Recover));
    let comes = vehicle.filter(|_| recovers).map_or(0.0, |vehicle| vehicle.content);
    let charge = p.take(charge(node, charges, comes, station.filter(|_| first), vehicle));
    let evacuate_time =
        p.take(node.quantity_or("evacuate_time", Dim::Time, seconds(WorkOrder::EVACUATE), 20.0 * MINUTE));
    let evacuate_depth = p.take(node.quantity_or("evacuate_depth", Dim::Pressure, pascal(WorkOrder::DEPTH), 300.0));
    let leak_hold = p.take(node.quantity_or("leak_hold", Dim::Time, seconds(WorkOrder::LEAK_HOLD), 5.0 * MINUTE));
    let test_over = p.take(node.quantity_or("test_over", Dim::Pressure, pascal(WorkOrder::TEST_OVER), 1e6));
    let test_hold = p.take(node.quantity_or("test_hold", Dim::Time, seconds(WorkOrder::TEST_HOLD), 15.0 * MINUTE));
    let bottle = station.map_or(1e-3, |station| station.new_oil_amount);
    let inject_oil = p.take(node.quantity_or("inject_oil", Dim::Volume, 0.0..=bottle.min(100e-6), 0.0));
    let upkeep = upkeep(node, phases.as_deref(), p);
    let sides = [Sides::Both, Sides::Low, Sides::High];
    let sides = p.take(choice(node, "sides", &["both", "low", "high"], &sides, Sides::Both));
    Some(Order {
        phases: phases?,
        charge: charge?,
        evacuate_time: evacuate_time?,
        evacuate_depth: evacuate_depth?,
        leak_hold: leak_hold?,
        test_over: test_over?,
        test_hold: test_hold?,
        inject_oil: inject_oil?,
        sides: sides?,
        upkeep: upkeep?,
    })
}

/// The procedure and its mass, which belong to an order of upkeep and to no other.
fn upkeep(node: &mut Node, phases: Option<&[Phase]>, p: &mut Problems) -> Option<Option<(Procedure, f64)>> {
    let words = Procedure::ALL.map(Procedure::name);
    let word = p.take(node.opt_one_of("procedure", &words))?;
    let mass = p.take(node.opt_quantity("mass", Dim::Mass, 0.1..=30.0))?;
    let ordered = phases?.contains(&Phase::Upkeep);
    let (what, help) = match (ordered, word, mass) {
        (false, None, None) => return Some(None),
        (false, ..) => ("`procedure` and `mass` belong to phases = \"upkeep\" only".to_owned(), String::new()),
        (true, ..) if phases?.len() > 1 => (
            "upkeep is ordered alone".to_owned(),
            "write phases = \"upkeep\"; a service is an order of its own".to_owned(),
        ),
        (true, None, _) => ("upkeep needs a `procedure`".to_owned(), format!("one of: {}", words.join(", "))),
        (true, Some(word), mass) => {
            let of = Procedure::ALL.into_iter().find(|one| one.name() == word)?;
            let kg = |mg: valvewright_core::units::Milligram| f64::from(mg.0) * 1e-6;
            match (of.mass(), mass) {
                (None, None) => return Some(Some((of, 0.0))),
                (Some((low, high)), Some(mass)) if (kg(low)..=kg(high)).contains(&mass) => {
                    return Some(Some((of, mass)));
                }
                (None, Some(_)) => (format!("`{word}` goes by no mass"), "leave `mass` out".to_owned()),
                (Some((low, high)), _) => (
                    format!("`{word}` goes by a `mass` of {} to {} kg", kg(low), kg(high)),
                    "the reference weight, or what is filled in, such as mass = \"5 kg\"".to_owned(),
                ),
            }
        }
    };
    let key = if word.is_some() { "procedure" } else { "phases" };
    let wrong = node.error_at(key, format!("{}: {what}", node.full_name(key)));
    p.push(if help.is_empty() { wrong } else { wrong.with_help(help) });
    None
}

/// `"whole"`, or a list of phases in the order of the job, none twice.
fn phases(node: &mut Node) -> Result<Vec<Phase>, Diagnostic> {
    let help = format!("write \"whole\" or a list out of: {}", PHASE_WORDS.join(", "));
    // Both forms are asked for whatever stands there, so that the schema knows both.
    let one = [&["whole"][..], &PHASE_WORDS].concat();
    let (word, list) = (node.opt_word_of("phases", &one), node.strings_of("phases", &PHASE_WORDS));
    let words = match word {
        Ok(Some(word)) if word == "whole" => return Ok(whole()),
        Ok(None) => return Ok(whole()),
        Ok(Some(word)) => vec![word],
        Err(_) => list.map_err(|wrong| wrong.with_help(help.clone()))?,
    };
    let mut list = Vec::new();
    for word in &words {
        let Some(at) = PHASE_WORDS.iter().position(|one| one == word) else {
            let near = nearest(word, PHASE_WORDS);
            let near = near.map(|near| format!("nearest valid value: `{near}`; ")).unwrap_or_default();
            let wrong = node.error_at("phases", format!("{}: `{word}` is no phase", node.full_name("phases")));
            return Err(wrong.with_help(near + &help));
        };
        list.push(Phase::ALL[at]);
    }
    if list.is_empty() || !list.is_sorted_by(|a, b| a < b) {
        let wrong = node.full_name("phases");
        let wrong = format!("{wrong}: the phases do not stand in the order of a job, each once");
        let wrong = node.error_at("phases", wrong);
        return Err(wrong.with_help(help));
    }
    Ok(list)
}

/// The whole service, which has no pressure test.
fn whole() -> Vec<Phase> {
    Phase::ALL.into_iter().filter(|phase| PhaseSet::WHOLE.has(*phase)).collect()
}

/// The charge may be left out for the label's, and must be in the vessel with what `comes` from the vehicle in a recovery before
/// it. How much of that does come, the controller judges. Whether the order charges at all is not judged while its phases are not known.
fn charge(
    node: &mut Node,
    charges: Option<bool>,
    comes: f64,
    station: Option<&Station>,
    vehicle: Option<&Vehicle>,
) -> Result<f64, Diagnostic> {
    let least = f64::from(WorkOrder::CHARGE.0.0) * 1e-6;
    let most = f64::from(WorkOrder::CHARGE.1.0) * 1e-6;
    let judged = if station.is_some() { 1e6 } else { most };
    let written = node.opt_quantity_judged_later("charge", Dim::Mass, least..=judged, least..=most)?;
    if charges != Some(true) {
        return match written {
            Some(_) if charges == Some(false) => Err(node
                .error_at("charge", format!("{}: the order has no charge phase", node.full_name("charge")))
                .with_help("take `charge` out, or add \"charge\" to `phases`")),
            _ => Ok(0.0),
        };
    }
    let wanted = written.or(vehicle.map(|vehicle| vehicle.charge_label)).unwrap_or(0.0);
    let Some(station) = station else {
        return Ok(wanted);
    };
    let Rating { rated, heel } = rating(station.network.as_deref());
    let usable = (station.vessel_content + comes - heel).min(most);
    // The controller counts milligrams; half of one covers the rounding of a difference of kilograms.
    if wanted <= usable + 5e-7 {
        return Ok(wanted);
    }
    let grams = |kg: f64| format!("{:.0} g", kg * 1e3);
    let origin = if written.is_some() { "" } else { " (taken from vehicle.charge_label)" };
    let message = format!(
        "{}: {}{origin} is more than the vessel can give: it holds {}, of which {} stay in it",
        node.full_name("charge"),
        grams(wanted),
        grams(station.vessel_content),
        grams(heel),
    );
    let help = if usable >= least {
        format!(
            "accepted range: {} to {}, or raise station.vessel_content (at most {})",
            grams(least),
            grams(usable),
            grams(rated)
        )
    } else {
        format!("raise station.vessel_content above {} (at most {})", grams(heel + wanted - comes), grams(rated))
    };
    Err(node.error_at("charge", message).with_help(help))
}

pub(super) fn operator(node: Option<Node>, p: &mut Problems) -> Option<Operator> {
    let Some(mut node) = node else {
        return Some(Operator {
            answers: Answers::Confirm,
            delay: 5.0,
            begins: 0.0,
            weight: None,
            vessel_of_air: false,
            acts: Vec::new(),
        });
    };
    let kinds = [Answers::Confirm, Answers::Decline, Answers::None];
    let answers = choice(&mut node, "answers", &["confirm", "decline", "none"], &kinds, Answers::Confirm);
    let answers = p.take(answers);
    let delay = p.take(node.quantity_or("delay", Dim::Time, 0.0..=3600.0, 5.0));
    let begins = p.take(node.quantity_or("begins", Dim::Time, 0.0..=86_400.0, 0.0));
    let weight = p.take(node.opt_quantity("weight", Dim::Mass, 0.05..=30.0));
    let vessel_of_air = p.take(node.bool_or("vessel_of_air", false));
    let nodes = p.take(node.nodes("act")).unwrap_or_default();
    let acts: Vec<PlannedAct> = nodes.into_iter().filter_map(|act| planned_act(act, p)).collect();
    node.finish_into(p);
    Some(Operator {
        answers: answers?,
        delay: delay?,
        begins: begins?,
        weight: weight?,
        vessel_of_air: vessel_of_air?,
        acts,
    })
}

fn planned_act(mut node: Node, p: &mut Problems) -> Option<PlannedAct> {
    let word = p.take(node.one_of("do", &Act::WORDS));
    let at = p.take(node.opt_quantity("at", Dim::Time, 0.0..=86_400.0));
    let phase = p.take(node.opt_one_of("phase", &PHASE_WORDS));
    let notice = p.take(node.opt_one_of("notice", crate::run::words::IDS).map(|id| id.map(str::to_owned)));
    let after = p.take(node.quantity_or("after", Dim::Time, 0.0..=86_400.0, 0.0));
    let exchange = exchange(&mut node, word, p);
    let given: Vec<&str> = ["at", "phase", "notice"].into_iter().filter(|key| node.has(key)).collect();
    let such = "such as at = \"5 min\", phase = \"evacuate\" (when it begins) or notice = \"...\" (when it is given)";
    match given.as_slice() {
        [_] => {}
        [] => {
            let wrong = node.error_here(format!("{}: an act needs one of `at`, `phase`, `notice`", node.path()));
            p.push(wrong.with_help(such));
        }
        [_, second, ..] => {
            let all = given.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(" and ");
            let what = format!("{}: {all} are given, an act has only one of `at`, `phase`, `notice`", node.path());
            let help = "keep one of them; for some time after it, add after = \"30 s\"";
            p.push(node.error_at(second, what).with_help(help));
        }
    }
    node.finish_into(p);
    let phase = phase?.and_then(|word| PHASE_WORDS.iter().position(|one| *one == word));
    let when = match (at?, phase.and_then(|at| Phase::ALL.get(at)), notice?) {
        (Some(t), _, _) => Trigger::At(t),
        (None, Some(phase), _) => Trigger::PhaseStart(*phase),
        (None, None, notice) => Trigger::Notice(notice?),
    };
    let act = Act::WORDS.iter().position(|one| Some(*one) == word).and_then(|at| Act::ALL.get(at).copied())?;
    Some(PlannedAct { when, after: after?, act, exchange: exchange? })
}

/// Part and code of an exchange; `None` inside for any other act.
fn exchange(node: &mut Node, word: Option<&str>, p: &mut Problems) -> Option<Option<(Part, Typed)>> {
    let parts = Part::ALL.map(Part::name);
    let part = p.take(node.opt_one_of("part", &parts))?;
    let code = p.take(node.opt_string("code"))?;
    let part = part.and_then(|word| Part::ALL.into_iter().find(|one| one.name() == word));
    match (word, part, code) {
        (Some("exchange"), Some(part), Some(code)) => match Typed::read(&code) {
            Some(typed) => Some(Some((part, typed))),
            None => {
                let what = format!("{}: `{code}` has not sixteen symbols", node.full_name("code"));
                let help = "a code is typed as 5-5-5-1, with or without dashes; `valvewright code mint` makes one";
                p.push(node.error_at("code", what).with_help(help));
                None
            }
        },
        (Some("exchange"), ..) => {
            let what = format!("{}: an exchange needs `part` and `code`", node.path());
            p.push(node.error_at("do", what).with_help("such as part = \"filter_drier\" and code = \"...\""));
            None
        }
        (_, None, None) => Some(None),
        _ => {
            let what = format!("{}: `part` and `code` belong to do = \"exchange\" only", node.path());
            p.push(node.error_at("do", what));
            None
        }
    }
}

pub(super) fn expect(node: Option<Node>, order: Option<&Order>, p: &mut Problems) -> Option<Expect> {
    let Some(mut node) = node else {
        return Some(Expect::default());
    };
    let verdicts = Verdict::ALL.map(Verdict::word);
    let verdict = p.take(choice(&mut node, "verdict", &verdicts, &Verdict::ALL, Verdict::Pass));
    let phases = p.take(node.opt_node("phases")).flatten().map(|phases| expected_phases(phases, order, p));
    let leak = p.take(node.opt_one_of("leak", &LEAK_WORDS));
    let recovered_within = p.take(node.opt_quantity("recovered_within", Dim::Mass, 0.0..=1.0));
    let recovered_share = p.take(node.opt_quantity("recovered_share", Dim::Fraction, 0.0..=1.0));
    let recovery_time = p.take(node.opt_quantity("recovery_time", Dim::Time, 1.0..=86_400.0));
    let charged_within = p.take(node.opt_quantity("charged_within", Dim::Mass, 0.0..=1.0));
    let job_time = p.take(node.opt_quantity("job_time", Dim::Time, 1.0..=86_400.0));
    let escaped_most = p.take(node.opt_quantity("escaped_most", Dim::Mass, 0.0..=50.0));
    let vessel_most = p.take(node.opt_quantity("vessel_most", Dim::Mass, 0.0..=100.0));
    let vessel_level_most = p.take(node.opt_quantity("vessel_level_most", Dim::Fraction, 0.0..=1.0));
    let has_trips = node.has("trips");
    let trips = p.take(trips(&mut node));
    let has_hazards = node.has("hazards");
    let hazards = p.take(hazards(&mut node));
    node.finish_into(p);
    Some(Expect {
        verdict: verdict?,
        phases: phases.unwrap_or_default(),
        leak: leak?.map(str::to_owned),
        recovered_within: recovered_within?,
        recovered_share: recovered_share?,
        recovery_time: recovery_time?,
        charged_within: charged_within?,
        trips: trips?.filter(|_| has_trips),
        hazards: hazards?.filter(|_| has_hazards),
        job_time: job_time?,
        escaped_most: escaped_most?,
        vessel_most: vessel_most?,
        vessel_level_most: vessel_level_most?,
    })
}

fn trips(node: &mut Node) -> Result<Option<Vec<String>>, Diagnostic> {
    let list = node.strings_like("trips", "^(I(0[1-9]|[12][0-9]|3[01])|HS-1)$")?;
    let known = |id: &str| {
        let number = id.strip_prefix('I').filter(|digits| digits.len() == 2).and_then(|digits| digits.parse().ok());
        id == "HS-1" || number.is_some_and(|n: u8| (1..=31).contains(&n))
    };
    let wrong: Vec<_> = list.iter().filter(|id| !known(id)).map(|id| format!("`{id}`")).collect();
    match wrong.as_slice() {
        [] => Ok(Some(list)),
        some => Err(node
            .error_at(
                "trips",
                format!(
                    "{}: {} {} no interlock row",
                    node.full_name("trips"),
                    some.join(" and "),
                    if some.len() == 1 { "is" } else { "are" }
                ),
            )
            .with_help("accepted: I01 to I31 and HS-1; an empty list says that none may trip")),
    }
}

fn hazards(node: &mut Node) -> Result<Option<Vec<String>>, Diagnostic> {
    let list = node.strings("hazards")?;
    let known = |id: &str| {
        let number = id.strip_prefix('H').filter(|digits| digits.len() == 2).and_then(|digits| digits.parse().ok());
        number.is_some_and(|n: u8| (1..=25).contains(&n))
    };
    let wrong: Vec<_> = list.iter().filter(|id| !known(id)).map(|id| format!("`{id}`")).collect();
    match wrong.as_slice() {
        [] => Ok(Some(list)),
        some => {
            let verb = if some.len() == 1 { "is no hazard" } else { "are no hazards" };
            let what = format!("{}: {} {verb}", node.full_name("hazards"), some.join(" and "));
            let help = "accepted: H01 to H25, those that come to their accident level; without the key none may";
            Err(node.error_at("hazards", what).with_help(help))
        }
    }
}

fn expected_phases(mut node: Node, order: Option<&Order>, p: &mut Problems) -> Vec<(String, Outcome)> {
    let words = Outcome::ALL.map(Outcome::word);
    let mut list = Vec::new();
    for phase in Phase::ALL {
        if !node.has(phase.name()) {
            // Asked for all the same, so that the list of valid keys is whole.
            let _absent = node.opt_one_of(phase.name(), &words);
            continue;
        }
        let outcome = choice(&mut node, phase.name(), &words, &Outcome::ALL, Outcome::Pass);
        if let Some(outcome) = p.take(outcome) {
            list.push((phase.name().to_owned(), outcome));
        }
        if order.is_some_and(|order| !order.has(phase)) {
            let wrong =
                node.error_at(phase.name(), format!("{}.{}: the order has no such phase", node.path(), phase.name()));
            p.push(wrong.with_help("expect only phases that the order lists"));
        }
    }
    node.finish_into(p);
    list
}
