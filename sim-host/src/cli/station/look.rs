//! What of a store is shown: counters, services, tickets, events, what is due, hours, starts.

use serde_json::json;
use valvewright_core::kept::{Proof, STARTS_MOST};
use valvewright_core::record::LogId;
use valvewright_core::record::event::What;
use valvewright_core::record::meter::Meter;

use super::{DueArgs, EventsArgs, Form, HistoryArgs, ReprintArgs, StoreArgs, put};
use crate::cli::Global;
use crate::cli::output::{Exit, Refusal, print, print_json};
use crate::papers::{date, ticket_text};
use crate::shop::opened::{Shop, clock_of, when};
use crate::shop::{Trouble, due, due_page, events as happened, history as services, reprint as again};

/// Starts that are shown.
const STARTS: usize = 20;

fn json_wrong(why: &dyn std::fmt::Display) -> Refusal {
    Refusal::ours(format!("it has no such form: {why}"))
}

/// Counters, generation, wear, room.
pub fn show(args: &StoreArgs, global: Global) -> Result<Exit, Refusal> {
    let shop = args.open()?;
    let (found, generation, health) = shop.look(|all| (all.found(), all.generation(), all.health()));
    let services = shop.look(|all| all.holding(LogId::Services)).unwrap_or_default();
    let log = shop.look(|all| all.holding(LogId::Events)).unwrap_or_default();
    let room = shop.look(|all| all.room(46));
    let made = services.next.saturating_sub(1);
    let wear = health.wear.max(health.log_wear);
    // By the wear so far; of less than ten services nothing can be said.
    let estimate = (made >= 10 && wear > 0).then(|| u64::from(due::RATING) * u64::from(made) / u64::from(wear));
    let kept = shop.kept();
    let latched: Vec<&str> = kept.map(|kept| kept.latched.iter().map(|row| row.as_str()).collect()).unwrap_or_default();
    if global.json {
        print_json(&json!({
            "clock": when(shop.clock()), "found": happened::found(found), "damaged": shop.damaged(),
            "generation": generation, "state": kept, "latched": latched,
            "wear": { "most": wear, "sides": health.wear, "logs": health.log_wear, "rating": due::RATING, "pages_given_up": health.retired, "services_left_estimate": estimate },
            "services": { "oldest": services.oldest, "next": services.next, "exported": services.exported, "room": services.room, "capacity": services.capacity },
            "events": { "oldest": log.oldest, "next": log.next, "capacity": log.capacity },
            "room_for_vehicles": room,
        }))?;
        return Ok(Exit::Held);
    }
    let mut out = format!("{:<20}{}\n{:<20}{}\n", "clock", when(shop.clock()), "store", happened::found(found));
    let mut line = |name: &str, text: String| out += &format!("{name:<20}{text}\n");
    line("generation", generation.to_string());
    match kept {
        None => line("controller's state", "LOST: every limit counts as expired".to_owned()),
        Some(kept) => {
            line("state number", kept.number.to_string());
            line("filter-drier", format!("{:.3} kg of refrigerant through it (WQI-1)", f64::from(kept.drier.0) * 1e-6));
            line("pump oil", format!("{:.2} h of running (KQI-1)", f64::from(kept.pump_oil) / 3_600.0));
            line("latched rows", if latched.is_empty() { "none".to_owned() } else { latched.join(", ") });
            line("order under way", if kept.order == 0 { "none".to_owned() } else { kept.order.to_string() });
            line("wrong codes", kept.wrong_codes.to_string());
            line("starts in a row", format!("{} of {STARTS_MOST}", kept.starts));
        }
    }
    line("wear", format!("{wear} erases of {} of its most worn page; {} pages given up", due::RATING, health.retired));
    line(
        "",
        match estimate {
            Some(left) => format!("at this rate it lasts for some {left} services in all"),
            None => "too few services for an estimate".to_owned(),
        },
    );
    line(
        "services",
        format!(
            "{} kept from number {}, {} exported up to, room for {} of {}",
            services.count(),
            services.oldest,
            services.exported,
            services.room,
            services.capacity
        ),
    );
    line("events", format!("{} kept from number {}; the oldest are given up when it is full", log.count(), log.oldest));
    line("room for items", format!("{room} more of 46 bytes"));
    print(&out)?;
    Ok(Exit::Held)
}

/// Services.
pub fn history(args: &HistoryArgs, global: Global) -> Result<Exit, Refusal> {
    let mut shop = args.store.open()?;
    let entries = services::entries(&shop)?;
    if let (Some(form), Some(out)) = (args.export, &args.out) {
        let text = match form {
            Form::Csv => services::csv(&entries).map_err(|why| json_wrong(&why))?,
            Form::Json => {
                serde_json::to_string_pretty(&json!({ "version": 1, "services": entries }))
                    .map_err(|why| json_wrong(&why))?
                    + "\n"
            }
        };
        put(out, text.as_bytes())?;
        // Marked when they are in the file, so that none is let go of that nobody has.
        let upto = services::exported(&mut shop)?;
        args.store.keep(&shop)?;
        if global.json {
            print_json(&json!({ "exported": entries.len(), "up_to": upto, "file": out.display().to_string() }))?;
        } else {
            print(&format!(
                "{} services up to number {upto} written to {} and marked as exported\n",
                entries.len(),
                out.display()
            ))?;
        }
        return Ok(Exit::Held);
    }
    if global.json {
        print_json(&json!({ "version": 1, "services": entries }))?;
    } else if entries.is_empty() {
        print("no service is on record\n")?;
    } else {
        print(&services::text(&entries))?;
    }
    Ok(Exit::Held)
}

/// A ticket.
pub fn reprint(args: &ReprintArgs, global: Global) -> Result<Exit, Refusal> {
    let shop = args.store.open()?;
    let asked = args.language.map(|one| one.language());
    let (ticket, language) = again::ticket(&shop, args.number, asked)?;
    if global.json {
        print_json(&ticket)?;
    } else {
        let columns = if args.columns == "32" { 32 } else { 42 };
        print(&ticket_text::text(&ticket, language, columns))?;
    }
    Ok(Exit::Held)
}

/// Events.
pub fn events(args: &EventsArgs, global: Global) -> Result<Exit, Refusal> {
    let shop = args.store.open()?;
    let mut entries = happened::entries(&shop)?;
    if let Some(last) = args.last {
        entries.drain(..entries.len().saturating_sub(last));
    }
    if global.json {
        print_json(&json!({ "version": 1, "events": entries }))?;
    } else if entries.is_empty() {
        print("nothing is on record\n")?;
    } else {
        print(&happened::text(&entries))?;
    }
    Ok(Exit::Held)
}

/// Notes a proof test as made, with its next date.
fn proved(shop: &mut Shop, text: &str, operator: Option<u16>) -> Result<(), Trouble> {
    shop.supervisor(operator, "to note a proof test")?;
    let names = Proof::ALL.map(happened::proof).join(", ");
    let help = format!("write TEST=DATE, such as gas_detector=2027-01-31; tests: {names}");
    let (name, day) =
        text.split_once('=').ok_or_else(|| Trouble::new(format!("`{text}` is no proof test"), help.clone()))?;
    let proof = Proof::ALL.into_iter().find(|one| happened::proof(*one) == name);
    let proof = proof.ok_or_else(|| Trouble::new(format!("there is no proof test `{name}`"), help.clone()))?;
    let due = date::read(day).and_then(clock_of).ok_or_else(|| Trouble::new(format!("`{day}` is no date"), help))?;
    if shop.clock() == 0 {
        return Err(Trouble::new("the station's clock is not set", "set it: `valvewright station settings clock=+0`"));
    }
    if due <= shop.clock() {
        let now = when(shop.clock());
        return Err(Trouble::new(format!("{day} is not after the station's clock, {now}"), "give a later day"));
    }
    shop.change_kept(|kept| kept.due[proof as usize] = due)?;
    shop.note(What::Proved(proof, due))
}

/// What is due.
pub fn due(args: &DueArgs, global: Global) -> Result<Exit, Refusal> {
    let mut shop = args.change.store.open()?;
    if let Some(text) = &args.proved {
        proved(&mut shop, text, args.change.operator)?;
        args.change.store.keep(&shop)?;
    }
    let facts = due::facts(&shop)?;
    let items = due::items(&facts);
    if let Some(path) = &args.html {
        put(path, due_page::page(&items, facts.clock, shop.damaged()).as_bytes())?;
    }
    if global.json {
        print_json(
            &json!({ "version": 1, "clock": when(facts.clock), "worst": due::worst(&items), "mean": facts.mean, "items": items }),
        )?;
    } else {
        print(&format!("What is due, by the station's clock {}\n\n{}", when(facts.clock), due::text(&items)))?;
    }
    Ok(Exit::Held)
}

/// Operating hours.
pub fn hours(args: &StoreArgs, global: Global) -> Result<Exit, Refusal> {
    let shop = args.open()?;
    let meter = shop.look(|all| all.meter()).map_err(|why| Trouble::of_store("the hours", why))?.or(Meter::default()).0;
    let all = [
        ("powered", "under power", meter.powered),
        ("compressor", "recovery compressor C-1", meter.compressor),
        ("pump", "vacuum pump P-1, with all its oils", meter.pump),
        ("fan", "cabinet fan K-1", meter.fan),
        ("heater", "vessel heater H-1 and H-2", meter.heater),
    ];
    if global.json {
        let hours: serde_json::Map<String, serde_json::Value> =
            all.iter().map(|(id, _, s)| ((*id).to_owned() + "_s", json!(s))).collect();
        print_json(&json!({ "version": 1, "starts": meter.starts, "hours": hours }))?;
    } else {
        let lines: String =
            all.iter().map(|(_, name, s)| format!("{name:<36}{:>10.2} h\n", f64::from(*s) / 3_600.0)).collect();
        print(&format!("{:<36}{:>10}\n{lines}", "starts", meter.starts))?;
    }
    Ok(Exit::Held)
}

/// The last starts.
pub fn selftest(args: &StoreArgs, global: Global) -> Result<Exit, Refusal> {
    let shop = args.open()?;
    let all: Vec<_> = happened::entries(&shop)?.into_iter().filter(|one| one.kind == "start").collect();
    let starts = &all[all.len().saturating_sub(STARTS)..];
    let now = happened::found(shop.look(|all| all.found()));
    let latched: Vec<&str> =
        shop.kept().map(|kept| kept.latched.iter().map(|row| row.as_str()).collect()).unwrap_or_default();
    if global.json {
        print_json(
            &json!({ "version": 1, "now": now, "damaged": shop.damaged(), "latched": latched, "starts": starts }),
        )?;
        return Ok(Exit::Held);
    }
    let latched = if latched.is_empty() { "none".to_owned() } else { latched.join(", ") };
    let mut out = format!("now: {now}; latched rows: {latched}\n");
    out += &shop.damaged().iter().map(|one| format!("damaged: {one}\n")).collect::<String>();
    out += &happened::text(starts);
    print(&out)?;
    Ok(Exit::Held)
}
