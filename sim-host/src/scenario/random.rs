//! Scenarios drawn from a seed: any vehicle, weather, order and operator that the format can say, as the text of a file.
//!
//! `random:17` names the scenario of seed 17 wherever a shipped name is taken. Every drawn text reads; what comes of it is
//! not known beforehand. A change of what is drawn here changes the job behind every seed.

use std::fmt::Write;

use super::diagnostic::Source;
use super::draw::{Draw, Mood, decimal, duration};
use super::model::{OilKind, PHASE_WORDS};
use super::random_operator::operator;

/// What a name begins with where a seed follows.
pub const PREFIX: &str = "random:";
/// Simulated time a drawn run may take, min: an order with usual times comes to its end in it.
const TIME_LIMIT_MIN: i64 = 40;
/// Air pressure each 500 m upwards from sea level, Pa (ICAO standard atmosphere, from memory).
const BAROMETER: [i64; 6] = [101_325, 95_460, 89_880, 84_560, 79_500, 74_690];
/// Periods of the controller's scan, ms.
const SCANS: [i64; 5] = [10, 20, 25, 50, 100];
const GASES: [&str; 2] = ["R-1234yf", "R-134a"];
/// Parts of a job that a workshop orders by themselves.
const PARTS: [&[&str]; 7] = [
    &["purge"],
    &["identify", "recover"],
    &["identify", "recover", "drain_oil"],
    &["evacuate", "leak_check"],
    &["identify", "recover", "drain_oil", "evacuate", "leak_check"],
    &["evacuate", "leak_check", "charge", "verify", "clear_hoses"],
    &["evacuate", "leak_check", "inject_oil", "charge", "clear_hoses"],
];

/// Why a name that begins with [`PREFIX`] names nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadSeed {
    /// What is wrong.
    pub message: String,
    /// What is accepted.
    pub help: String,
}

/// The seed in a name such as `random:17`; `None` for a name of another kind.
pub fn seed_of(name: &str) -> Option<Result<u64, BadSeed>> {
    let seed = name.strip_prefix(PREFIX)?;
    let fault = if seed.is_empty() {
        format!("`{name}`: the seed is missing behind the colon")
    } else if !seed.bytes().all(|b| b.is_ascii_digit()) {
        format!("`{name}`: `{seed}` is no whole number")
    } else if let Ok(seed) = seed.parse() {
        return Some(Ok(seed));
    } else {
        format!("`{name}`: the seed is outside the accepted range")
    };
    Some(Err(BadSeed { message: fault, help: format!("accepted range: 0 to {}, such as {PREFIX}17", u64::MAX) }))
}

/// The source of a drawn scenario by its name; `None` for a name of another kind.
pub fn source(name: &str) -> Option<Result<Source, BadSeed>> {
    let seed = seed_of(name)?;
    Some(seed.map(|seed| Source::new(format!("random-{seed}.toml"), text(seed))))
}

/// The text of the scenario of a seed.
pub fn text(seed: u64) -> String {
    let mut job = Job { draw: Draw::new(seed), mood: Mood::Plain, text: String::new(), traits: Vec::new() };
    job.mood = Mood::draw(&mut job.draw);
    let limit = if job.often([0, 0, 10]) { job.draw.between(1, TIME_LIMIT_MIN) } else { TIME_LIMIT_MIN };
    let ambient = job.site();
    let station = job.station(ambient);
    let vehicle = job.vehicle(ambient, station.gas);
    let phases = job.order(&station, &vehicle);
    operator(&mut job, &phases);
    let mood = job.mood.word();
    let traits = if job.traits.is_empty() { "nothing out of the ordinary".to_owned() } else { job.traits.join(", ") };
    format!(
        "# A scenario drawn from a seed. Have it again with this version of the program: valvewright run {PREFIX}{seed}\n\
         name = \"random-{seed}\"\n\
         title = \"Drawn from seed {seed}: {mood} ({}, {} degC)\"\n\
         summary = \"\"\"\nNobody composed this job. In it: {traits}.\n\"\"\"\n\
         seed = {}\n\
         time_limit = \"{limit} min\"\n{}",
        GASES[station.gas],
        decimal(ambient, 1),
        // A file holds seeds of 63 bits.
        seed & i64::MAX.unsigned_abs(),
        job.text,
    )
}

/// A file in the making.
pub(super) struct Job {
    /// Where numbers come from.
    pub(super) draw: Draw,
    /// How far it may stray.
    pub(super) mood: Mood,
    /// The tables so far.
    text: String,
    /// What readers should know beforehand.
    traits: Vec<String>,
}

/// What later tables must fit to.
struct Station {
    gas: usize,
    content_g: i64,
    oil_ml: i64,
}

struct Vehicle {
    label_g: i64,
}

impl Job {
    /// True as often as the mood says, in percent.
    pub(super) fn often(&mut self, percent: [u64; 3]) -> bool {
        self.draw.chance(self.mood.of(percent))
    }

    /// A number out of the range for this mood.
    pub(super) fn range(&mut self, ranges: [(i64, i64); 3]) -> i64 {
        let (low, high) = self.mood.of(ranges);
        self.draw.between(low, high)
    }

    /// A line, or an empty one.
    pub(super) fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// A quantity or word in quotes.
    pub(super) fn set(&mut self, key: &str, value: &str) {
        let _infallible = writeln!(self.text, "{key} = \"{value}\"");
    }

    fn table(&mut self, name: &str) {
        let _infallible = writeln!(self.text, "\n[{name}]");
    }

    /// Something that readers should know beforehand.
    pub(super) fn tell(&mut self, what: impl Into<String>) {
        let what = what.into();
        if !self.traits.contains(&what) {
            self.traits.push(what);
        }
    }

    /// The workshop; returns its temperature, 0.1 degC.
    fn site(&mut self) -> i64 {
        let ambient = self.range([(50, 380), (-50, 450), (-50, 450)]);
        let height = self.range([(0, 800), (0, 2_500), (0, 2_500)]);
        let (at, above) = ((height / 500) as usize, height % 500);
        let low = BAROMETER[at];
        let high = BAROMETER.get(at + 1).copied().unwrap_or(low);
        let weather = self.draw.between(-1_500, 1_500);
        let pressure = (low + (high - low) * above / 500 + weather) / 10;
        let humidity = self.draw.between(10, 95);
        self.table("site");
        self.set("ambient", &format!("{} degC", decimal(ambient, 1)));
        self.line(&format!("barometer = \"{} kPa\"      # {height} m above the sea", decimal(pressure, 2)));
        self.set("humidity", &format!("{humidity} %"));
        ambient
    }

    fn station(&mut self, ambient: i64) -> Station {
        let gas = usize::from(self.draw.chance(35));
        let full = self.often([0, 0, 25]);
        let content_g = if full {
            self.draw.between(9_300, 10_000)
        } else {
            self.range([(3_000, 8_000), (1_500, 9_500), (0, 10_000)])
        };
        let air = self.range([(0, 10), (0, 80), (0, 500)]);
        self.table("station");
        self.set("refrigerant", GASES[gas]);
        self.set("vessel_content", &format!("{content_g} g"));
        self.set("vessel_air", &format!("{} g", decimal(air, 1)));
        if self.often([0, 40, 60]) {
            let (cold, hot) = self.mood.of([(0, 0), (ambient - 100, ambient + 100), (-100, 500)]);
            let own = self.draw.between(cold.max(-100), hot.min(500));
            self.set("temperature", &format!("{} degC", decimal(own, 1)));
        }
        if self.draw.chance(45) {
            let hours = if self.draw.chance(75) { self.draw.between(4, 72) } else { self.draw.between(1, 3) };
            self.set("rested", &duration(hours * 3_600));
        }
        let oil = self.draw.pick(&OilKind::WORDS);
        let dry = self.often([0, 5, 20]);
        let oil_ml = if dry { self.draw.between(0, 10) } else { self.range([(150, 500), (50, 600), (0, 1_000)]) };
        self.set("new_oil", oil);
        self.set("new_oil_amount", &format!("{oil_ml} mL"));
        let scan = self.draw.pick(&SCANS);
        self.set("scan", &format!("{scan} ms"));
        if content_g > 9_000 {
            self.tell("a vessel near its rating");
        }
        if air > 50 {
            self.tell(format!("{} g of air in the vessel", decimal(air, 1)));
        }
        Station { gas, content_g, oil_ml }
    }

    fn vehicle(&mut self, ambient: i64, station_gas: usize) -> Vehicle {
        // Hundredths of a litre.
        let volumes = if self.often([0, 0, 20]) {
            self.tell("a tiny circuit");
            [(7, 30); 3].map(|(low, high)| self.draw.between(low, high))
        } else if self.often([0, 0, 15]) {
            self.tell("a huge circuit");
            [(300, 660); 3].map(|(low, high)| self.draw.between(low, high))
        } else {
            let limits = self.mood.of([
                [(120, 220), (100, 180), (50, 120)],
                [(60, 350), (60, 300), (30, 200)],
                [(60, 350), (60, 300), (30, 200)],
            ]);
            limits.map(|(low, high)| self.draw.between(low, high))
        };
        let total: i64 = volumes.iter().sum();
        let per_litre = self.draw.between(110, 180);
        let label_g = (total * per_litre / 1_000 * 10).clamp(50, 5_000);
        let gas = if self.often([0, 5, 15]) { 1 - station_gas } else { station_gas };
        if gas != station_gas {
            self.tell("a vehicle for the other refrigerant");
        }
        self.table("vehicle");
        self.set("label", "A vehicle out of the hat");
        self.set("refrigerant", GASES[gas]);
        self.set("charge_label", &format!("{label_g} g"));
        self.content(label_g, total);
        self.vehicle_state(ambient);
        if self.often([0, 12, 30]) {
            self.gas(gas);
        }
        self.table("vehicle.volumes");
        for (key, hundredths) in ["high_side", "low_side", "accumulator"].into_iter().zip(volumes) {
            self.set(key, &format!("{} L", decimal(hundredths, 2)));
        }
        Vehicle { label_g }
    }

    /// What is in it: nothing, part of the label's charge, about all, too much, or all that the format lets in.
    fn content(&mut self, label_g: i64, total: i64) {
        // The reader takes 900 g/L, rounded down to whole grams.
        let most = (total * 9 - 1).min(5_000);
        let kinds: &[&str] = self.mood.of([
            &["full"][..],
            &["empty", "part", "part", "full", "full", "over"],
            &["empty", "empty", "part", "part", "full", "over", "brimful"],
        ]);
        let kind = self.draw.pick(kinds);
        let share = match kind {
            "empty" => 0,
            "part" => self.draw.between(2, 70),
            "full" => self.draw.between(80, 104),
            _ => self.draw.between(110, 180),
        };
        let grams = if kind == "brimful" { self.draw.between(most * 8 / 10, most) } else { label_g * share / 100 };
        self.line(&format!("content = \"{} g\"          # {kind}", grams.clamp(0, most)));
        if kind != "full" {
            self.tell(match kind {
                "empty" => "an empty circuit",
                "part" => "part of a charge",
                "over" => "an over-filled circuit",
                _ => "a circuit full to the brim",
            });
        }
    }

    /// Air, water, oil, a hole, drive and warmth.
    fn vehicle_state(&mut self, ambient: i64) {
        let air = self.range([(0, 3), (0, 30), (0, 200)]);
        self.set("air", &format!("{} g", decimal(air, 1)));
        if self.often([0, 20, 30]) {
            let water = self.range([(0, 0), (1, 50), (1, 500)]);
            self.set("water", &format!("{} g", decimal(water, 1)));
            self.tell(format!("{} g of water", decimal(water, 1)));
        }
        let oil = self.draw.pick(&OilKind::WORDS);
        let amount = self.range([(80, 200), (40, 300), (0, 500)]);
        self.set("oil", oil);
        self.set("oil_amount", &format!("{amount} mL"));
        if self.often([0, 20, 30]) {
            let hole = self.range([(0, 0), (1, 50), (1, 300)]);
            let side = self.draw.pick(&["low", "high"]);
            self.set("leak", &format!("{} mm", decimal(hole, 2)));
            self.set("leak_side", side);
            self.tell(format!("a hole of {} mm", decimal(hole, 2)));
        }
        if self.often([15, 15, 15]) {
            self.line("high_voltage = true");
            self.tell("high voltage");
        }
        if self.often([30, 40, 40]) {
            let (cool, warm) = self.mood.of([(ambient, ambient + 150), (ambient, ambient + 300), (-100, 800)]);
            let bay = self.draw.between(cool, warm.min(800));
            self.set("engine_bay", &format!("{} degC", decimal(bay, 1)));
        }
    }

    /// What is really in it, by tenths of a percent: the label's gas with something else.
    fn gas(&mut self, label: usize) {
        let (low, high) = self.draw.pick(&[(5, 30), (30, 200), (200, 999)]);
        let strange = self.draw.between(low, high);
        let (first, second) =
            self.draw.pick(&[(GASES[1 - label], ""), ("hydrocarbon", ""), ("other", ""), ("hydrocarbon", "other")]);
        let more = if second.is_empty() { 0 } else { self.draw.between(0, strange) };
        self.table("vehicle.gas");
        for (key, tenths) in [(GASES[label], 1_000 - strange), (first, strange - more), (second, more)] {
            if tenths > 0 {
                self.set(key, &format!("{} %", decimal(tenths, 1)));
            }
        }
        self.tell(format!("{} % of the gas off its label", decimal(strange, 1)));
    }

    /// Returns the phases that are ordered.
    fn order(&mut self, station: &Station, vehicle: &Vehicle) -> Vec<&'static str> {
        let usable = (station.content_g - 1_000).min(5_000);
        let mut phases: Vec<&'static str> = if self.often([60, 45, 30]) {
            PHASE_WORDS.to_vec()
        } else if self.often([90, 60, 30]) {
            self.draw.pick(&PARTS).to_vec()
        } else {
            PHASE_WORDS.into_iter().filter(|_| self.draw.chance(60)).collect()
        };
        // The format refuses a charge that the vessel does not hold.
        phases.retain(|one| *one != "charge" || usable >= 50);
        if phases.is_empty() {
            phases.push("identify");
        }
        self.table("order");
        if phases == PHASE_WORDS {
            self.set("phases", "whole");
        } else {
            self.line(&format!("phases = [\"{}\"]", phases.join("\", \"")));
        }
        let share = self.range([(100, 100), (85, 110), (5, 200)]);
        if phases.contains(&"charge") {
            let charge = (vehicle.label_g * share / 100).min(usable).max(50);
            self.set("charge", &format!("{charge} g"));
        }
        self.order_times(station.oil_ml);
        phases
    }

    fn order_times(&mut self, oil_ml: i64) {
        let evacuate = match self.draw.between(0, 99) {
            0..80 => self.draw.between(60, 300),
            80..97 => self.draw.between(300, 1_200),
            _ => self.range([(300, 1_200), (300, 3_600), (300, 14_400)]),
        };
        let (low, high) = self.mood.of([
            [(200, 500), (200, 500), (200, 500), (200, 500)],
            [(20, 100), (100, 300), (300, 1_000), (1_000, 5_000)],
            [(20, 100), (100, 300), (300, 1_000), (1_000, 5_000)],
        ])[self.draw.pick(&[0, 1, 2, 3])];
        let depth = self.draw.between(low, high);
        let hold = if self.draw.chance(85) { self.draw.between(120, 300) } else { self.draw.between(300, 900) };
        self.set("evacuate_time", &duration(evacuate));
        self.set("evacuate_depth", &format!("{depth} Pa"));
        self.set("leak_hold", &duration(hold));
        let most = self.mood.of([20, 30, 100]).min(oil_ml);
        if self.draw.chance(40) && most > 0 {
            let oil = self.draw.between(1, most);
            self.set("inject_oil", &format!("{oil} mL"));
        }
        let sides = self.draw.pick(&["both", "both", "low", "high"]);
        self.set("sides", sides);
    }
}
