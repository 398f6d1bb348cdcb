//! The command that runs a scenario again as it was run: its name, the seed, and every option that changes what happens.

use super::run_args::RunArgs;
use crate::board::disturb::{Disturbance, Kind};
use crate::board::{Joined, Line};

/// A word of a command line, quoted where a shell would take it apart.
fn quoted(word: &str) -> String {
    // A word with a zero byte cannot be on a command line at all.
    shlex::try_quote(word).map_or_else(|_| word.to_owned(), |word| word.into_owned())
}

fn board(of: &Joined) -> String {
    match of {
        Joined::Emulated(Line::Semihosting) => "semihosting".to_owned(),
        Joined::Emulated(Line::Uart) => "uart".to_owned(),
        Joined::Serial(port) => format!("serial:{}@{}", port.path, port.baud),
    }
}

fn disturbed(of: Disturbance) -> String {
    let name = Kind::ALL.iter().find(|(_, kind)| *kind == of.kind).map_or("", |(name, _)| *name);
    format!("{name}@{}s", f64::from(of.at.0) / 1e3)
}

/// The command, on one line.
pub fn command(args: &RunArgs, scenario: &str, seed: u64) -> String {
    let mut words = vec!["valvewright".to_owned(), "run".to_owned(), quoted(scenario), format!("--seed {seed}")];
    let mut option = |name: &str, value: String| words.push(format!("--{name} {}", quoted(&value)));
    args.station.iter().for_each(|one| option("station", one.clone()));
    args.fault.iter().for_each(|one| option("fault", one.clone()));
    args.without.iter().for_each(|one| option("without", one.clone()));
    args.set_point.iter().for_each(|one| option("set-point", one.clone()));
    args.board.iter().for_each(|one| option("board", board(one)));
    args.controller.iter().for_each(|one| option("controller", one.clone()));
    args.firmware.iter().for_each(|one| option("firmware", one.display().to_string()));
    args.disturb.iter().for_each(|one| option("disturb", disturbed(*one)));
    args.patience.iter().for_each(|one| option("patience", one.to_string()));
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::Cli;
    use super::super::Verb;
    use super::command;
    use clap::Parser;

    /// The words of a command that was printed, read again as a shell and the program would.
    fn again(words: &[&str]) -> String {
        let read = |words: Vec<String>| {
            let cli = Cli::try_parse_from(words).expect("the program takes its own command");
            let Some(Verb::Run(args)) = cli.verb else { panic!("no run") };
            command(&args, &args.scenarios[0], args.seed.unwrap_or(7))
        };
        let first = read(words.iter().map(|word| (*word).to_owned()).collect());
        let second = read(shlex::split(&first).expect("a shell takes it"));
        assert_eq!(first, second);
        first
    }

    #[test]
    fn a_command_read_again_is_the_same_command() {
        let plain = again(&["valvewright", "run", "mild_hatchback"]);
        assert_eq!(plain, "valvewright run mild_hatchback --seed 7");
        let all = again(&[
            "valvewright",
            "run",
            "my jobs/it's one.toml",
            "--seed=3",
            "--station",
            "fleet_yard",
            "--fault",
            "F023 severity=0.3g/s phase=charge after=40s",
            "--fault",
            "F070 when='vessel.p > 10 bar'",
            "--controller",
            "python3 mine.py \"a b\"",
            "--patience",
            "900",
            "--out",
            "elsewhere",
            "--explain",
        ]);
        assert!(all.contains("--fault 'F023 severity=0.3g/s phase=charge after=40s'"), "{all}");
        assert!(!all.contains("elsewhere") && !all.contains("explain"), "where results go changes nothing: {all}");
        let board = again(&["valvewright", "run", "--board", "uart", "--disturb", "lost@600s", "--firmware", "a.elf"]);
        assert!(board.ends_with("--board uart --firmware a.elf --disturb lost@600s"), "{board}");
        again(&["valvewright", "run", "--board", "serial:/dev/ttyUSB0"]);
    }
}
