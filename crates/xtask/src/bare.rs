//! `cargo xtask test --only bare`: the crate of fluids without the standard library, in the workspace of its own `tests/bare`.

use crate::shell::{self, Workspace};
use crate::test::{self, Tally};
use std::path::Path;
use std::process::Command;

const MANIFEST: &str = "tests/bare/Cargo.toml";
const PROGRAM: &str = "tests/bare/main.c";

/// Tests the crate with the elementary functions written in Rust, then runs it in a C program that links no other library than
/// that of C.
pub fn test(workspace: &Workspace) -> Result<Tally, String> {
    let target = workspace.target.join("bare");
    let (success, text) = shell::run_and_read(&mut cargo(workspace, &target, &["test"]))?;
    let mut tally = test::tally_of("cargo test", success, test::counted(&text, "test result:"))?;
    tally.count(PROGRAM, program(workspace, &target));
    Ok(tally)
}

fn cargo(workspace: &Workspace, target: &Path, arguments: &[&str]) -> Command {
    let mut command = workspace.cargo(arguments);
    command.args(["--locked", "--manifest-path", MANIFEST]);
    command.env("CARGO_TARGET_DIR", target);
    command
}

fn program(workspace: &Workspace, target: &Path) -> Result<(), String> {
    shell::run(&mut cargo(workspace, target, &["build", "--release"]))?;
    let library = target.join("release/libdensepath_bare.a");
    let [program, stripped] = ["bare", "stripped.a"].map(|name| target.join(name));
    let mut compiler = workspace.command("gcc");
    compiler
        .args([
            "-std=c99",
            "-O2",
            "-Wall",
            "-Wextra",
            "-Wpedantic",
            "-Werror",
        ])
        .args(["-s", "-Wl,--gc-sections", "-nodefaultlibs", PROGRAM])
        .arg(&library)
        .args(["-lc", "-o"])
        .arg(&program);
    shell::run(&mut compiler)?;
    shell::run(&mut workspace.command(&program))?;
    let mut strip = workspace.command("strip");
    strip
        .args(["--strip-unneeded", "-o"])
        .args([&stripped, &library]);
    shell::run(&mut strip)?;
    println!(
        "stripped: static library {:.2} MB, program with all substances and pairs {:.2} MB",
        size(&stripped)?,
        size(&program)?
    );
    Ok(())
}

/// Size of a file in MB.
fn size(path: &Path) -> Result<f64, String> {
    let data = std::fs::metadata(path).map_err(|error| format!("{}: {error}", path.display()))?;
    Ok(data.len() as f64 * 1e-6)
}
