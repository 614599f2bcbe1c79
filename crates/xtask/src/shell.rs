//! The workspace's folders and the running of programs in it.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The folders that the commands work in.
pub struct Workspace {
    /// Folder of the workspace's `Cargo.toml`.
    pub root: PathBuf,
    /// Folder of everything built.
    pub target: PathBuf,
}

impl Workspace {
    /// The workspace that this program was built from.
    pub fn find() -> Result<Self, String> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"))
            .ancestors()
            .nth(2)
            .ok_or("the folder of the workspace is missing")?
            .to_path_buf();
        let target = std::env::var_os("CARGO_TARGET_DIR")
            .map_or_else(|| root.join("target"), |folder| root.join(folder));
        Ok(Self { root, target })
    }

    /// A program to be run in the workspace's folder.
    pub fn command(&self, program: impl AsRef<std::ffi::OsStr>) -> Command {
        let mut command = Command::new(program);
        command
            .current_dir(&self.root)
            .env("CARGO_TARGET_DIR", &self.target);
        command
    }

    /// `cargo` with its arguments, to be run in the workspace's folder.
    pub fn cargo(&self, arguments: &[&str]) -> Command {
        let mut command = self.command("cargo");
        command.args(arguments);
        command
    }

    /// The note of what a piece of set-up was last made for.
    pub fn stamp(&self, name: &str) -> Stamp {
        Stamp(self.target.join("xtask").join(format!("{name}.stamp")))
    }
}

/// A file under `target/` that says what a piece of set-up was made for, so that it is not made twice.
pub struct Stamp(PathBuf);

impl Stamp {
    /// Whether the set-up was made for just this.
    pub fn is(&self, state: &str) -> bool {
        std::fs::read_to_string(&self.0).is_ok_and(|text| text == state)
    }

    /// Notes that the set-up is made for this.
    pub fn write(&self, state: &str) -> Result<(), String> {
        let failure = |error: std::io::Error| format!("{}: {error}", self.0.display());
        if let Some(folder) = self.0.parent() {
            std::fs::create_dir_all(folder).map_err(failure)?;
        }
        std::fs::write(&self.0, state).map_err(failure)
    }
}

/// Runs a program to its end, its output going straight to the terminal.
pub fn run(command: &mut Command) -> Result<(), String> {
    announce(command);
    let status = command.status().map_err(|error| missing(command, &error))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("{} ended with {status}", line_of(command)))
    }
}

/// Runs a program to its end, showing its standard output and returning it with the verdict.
pub fn run_and_read(command: &mut Command) -> Result<(bool, String), String> {
    announce(command);
    let mut child = command
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|error| missing(command, &error))?;
    let mut text = String::new();
    if let Some(output) = child.stdout.take() {
        for line in BufReader::new(output).lines() {
            let line = line.map_err(|error| format!("{}: {error}", line_of(command)))?;
            println!("{line}");
            text.push_str(&line);
            text.push('\n');
        }
    }
    let status = child
        .wait()
        .map_err(|error| format!("{}: {error}", line_of(command)))?;
    Ok((status.success(), text))
}

/// Runs a program quietly and returns its standard output; what it complained of is in the error.
pub fn read(command: &mut Command) -> Result<String, String> {
    let output = command.output().map_err(|error| missing(command, &error))?;
    if output.status.success() {
        Ok(String::from_utf8_lossy(&output.stdout).into_owned())
    } else {
        let complaint = String::from_utf8_lossy(&output.stderr);
        Err(format!("{}: {}", line_of(command), complaint.trim()))
    }
}

fn announce(command: &Command) {
    println!("$ {}", line_of(command));
    // What the program itself prints must come after its own line.
    let _ = std::io::stdout().flush();
}

fn line_of(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    let words: Vec<_> = words.map(|word| word.to_string_lossy()).collect();
    words.join(" ")
}

fn missing(command: &Command, error: &std::io::Error) -> String {
    let program = command.get_program().to_string_lossy();
    format!("`{program}` cannot be started: {error}")
}
