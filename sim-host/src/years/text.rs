//! The years in a page of text, for a terminal, and month by month as CSV.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::judge::Law;
use super::plan::Kind;
use super::tally::{MONTHS, Month, OUTCOMES, Tally};

/// Stands at the foot of every form.
pub const CAUTION: &str = "A simulated station with an uncertified design: figures for designing and teaching, no record of refrigerant that exists and no \
statement on any real machine. Real stations hold flammable gas under pressure; local codes and licensed practice decide.";

/// The command that does the same again, up to the service of a number.
pub fn again(tally: &Tally, number: u32, plan_file: Option<&str>) -> String {
    let of = match plan_file {
        Some(path) => format!("--plan {path}"),
        None => format!("--years {} --a-week {}", tally.plan.years, tally.plan.a_week),
    };
    format!("valvewright years {of} --seed {} --until {number}", tally.plan.seed)
}

/// A figure of a month.
type Figure<'a> = &'a dyn Fn(&Month) -> f64;

fn named(list: &[(String, u32)]) -> String {
    if list.is_empty() {
        return "none".to_owned();
    }
    list.iter().map(|(name, count)| format!("{name} {count}")).collect::<Vec<_>>().join(", ")
}

/// The summary.
pub fn text(tally: &Tally, plan_file: Option<&str>) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail, here and below.
    let _ = head(&mut out, tally);
    let _ = years(&mut out, tally);
    let _ = upkeep(&mut out, tally);
    let _ = books(&mut out, tally);
    let _ = judged(&mut out, tally, plan_file);
    if !tally.last.is_empty() {
        let _ = writeln!(out, "\nWhat the last service told");
        tally.last.iter().for_each(|line| {
            let _ = writeln!(out, "{line}");
        });
    }
    let _ = writeln!(out, "\n{CAUTION}");
    out
}

fn head(out: &mut String, tally: &Tally) -> std::fmt::Result {
    let plan = &tally.plan;
    writeln!(
        out,
        "{} of {} services on one station, seed {}, {} a week{}",
        tally.services,
        tally.planned,
        plan.seed,
        plan.a_week,
        if tally.partial { ": broken off" } else { "" }
    )?;
    let kinds: Vec<String> = Kind::ALL.map(|kind| format!("{} {}", kind.word(), tally.of_kind(kind))).to_vec();
    writeln!(out, "  kinds      {}", kinds.join(", "))?;
    let ends = OUTCOMES.iter().enumerate();
    let ends: Vec<String> = ends.map(|(at, word)| format!("{word} {}", tally.count(|m| m.outcomes[at]))).collect();
    writeln!(out, "  ended      {}", ends.join(", "))?;
    writeln!(
        out,
        "  beside     {} mistakes of the operator, {} served again after a cut, {} presses of reset",
        tally.count(|m| m.mistakes),
        tally.count(|m| m.again),
        tally.count(|m| m.resets)
    )?;
    writeln!(out, "  trips      {}", named(&tally.by_name(|m| &m.trips)))
}

fn years(out: &mut String, tally: &Tally) -> std::fmt::Result {
    writeln!(
        out,
        "\nRefrigerant in kg, in truth; `unknown` is what the station's content changed beyond what it told"
    )?;
    writeln!(
        out,
        "{:<6}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}",
        "year", "recovered", "charged", "bought", "sent off", "lost", "unknown"
    )?;
    let line = |out: &mut String, name: &str, sum: &dyn Fn(Figure<'_>) -> f64| {
        write!(out, "{name:<6}")?;
        let all: [&dyn Fn(&Month) -> f64; 6] =
            [&|m| m.recovered_g, &|m| m.charged_g, &|m| m.bought_g, &|m| m.sold_g, &|m| m.lost_g, &|m| m.unknown_g];
        all.iter().try_for_each(|one| write!(out, "{:>10.3}", sum(one) * 1e-3))?;
        writeln!(out)
    };
    for year in 0..tally.years() {
        line(out, &(year + 1).to_string(), &|figure| tally.of_year(year, figure))?;
    }
    line(out, "all", &|figure| tally.sum(figure))
}

fn upkeep(out: &mut String, tally: &Tally) -> std::fmt::Result {
    writeln!(
        out,
        "\nUpkeep   {} filter-driers, {} pump oils, {} decontaminations (and {} in vain), {} times the oil bottles",
        tally.count(|m| m.driers),
        tally.count(|m| m.pump_oils),
        tally.count(|m| m.cleanings[0]),
        tally.count(|m| m.cleanings[1]),
        tally.count(|m| m.bottles)
    )?;
    writeln!(
        out,
        "Codes    {} taken; refused: {}",
        tally.count(|m| m.codes_taken),
        named(&tally.by_name(|m| &m.codes_refused))
    )?;
    writeln!(out, "Power    {} cuts, {} starts after them", tally.count(|m| m.cuts), tally.count(|m| m.starts))?;
    let writes = tally.months.iter().map(|m| m.writes).max().unwrap_or(0);
    let most = tally.wear.iter().copied().max().unwrap_or(0);
    writeln!(
        out,
        "Flash    {writes} states stored; most erased page {most} of {} erases ({:.1} %)",
        tally.rating,
        f64::from(most) * 100.0 / f64::from(tally.rating)
    )
}

fn books(out: &mut String, tally: &Tally) -> std::fmt::Result {
    let of = &tally.ledger;
    writeln!(out, "\nLedger in kg, in truth")?;
    let came = [("at the start", of.opening), ("bought", of.bought), ("brought by vehicles", of.brought)];
    let went = [
        ("sent away", of.sold),
        ("left in vehicles", of.left),
        ("gone with used oil", of.with_oil),
        ("into the air", of.lost),
    ];
    let here = [("in the station", of.station), ("in hoses and bottles", of.between), ("in the bay", of.vehicle)];
    for (sign, list) in [("+", &came[..]), ("-", &went[..]), ("=", &here[..])] {
        list.iter().try_for_each(|(what, kg)| writeln!(out, "  {sign} {what:<22}{:>14.6}", unsigned(*kg)))?;
    }
    writeln!(
        out,
        "  nowhere: {:.1e} g at the end, {:.1e} g at most after any service",
        tally.ledger_error_g, tally.ledger_worst_g
    )?;
    let finely: Vec<String> = tally.finely.iter().take(8).map(u32::to_string).collect();
    if let [first, ..] = &finely[..] {
        let more = if tally.finely.len() > finely.len() { " and more" } else { "" };
        let all = if finely.len() > 1 { finely.join(", ") + more } else { first.clone() };
        writeln!(
            out,
            "  reckoned finely, since the plant stopped in coarse steps: {} of the services ({all})",
            tally.finely.len()
        )?;
    }
    writeln!(
        out,
        "  by its own books the station holds {:.3} kg, in truth {:.3} kg: {:+.0} g unknown to it",
        tally.books_kg,
        tally.holds_kg,
        (tally.holds_kg - tally.books_kg) * 1e3
    )
}

fn judged(out: &mut String, tally: &Tally, plan_file: Option<&str>) -> std::fmt::Result {
    writeln!(out, "\nJudged after every service")?;
    for law in Law::ALL {
        let failed = tally.failed.get(&law).copied().unwrap_or(0);
        let mark = if failed == 0 { "held  " } else { "FAILED" };
        let times = tally.judged.get(&law).copied().unwrap_or(0);
        let count = if failed == 0 { String::new() } else { format!(", {failed} failed") };
        writeln!(out, "  {mark}  {} ({times} times{count})", law.words())?;
    }
    for told in &tally.breaches {
        writeln!(out, "  service {}: {}", told.service, told.breach.what)?;
    }
    match tally.breaches.first() {
        Some(first) => writeln!(out, "  the first again: {}", again(tally, first.service, plan_file)),
        None => Ok(()),
    }
}

/// One row a month.
///
/// # Errors
/// None that a memory makes.
pub fn csv(tally: &Tally) -> Result<String, csv::Error> {
    let mut to = csv::Writer::from_writer(Vec::new());
    let kinds = Kind::ALL.map(|kind| format!("services_{}", kind.word()));
    let ends = OUTCOMES.map(|word| format!("ended_{}", word.replace(' ', "_")));
    let rest = [
        "again",
        "mistakes",
        "recovered_g",
        "recovered_shown_g",
        "charged_g",
        "charged_shown_g",
        "bought_g",
        "sent_away_g",
        "lost_g",
        "vented_shown_g",
        "unknown_g",
        "brought_g",
        "left_g",
        "filter_driers",
        "pump_oils",
        "decontaminations",
        "decontaminations_in_vain",
        "oil_bottles",
        "codes_taken",
        "codes_refused",
        "power_cuts",
        "starts",
        "resets",
        "trips",
        "hazards",
        "on_h",
        "coldest_degC",
        "warmest_degC",
        "vessel_kg",
        "most_erases",
        "states_stored",
    ];
    let head = ["year", "month"].into_iter().map(str::to_owned).chain(kinds).chain(ends);
    to.write_record(head.chain(rest.map(str::to_owned)))?;
    let all = |of: &BTreeMap<String, u32>| of.values().sum::<u32>().to_string();
    for m in &tally.months {
        let at = m.month as usize;
        let mut row = vec![(at / MONTHS + 1).to_string(), (at % MONTHS + 1).to_string()];
        row.extend(m.services.iter().chain(&m.outcomes).map(u32::to_string));
        row.extend([m.again, m.mistakes].map(|n| n.to_string()));
        let grams = [
            m.recovered_g,
            m.recovered_shown_g,
            m.charged_g,
            m.charged_shown_g,
            m.bought_g,
            m.sold_g,
            m.lost_g,
            m.vented_shown_g,
            m.unknown_g,
            m.brought_g,
            m.left_g,
        ];
        row.extend(grams.map(|g| format!("{g:.3}")));
        let [clean, in_vain] = m.cleanings;
        row.extend([m.driers, m.pump_oils, clean, in_vain, m.bottles, m.codes_taken].map(|n| n.to_string()));
        row.push(all(&m.codes_refused));
        row.extend([m.cuts, m.starts, m.resets].map(|n| n.to_string()));
        row.extend([all(&m.trips), all(&m.hazards), format!("{:.3}", m.on_s / 3_600.0)]);
        row.extend([m.coldest_c, m.warmest_c].map(|c| c.map_or(String::new(), |c| format!("{c:.1}"))));
        row.extend([format!("{:.3}", m.vessel_kg), m.wear.to_string(), m.writes.to_string()]);
        to.write_record(row)?;
    }
    let bytes = to.into_inner().map_err(|wrong| wrong.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A figure in kg without the sign of what is nothing at six digits.
pub(super) fn unsigned(kg: f64) -> f64 {
    if kg.abs() < 5e-7 { 0.0 } else { kg }
}
