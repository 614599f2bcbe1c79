//! `cargo xtask package`: the crates that others build on, packed as for a registry and built from what was packed.

use crate::shell::{self, Workspace};
use crate::test::Tally;

const CRATES: &[&str] = &["densepath-fluid", "densepath", "densepath-c"];

/// The command `package`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`package` takes no argument".to_owned());
    }
    shell::run(&mut command(workspace))
}

/// Packs the crates without building them anew, which takes minutes.
pub fn check(workspace: &Workspace) -> Result<Tally, String> {
    shell::run(command(workspace).arg("--no-verify")).map(|()| Tally::ONE)
}

fn command(workspace: &Workspace) -> std::process::Command {
    let mut command = workspace.cargo(&["package", "--quiet", "--allow-dirty"]);
    for name in CRATES {
        command.args(["-p", name]);
    }
    command
}
