//! Scenarios drawn from a seed: any vehicle, weather, order and operator that the format can say, as the text of a file.
//!
//! `random:17` names the scenario of seed 17 wherever a shipped name is taken. Every drawn text reads; what comes of it is
//! not known beforehand. A change of what is drawn here changes the job behind every seed.

pub mod draw;
mod operator;
mod order;
mod vehicle;

use std::fmt::Write;

use super::diagnostic::Source;
use super::model::OilKind;
use draw::{Draw, Mood, decimal, duration};

/// What a name begins with where a seed follows.
pub const PREFIX: &str = "random:";
/// Simulated time a drawn run may take, min: a hundred of them stay affordable on a slow target, and most orders end in it.
const TIME_LIMIT_MIN: i64 = 40;
/// Air pressure each 500 m upwards from sea level, Pa (ICAO standard atmosphere, from memory).
const BAROMETER: [i64; 6] = [101_325, 95_460, 89_880, 84_560, 79_500, 74_690];
/// Periods of the controller's scan, ms.
const SCANS: [i64; 5] = [10, 20, 25, 50, 100];
const GASES: [&str; 2] = ["R-1234yf", "R-134a"];

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
    let message = if seed.is_empty() {
        format!("`{name}`: the seed is missing behind the colon")
    } else if !seed.bytes().all(|b| b.is_ascii_digit()) {
        format!("`{name}`: `{seed}` is no whole number")
    } else if let Ok(seed) = seed.parse() {
        return Some(Ok(seed));
    } else {
        format!("`{name}`: the seed is outside the accepted range")
    };
    Some(Err(BadSeed { message, help: format!("accepted range: 0 to {}, such as {PREFIX}17", u64::MAX) }))
}

/// The source of a drawn scenario by its name; `None` for a name of another kind.
pub fn source(name: &str) -> Option<Result<Source, BadSeed>> {
    let seed = seed_of(name)?;
    Some(seed.map(|seed| Source::new(format!("random-{seed}.toml"), text(seed))))
}

/// The text of the scenario of a seed.
pub fn text(seed: u64) -> String {
    let mut draw = Draw::new(seed);
    let mood = Mood::draw(&mut draw);
    let mut job = Job { draw, mood, text: String::new(), traits: Vec::new() };
    let limit = if job.often([0, 0, 10]) { job.draw.between(1, TIME_LIMIT_MIN) } else { TIME_LIMIT_MIN };
    let plan = Plan::draw(&mut job);
    let ambient = site(&mut job);
    station(&mut job, ambient, &plan);
    let label_g = vehicle::vehicle(&mut job, ambient, &plan);
    order::order(&mut job, &plan, label_g);
    operator::operator(&mut job, &plan.phases);
    let traits = if job.traits.is_empty() { "nothing out of the ordinary".to_owned() } else { job.traits.join(", ") };
    format!(
        "# A scenario drawn from a seed. Have it again with this version of the program: valvewright run {PREFIX}{seed}\n\
         name = \"random-{seed}\"\n\
         title = \"Drawn from seed {seed}: {} ({}, {} degC)\"\n\
         summary = \"\"\"\nNobody composed this job. In it: {traits}.\n\"\"\"\n\
         seed = {}\n\
         time_limit = \"{limit} min\"\n{}",
        mood.word(),
        GASES[plan.gas],
        decimal(ambient, 1),
        // A file holds seeds of 63 bits.
        seed & i64::MAX.unsigned_abs(),
        job.text,
    )
}

/// A file in the making.
struct Job {
    draw: Draw,
    mood: Mood,
    /// The tables so far.
    text: String,
    /// What readers should know beforehand.
    traits: Vec<String>,
}

impl Job {
    /// True as often as the mood says, in percent.
    fn often(&mut self, percent: [u64; 3]) -> bool {
        self.draw.chance(self.mood.of(percent))
    }

    /// A number out of the range for this mood.
    fn range(&mut self, ranges: [(i64, i64); 3]) -> i64 {
        let (low, high) = self.mood.of(ranges);
        self.draw.between(low, high)
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// A quantity or word in quotes.
    fn set(&mut self, key: &str, value: &str) {
        let _infallible = writeln!(self.text, "{key} = \"{value}\"");
    }

    fn table(&mut self, name: &str) {
        let _infallible = writeln!(self.text, "\n[{name}]");
    }

    /// Something that readers should know beforehand.
    fn tell(&mut self, what: impl Into<String>) {
        let what = what.into();
        if !self.traits.contains(&what) {
            self.traits.push(what);
        }
    }
}

/// What the tables must agree in.
struct Plan {
    /// Place of the station's refrigerant in [`GASES`].
    gas: usize,
    phases: Vec<&'static str>,
    vessel_g: i64,
    new_oil_ml: i64,
}

impl Plan {
    fn draw(job: &mut Job) -> Self {
        let gas = usize::from(job.draw.chance(35));
        let phases = order::phases(&mut job.draw, job.mood);
        // A vessel near its rating is a trouble of those who recover into it.
        let full = if phases.contains(&"recover") { [0, 25, 35] } else { [0, 5, 10] };
        let ranges = if job.often(full) { [(9_600, 10_000); 3] } else { [(3_000, 8_000), (1_500, 9_500), (0, 10_000)] };
        let vessel_g = job.range(ranges);
        let ranges = if job.often([0, 5, 20]) { [(0, 10); 3] } else { [(150, 500), (50, 600), (0, 1_000)] };
        let new_oil_ml = job.range(ranges);
        let mut plan = Self { gas, phases, vessel_g, new_oil_ml };
        // The format refuses a charge that the vessel does not hold, and an order of nothing.
        let usable = plan.usable_g();
        plan.phases.retain(|one| *one != "charge" || usable >= 50);
        if plan.phases.is_empty() {
            plan.phases.push("identify");
        }
        plan
    }

    fn has(&self, phase: &str) -> bool {
        self.phases.contains(&phase)
    }

    /// Most that can be charged: what stands above the vessel's heel, g.
    fn usable_g(&self) -> i64 {
        (self.vessel_g - 1_000).min(5_000)
    }
}

/// Writes the workshop; returns its temperature, 0.1 degC.
fn site(job: &mut Job) -> i64 {
    // The ends of the scale are the hard ones, so they come more often than the middle.
    let hard = job.draw.pick(&[(-50, 450), (-50, 450), (-50, 0), (400, 450)]);
    let ambient = job.range([(50, 380), hard, hard]);
    let height = job.range([(0, 800), (0, 2_500), (0, 2_500)]);
    let (at, above) = ((height / 500) as usize, height % 500);
    let low = BAROMETER[at];
    let high = BAROMETER.get(at + 1).copied().unwrap_or(low);
    let weather = job.draw.between(-1_500, 1_500);
    let pressure = (low + (high - low) * above / 500 + weather) / 10;
    let humidity = job.draw.between(10, 95);
    job.table("site");
    job.set("ambient", &format!("{} degC", decimal(ambient, 1)));
    job.line(&format!("barometer = \"{} kPa\"      # {height} m above the sea", decimal(pressure, 2)));
    job.set("humidity", &format!("{humidity} %"));
    ambient
}

fn station(job: &mut Job, ambient: i64, plan: &Plan) {
    // Most of it dissolves in the liquid: some 5 g a bar stay over a tenth of the vessel in gas space, three times that go below.
    let air = job.range([(0, 10), (0, 80), (0, 1500)]);
    job.table("station");
    job.set("refrigerant", GASES[plan.gas]);
    job.set("vessel_content", &format!("{} g", plan.vessel_g));
    job.set("vessel_air", &format!("{} g", decimal(air, 1)));
    if job.often([0, 40, 60]) {
        let (cold, hot) = job.mood.of([(0, 0), (ambient - 100, ambient + 100), (-100, 500)]);
        let own = job.draw.between(cold.max(-100), hot.min(500));
        job.set("temperature", &format!("{} degC", decimal(own, 1)));
    }
    if job.draw.chance(45) {
        let hours = if job.draw.chance(75) { job.draw.between(4, 72) } else { job.draw.between(1, 3) };
        job.set("rested", &duration(hours * 3_600));
    }
    let oil = job.draw.pick(&OilKind::WORDS);
    let scan = job.draw.pick(&SCANS);
    job.set("new_oil", oil);
    job.set("new_oil_amount", &format!("{} mL", plan.new_oil_ml));
    job.set("scan", &format!("{scan} ms"));
    if plan.vessel_g > 9_000 {
        job.tell("a vessel near its rating");
    }
    if air > 50 {
        job.tell(format!("{} g of air in the vessel", decimal(air, 1)));
    }
}
