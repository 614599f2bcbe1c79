//! The calls of a control loop: no memory is asked for in all of them, and the instructions of each way that they take are counted.

use std::path::Path;

use serde_json::{Value, json};

use super::Limits;
use crate::c::{self, Linkage};
use crate::shell::{self, Workspace};

/// What the compiler adds so that every block of the code tells that it is run (SanitizerCoverage of LLVM).
const BLOCKS: &str = "-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=2 \
     -Cllvm-args=-sanitizer-coverage-prune-blocks=0 -Cllvm-args=-sanitizer-coverage-trace-pc-guard -Ccodegen-units=1";
/// Calls in a run that has seconds alone, and calls of a round of `tests/c/control.c`.
const CALLS_A_SECOND: f64 = 1e5;
const CALLS_A_ROUND: u64 = 4;

/// Calls up to a count; the last line of what is returned is the record.
pub fn run(workspace: &Workspace, limits: &Limits) -> Result<(bool, String), String> {
    let calls = match limits.calls.parse::<u64>() {
        Ok(calls) if calls < u64::MAX => calls,
        _ => calls_within(&limits.seconds),
    };
    let prefix = c::build(workspace)?;
    let folder = workspace.target.join("torture").join("control");
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let is_quiet = ask_for_no_memory(workspace, &prefix, calls)?;
    let states = folder.join("states.txt");
    let (is_found, told) = find_ways(workspace, &folder, &states, calls, limits.seed)?;
    let (is_bounded, counted) = count_instructions(workspace, &prefix, &states)?;
    let mut record: Value = serde_json::from_str(told.lines().last().unwrap_or_default())
        .map_err(|error| format!("no figures ({error})"))?;
    record["part"] = json!("control");
    record["seed"] = json!(limits.seed);
    record["answered"] = record["calls"].clone();
    let failures = [is_quiet, is_found, is_bounded].map(|success| u64::from(!success));
    record["findings"] =
        json!(record["findings"].as_u64().unwrap_or(0) + failures.iter().sum::<u64>());
    record["bounds"] = json!(bounds(&counted));
    Ok((failures == [0; 3], record.to_string()))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a count of calls"
)]
fn calls_within(seconds: &str) -> u64 {
    (seconds.parse::<f64>().unwrap_or(1.0) * CALLS_A_SECOND) as u64
}

/// The program that watches the memory, with the library as it is shipped.
fn ask_for_no_memory(workspace: &Workspace, prefix: &Path, calls: u64) -> Result<bool, String> {
    let program = c::compile(
        workspace,
        prefix,
        Path::new("tests/c/control.c"),
        Linkage::Static,
    )?;
    let mut command = workspace.command(program);
    command.arg((calls / CALLS_A_ROUND).to_string());
    Ok(shell::run_and_read(&mut command)?.0)
}

/// Writes a state for each way through the code, and tells how many there are.
fn find_ways(
    workspace: &Workspace,
    folder: &Path,
    states: &Path,
    calls: u64,
    seed: u64,
) -> Result<(bool, String), String> {
    let host = super::host(workspace)?;
    let mut build = workspace.cargo(&["build", "--quiet", "--release", "--target", &host]);
    build
        .args(["-p", "densepath-c", "--target-dir"])
        .arg(folder)
        .env("RUSTFLAGS", BLOCKS)
        // Optimization of all crates at once drops what the guards still refer to.
        .env("CARGO_PROFILE_RELEASE_LTO", "off");
    shell::run(&mut build)?;
    let library = folder.join(host).join("release/libdensepath.a");
    let program = folder.join("ways");
    let mut compile = workspace.command("gcc");
    compile
        .args(["-std=c99", "-O2", "-I"])
        .arg(workspace.root.join("bindings/c/include"))
        .arg("tests/torture/control.c")
        .arg(library)
        .args(["-lpthread", "-ldl", "-lm", "-o"])
        .arg(&program);
    shell::run(&mut compile)?;
    let mut command = workspace.command(program);
    command
        .arg(calls.to_string())
        .arg(seed.to_string())
        .arg(states);
    shell::run_and_read(&mut command)
}

/// Counts the instructions of the library as it is shipped at the states of a file.
fn count_instructions(
    workspace: &Workspace,
    prefix: &Path,
    states: &Path,
) -> Result<(bool, String), String> {
    let program = c::compile(
        workspace,
        prefix,
        Path::new("tests/c/steps.c"),
        Linkage::Static,
    )?;
    let mut command = workspace.command(program);
    command.args(["0", "0"]).arg(states);
    shell::run_and_read(&mut command)
}

/// The lines that tell of bounds.
fn bounds(told: &str) -> Vec<&str> {
    told.lines()
        .filter(|line| line.contains("instructions of"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_are_told_as_they_were_counted() {
        let told = "dp_table_value: at most 600 instructions of 1000\nsteps: 3 passed, 0 failed\n";
        assert_eq!(
            bounds(told),
            ["dp_table_value: at most 600 instructions of 1000"]
        );
        assert_eq!(calls_within("2"), 200_000);
    }
}
