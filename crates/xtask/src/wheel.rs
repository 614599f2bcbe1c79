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
    try_out(workspace, "sources", &sources(workspace, &tool)?)?;
    free_threaded(workspace)
}

/// What the bindings need to know of an interpreter without a global lock, as they would find it in one.
const FREE_THREADED: &str = "implementation=CPython\nversion=3.14\nshared=true\nabi3=false\npointer_width=64\n\
                             build_flags=Py_GIL_DISABLED\nsuppress_build_script_link_lines=true\n";

/// Compiles the module for an interpreter without a global lock, which has no limited interface; none need be installed for it.
fn free_threaded(workspace: &Workspace) -> Result<(), String> {
    let folder = workspace.target.join("free-threaded");
    let file = folder.join("interpreter.txt");
    std::fs::create_dir_all(&folder)
        .and_then(|()| std::fs::write(&file, FREE_THREADED))
        .map_err(|error| format!("{}: {error}", file.display()))?;
    let mut check = workspace.cargo(&["check", "--quiet", "-p", "densepath-python"]);
    check
        .env("PYO3_CONFIG_FILE", &file)
        .env("CARGO_TARGET_DIR", &folder);
    shell::run(&mut check)
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
