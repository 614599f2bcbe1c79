//! clang, that of the machine or, where it has none, the one that a package of Python brings.

use crate::python;
use crate::shell::{self, Workspace};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The package, a compiler of another language that brings clang with its own libraries.
const PACKAGE: &str = "ziglang==0.17.1";

/// Makes the environment with the package, unless the machine has clang.
pub fn install(workspace: &Workspace) -> Result<(), String> {
    if has_its_own(workspace) {
        return Ok(());
    }
    let stamp = workspace.stamp("clang");
    if stamp.is(PACKAGE) && interpreter(workspace).exists() {
        return Ok(());
    }
    let folder = workspace.target.join("clang");
    let mut make = workspace.command(python::environment(workspace)?);
    shell::run(make.args(["-m", "venv"]).arg(folder))?;
    let mut pip = workspace.command(interpreter(workspace));
    shell::run(pip.args(["-m", "pip", "install", "--quiet", PACKAGE]))?;
    stamp.write(PACKAGE)
}

/// The command that compiles a source, without its arguments.
pub fn compiler(workspace: &Workspace, source: &Path) -> Command {
    let is_c = source.extension().is_some_and(|extension| extension == "c");
    if has_its_own(workspace) {
        return workspace.command(if is_c { "clang" } else { "clang++" });
    }
    let mut command = workspace.command(interpreter(workspace));
    command.args(["-m", "ziglang", if is_c { "cc" } else { "c++" }]);
    // The package turns on checks that clang alone leaves off, and whose library asks for memory.
    command.arg("-fno-sanitize=undefined");
    command
}

fn has_its_own(workspace: &Workspace) -> bool {
    shell::read(workspace.command("clang").arg("--version")).is_ok()
}

fn interpreter(workspace: &Workspace) -> PathBuf {
    workspace.target.join("clang/bin/python")
}
