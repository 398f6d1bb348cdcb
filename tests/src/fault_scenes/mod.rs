//! Every fault of the catalogue, in each of its ways, in a scene in which its work can be seen beside a twin that lacks it alone.
//!
//! A scene is data: the job, what else is broken in both twins so that the fault matters, when it comes, and where its work must show.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Outputs, RawFrame};
use valvewright_core::kept::{Memory, Start};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{Instant, Millis};
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
use valvewright_sim::instrument::Truth;
use valvewright_sim::run::{RunOptions, Simulation, Stand, Store};
use valvewright_sim::scenario::{Scenario, parse_fault};

use crate::job_runs::{Edit, scenario};

mod table;

pub use table::SHOWN;

/// Where a fault's work must show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Level {
    /// In what goes into the controller, while the process is still what it is without the fault.
    Frame,
    /// In this signal of the plant.
    Plant(&'static str),
    /// In what the instruments touch: air, supply, door, couplers, gas, motor current.
    Truth,
    /// In when and how often the controller is asked.
    Machine,
    /// In what the operator presses or orders.
    Panel,
    /// In what is on.
    Outputs,
    /// In what the station keeps over a power cut, or what a start finds of it.
    Store,
}

/// A fault in a scene.
#[derive(Clone, Copy, Debug)]
pub struct Shown {
    /// The fault in the words of the command line, without its time.
    pub fault: &'static str,
    /// Shipped scenario.
    pub job: &'static str,
    /// What is changed in it.
    pub edits: &'static [Edit<'static>],
    /// Faults in both twins.
    pub with: &'static [&'static str],
    /// When the fault comes and until when both run, s.
    pub span: (f64, f64),
    /// Used-oil bottle and separator are full of oil.
    pub full: bool,
    /// Where it shows.
    pub at: Level,
}

/// The controller of the station, and what it was given.
#[derive(Clone)]
pub struct Witness {
    station: Station,
    /// The tick of each scan that it was asked for.
    pub ticks: Vec<u32>,
    /// What was pressed, with its scan.
    pub pressed: Vec<(usize, Command)>,
    /// What each start found of what was kept.
    pub starts: Vec<Memory>,
}

impl Witness {
    /// At power-on.
    pub fn new(config: StationConfig) -> Self {
        Self { station: Station::new(config, Millis(0)), ticks: Vec::new(), pressed: Vec::new(), starts: Vec::new() }
    }
}

impl Controller for Witness {
    fn who(&self) -> Who {
        self.station.who()
    }
    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble> {
        self.starts.push(start.memory.clone());
        self.station.begin(config, start)
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        self.ticks.push(now.0);
        self.pressed.extend(frame.command.clone().map(|one| (self.ticks.len(), one)));
        self.station.scan(now, frame, notices)
    }
    fn core(&self) -> Option<&Station> {
        Some(&self.station)
    }
}

/// One scan of a twin.
#[derive(Clone, Debug, PartialEq)]
pub struct Sight {
    /// Simulated time, s.
    pub t: f64,
    /// What went in.
    pub frame: RawFrame,
    /// What the instruments touched.
    pub truth: Truth,
    /// What came out.
    pub outputs: Outputs,
    /// The signal that is looked at; 0 where there is none.
    pub signal: f64,
}

/// A twin after its run.
pub struct Twin {
    /// Every scan.
    pub sights: Vec<Sight>,
    /// The controller.
    pub witness: Witness,
    /// What the station keeps at the end.
    pub store: Store,
    /// Where the fault of the scene stood in the result; none in the healthy twin.
    pub came: Option<f64>,
}

/// The scenario with faults in the words of the command line.
pub fn with_faults(mut made: Scenario, faults: &[String]) -> Scenario {
    for one in faults {
        let (planned, _) = parse_fault::read_words(one).unwrap_or_else(|wrong| panic!("{one}: {wrong:?}"));
        made.faults.push(planned);
    }
    made
}

impl Shown {
    /// Its id.
    pub fn id(&self) -> &'static str {
        self.fault.split(' ').next().unwrap_or_default()
    }

    /// How to have it again.
    pub fn replay(&self) -> String {
        let with: String = self.with.iter().map(|one| format!(" --fault \"{one}\"")).collect();
        format!("valvewright run {}{with} --fault \"{}\" (edits {:?})", self.job, self.words(), self.edits)
    }

    /// The fault with its time.
    pub fn words(&self) -> String {
        let from = self.span.0;
        if from > 0.0 { format!("{} at={from}s", self.fault) } else { self.fault.to_owned() }
    }

    /// The scenario of a twin: with the fault or without.
    pub fn scenario(&self, faulty: bool) -> Scenario {
        let mut words: Vec<String> = self.with.iter().map(|one| (*one).to_owned()).collect();
        words.extend(faulty.then(|| self.words()));
        let mut made = with_faults(scenario(self.job, self.edits, ""), &words);
        made.station.network = self.full.then(full_station).or(made.station.network);
        made
    }

    /// Runs one of the two.
    pub fn run(&self, faulty: bool) -> Twin {
        let made = self.scenario(faulty);
        let options = RunOptions { no_samples: true, ..RunOptions::default() };
        let config = valvewright_sim::run::station_config(&made).expect("a shipped station");
        let run = Simulation::with(&made, &options, Witness::new(config));
        let mut run = run.unwrap_or_else(|why| panic!("{why}\nreplay: {}", self.replay()));
        let mut sights = Vec::new();
        while run.time() < self.span.1 && run.stand() == Stand::Running {
            let t = run.time();
            run.step().unwrap_or_else(|why| panic!("{why}\nreplay: {}", self.replay()));
            let signal = match self.at {
                Level::Plant(name) => run.signal(name).unwrap_or(0.0),
                _ => 0.0,
            };
            let (frame, truth, outputs) = (run.frame().clone(), run.truth().clone(), run.outputs().clone());
            sights.push(Sight { t, frame, truth, outputs, signal });
        }
        let witness = run.controller().clone();
        let store = run.store().clone();
        let records = run.finish().result.faults;
        let came = records.last().filter(|_| faulty).and_then(|one| one.began_s);
        Twin { sights, witness, store, came }
    }

    /// Why the fault's work cannot be seen, where it cannot.
    pub fn unseen(&self) -> Option<String> {
        let (healthy, faulty) = (self.run(false), self.run(true));
        let Some(came) = faulty.came else { return Some("it never came".to_owned()) };
        if (came - self.span.0).abs() > 0.051 {
            return Some(format!("it came at {came} s"));
        }
        let pairs: Vec<(&Sight, &Sight)> = healthy.sights.iter().zip(&faulty.sights).collect();
        let from = self.span.0 - 1e-6;
        if let Some((one, _)) = pairs.iter().find(|(a, b)| a.t < from && a != b) {
            return Some(format!("the twins part at {} s, before it comes", one.t));
        }
        let mut after = pairs.iter().filter(|(a, _)| a.t >= from);
        let seen = match self.at {
            Level::Frame => after.find(|(a, b)| a.frame != b.frame).is_some_and(|(a, b)| a.truth == b.truth),
            Level::Plant(_) => after.any(|(a, b)| {
                let size = a.signal.abs().max(b.signal.abs());
                (a.signal - b.signal).abs() > 1e-5 * size && size > 1e-9
            }),
            Level::Truth => {
                after.next().is_some_and(|(a, b)| a.truth != b.truth) || after.any(|(a, b)| a.truth != b.truth)
            }
            Level::Machine => {
                healthy.witness.ticks != faulty.witness.ticks || healthy.witness.starts != faulty.witness.starts
            }
            Level::Store => healthy.store != faulty.store || healthy.witness.starts != faulty.witness.starts,
            Level::Panel => healthy.witness.pressed != faulty.witness.pressed,
            Level::Outputs => after.any(|(a, b)| a.outputs.on != b.outputs.on),
        };
        (!seen).then(|| format!("nothing of it shows in {:?}", self.at))
    }
}

/// The file of a workshop whose used-oil bottle and separator are full of oil: LS-1 opens at 90 %, LS-2 at 80 %.
fn full_station() -> String {
    let path = std::env::temp_dir().join(format!("valvewright-full-{}.toml", std::process::id()));
    let mut text = valvewright_sim::station::SHIPPED[0].text.to_owned();
    for (head, oil) in [("[volume.used_oil.oil]\nmass = ", "\"50 g\""), ("[volume.separator.oil]\nmass = ", "\"10 g\"")]
    {
        let full = if head.contains("used") { "\"920 g\"" } else { "\"520 g\"" };
        assert_eq!(text.matches(&format!("{head}{oil}")).count(), 1, "{head} in the workshop's file");
        text = text.replace(&format!("{head}{oil}"), &format!("{head}{full}"));
    }
    std::fs::write(&path, text).expect("a file in the temporary folder");
    path.to_string_lossy().into_owned()
}
