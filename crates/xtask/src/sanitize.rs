//! `cargo xtask sanitize`: the Rust tests with the checks of the compiler for memory.

use std::process::Command;

use crate::shell::{self, Workspace};

/// The sanitizer needs a target of its own, so that programs which run while others are compiled are built without it.
const TARGET: &str = "x86_64-unknown-linux-gnu";
/// `densepath-c` holds the unsafe code of the C interface.
const CRATES: &[&str] = &[
    "densepath-fluid",
    "densepath",
    "densepath-c",
    "densepath-tests",
];
const FLAGS: &str = "-Zsanitizer=address";
/// Reads one byte behind a heap block of eight: what the sanitizer must not let pass.
const FAULT: &str = "fn main() {
    let block = vec![1u8; 8];
    let behind = std::hint::black_box(&block).as_ptr().wrapping_add(8);
    std::process::exit(i32::from(unsafe { behind.read_volatile() } == 255));
}
";

/// The command `sanitize`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`sanitize` takes no argument".to_owned());
    }
    must_bite(workspace)?;
    let verdicts: Vec<Verdict> = CRATES
        .iter()
        .map(|name| tests_of(workspace, name))
        .collect::<Result<_, _>>()?;
    println!();
    for verdict in &verdicts {
        println!("{}", verdict.told());
    }
    let unclean: Vec<&str> = verdicts
        .iter()
        .filter(|verdict| !verdict.is_clean())
        .map(|verdict| verdict.name)
        .collect();
    if unclean.is_empty() {
        return Ok(());
    }
    Err(format!(
        "not clean under AddressSanitizer: {}",
        unclean.join(", ")
    ))
}

/// Whether a fault is found at all: a clean run of a sanitizer that finds nothing tells nothing.
fn must_bite(workspace: &Workspace) -> Result<(), String> {
    let folder = workspace.target.join("sanitized");
    let failure = |error: std::io::Error| format!("{}: {error}", folder.display());
    std::fs::create_dir_all(&folder).map_err(failure)?;
    let (source, program) = (folder.join("fault.rs"), folder.join("fault"));
    std::fs::write(&source, FAULT).map_err(failure)?;
    let mut compiler = workspace.command("rustc");
    compiler
        .args(["--edition", "2024", "--target", TARGET, FLAGS, "-o"])
        .args([&program, &source])
        .env("RUSTC_BOOTSTRAP", "1");
    shell::run(&mut compiler)?;
    match shell::read(&mut Command::new(&program)) {
        Err(complaint) if complaint.contains("heap-buffer-overflow") => Ok(()),
        _ => Err("the sanitizer lets a read behind a block pass".to_owned()),
    }
}

/// What the tests of a crate did.
#[derive(Debug, PartialEq)]
struct Verdict {
    name: &'static str,
    passed: u32,
    failed: u32,
    ignored: u32,
    /// Whether every test program ended well: one that the sanitizer stops counts no test.
    ended_well: bool,
}

impl Verdict {
    fn is_clean(&self) -> bool {
        self.ended_well && self.failed == 0 && self.passed > 0
    }

    fn told(&self) -> String {
        let Self {
            name,
            passed,
            failed,
            ignored,
            ..
        } = self;
        let word = if self.is_clean() {
            "clean"
        } else {
            "NOT CLEAN"
        };
        format!("{word} {name}: {passed} tests passed, {failed} failed, {ignored} left out")
    }
}

fn tests_of(workspace: &Workspace, name: &'static str) -> Result<Verdict, String> {
    let mut command = workspace.cargo(&["test", "--quiet", "--lib", "--tests", "--no-fail-fast"]);
    command
        .args(["--target", TARGET, "-p", name])
        .env("CARGO_TARGET_DIR", workspace.target.join("sanitized"))
        .env("CARGO_INCREMENTAL", "0")
        .env("CARGO_PROFILE_TEST_DEBUG", "line-tables-only")
        // The option is not stable; this lets the stable compiler take it.
        .env("RUSTC_BOOTSTRAP", "1")
        .env("RUSTFLAGS", FLAGS)
        // Guards between its variables make every frame larger.
        .env("RUST_MIN_STACK", "33554432");
    let (ended_well, text) = shell::run_and_read(&mut command)?;
    Ok(verdict(name, ended_well, &text))
}

/// The sum of what the test programs told.
fn verdict(name: &'static str, ended_well: bool, text: &str) -> Verdict {
    let count = |word: &str| -> u32 {
        text.lines()
            .filter_map(|line| line.strip_prefix("test result: "))
            .flat_map(|line| line.split([';', '.']))
            .filter_map(|part| part.trim().strip_suffix(word)?.trim().parse::<u32>().ok())
            .sum()
    };
    Verdict {
        name,
        passed: count("passed"),
        failed: count("failed"),
        ignored: count("ignored"),
        ended_well,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_programs_tell_is_summed() {
        let text = "running 2 tests\n\
                    test result: ok. 2 passed; 0 failed; 1 ignored; 0 measured; 0 filtered out; finished in 0.50s\n\
                    test result: FAILED. 3 passed; 1 failed; 0 ignored; 0 measured; 0 filtered out; finished in 1.25s\n";
        let found = verdict("a", false, text);
        assert_eq!((found.passed, found.failed, found.ignored), (5, 1, 1));
        assert_eq!(
            found.told(),
            "NOT CLEAN a: 5 tests passed, 1 failed, 1 left out"
        );
        // No test at all is not clean, nor a program that was stopped.
        assert!(!verdict("a", true, "").is_clean());
        assert!(!verdict("a", false, "test result: ok. 2 passed; 0 failed; 0 ignored").is_clean());
    }
}
