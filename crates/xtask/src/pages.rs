//! `cargo xtask pages`: the pages on substances, from their data records and the library.

use crate::python;
use crate::shell::{self, Workspace};

const PROGRAM: &str = "python/docs/pages.py";

/// The command `pages`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`pages` takes no argument".to_owned());
    }
    let python = python::install(workspace)?;
    let mut command = workspace.command(python);
    command.env("MPLCONFIGDIR", workspace.target.join("matplotlib"));
    shell::run(command.arg(PROGRAM))
}
