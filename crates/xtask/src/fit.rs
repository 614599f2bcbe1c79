//! `cargo xtask fit`: fits the equations of substances and pairs to the measurements anew.

use crate::shell::{self, Workspace};

/// The command `fit`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    let mut cargo = vec!["run", "--release", "--package", "densepath-fit", "--"];
    cargo.extend(arguments.iter().map(String::as_str));
    shell::run(&mut workspace.cargo(&cargo))
}
