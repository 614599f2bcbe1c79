//! `cargo xtask wheel`: what would be published for Python, installed where there is nothing else.

use crate::python;
use crate::shell::{self, Workspace};
use crate::test::Tally;
use std::path::{Path, PathBuf};

/// What a user does first, without any of the optional libraries.
const FIRST_STEPS: &str = "tests/python/first_steps.py";

/// The command `wheel`: the wheel and the archive of sources, each in an environment of its own.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`wheel` takes no argument".to_owned());
    }
    let tool = python::environment(workspace)?;
    try_out(workspace, "wheel", &python::build_wheel(workspace, &tool)?)?;
    try_out(workspace, "sources", &sources(workspace, &tool)?)
}

/// The wheel alone: building the sources takes minutes.
pub fn check(workspace: &Workspace) -> Result<Tally, String> {
    let tool = python::environment(workspace)?;
    try_out(workspace, "wheel", &python::build_wheel(workspace, &tool)?).map(|()| Tally::ONE)
}

/// Installs a file with what it asks for in a new environment and takes the first steps there.
fn try_out(workspace: &Workspace, name: &str, file: &Path) -> Result<(), String> {
    let folder = workspace.target.join("clean").join(name);
    let mut make = workspace.command(python::environment(workspace)?);
    shell::run(make.args(["-m", "venv", "--clear"]).arg(&folder))?;
    let interpreter = folder.join("bin/python");
    let mut pip = workspace.command(&interpreter);
    pip.args([
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]);
    shell::run(pip.arg(file))?;
    let mut steps = workspace.command(&interpreter);
    steps.arg("-I").arg(workspace.root.join(FIRST_STEPS));
    shell::run(steps.arg(workspace.root.join("tests/methods/packed.toml")))
}

/// The archive of sources.
fn sources(workspace: &Workspace, tool: &Path) -> Result<PathBuf, String> {
    let folder = workspace.target.join("sources");
    let mut maturin = workspace.command(tool);
    maturin
        .current_dir(workspace.root.join("python"))
        .args(["-m", "maturin", "sdist", "--out"])
        .arg(&folder);
    shell::run(&mut maturin)?;
    python::file_in(&folder, "gz")
}
