//! `cargo xtask pages`: the pages on substances and pairs, from their data records and the library.

use crate::python;
use crate::shell::{self, Workspace};

const PROGRAMS: [&str; 2] = ["python/docs/pages.py", "python/docs/pairs.py"];

/// The command `pages`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`pages` takes no argument".to_owned());
    }
    let python = python::install(workspace)?;
    for program in PROGRAMS {
        let mut command = workspace.command(&python);
        command.env("MPLCONFIGDIR", workspace.target.join("matplotlib"));
        shell::run(command.arg(program))?;
    }
    Ok(())
}
