//! What no network may do, and the run of one that is watched for it.

use std::fmt;
use std::panic::{AssertUnwindSafe, catch_unwind};

use valvewright_sim::plant::Balance;
use valvewright_sim::plant::rig::{RigSeries, RigSpec, parse_rig, run_rig};
use valvewright_sim::plant::spec::{LawSpec, NetworkSpec, PlaceKind};
use valvewright_sim::scenario::diagnostic::Source;

use super::heat;

/// Steps a run may take from its start, and for each second simulated. The engine ends a run of its own accord after 20 000 tried steps and
/// 50 a second; these lie above, so that only a run that the engine's own bound has missed is called endless.
const STOCK: f64 = 25_000.0;
const A_SECOND: f64 = 60.0;
/// How the faults begin that speak of steps, not of the plant.
const UNSOLVED: [&str; 2] = ["more than # steps a second", "no step of # s or more"];
/// What may be unaccounted for: of the masses' inventory, and of the energy's scale.
const MASS_SHARE: f64 = 1e-9;
const ENERGY_SHARE: f64 = 1e-6;
/// Smallest inventory and energy that a share is taken of: below a microgram and a joule it is all rounding.
const LEAST_MASS: f64 = 1e-9;
const LEAST_ENERGY: f64 = 1.0;
/// A mass below zero by this share of all there is of it is rounding.
const ROUNDING: f64 = 1e-12;
/// What the ledger of a sealed network may hold of all there is: rounding of some hundred thousand steps.
const LEDGER_SHARE: f64 = 1e-10;

/// One thing a network must not do.
#[derive(Debug, Clone, PartialEq)]
pub struct Failure {
    /// Kind of failure, the same words for the same kind.
    pub class: String,
    /// What was seen.
    pub words: String,
}

impl Failure {
    pub(super) fn new(class: impl Into<String>, words: impl Into<String>) -> Self {
        Self { class: class.into(), words: words.into() }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.class, self.words)
    }
}

/// What came of a network.
#[derive(Debug, Clone, Default)]
pub struct Verdict {
    /// What it must not have done, one of each class.
    pub failures: Vec<Failure>,
    /// The fault that ended it; its class is what was said, without numbers and names.
    pub fault: Option<Failure>,
    /// Steps accepted.
    pub steps: u64,
    /// Time simulated, s.
    pub seconds: f64,
}

impl Verdict {
    /// The run ended because the integrator got no further, not because the plant's laws did.
    pub fn unsolved(&self) -> bool {
        self.fault.as_ref().is_some_and(|fault| UNSOLVED.iter().any(|words| fault.class.starts_with(words)))
    }

    fn failed(class: &str, words: impl Into<String>) -> Self {
        Self { failures: vec![Failure::new(class, words)], ..Self::default() }
    }
}

/// Reads, runs and judges the text of a rig.
pub fn judge(text: &str) -> Verdict {
    judge_within(text, |reached| STOCK + A_SECOND * reached)
}

/// The same for a run that may take `most` steps to a time, s.
pub fn judge_within(text: &str, most: impl Fn(f64) -> f64) -> Verdict {
    let spec = match parse_rig(&Source::new("network.toml", text)) {
        Ok(spec) => spec,
        Err(all) => return Verdict::failed("is refused", all[0].to_string()),
    };
    let mut steps = 0u32;
    let mut reached = 0.0;
    let mut endless = false;
    let run = catch_unwind(AssertUnwindSafe(|| {
        run_rig(&spec, |t| {
            steps += 1;
            reached = t;
            endless = f64::from(steps) >= most(t);
            !endless
        })
    }));
    let series = match run {
        Ok(Ok(series)) => series,
        Ok(Err(wrong)) => return Verdict::failed("is refused when run", wrong.to_string()),
        Err(payload) => {
            let words = payload.downcast_ref::<String>().cloned();
            let words = words.or_else(|| payload.downcast_ref::<&str>().map(|text| (*text).to_owned()));
            return Verdict::failed("panics", words.unwrap_or_default());
        }
    };
    let mut verdict = Verdict {
        failures: judge_series(&spec, &series),
        fault: series
            .fault
            .as_ref()
            .map(|fault| Failure::new(without_numbers_and_names(&fault.what), fault.to_string())),
        steps: series.steps.accepted,
        seconds: series.seconds,
    };
    if endless {
        let words = format!("{steps} steps came to {reached:.6} s only");
        verdict.failures.push(Failure::new("runs on and on", words));
    }
    verdict
}

/// What two faults of one kind have in common: `#` for each number, "`_`" for each name.
fn without_numbers_and_names(words: &str) -> String {
    let of_text = |text: &str| {
        let mut made = String::new();
        for letter in text.chars() {
            if !letter.is_ascii_digit() {
                made.push(letter);
            } else if !made.ends_with('#') {
                made.push('#');
            }
        }
        made.replace("#.#", "#").replace("#e-#", "#").replace("-#", "#")
    };
    let parts = words.split('`').enumerate();
    let parts: Vec<_> = parts.map(|(at, part)| if at % 2 == 1 { "_".to_owned() } else { of_text(part) }).collect();
    parts.join("`")
}

/// What a series shows that it must not, one of each class.
pub fn judge_series(spec: &RigSpec, series: &RigSeries) -> Vec<Failure> {
    let mut all: Vec<Failure> = Vec::new();
    all.extend(vague(&spec.network, series));
    all.extend(not_a_number(series));
    all.extend(negative(spec, series));
    all.extend(unbalanced(spec, series));
    all.extend(leaks(spec, series));
    all.extend(heat::too_hot(spec, series));
    all.extend(heat::off_its_wall(spec, series));
    all
}

/// A fault must name a part of the network, a moment of the run, what happened and what to do.
fn vague(network: &NetworkSpec, series: &RigSeries) -> Option<Failure> {
    let fault = series.fault.as_ref()?;
    let mut names = network.volumes.iter().map(|one| &one.name).chain(network.elements.iter().map(|one| &one.name));
    let lack = if !names.any(|name| *name == fault.place) {
        "no part of the network"
    } else if !(0.0..=series.seconds + 1e-3).contains(&fault.time) {
        "no moment of the run"
    } else if fault.what.is_empty() || fault.advice.is_empty() {
        "no cause or no advice"
    } else {
        return None;
    };
    Some(Failure::new("ends in a vague fault", format!("it names {lack}: {fault}")))
}

fn place(series: &RigSeries, row: usize, column: usize) -> String {
    let row = &series.rows[row];
    format!("{} at {:.6} s in step {}", series.columns[column].name, row.time, row.phase)
}

fn not_a_number(series: &RigSeries) -> Option<Failure> {
    series.rows.iter().enumerate().find_map(|(at, row)| {
        let column = row.values.iter().position(|value| !value.is_finite())?;
        Some(Failure::new(
            "shows what is no number",
            format!("{} is {}", place(series, at, column), row.values[column]),
        ))
    })
}

fn negative(spec: &RigSpec, series: &RigSeries) -> Option<Failure> {
    let mut worst: Option<(f64, usize, usize)> = None;
    for (column, head) in series.columns.iter().enumerate().filter(|(_, head)| head.unit == "kg") {
        let allowed = ROUNDING * inventory(spec, &series.balance, &head.name).max(LEAST_MASS);
        for (at, row) in series.rows.iter().enumerate() {
            let below = -row.values[column] / allowed;
            if below > 1.0 && worst.is_none_or(|known| below > known.0) {
                worst = Some((below, at, column));
            }
        }
    }
    let (_, at, column) = worst?;
    let words = format!("{} is {:.3e} kg", place(series, at, column), series.rows[at].values[column]);
    Some(Failure::new("shows a negative mass", words))
}

/// How much there is, or went out, of what a mass signal counts, kg.
fn inventory(spec: &RigSpec, balance: &Balance, signal: &str) -> f64 {
    let what = match signal.rsplit('.').next().unwrap_or_default() {
        "m_air" => "air",
        "m_oil" => "oil",
        field if field.contains("water") || field.contains("pool") || field.contains("ice") => "water",
        field if field.contains("second") => "second refrigerant",
        _ => "refrigerant",
    };
    let accounts = balance.accounts(spec.network.second.is_some());
    accounts.iter().find(|account| account.what == what).map_or(0.0, |account| account.scale)
}

fn unbalanced(spec: &RigSpec, series: &RigSeries) -> Option<Failure> {
    series.balance.accounts(spec.network.second.is_some()).into_iter().find_map(|one| {
        let allowed = match one.unit {
            "J" => ENERGY_SHARE * one.scale.max(LEAST_ENERGY),
            _ => MASS_SHARE * one.scale.max(LEAST_MASS),
        };
        // A sum that is no number fails as well.
        let held = one.error.abs() <= allowed;
        (!held).then(|| {
            let words = format!("{:.3e} {} of {:.3e} are unaccounted for", one.error, one.unit, one.scale);
            Failure::new(format!("loses {}", one.what), words)
        })
    })
}

/// Nothing leads out of the network: no end at the ambient or the vacuum, no open place, no pump with ballast or oil of its own.
pub(super) fn sealed(network: &NetworkSpec) -> bool {
    let outside = |name: &str| matches!(name, "ambient" | "vacuum");
    network.volumes.iter().all(|volume| volume.kind == PlaceKind::Closed)
        && network.elements.iter().all(|element| {
            let pump_oil = matches!(&element.law, LawSpec::VacuumPump(pump) if pump.oil.is_some());
            !outside(&element.from) && !outside(&element.to) && !pump_oil
        })
}

/// What cannot get out has not got out.
fn leaks(spec: &RigSpec, series: &RigSeries) -> Option<Failure> {
    if !sealed(&spec.network) {
        return None;
    }
    let balance = &series.balance;
    let out = [
        ("refrigerant", balance.out_kg),
        ("second refrigerant", balance.second_out_kg),
        ("air", balance.air_out_kg),
        ("water", balance.water_out_kg),
        ("oil", balance.oil_out_kg),
    ];
    let accounts = balance.accounts(true);
    out.into_iter().find_map(|(what, left)| {
        let scale = accounts.iter().find(|account| account.what == what).map_or(0.0, |account| account.scale);
        let held = left.abs() <= LEDGER_SHARE * scale.max(LEAST_MASS);
        (!held).then(|| Failure::new("leaks though nothing leads out", format!("{left:.3e} kg of {what} went out")))
    })
}
