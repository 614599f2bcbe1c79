//! `cargo xtask bench`: speed beside general-purpose libraries, in an environment of its own under `target/`.

use crate::python;
use crate::shell::{self, Workspace};
use std::path::Path;

/// The peers, and what draws the figure.
const PEERS: &[&str] = &[
    "CoolProp==8.0.0",
    "feos==0.10.5",
    "si-units==0.11.5",
    "teqp==0.23.2",
    "numpy",
    "pandas",
    "matplotlib",
];
const PROGRAM: &str = "benches/compare.py";
/// The processor that everything runs on.
const PROCESSOR: &str = "0";

/// The command `bench`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`bench` takes no argument".to_owned());
    }
    let folder = workspace.target.join("bench");
    let python = folder.join("venv/bin/python");
    let stamp = workspace.stamp("bench");
    let state = PEERS.join("\n");
    if !(python.exists() && stamp.is(&state)) {
        let mut make = workspace.command(python::environment(workspace)?);
        make.args(["-m", "venv", "--clear"])
            .arg(folder.join("venv"));
        shell::run(&mut make)?;
        let mut pip = workspace.command(&python);
        shell::run(pip.args(["-m", "pip", "install", "--quiet"]).args(PEERS))?;
        stamp.write(&state)?;
    }
    python::install_for(workspace, &python)?;
    shell::run(pinned(workspace, &python).arg(PROGRAM).arg(&folder))
}

/// A program on one processor, where the system can hold it there.
fn pinned(workspace: &Workspace, program: &Path) -> std::process::Command {
    if shell::read(workspace.command("taskset").arg("--version")).is_err() {
        return workspace.command(program);
    }
    let mut command = workspace.command("taskset");
    command.args(["-c", PROCESSOR]).arg(program);
    command
}
