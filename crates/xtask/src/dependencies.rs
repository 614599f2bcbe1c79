//! `cargo xtask dependencies`: licences, origins and known faults of what the workspace builds upon, by cargo-deny.

use std::path::PathBuf;

use crate::shell::{self, Workspace};

const TOOL: &str = "cargo-deny";
const VERSION: &str = "0.20.2";
const RULES: &str = ".cargo/deny.toml";

/// The command `dependencies`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`dependencies` takes no argument".to_owned());
    }
    let tool = tool(workspace)?;
    let check = |kinds: &[&str]| {
        let mut command = workspace.command(&tool);
        command
            .args(["--all-features", "--config", RULES, "check"])
            .args(kinds);
        command
    };
    shell::run(&mut check(&["licenses", "bans", "sources"]))?;
    // The list of known faults is fetched first: where it cannot be had, nothing is known, which is no fault of the dependencies.
    let mut fetch = workspace.command(&tool);
    match shell::read(fetch.args(["--config", RULES, "fetch", "db"])) {
        Ok(_) => shell::run(&mut check(&["advisories"]))?,
        Err(message) => println!("SKIPPED: known faults, whose list cannot be fetched: {message}"),
    }
    Ok(())
}

/// The tool, installed in `target/tools` where it is not at hand; that takes minutes.
fn tool(workspace: &Workspace) -> Result<PathBuf, String> {
    if shell::read(workspace.command(TOOL).arg("--version")).is_ok() {
        return Ok(PathBuf::from(TOOL));
    }
    let folder = workspace.target.join("tools");
    let tool = folder.join("bin").join(TOOL);
    if !tool.exists() {
        let mut install = workspace.cargo(&["install", TOOL, "--version", VERSION, "--locked"]);
        shell::run(install.arg("--root").arg(&folder))?;
    }
    Ok(tool)
}
