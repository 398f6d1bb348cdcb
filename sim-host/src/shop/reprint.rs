//! The ticket of a service printed again from its record: what the record has, and `not kept` for what it has not.

use valvewright_core::order::PhaseKind;
use valvewright_core::record::service::{Ending, Mass as Kept, PhaseEnd, Service};
use valvewright_core::talk::Notice;

use super::history::{grams, services};
use super::opened::{Shop, when};
use super::{Trouble, book, settings};
use crate::display::{Amount, Language};
use crate::fluid::FluidKind;
use crate::language;
use crate::papers::teller::{Fact, Teller, capital, short};
use crate::papers::ticket::{DEMO_HEADER, Moment, PhaseLine, Ticket, VERSION};
use crate::papers::ticket_figures::{Findings, Mass, OUNCE};
use crate::papers::words;
use crate::report::data::{Outcome, Verdict};

/// The ticket of service `number`, in a language or that of the settings.
///
/// # Errors
/// It is not kept, not yet there, or can't be believed.
pub fn ticket(shop: &Shop, number: u32, language: Option<Language>) -> Result<(Ticket, Language), Trouble> {
    let all = services(shop)?;
    let range = match (all.first(), all.last()) {
        (Some((first, _)), Some((last, _))) => format!("kept are {first} to {last}"),
        _ => "no service is kept yet".to_owned(),
    };
    let Some((_, found)) = all.into_iter().find(|(one, _)| *one == number) else {
        return Err(Trouble::new(format!("the log has no service {number}"), range));
    };
    let Some(service) = found else {
        return Err(Trouble::new(format!("the record of service {number} can't be believed any more"), range));
    };
    let set = shop.settings();
    let language = language.unwrap_or_else(|| settings::language(&set));
    let mut header = settings::header(&set);
    if header.is_empty() {
        header = DEMO_HEADER.map(str::to_owned).to_vec();
    }
    Ok((made(shop, number, &service, header, language), language))
}

const fn verdict(of: &Service, aborted: bool) -> Verdict {
    match of.ending {
        Ending::Met => Verdict::Pass,
        Ending::NotMet if aborted => Verdict::Aborted,
        Ending::NotMet => Verdict::Failed,
        Ending::Running | Ending::Interrupted => Verdict::Unfinished,
    }
}

const fn outcome(of: PhaseEnd) -> Outcome {
    match of {
        PhaseEnd::Done => Outcome::Pass,
        PhaseEnd::Skipped => Outcome::Skipped,
        PhaseEnd::Failed => Outcome::Failed,
        PhaseEnd::Aborted => Outcome::Aborted,
        PhaseEnd::Never | PhaseEnd::Open => Outcome::Unfinished,
    }
}

fn made(shop: &Shop, number: u32, of: &Service, header: Vec<String>, language: Language) -> Ticket {
    let teller = Teller::new(language);
    let word = |id| teller.word(id);
    let verdict = verdict(of, of.phases.iter().any(|note| note.end == PhaseEnd::Aborted));
    let phases: Vec<PhaseLine> = PhaseKind::ALL
        .into_iter()
        .zip(&of.phases)
        .filter(|(_, note)| note.end != PhaseEnd::Never)
        .map(|(kind, note)| PhaseLine {
            id: kind.name().to_owned(),
            name: capital(&word(language::phase(kind))),
            outcome: outcome(note.end),
            outcome_text: word(words::outcome(outcome(note.end))),
            seconds: f64::from(note.seconds),
        })
        .collect();
    let moment = |text: String| Moment { time: String::new(), text };
    let trips = of.trip.map(|row| moment(format!("{} x{}", row.as_str(), of.trips)));
    Ticket {
        version: VERSION,
        language: language.code(),
        header,
        title: word(words::TITLE),
        verdict,
        headline: word(words::headline(verdict)),
        reason: reason(verdict, &phases, &teller),
        remarks: vec![word(words::REPRINT)],
        uncertified: word(words::UNCERTIFIED),
        clock: String::new(),
        job: [number as usize, number as usize],
        facts: facts(shop, number, of, &teller),
        masses: masses(of, &teller),
        findings: findings(of, &teller),
        phases,
        warnings: vec![moment(word(words::NOT_KEPT))],
        trips: trips.into_iter().collect(),
        cautions: [words::GAS, words::PRESSURE, words::HOLD, words::LICENCE].map(word).to_vec(),
    }
}

fn reason(verdict: Verdict, phases: &[PhaseLine], teller: &Teller) -> Option<String> {
    match verdict {
        Verdict::Pass => None,
        Verdict::Unfinished => Some(teller.word(words::CUT_OFF)),
        _ => {
            let bad = phases.iter().find(|one| matches!(one.outcome, Outcome::Failed | Outcome::Aborted));
            Some(bad.map_or_else(|| teller.word(words::NO_REASON), |one| format!("{}: {}", one.name, one.outcome_text)))
        }
    }
}

fn facts(shop: &Shop, number: u32, of: &Service, teller: &Teller) -> Vec<Fact> {
    let names = book::entries(shop).0;
    let vehicle = names.into_iter().find(|one| one.number == of.book).map(|one| one.name);
    let roster = shop.roster();
    let operator = roster.get(of.operator).map(|one| format!("{} ({})", one.name, one.number));
    let operator = operator.or_else(|| (of.operator != 0).then(|| of.operator.to_string()));
    let mut all = vec![
        (words::RECORD, number.to_string()),
        (words::BEGUN, when(of.begun)),
        (words::ENDED, when(of.ended)),
        (words::OPERATOR, operator.unwrap_or_else(|| teller.word(words::NOT_NAMED))),
        (words::VEHICLE, vehicle.unwrap_or_else(|| teller.word(words::NOT_KEPT))),
        (words::VEHICLE_ID, if of.book == 0 { teller.word(words::NOT_KEPT) } else { of.book.to_string() }),
    ];
    all.extend(of.refrigerant.map(|one| (words::REFRIGERANT, FluidKind::from(one).label().to_owned())));
    if of.high_voltage {
        all.push((words::VEHICLE, teller.word(words::HIGH_VOLTAGE)));
    }
    all.into_iter().map(|(id, text)| Fact { id: short(id), name: teller.word(id), text }).collect()
}

fn masses(of: &Service, teller: &Teller) -> Vec<Mass> {
    let line = |id: &'static str, which: Kept, instead: &'static str| {
        let fine = |value: f64| (value * 1e3).round() / 1e3;
        let g = grams(of, which);
        Mass {
            id: short(id),
            name: teller.word(id),
            g: g.map(fine),
            oz: g.map(|g| fine(g / OUNCE)),
            text: g.is_none().then(|| teller.word(instead)),
        }
    };
    let mut all = vec![
        line(words::RECOVERED, Kept::Recovered, words::NOT_SAID),
        line(words::OIL_DRAINED, Kept::OilDrained, words::NOT_SAID),
        line(words::OIL_NEW, Kept::OilInjected, words::NOT_SAID),
        line(words::LABEL, Kept::Label, words::NOT_SAID),
        line(words::ORDERED, Kept::Ordered, words::NOT_ORDERED),
        line(words::CHARGED, Kept::Charged, words::NOT_SAID),
    ];
    if of.mass(Kept::Vented).is_some_and(|mass| mass.0 != 0) {
        all.push(line(words::PURGED, Kept::Vented, words::NOT_SAID));
    }
    all
}

fn findings(of: &Service, teller: &Teller) -> Findings {
    use valvewright_core::verdict::{GasVerdict, LeakVerdict};
    let fact = |id, text| Fact { id: short(id), name: teller.word(id), text };
    let gas = if of.gas == GasVerdict::Unknown { words::NOT_CHECKED } else { language::gas(of.gas) };
    let vacuum = of.vacuum.map(|p| language::figure(teller.display(), Amount::Pressure(f64::from(p.0))));
    let leak = match of.leak.verdict {
        LeakVerdict::Unknown => teller.word(words::NOT_CHECKED),
        _ => teller.tell(&language::notice(&Notice::Leak(of.leak))),
    };
    let hoses = match of.mass(Kept::Hoses) {
        None => teller.word(words::NOT_SAID),
        Some(mass) if mass.0 == 0 => language::figure(teller.display(), Amount::Mass(0.0)),
        Some(mass) => teller.tell(&language::notice(&Notice::HosesHold(mass))),
    };
    Findings {
        gas: fact(words::GAS_FOUND, teller.word(gas)),
        vacuum: fact(words::VACUUM, vacuum.unwrap_or_else(|| teller.word(words::NONE))),
        leak: fact(words::LEAK, leak),
        hoses: fact(words::HOSES, hoses),
        vehicle: None,
    }
}
