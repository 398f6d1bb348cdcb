//! The `valvewright` command: verbs, exit codes, and how things are said.
//!
//! Exit codes: 0 all held, 1 an expectation or hazard failed, 2 did not finish, 3 a fault of ours, 64 wrong use. Results go to standard
//! output, everything else to standard error; with `--json` a refusal is JSON on standard output too.

mod again;
mod campaign;
mod campaign_minimal;
mod campaign_refusal;
mod check;
mod code;
mod display;
mod driver;
mod explore;
mod fault;
mod fluid;
mod input;
mod kind;
mod list;
mod matrix;
mod near;
mod notices;
mod output;
mod panel;
mod papers;
mod rare;
mod replay;
mod rig;
mod run;
mod run_args;
mod search;
mod seek;
mod set_points;
mod station;
mod sweep;
mod workshop;
mod years;

use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

use output::{Exit, Refusal};
use run_args::RunArgs;

/// The command line.
#[derive(Debug, Parser)]
#[command(
    name = "valvewright",
    version,
    about = "A simulated refrigerant service station, driven by the controller that a real one would run",
    after_long_help = "Without a verb the demo runs. Exit codes: 0 held, 1 failed, 2 unfinished, 3 our fault, 64 misuse.",
    // No blank lines about the usage: with them the list of verbs is longer than a screen.
    help_template = "{about}\n{usage-heading} {usage}\n{all-args}{after-help}",
    disable_help_subcommand = true
)]
struct Cli {
    #[command(subcommand)]
    verb: Option<Verb>,
    #[command(flatten)]
    global: Global,
}

#[derive(Debug, Clone, Copy, Args)]
struct Global {
    /// Print JSON instead of text.
    #[arg(long, global = true)]
    json: bool,
    /// Colour in the text.
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN", hide_short_help = true)]
    color: Colour,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Colour {
    /// On a terminal.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Run a scenario and write its results and report.
    Run(RunArgs),
    /// Check scenario, station, rig and network files without running them.
    Check(CheckArgs),
    /// Run a bare plant network under its schedule, without the controller, into one CSV.
    Rig(RigArgs),
    /// Feed recorded jobs to the controller on a board and compare every scan with the host.
    Replay(replay::ReplayArgs),
    /// Look up properties of a refrigerant.
    Fluid(Box<FluidArgs>),
    /// Print the interlock table, or one of its rows in full.
    Matrix(MatrixArgs),
    /// The fault catalogue: what can be broken in a run, and how.
    #[command(subcommand)]
    Fault(FaultVerb),
    /// Codes of replacement parts: make some for a demonstration, or check one.
    #[command(subcommand)]
    Code(code::CodeVerb),
    /// Papers of a run: tickets of its jobs, the books of refrigerant.
    #[command(subcommand)]
    Papers(papers::PapersVerb),
    /// A workshop's side of a station: records, settings, what is due.
    #[command(subcommand)]
    Station(station::StationVerb),
    /// Many runs of one plan: faults, moments, scenarios, seeds; into one table.
    Campaign(campaign::CampaignArgs),
    /// Search one job of a plan: pairs of faults, least margins, rare accidents.
    #[command(subcommand)]
    Search(search::SearchVerb),
    /// Years of a workshop's services on one station in minutes, judged after each.
    Years(years::YearsArgs),
    /// Serve the live page of a run on this machine: look, break, answer, go back, branch.
    Panel(panel::PanelArgs),
    /// List what is shipped: scenarios, stations, rigs, plans, fluids; or print one.
    List(ListArgs),
    /// Print the completion script for a shell.
    Completions {
        /// Shell.
        shell: clap_complete::Shell,
    },
}

#[derive(Debug, Subcommand)]
enum FaultVerb {
    #[command(flatten)]
    Look(Look),
    /// Let every fault in at every step of healthy jobs, in forks, and tell which rows trip and which hazards come to an accident.
    Sweep(sweep::SweepArgs),
}

/// To look into the catalogue.
#[derive(Debug, Subcommand)]
enum Look {
    /// Every fault on a line.
    List,
    /// One fault in full, with a table to be copied into a scenario.
    Show {
        /// Its id, F001 to F138.
        #[arg(value_name = "ID")]
        id: String,
    },
}

#[derive(Debug, Args)]
struct CheckArgs {
    /// Files, names of shipped scenarios, stations and rigs, or random:SEED.
    #[arg(required_unless_present = "schema", value_name = "FILE")]
    files: Vec<String>,
    /// Print the JSON schema of scenario files, for editors.
    #[arg(long, conflicts_with = "files")]
    schema: bool,
    /// What the files are, where they do not tell.
    #[arg(long, value_enum, value_name = "KIND")]
    kind: Option<Kind>,
}

/// Kinds of input file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// A job on a vehicle.
    Scenario,
    /// A network with what its controller must know.
    Station,
    /// A network with a schedule.
    Rig,
    /// A network alone.
    Network,
}

#[derive(Debug, Args)]
struct MatrixArgs {
    /// One row in full, such as I11 or HS-1 [default: all of them]; with --evidence also a hazard, fault, law or worked example.
    #[arg(value_name = "ROW")]
    row: Option<String>,
    /// What each answers, what can defeat it, and which tests and scenarios show it: of H06, I11, F023, LC6, W24, or of all hazards.
    #[arg(long)]
    evidence: bool,
    /// Form.
    #[arg(long, value_enum, default_value_t = MatrixForm::Text, conflicts_with = "json")]
    format: MatrixForm,
    #[command(flatten)]
    display: display::DisplayArgs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum MatrixForm {
    /// For a terminal.
    Text,
    /// As the book prints it.
    Markdown,
    /// One line a row, for spreadsheets; metric, pressures absolute.
    Csv,
    /// One page for a browser or in print.
    Html,
}

#[derive(Debug, Args)]
struct ListArgs {
    /// Shipped scenario, station, rig or plan, or random:SEED, whose text is printed, to be kept as a file and changed.
    #[arg(value_name = "NAME", conflicts_with = "notices")]
    name: Option<String>,
    /// Print all that the controller can tell a person, with sample figures, in place of what is shipped.
    #[arg(long)]
    notices: bool,
    #[command(flatten)]
    told: notices::ToldArgs,
}

#[derive(Debug, Args)]
struct RigArgs {
    /// Shipped rig or file.
    #[arg(value_name = "FILE|NAME")]
    rig: String,
    /// Folder for the CSV, made where it is missing [default: results/rigs].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Overwrite an existing CSV.
    #[arg(long)]
    force: bool,
}

#[derive(Debug, Args)]
#[command(after_help = FLUID_HELP, disable_help_subcommand = true)]
struct FluidArgs {
    /// R1234yf or R134a.
    fluid: String,
    /// Temperature, such as 23.7degC; alone: the saturation line there.
    #[arg(long, value_name = "T", allow_hyphen_values = true, global = true)]
    temperature: Option<String>,
    /// Absolute pressure, such as 6bar; alone: the saturation line there.
    #[arg(long, value_name = "P", global = true)]
    pressure: Option<String>,
    /// Density, such as "20 kg/m3".
    #[arg(long, value_name = "RHO", global = true)]
    density: Option<String>,
    /// Specific enthalpy, such as "250 kJ/kg" (200 kJ/kg is liquid at 0 degC).
    #[arg(long, value_name = "H", allow_hyphen_values = true, global = true)]
    enthalpy: Option<String>,
    /// Specific entropy, such as "1.7 kJ/(kg K)" (1 kJ/(kg K) is liquid at 0 degC).
    #[arg(long, value_name = "S", allow_hyphen_values = true, global = true)]
    entropy: Option<String>,
    /// Specific internal energy, such as "350 kJ/kg".
    #[arg(long, value_name = "U", allow_hyphen_values = true)]
    internal_energy: Option<String>,
    /// Share of vapour by mass, such as 0.3 or 30%.
    #[arg(long, value_name = "X", global = true)]
    quality: Option<String>,
    /// Many states, one a line, from a file or `-`: CSV in, CSV out, or JSON lines with --json.
    #[arg(long, value_name = "FILE|-", conflicts_with_all =
        ["temperature", "pressure", "density", "enthalpy", "entropy", "internal_energy", "quality"])]
    states: Option<String>,
    #[command(subcommand)]
    ask: Option<fluid::flow::Ask>,
}

const FLUID_HELP: &str = "\
Examples:
  valvewright fluid R1234yf --temperature 23.7degC
  valvewright fluid R134a --pressure 6.8bar --temperature 40degC
  valvewright fluid R1234yf --pressure 2bar --enthalpy \"250 kJ/kg\"
  valvewright fluid R1234yf --states measured.csv > properties.csv
  valvewright fluid R1234yf flow orifice --diameter 1.2mm --temperature 25degC --quality 0
  valvewright fluid R134a flow hose --diameter 4.8mm --length 3m --pressure 2bar --temperature 25degC --back 1bar

A file of states begins with a line that names two of p, t, rho, h, s, u, x (or their long names) and their units, such as
`p_bar,t_degC` or `h [kJ/kg],p [bar]`; without a unit there, each value carries its own: `6.8 bar`. Columns end in commas,
semicolons or tabs. Every line is answered, in order; one that has no state gets an error, and the exit code is then 64.";

/// Runs the command with the arguments of the process.
pub fn main() -> ExitCode {
    ExitCode::from(guarded(|| answer(std::env::args_os().collect())) as u8)
}

/// A panic is a fault of ours, whatever was asked.
fn guarded(work: impl FnOnce() -> Exit + std::panic::UnwindSafe) -> Exit {
    std::panic::catch_unwind(work).unwrap_or_else(|_| {
        eprintln!("valvewright: this is a fault of the program, not of your input; please report the lines above with the command");
        Exit::OurFault
    })
}

fn answer(arguments: Vec<std::ffi::OsString>) -> Exit {
    let json = arguments.iter().any(|one| one == "--json");
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(wrong) => return usage(&wrong, json),
    };
    let choice = match cli.global.color {
        Colour::Auto => anstream::ColorChoice::Auto,
        Colour::Always => anstream::ColorChoice::AlwaysAnsi,
        Colour::Never => anstream::ColorChoice::Never,
    };
    choice.write_global();
    match act(cli) {
        Ok(exit) => exit,
        Err(refusal) => refusal.say(json),
    }
}

/// Help and version are answers; everything else that the parser says is wrong use.
fn usage(wrong: &clap::Error, json: bool) -> Exit {
    if !wrong.use_stderr() {
        // A reader that went away (a closed pipe) needs no help text.
        let _ = wrong.print();
        return Exit::Held;
    }
    if json {
        return Refusal::misuse(wrong.to_string().trim().to_owned()).say(true);
    }
    let _ = wrong.print();
    Exit::Misuse
}

fn act(cli: Cli) -> Result<Exit, Refusal> {
    let global = cli.global;
    match cli.verb {
        None => run::run(&RunArgs::demo(), global),
        Some(Verb::Run(args)) => run::run(&args, global),
        Some(Verb::Check(args)) => check::check(&args, global),
        Some(Verb::Rig(args)) => rig::rig(&args, global),
        Some(Verb::Replay(args)) => replay::replay(&args, global),
        Some(Verb::Fluid(args)) => fluid::fluid(&args, global),
        Some(Verb::Matrix(args)) => matrix::matrix(&args, global),
        Some(Verb::Fault(FaultVerb::Sweep(args))) => sweep::sweep(&args, global),
        Some(Verb::Code(verb)) => code::code(&verb, global),
        Some(Verb::Papers(verb)) => papers::papers(&verb, global),
        Some(Verb::Station(verb)) => station::station(&verb, global),
        Some(Verb::Campaign(args)) => campaign::campaign(&args, global),
        Some(Verb::Search(verb)) => search::search(&verb, global),
        Some(Verb::Years(args)) => years::years(&args, global),
        Some(Verb::Fault(FaultVerb::Look(verb))) => fault::fault(&verb, global),
        Some(Verb::Panel(args)) => panel::panel(&args, global),
        Some(Verb::List(args)) => list::list(&args, global),
        Some(Verb::Completions { shell }) => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "valvewright", &mut script);
            output::print(&String::from_utf8_lossy(&script))?;
            Ok(Exit::Held)
        }
    }
}

/// Whether a progress bar helps: somebody looks, and is not a program.
fn someone_watches(global: Global) -> bool {
    !global.json && std::io::stderr().is_terminal()
}

#[cfg(test)]
mod tests {
    use super::{Exit, Refusal, driver, guarded};
    use crate::board::compare::Difference;
    use crate::run::RunError;

    /// Nothing that a person can type makes the program panic, so that this is shown here and not by the command.
    #[test]
    fn a_panic_leaves_with_the_code_of_our_fault() {
        assert_eq!(guarded(|| panic!("on purpose")) as u8, 3);
        assert_eq!(guarded(|| Exit::Failed) as u8, 1);
    }

    #[test]
    fn a_board_that_does_something_else_than_the_host_is_our_fault() {
        let differs = Difference { scan: 7, at_ms: 350, field: "on".into(), host: "XV-1".into(), board: "XV-2".into() };
        assert_eq!(driver::refusal(RunError::Differs(differs)).say(false) as u8, 3);
        assert_eq!(Refusal::misuse("a name").say(false) as u8, 64);
    }
}
