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

const HATCHBACK: &str = "mild_hatchback";
/// In the middle of the recovery.
const RECOVERING: (f64, f64) = (300.0, 330.0);
/// From the start of the order until its gas is identified.
const IDENTIFYING: (f64, f64) = (0.0, 120.0);
/// A power cut, and a while around it in which a start finds what was kept.
const CUT: &[&str] = &["F077 at=700s severity=5s"];
const AFTER_CUT: (f64, f64) = (699.9, 720.0);
/// The same with some writes before it.
const WRITING: (f64, f64) = (500.0, 720.0);
/// A gas that is pure enough, and not quite pure; one with air in it.
const NOT_QUITE: &[Edit<'static>] =
    &[("[vehicle.volumes]", "[vehicle.gas]\nR-1234yf = \"98.6 %\"\nR-134a = \"1.4 %\"\n[vehicle.volumes]")];
const AIRY: &[Edit<'static>] = &[("content = \"445 g\" ", "air = \"12 g\"\ncontent = \"60 g\" ")];

const fn shown(fault: &'static str, at: Level) -> Shown {
    Shown { fault, job: HATCHBACK, edits: &[], with: &[], span: RECOVERING, full: false, at }
}

const fn identifying(fault: &'static str, edits: &'static [Edit<'static>]) -> Shown {
    Shown { edits, span: IDENTIFYING, ..shown(fault, Level::Frame) }
}

const fn beside(fault: &'static str, with: &'static [&'static str], span: (f64, f64), at: Level) -> Shown {
    Shown { with, span, ..shown(fault, at) }
}

use Level::{Frame, Machine, Panel, Plant, Truth as Touched};

/// A scene for each way of each fault, in the order of the catalogue.
pub const SHOWN: &[Shown] = &[
    shown("F001", Frame),
    shown("F002", Frame),
    shown("F003 mode=held", Frame),
    shown("F003 mode=frozen", Frame),
    shown("F004", Frame),
    shown("F005", Frame),
    shown("F006 mode=white", Frame),
    shown("F006 mode=bursts", Frame),
    shown("F007", Frame),
    shown("F008", Frame),
    shown("F009 mode=held", Frame),
    shown("F009 mode=frozen", Frame),
    shown("F010", Frame),
    shown("F011", Frame),
    // The gauge shows less than 100 mbar only in vacuum.
    Shown { span: (1500.0, 1520.0), ..shown("F012", Frame) },
    shown("F013", Frame),
    shown("F014", Frame),
    shown("F015", Frame),
    shown("F016", Frame),
    shown("F017", Frame),
    shown("F018 mode=held", Frame),
    shown("F018 mode=value", Frame),
    shown("F019", Frame),
    shown("F020", Frame),
    shown("F021", Frame),
    shown("F021 tag=WT-1B", Frame),
    shown("F022 mode=high", Frame),
    shown("F022 mode=low", Frame),
    shown("F023 mode=share", Frame),
    shown("F023 mode=rate", Frame),
    shown("F024", Frame),
    shown("F025", Frame),
    shown("F026 mode=constant", Frame),
    shown("F026 mode=spring", Frame),
    shown("F027", Frame),
    shown("F028", Frame),
    shown("F029 mode=frozen", Frame),
    shown("F029 mode=stuck", Frame),
    shown("F030", Frame),
    identifying("F031", &[]),
    identifying("F032", &[]),
    identifying("F033 mode=old_report", &[]),
    identifying("F033 mode=old_result", NOT_QUITE),
    identifying("F034", NOT_QUITE),
    identifying("F035", &[]),
    Shown { at: Touched, ..identifying("F036", &[]) },
    identifying("F037", AIRY),
    identifying("F038", &[]),
    shown("F039", Frame),
    beside("F040", &["F128 mode=vapour severity=0.3mm at=290s"], RECOVERING, Frame),
    beside("F041", &["F128 mode=vapour severity=0.3mm at=290s"], RECOVERING, Frame),
    shown("F042", Frame),
    beside("F043", &["F056 at=100s"], (100.0, 900.0), Frame),
    beside("F044", &["F056 at=100s"], (100.0, 900.0), Frame),
    beside("F045", &["F070 at=300s"], RECOVERING, Frame),
    beside("F046", &["F114 at=300s"], RECOVERING, Frame),
    beside("F047", &["F113 at=300s"], RECOVERING, Frame),
    Shown { full: true, ..shown("F048", Frame) },
    Shown { full: true, ..shown("F049", Frame) },
    beside("F050", &["F115 at=300s"], RECOVERING, Frame),
    beside("F050 tag=HS-1B", &["F115 at=300s"], RECOVERING, Frame),
    shown("F051", Plant("XV-1.opening")),
    Shown { span: (100.0, 110.0), ..shown("F052", Plant("XV-2.opening")) },
    beside("F053", &["F062 tag=XV-10 at=300s"], RECOVERING, Plant("XV-5+XV-10+XV-1.opening")),
    beside("F054", &["F062 tag=XV-10 at=300s"], RECOVERING, Plant("XV-5+XV-10+XV-1.opening")),
    Shown { span: (2600.0, 2760.0), ..shown("F055", Plant("XV-5+XV-10+XV-1.opening")) },
    shown("F056", Plant("XV-4.opening")),
    shown("F057", Plant("XV-6.opening")),
    shown("F058", Plant("XV-7.opening")),
    shown("F059", Plant("XV-8.opening")),
    shown("F060", Plant("XV-9+XV-1.flow_oil")),
    shown("F061", Plant("XV-1.opening")),
    shown("F062 tag=XV-7", Plant("XV-7.opening")),
    shown("F063 tag=XV-3", Plant("XV-3.opening")),
    Shown { span: (900.0, 1400.0), ..shown("F064", Plant("C-1.opening")) },
    shown("F065", Touched),
    shown("F066", Plant("C-1.flow")),
    shown("F067", Plant("P-1.opening")),
    Shown { span: (1500.0, 1520.0), ..shown("F068", Plant("pump_inlet.p")) },
    beside("F069", &["F135 at=300s"], RECOVERING, Plant("H-1+H-2.power")),
    shown("F070", Plant("K-1.opening")),
    shown("F071", Frame),
    shown("F072", Plant("vessel.m")),
    // A full vessel that has stood in 60 degC, and a heater that does not stop.
    Shown {
        edits: &[("vessel_content = \"6 kg\"", "vessel_content = \"10 kg\"")],
        ..beside("F073", &["F120 severity=60degC", "F069", "F135"], (0.0, 3000.0), Plant("PSV-1.flow"))
    },
    beside("F074", &["F061 tag=XV-4"], (0.0, 20.0), Plant("discharge.m")),
    shown("F075", Plant("separator.p")),
    Shown { span: (300.0, 400.0), ..shown("F076", Plant("vessel.m_water")) },
    shown("F077", Touched),
    beside("F078 mode=before", &[], WRITING, Machine),
    beside("F078 mode=mid", &[], WRITING, Machine),
    beside("F078 mode=after", &[], WRITING, Machine),
    shown("F079 mode=slow", Touched),
    shown("F079 mode=fast", Touched),
    shown("F080", Touched),
    shown("F081", Touched),
    beside("F082", &["F079 mode=slow at=300s"], RECOVERING, Frame),
    beside("F083 mode=one_copy", CUT, AFTER_CUT, Level::Store),
    beside("F083 mode=both_copies", CUT, AFTER_CUT, Level::Store),
    beside("F084", CUT, (650.0, 720.0), Level::Store),
    beside("F085", CUT, AFTER_CUT, Level::Store),
    beside("F086", &[], WRITING, Level::Store),
    beside("F087", CUT, WRITING, Level::Store),
    beside("F088", CUT, AFTER_CUT, Level::Store),
    beside("F089", CUT, AFTER_CUT, Level::Store),
    beside("F090", CUT, WRITING, Level::Store),
    beside("F091", CUT, WRITING, Level::Store),
    shown("F092", Frame),
    shown("F093", Frame),
    shown("F094", Frame),
    shown("F095", Machine),
    Shown { span: (40.0, 45.0), ..shown("F096", Machine) },
    shown("F097", Machine),
    beside("F098", &["F097 at=300s"], RECOVERING, Level::Outputs),
    shown("F099", Panel),
    shown("F100", Frame),
    shown("F101", Frame),
    shown("F102 mode=skip", Machine),
    shown("F102 mode=repeat", Machine),
    shown("F103", Machine),
    shown("F104", Frame),
    shown("F104 tag=WT-1A", Frame),
    shown("F105", Machine),
    shown("F106", Frame),
    shown("F109", Frame),
    Shown { span: (0.0, 10.0), ..shown("F110", Panel) },
    Shown { edits: ELECTRIC, span: (0.0, 10.0), ..shown("F111", Panel) },
    shown("F112", Panel),
    shown("F113", Touched),
    shown("F114", Touched),
    shown("F115", Touched),
    Shown { span: (0.0, 10.0), ..shown("F116", Panel) },
    Shown { span: (0.0, 10.0), ..shown("F117", Panel) },
    shown("F118", Plant("XV-4.flow")),
    shown("F119", Touched),
    shown("F120", Touched),
    shown("F121 mode=refrigerant", Touched),
    shown("F121 mode=hydrocarbon", Touched),
    shown("F122", Plant("vehicle_low.m_air")),
    shown("F123", Plant("vessel.p")),
    shown("F124", Plant("accumulator.m_pool")),
    shown("F125", Plant("F125#1.flow")),
    shown("F126", Plant("F126#1.flow")),
    shown("F127", Plant("cabinet.lfl")),
    shown("F128 mode=liquid", Plant("cabinet.lfl")),
    shown("F128 mode=vapour", Plant("cabinet.lfl")),
    shown("F129", Frame),
    shown("F130", Frame),
    shown("F131", Touched),
    shown("F132", Plant("hose_low.t_wall")),
    shown("F133 mode=span", Frame),
    shown("F133 mode=offset", Frame),
    shown("F133 mode=stuck", Frame),
    shown("F133 mode=drift", Frame),
    shown("F134", Frame),
    beside("F135", &["F069 at=300s"], RECOVERING, Plant("H-1+H-2.power")),
    beside("F136", &["F070 at=300s"], RECOVERING, Frame),
    shown("F137 mode=span", Frame),
    shown("F137 mode=drift", Frame),
    shown("F138 mode=lost", Machine),
    shown("F138 mode=late", Machine),
    shown("F138 mode=repeated", Frame),
];

/// A vehicle with high voltage whose driver says so.
const ELECTRIC: &[Edit<'static>] = &[("charge_label = \"480 g\" ", "high_voltage = true\ncharge_label = \"480 g\" ")];

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
