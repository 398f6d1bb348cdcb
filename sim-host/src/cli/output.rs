//! Exit codes and refusals, and printing that minds closed pipes.

use std::io::Write;
use std::path::Path;

use serde::Serialize;

use crate::scenario::diagnostic::Diagnostic;

/// How the command ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Exit {
    /// Done, and all held.
    Held = 0,
    /// An expectation did not hold, or a hazard came to its accident level.
    Failed = 1,
    /// Interrupted, stopped by a fault of the plant, out of simulated time, or results could not be written.
    Unfinished = 2,
    /// A fault of the program.
    OurFault = 3,
    /// Wrong use: arguments or input files.
    Misuse = 64,
}

/// Why nothing was done, with what to do about it.
#[derive(Debug, Serialize)]
pub struct Refusal {
    #[serde(skip)]
    exit: Exit,
    error: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    diagnostics: Vec<Diagnostic>,
}

impl Refusal {
    fn new(exit: Exit, error: impl Into<String>) -> Self {
        Self { exit, error: error.into(), help: None, diagnostics: Vec::new() }
    }

    /// Wrong use.
    pub fn misuse(error: impl Into<String>) -> Self {
        Self::new(Exit::Misuse, error)
    }

    /// Something around us failed: a full disk, a closed pipe.
    pub fn unfinished(error: impl Into<String>) -> Self {
        Self::new(Exit::Unfinished, error)
    }

    /// A fault of the program.
    pub fn ours(error: impl Into<String>) -> Self {
        Self::new(Exit::OurFault, error)
    }

    /// A file that cannot be used.
    pub fn file(diagnostics: Vec<Diagnostic>) -> Self {
        let count = diagnostics.len();
        let file = diagnostics.first().map_or(String::new(), |one| one.file.clone());
        let error = match count {
            1 => format!("{file}: one mistake, nothing was done"),
            _ => format!("{file}: {count} mistakes, nothing was done"),
        };
        Self { diagnostics, ..Self::misuse(error) }
    }

    /// Why, in one line.
    pub fn why(&self) -> &str {
        &self.error
    }

    /// The same with advice.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says it and gives the exit code.
    pub fn say(&self, json: bool) -> Exit {
        if json {
            let text = serde_json::to_string_pretty(self).unwrap_or_default();
            // Nobody is left to tell when standard output is closed.
            let _ = print(&(text + "\n"));
            return self.exit;
        }
        let mut stderr = anstream::stderr().lock();
        for one in &self.diagnostics {
            let _ = writeln!(stderr, "{one}");
        }
        let red = anstyle::AnsiColor::Red.on_default().bold();
        let _ = writeln!(stderr, "{red}valvewright:{red:#} {}", self.error);
        if let Some(help) = &self.help {
            let _ = writeln!(stderr, "  help: {help}");
        }
        self.exit
    }
}

/// Prints to standard output; colours go only to those who want them. A closed pipe is no error: the reader had enough.
pub fn print(text: &str) -> Result<(), Refusal> {
    let mut stdout = anstream::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(wrong) if wrong.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Refusal::unfinished(format!("standard output cannot be written: {wrong}")))
        }
        _ => Ok(()),
    }
}

/// Prints a value as indented JSON.
pub fn print_json(value: &impl Serialize) -> Result<(), Refusal> {
    let text = serde_json::to_string_pretty(value)
        .map_err(|wrong| Refusal::ours(format!("the result has no JSON form: {wrong}")))?;
    print(&(text + "\n"))
}

/// Writes a file whole.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Refusal> {
    std::fs::write(path, bytes)
        .map_err(|wrong| Refusal::unfinished(format!("{} cannot be written: {wrong}", path.display())))
}

/// Makes a folder with all above it.
pub fn make_folder(path: &Path) -> Result<(), Refusal> {
    std::fs::create_dir_all(path).map_err(|wrong| {
        Refusal::misuse(format!("the folder {} cannot be made: {wrong}", path.display()))
            .with_help("give another one with --out")
    })
}
