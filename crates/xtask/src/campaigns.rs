//! `cargo xtask campaigns`: the tests that the default run leaves out because they take minutes, optimised.

use crate::shell::{self, Workspace};

const CRATES: [&str; 3] = ["densepath-fluid", "densepath", "densepath-tests"];

/// The command `campaigns`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`campaigns` takes no argument".to_owned());
    }
    let mut command = workspace.cargo(&["test", "--release", "--lib", "--tests"]);
    for name in CRATES {
        command.args(["-p", name]);
    }
    shell::run(command.args(["--", "--ignored"]))
}
