//! What `run` can be told on the command line.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::display::{DisplayArgs, LanguageArg};
use crate::board::Joined;
use crate::board::disturb::Disturbance;
use crate::scenario::shipped::DEMO;

/// What `run` is asked.
#[derive(Debug, Args)]
pub struct RunArgs {
    /// Shipped scenarios, random:SEED for one drawn from a seed (such as random:17), or files; run one after another.
    #[arg(value_name = "NAME|FILE", default_value = DEMO)]
    pub scenarios: Vec<String>,
    /// Seed of noise and device errors in place of the scenario's.
    #[arg(long)]
    pub seed: Option<u64>,
    /// Do the job on this station, shipped or a file, in place of the scenario's.
    #[arg(long, value_name = "NAME|FILE")]
    pub station: Option<String>,
    /// Go on from a station's store and write it back at the end, so that runs make a history; the file is made where it is missing.
    #[arg(long, value_name = "FILE", conflicts_with = "driver")]
    pub store: Option<PathBuf>,
    /// Who serves, by the number in the store's list of operators.
    #[arg(long, value_name = "NUMBER", requires = "store")]
    pub operator: Option<u16>,
    /// Day on which the run begins, such as 2026-03-02 [default: the day after the last run on the store].
    #[arg(long, value_name = "DATE", requires = "store")]
    pub date: Option<String>,
    /// Break something on the way, in the words of a [[fault]] table: "F023 severity=0.3g/s phase=charge after=40s". Repeatable.
    #[arg(long, value_name = "WORDS")]
    pub fault: Vec<String>,
    /// What if this row of the interlock table were not there: I03, for one. Repeatable; for teaching and for tests, with the core only.
    #[arg(long, value_name = "ROW", conflicts_with = "driver")]
    pub without: Vec<String>,
    /// What if this set point of the interlock table lay elsewhere: vessel_pressure=18.2, in its unit; its clear point goes along. Repeatable.
    #[arg(long, value_name = "NAME=FIGURE", conflicts_with = "driver")]
    pub set_point: Vec<String>,
    /// Say why it stopped: each stop from its cause to what became of the work.
    #[arg(long)]
    pub explain: bool,
    /// Write what held and what did not as JUnit XML: each scenario a test suite, each expectation, property and hazard a case.
    #[arg(long, value_name = "FILE")]
    pub junit: Option<PathBuf>,
    /// Folder for the results; it must not exist yet [default: results/<scenario>, or -2, -3, ... where taken]. Of several
    /// scenarios each has its own folder in it.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Overwrite the results in an existing folder.
    #[arg(long)]
    pub force: bool,
    /// Leave the HTML report out.
    #[arg(long)]
    pub no_report: bool,
    /// Form of the trace.
    #[arg(long, value_enum, default_value_t = TraceForm::Csv)]
    pub trace: TraceForm,
    #[command(flatten)]
    pub display: DisplayArgs,
    /// Language of the notices on the terminal and in the report; all else there, and every file for programs, stays English.
    #[arg(long, value_enum, default_value_t = LanguageArg::En, value_name = "LANGUAGE")]
    pub language: LanguageArg,
    /// Let the core on a board drive the plant, compared scan by scan with the host: semihosting or uart in the emulator, or
    /// serial:PORT, such as serial:/dev/ttyUSB0 or serial:/dev/ttyUSB0@921600 (115200 baud where none is said).
    #[arg(long, value_name = "LINE", group = "driver")]
    pub board: Option<Joined>,
    /// Let any other controller drive the plant: a program with its arguments, such as "python3 mine.py", or serial:PORT.
    #[arg(long, value_name = "COMMAND|serial:PORT", group = "driver")]
    pub controller: Option<String>,
    /// Firmware image of the board [default: target/firmware/loop_<LINE>].
    #[arg(long, value_name = "ELF", requires = "board")]
    pub firmware: Option<PathBuf>,
    /// Spoil the line to the board: KIND@SECONDS with lost, repeated, broken, late, silent (uart only) or unplugged.
    #[arg(long, value_name = "KIND@TIME", requires = "board")]
    pub disturb: Option<Disturbance>,
    /// Longest wait, step and silence on the line that is not a fault, ms [default: 500; uart, serial: 5000; a program: 1000].
    #[arg(long, value_name = "MS", requires = "driver", value_parser = clap::value_parser!(u32).range(100..=600_000))]
    pub patience: Option<u32>,
}

impl RunArgs {
    /// What runs without a verb.
    pub fn demo() -> Self {
        Self {
            scenarios: vec![DEMO.to_owned()],
            seed: None,
            station: None,
            store: None,
            operator: None,
            date: None,
            fault: Vec::new(),
            without: Vec::new(),
            set_point: Vec::new(),
            explain: false,
            junit: None,
            out: None,
            force: false,
            no_report: false,
            trace: TraceForm::Csv,
            display: DisplayArgs::default(),
            language: LanguageArg::default(),
            board: None,
            controller: None,
            firmware: None,
            disturb: None,
            patience: None,
        }
    }
}

/// Form of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TraceForm {
    /// Comma-separated values.
    Csv,
    /// Arrow IPC file.
    Arrow,
    /// Both.
    Both,
    /// No trace.
    None,
}
