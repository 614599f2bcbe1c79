//! `cargo xtask sanitize`: the Rust tests with the checks of the compiler for memory.

use crate::shell::{self, Workspace};

/// The sanitizer needs a target of its own, so that programs which run while others are compiled are built without it.
const TARGET: &str = "x86_64-unknown-linux-gnu";
const CRATES: &[&str] = &[
    "densepath-fluid",
    "densepath",
    "densepath-c",
    "densepath-tests",
];

/// The command `sanitize`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`sanitize` takes no argument".to_owned());
    }
    let mut command = workspace.cargo(&["test", "--lib", "--tests", "--no-fail-fast"]);
    command
        .args(["--target", TARGET])
        .env("CARGO_TARGET_DIR", workspace.target.join("sanitized"))
        // The option is not stable; this lets the stable compiler take it.
        .env("RUSTC_BOOTSTRAP", "1")
        .env("RUSTFLAGS", "-Zsanitizer=address");
    for name in CRATES {
        command.args(["-p", name]);
    }
    shell::run(&mut command)
}
