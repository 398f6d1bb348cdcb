//! A workplace for whole-program tests: an empty folder of its own, and the command run in it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// An empty folder with the command in reach.
pub struct Bench {
    folder: tempfile::TempDir,
}

/// What a run of the command said.
pub struct Said {
    /// Exit code; `None` after a signal.
    pub code: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Said {
    /// The exit code, or a failure that shows what was said.
    #[track_caller]
    pub fn exits(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "standard output:\n{}\nstandard error:\n{}", self.out, self.err);
        self
    }

    /// Fails unless standard error holds every text.
    #[track_caller]
    pub fn complains(&self, texts: &[&str]) {
        for text in texts {
            assert!(self.err.contains(text), "`{text}` is not said in:\n{}", self.err);
        }
    }

    /// Standard output as JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|wrong| panic!("{wrong} in:\n{}\n{}", self.out, self.err))
    }
}

impl Bench {
    /// A new empty folder.
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder for temporary files") }
    }

    /// Path of something in the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Puts a file into the folder.
    pub fn put(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).expect("the folder is writable");
    }

    /// The command, to be run in the folder.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_valvewright-under-test"));
        command.current_dir(self.folder.path()).args(arguments);
        command
    }

    /// Runs the command in the folder.
    pub fn run(&self, arguments: &[&str]) -> Said {
        said(self.command(arguments).output().expect("the command starts"))
    }

    /// Every file and folder beneath, sorted.
    pub fn listing(&self) -> Vec<String> {
        let mut list = Vec::new();
        walk(self.folder.path(), self.folder.path(), &mut list);
        list.sort();
        list
    }
}

/// Output of the command as text.
pub fn said(output: Output) -> Said {
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Said { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
}

fn walk(root: &Path, folder: &Path, list: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).expect("readable").map(|entry| entry.expect("readable").path()) {
        list.push(entry.strip_prefix(root).expect("beneath").display().to_string());
        if entry.is_dir() {
            walk(root, &entry, list);
        }
    }
}
