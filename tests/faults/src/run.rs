//! Builds the tests of the copy once, and runs them with one fault after another.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

/// The crates whose tests are run.
const CRATES: [&str; 4] = [
    "densepath-fluid",
    "densepath",
    "densepath-tests",
    "densepath-fit",
];
/// A test that takes this long with a fault is caught by it.
const PATIENCE: &str =
    "[profile.default]\nslow-timeout = { period = \"60s\", terminate-after = 3 }\n";

/// What became of a fault.
#[derive(Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The first test that failed.
    Caught(String),
    /// None failed.
    Missed,
}

/// The tests of the copy, built.
pub struct Tests {
    tree: PathBuf,
    folder: PathBuf,
    /// What fails without a fault, and so tells nothing.
    pub left_out: Vec<String>,
}

fn cargo(tree: &Path, target: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new("cargo");
    command
        .args(arguments)
        .current_dir(tree)
        .env("CARGO_TARGET_DIR", target.join("target"))
        .env("CARGO_PROFILE_TEST_DEBUG", "0")
        .env("CARGO_PROFILE_DEV_DEBUG", "0");
    for name in CRATES {
        command.args(["-p", name]);
    }
    command
}

fn output(mut command: Command) -> Result<Output, String> {
    command.output().map_err(|error| format!("cargo: {error}"))
}

/// Files and lines at which the compiler refuses the copy.
pub fn complaints(tree: &Path, target: &Path) -> Result<Vec<(String, usize)>, String> {
    let told = output(cargo(
        tree,
        target,
        &["check", "--message-format", "json", "--lib"],
    ))?;
    let mut found = Vec::new();
    for line in String::from_utf8_lossy(&told.stdout).lines() {
        let Ok(message) = serde_json::from_str::<Value>(line) else {
            continue;
        };
        let message = &message["message"];
        if message["level"] != "error" {
            continue;
        }
        for span in message["spans"].as_array().into_iter().flatten() {
            if span["is_primary"] == true {
                let file = span["file_name"].as_str().unwrap_or_default().to_owned();
                let line = span["line_start"].as_u64().unwrap_or(0);
                found.push((file, usize::try_from(line).unwrap_or(0)));
            }
        }
    }
    if found.is_empty() && !told.status.success() {
        return Err(String::from_utf8_lossy(&told.stderr).into_owned());
    }
    Ok(found)
}

impl Tests {
    /// Builds the tests and notes where they are.
    pub fn list(tree: &Path, target: &Path) -> Result<Self, String> {
        let list = [
            "nextest",
            "list",
            "--list-type",
            "binaries-only",
            "--message-format",
            "json",
        ];
        let told = output(cargo(tree, target, &list))?;
        if !told.status.success() {
            return Err(String::from_utf8_lossy(&told.stderr).into_owned());
        }
        let mut metadata = Command::new("cargo");
        metadata
            .args(["metadata", "--format-version", "1"])
            .current_dir(tree)
            .env("CARGO_TARGET_DIR", target.join("target"));
        let metadata = output(metadata)?.stdout;
        let put = |name: &str, bytes: &[u8]| {
            fs::write(target.join(name), bytes).map_err(|error| format!("{name}: {error}"))
        };
        put("binaries.json", &told.stdout)?;
        put("metadata.json", &metadata)?;
        put("nextest.toml", PATIENCE.as_bytes())?;
        let mut tests = Self {
            tree: tree.to_owned(),
            folder: target.to_owned(),
            left_out: Vec::new(),
        };
        let told = tests
            .command("all()", 0)
            .arg("--no-fail-fast")
            .output()
            .map_err(|error| format!("nextest: {error}"))?;
        let told = String::from_utf8_lossy(&told.stderr).into_owned();
        tests.left_out = failures(&told).map(|(_, name)| name).collect();
        Ok(tests)
    }

    /// The tests of a choice, with a fault.
    fn command(&self, choice: &str, number: u32) -> Command {
        let mut choice = choice.to_owned();
        let names = self.left_out.iter();
        for name in names.filter_map(|name| name.split(' ').nth(1)) {
            choice.push_str(" - test(=");
            choice.push_str(name);
            choice.push(')');
        }
        let mut command = Command::new("cargo");
        command
            .args([
                "nextest",
                "run",
                "--color",
                "never",
                "--status-level",
                "fail",
            ])
            .args(["--final-status-level", "none", "--failure-output", "never"])
            .args(["-E", &choice])
            .arg("--binaries-metadata")
            .arg(self.folder.join("binaries.json"))
            .arg("--cargo-metadata")
            .arg(self.folder.join("metadata.json"))
            .arg("--config-file")
            .arg(self.folder.join("nextest.toml"))
            .current_dir(&self.tree)
            .env("DENSEPATH_FAULT", number.to_string())
            // The same random cases for every fault, and none kept from one to the next.
            .env("PROPTEST_RNG_SEED", "20261125")
            .env("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "1");
        command
    }

    /// Runs the tests with a fault in a file: those of its crate first, and of those above it.
    pub fn run(&self, number: u32, file: &str) -> Verdict {
        let first = usize::from(!file.starts_with("crates/densepath-fluid/"));
        for name in CRATES.into_iter().skip(first) {
            let mut command = self.command(&format!("package({name})"), number);
            let Ok(told) = command.arg("--fail-fast").output() else {
                return Verdict::Caught("the tests cannot be run".to_owned());
            };
            if !told.status.success() {
                return Verdict::Caught(first_failure(&String::from_utf8_lossy(&told.stderr)));
            }
        }
        Verdict::Missed
    }
}

/// The tests that nextest tells as failed, with the word for it.
fn failures(told: &str) -> impl Iterator<Item = (&str, String)> {
    told.lines().filter_map(|line| {
        let word = line.split_whitespace().next()?;
        let words = ["FAIL", "TIMEOUT", "ABORT", "SIGABRT", "SIGSEGV", "SIGKILL"];
        // `FAIL [ 0.005s] ( 1/900) crate module::test`: the name stands behind the brackets.
        let name = line.rsplit([']', ')']).next()?.trim();
        words.contains(&word).then(|| (word, name.to_owned()))
    })
}

/// The first of them, with the way it failed unless that is a failed assertion.
fn first_failure(told: &str) -> String {
    match failures(told).next() {
        Some(("FAIL", name)) => name,
        Some((word, name)) => format!("{name} ({word})"),
        None => told.lines().last().unwrap_or_default().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_failure_is_named() {
        let told = "  Starting 3 tests\n        FAIL [   0.005s] (2/3) densepath eos::tests::a\n";
        assert_eq!(first_failure(told), "densepath eos::tests::a");
        let told = " TIMEOUT [ 180.000s] densepath eos::tests::b\n";
        assert_eq!(first_failure(told), "densepath eos::tests::b (TIMEOUT)");
    }
}
