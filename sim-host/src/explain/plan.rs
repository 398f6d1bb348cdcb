//! What a scenario will do, in plain sentences, before it runs.

use serde::Serialize;

use super::devices::joined;
use super::oddities;
use crate::display::{Amount, STANDARD};
use crate::fault::{Planned, When};
use crate::logic::Property;
use crate::run::words;
use crate::scenario::expect::Expect;
use crate::scenario::model::{Act, Answers, Operator, Order, Phase, PlannedAct, Sides, Trigger, Vehicle};
use crate::scenario::quantity::{self, Dim};
use crate::scenario::{JobView, Scenario};
use crate::station;

/// Something of a scenario, and what the file says of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Planning {
    /// Whose it is: `job 2`; empty for what holds for all of it.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub job: String,
    /// What it is about.
    pub about: &'static str,
    /// The sentences.
    pub says: Vec<String>,
}

pub(super) fn text(dim: Dim, si: f64, unit: &str) -> String {
    quantity::text(dim, si, Some(unit))
}

pub(super) fn time(seconds: f64) -> String {
    let unit = match seconds {
        s if s >= 7_200.0 && s % 3_600.0 == 0.0 => "h",
        s if s >= 120.0 && s % 60.0 == 0.0 => "min",
        s if s > 0.0 && s < 1.0 => "ms",
        _ => "s",
    };
    text(Dim::Time, seconds, unit)
}

pub(super) fn gram(kg: f64) -> String {
    text(Dim::Mass, kg, if kg >= 2.0 { "kg" } else { "g" })
}

fn warm(kelvin: f64) -> String {
    STANDARD.words(Amount::Temperature(kelvin))
}

/// The whole scenario, from where it happens to what must hold.
pub fn plan(scenario: &Scenario) -> Vec<Planning> {
    let row = !scenario.then.is_empty();
    let mut all = vec![
        Planning { job: String::new(), about: "site", says: vec![site(scenario)] },
        Planning { job: String::new(), about: "station", says: station(scenario) },
    ];
    for (at, view) in scenario.jobs().enumerate() {
        let name = if row { format!("job {}", at + 1) } else { String::new() };
        all.extend(job(&name, &view).into_iter().filter(|one| !one.says.is_empty()));
    }
    let limit = time(scenario.time_limit);
    let end = match scenario.then.len() {
        0 => format!("broken off where it is not done after {limit}"),
        later => format!("each of the {} jobs is broken off where it is not done after {limit}", later + 1),
    };
    all.push(Planning { job: String::new(), about: "run", says: vec![format!("seed {}; {end}", scenario.seed)] });
    all
}

fn job(name: &str, view: &JobView<'_>) -> Vec<Planning> {
    let planning = |about, says| Planning { job: name.to_owned(), about, says };
    let mut begins = vehicle(view.vehicle);
    if view.after > 0.0 {
        begins.insert(0, format!("comes {} after the job before has ended", time(view.after)));
    }
    vec![
        planning("vehicle", begins),
        planning("order", order(view.order)),
        planning("operator", operator(view.operator)),
        planning("breaks", view.faults.iter().map(fault).collect()),
        planning("expected", expected(view.expect)),
        planning("must hold", view.properties.iter().map(property).collect()),
    ]
}

fn site(scenario: &Scenario) -> String {
    let site = &scenario.site;
    let (air, barometer) = (warm(site.ambient), STANDARD.words(Amount::Barometer(site.barometer)));
    format!("air at {air}, barometer {barometer}, {} humidity", text(Dim::Fraction, site.humidity, "%"))
}

fn station(scenario: &Scenario) -> Vec<String> {
    let of = &scenario.station;
    let name = of.network.clone().unwrap_or_else(|| station::SHIPPED[0].name.to_owned());
    let air = if of.vessel_air > 0.0 { format!(" and {} of air", gram(of.vessel_air)) } else { String::new() };
    let refrigerant = refrigerant(of.refrigerant);
    let mut says =
        vec![format!("{name}, for {refrigerant}, with {} of it{air} in its vessel", gram(of.vessel_content))];
    if of.rested > 0.0 {
        says.push(format!("its vessel has been left alone for {}", time(of.rested)));
    }
    if (of.temperature - scenario.site.ambient).abs() > 0.05 {
        says.push(format!("vessel and pipes stand at {}", warm(of.temperature)));
    }
    says
}

const fn refrigerant(of: valvewright_core::fluid::Refrigerant) -> &'static str {
    use valvewright_core::fluid::Refrigerant;
    match of {
        Refrigerant::R1234yf => "R-1234yf",
        Refrigerant::R134a => "R-134a",
    }
}

fn vehicle(of: &Vehicle) -> Vec<String> {
    let (content, label) = (gram(of.content), gram(of.charge_label));
    let litres = text(Dim::Volume, of.volumes.total(), "L");
    let mut says = vec![format!(
        "{}: {content} of {} in a circuit of {litres} at {}; its label says {label}",
        of.label,
        refrigerant(of.refrigerant),
        warm(of.engine_bay)
    )];
    says.extend(oddities::of(of));
    says
}

fn order(of: &Order) -> Vec<String> {
    if let Some((procedure, mass)) = of.upkeep {
        let name = procedure.name().replace('_', " ");
        let by = if mass > 0.0 { format!(", by {}", gram(mass)) } else { String::new() };
        return vec![format!("upkeep of the station itself: {name}{by}")];
    }
    let phases: Vec<String> = of.phases.iter().map(|one| words::phase(*one).to_owned()).collect();
    let mut says = vec![format!("in this order: {}", joined(&phases))];
    let has = |name: &str| of.phases.iter().any(|one| one.name() == name);
    if has("charge") && of.charge > 0.0 {
        says.push(format!("charges {}", gram(of.charge)));
    }
    if has("evacuate") {
        let depth = text(Dim::Pressure, of.evacuate_depth, "mbar");
        says.push(format!("evacuates for {} at least, to {depth} abs", time(of.evacuate_time)));
    }
    if has("leak_check") {
        says.push(format!("holds the vacuum for {}", time(of.leak_hold)));
    }
    if has("pressure_test") {
        let over = text(Dim::Pressure, of.test_over, "bar");
        says.push(format!("tests with nitrogen at {over} over the barometer for {}", time(of.test_hold)));
    }
    if has("inject_oil") && of.inject_oil > 0.0 {
        says.push(format!("injects {} of new oil", text(Dim::Volume, of.inject_oil, "mL")));
    }
    says.push(match of.sides {
        Sides::Both => "through both couplers".to_owned(),
        Sides::Low => "through the low-side coupler alone".to_owned(),
        Sides::High => "through the high-side coupler alone".to_owned(),
    });
    says
}

fn operator(of: &Operator) -> Vec<String> {
    let delay = time(of.delay);
    let answers = match of.answers {
        Answers::Confirm => format!("says yes to every question after {delay}"),
        Answers::Decline => format!("says no to every question after {delay}"),
        Answers::None => "answers no question".to_owned(),
    };
    std::iter::once(answers).chain(of.acts.iter().map(act)).collect()
}

fn act(of: &PlannedAct) -> String {
    let does = match of.act {
        Act::Confirm => "says yes",
        Act::Decline => "says no",
        Act::Pause => "presses pause",
        Act::Resume => "presses go on",
        Act::Abort => "ends the order",
        Act::Reset => "presses reset",
        Act::EmergencyStop => "presses the emergency stop",
        Act::ReleaseStop => "pulls the emergency stop out again",
        Act::OpenDoor => "opens the service door",
        Act::ShutDoor => "shuts the service door",
        Act::Uncouple => "takes the couplers off",
        Act::Couple => "puts the couplers on",
        Act::Exchange => "types the code of a new part",
        Act::DoAsAsked => "does what is asked and says yes",
    };
    let after = |what: String| {
        if of.after > 0.0 { format!("{} after {what}", time(of.after)) } else { format!("when {what}") }
    };
    let when = match &of.when {
        Trigger::At(t) => format!("at {}", time(t + of.after)),
        Trigger::PhaseStart(kind) => after(format!("the {} begins", words::phase(*kind))),
        Trigger::Notice(id) => after(format!("the station tells `{id}`")),
    };
    format!("{does} {when}")
}

fn fault(of: &Planned) -> String {
    format!("{}: begins {}, {}", of.words(), of.begin_words(), of.end_words())
}

fn property(of: &Property) -> String {
    format!("{}: {}", of.name, of.parsed.sentence())
}

fn expected(of: &Expect) -> Vec<String> {
    let mut says = vec![format!("the order ends as {}", of.verdict.word())];
    let mut say = |one: Option<String>| says.extend(one);
    for (phase, outcome) in &of.phases {
        say(Some(format!("phase {phase} ends as {}", outcome.word())));
    }
    say(of.leak.as_ref().map(|leak| format!("the leak check says {leak}")));
    say(of.recovered_within.map(|kg| format!("the recovered mass shown is within {} of the true one", gram(kg))));
    say(of
        .recovered_share
        .map(|share| format!("at least {} of the content comes out", text(Dim::Fraction, share, "%"))));
    say(of.recovery_time.map(|t| format!("the recovery takes {} at most", time(t))));
    say(of.charged_within.map(|kg| format!("the true charge is within {} of the ordered one", gram(kg))));
    say(of.job_time.map(|t| format!("the job takes {} at most", time(t))));
    say(of.escaped_most.map(|kg| format!("{} go into the air at most", gram(kg))));
    say(of.vessel_most.map(|kg| format!("the vessel holds {} at most", gram(kg))));
    say(of
        .vessel_level_most
        .map(|share| format!("the vessel is {} full of liquid at most", text(Dim::Fraction, share, "%"))));
    say(of.trips.as_ref().map(|list| match list.as_slice() {
        [] => "no interlock trips".to_owned(),
        list => format!("exactly these interlocks trip: {}", joined(list)),
    }));
    say(Some(match of.hazards.as_deref().unwrap_or_default() {
        [] => "no hazard comes to its accident level".to_owned(),
        list => format!("exactly these hazards come to their accident level: {}", joined(list)),
    }));
    says
}

/// What the file says and what will never come of it: no mistakes, but hardly meant.
pub fn doubts(scenario: &Scenario) -> Vec<String> {
    let row = !scenario.then.is_empty();
    let mut list = Vec::new();
    for (at, view) in scenario.jobs().enumerate() {
        let head = if row { format!("job {}: ", at + 1) } else { String::new() };
        list.extend(never(&view, scenario.time_limit).into_iter().map(|one| head.clone() + &one));
    }
    list
}

/// What of a job never comes, because its phase is not ordered or the job is broken off before.
fn never(view: &JobView<'_>, limit: f64) -> Vec<String> {
    let ordered = |kind: &Phase| view.order.has(*kind);
    let mut list = Vec::new();
    for one in view.faults {
        let (phase, late) = match &one.begin.when {
            When::Phase(kind) | When::Step(kind, _) => (Some(kind), false),
            When::Job => (None, one.begin.after >= limit),
            When::Notice(_) | When::Row(_) | When::Holds(_) => (None, false),
        };
        if let Some(kind) = phase.filter(|kind| !ordered(kind)) {
            list.push(format!("{} waits for the phase {}, which the order does not have", one.id, kind.name()));
        }
        if late {
            list.push(format!("{} is to begin after {}, when the job is broken off", one.id, time(limit)));
        }
    }
    for one in &view.operator.acts {
        match &one.when {
            Trigger::PhaseStart(kind) if !ordered(kind) => {
                list.push(format!("the operator waits for the phase {}, which the order does not have", kind.name()));
            }
            Trigger::At(t) if t + one.after >= limit => {
                list.push(format!("the operator is to act after {}, when the job is broken off", time(limit)));
            }
            _ => {}
        }
    }
    list
}
