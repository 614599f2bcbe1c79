//! `cargo xtask python`: a virtual environment under `target/` with the Python module built and installed in it.

use crate::reference::Reference;
use crate::shell::{self, Workspace};
use crate::test::{self, Tally};
use std::path::{Path, PathBuf};

const PROJECT: &str = "python/pyproject.toml";
const OLDEST: (u32, u32) = (3, 11);

/// The command `python`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`python` takes no argument".to_owned());
    }
    let python = install(workspace)?;
    println!("the module is installed for {}", python.display());
    Ok(())
}

/// Sets up the environment, builds the module and installs it; returns the interpreter.
pub fn install(workspace: &Workspace) -> Result<PathBuf, String> {
    let python = environment(workspace)?;
    install_for(workspace, &python)?;
    Ok(python)
}

/// Builds the module and installs it for an interpreter.
pub fn install_for(workspace: &Workspace, python: &Path) -> Result<(), String> {
    let wheel = build_wheel(workspace, &environment(workspace)?)?;
    let mut pip = workspace.command(python);
    pip.args(["-m", "pip", "install", "--quiet", "--no-deps"])
        .args(["--disable-pip-version-check", "--force-reinstall"]);
    shell::run(pip.arg(wheel))
}

/// Builds and installs the module and runs its tests.
pub fn test(workspace: &Workspace) -> Result<Tally, String> {
    let python = install(workspace)?;
    let reference = workspace.target.join("reference");
    Reference::write(&reference, &workspace.root)?;
    let mut command = workspace.command(python);
    command
        .env("DENSEPATH_REFERENCE", reference)
        .env("PYTHONPYCACHEPREFIX", workspace.target.join("pycache"))
        .env("MYPY_CACHE_DIR", workspace.target.join("mypy"))
        .args(["-m", "pytest", "-c", PROJECT, "--rootdir", "."])
        .arg("-o")
        .arg(format!(
            "cache_dir={}",
            workspace.target.join("pytest").display()
        ))
        .arg("tests/python");
    let (success, text) = shell::run_and_read(&mut command)?;
    // The closing line is the last one: `==== 2 failed, 7 passed in 0.12s ====`.
    let closing = text.lines().rev().find(|line| line.contains(" in "));
    let counted = test::counted(closing.unwrap_or_default(), " in ");
    test::tally_of("pytest", success, counted)
}

/// A program of the environment.
pub fn tool(workspace: &Workspace, name: &str) -> Result<PathBuf, String> {
    Ok(environment(workspace)?.with_file_name(name))
}

/// The interpreter of the environment, which is made, or brought up to date, if need be.
pub fn environment(workspace: &Workspace) -> Result<PathBuf, String> {
    let folder = workspace.target.join("venv");
    let python = folder.join(if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    });
    let base = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let version = version_of(workspace, &base)?;
    let wanted = requirements(workspace)?;
    let stamp = workspace.stamp("venv");
    let state = format!("{version}\n{}\n", wanted.join("\n"));
    if python.exists() && stamp.is(&state) {
        return Ok(python);
    }
    println!("virtual environment in {}", folder.display());
    check_venv(workspace, &base)?;
    let mut command = workspace.command(&base);
    shell::run(command.args(["-m", "venv", "--clear"]).arg(&folder))?;
    let mut pip = workspace.command(&python);
    pip.args(["-m", "pip", "install", "--disable-pip-version-check"]);
    shell::run(pip.args(&wanted))?;
    stamp.write(&state)?;
    Ok(python)
}

fn version_of(workspace: &Workspace, python: &str) -> Result<String, String> {
    let program = "import sys; print('%d.%d' % sys.version_info[:2], sys.version.split()[0])";
    let text = shell::read(workspace.command(python).args(["-c", program])).map_err(|error| {
        format!("Python {}.{} or newer is needed: {error}\non Debian: sudo apt-get install python3 python3-venv", OLDEST.0, OLDEST.1)
    })?;
    let (short, full) = text.trim().split_once(' ').unwrap_or_default();
    let number = |text: &str| text.parse::<u32>().unwrap_or(0);
    let (major, minor) = short.split_once('.').unwrap_or_default();
    if (number(major), number(minor)) < OLDEST {
        return Err(format!(
            "`{python}` is Python {full}; Python {}.{} or newer is needed, \
             and the variable PYTHON may name another interpreter",
            OLDEST.0, OLDEST.1
        ));
    }
    Ok(format!("Python {full}"))
}

fn check_venv(workspace: &Workspace, python: &str) -> Result<(), String> {
    let mut command = workspace.command(python);
    shell::read(command.args(["-c", "import venv, ensurepip"]))
        .map(|_| ())
        .map_err(|_| {
            format!(
                "`{python}` cannot make virtual environments\non Debian: sudo apt-get install python3-venv"
            )
        })
}

/// What the module needs to be built, to run, and to be tested with all its extras.
fn requirements(workspace: &Workspace) -> Result<Vec<String>, String> {
    let text = std::fs::read_to_string(workspace.root.join(PROJECT))
        .map_err(|error| format!("{PROJECT}: {error}"))?;
    let project: toml::Table = text
        .parse()
        .map_err(|error| format!("{PROJECT}: {error}"))?;
    let mut wanted = words(project.get("build-system").and_then(|t| t.get("requires")));
    let metadata = project.get("project");
    wanted.extend(words(metadata.and_then(|t| t.get("dependencies"))));
    let extras = metadata.and_then(|t| t.get("optional-dependencies"));
    for extra in extras.and_then(toml::Value::as_table).into_iter().flatten() {
        wanted.extend(words(Some(extra.1)));
    }
    // The extra that gathers the others names the project itself.
    wanted.retain(|word| !word.starts_with("densepath["));
    Ok(wanted)
}

fn words(value: Option<&toml::Value>) -> Vec<String> {
    let items = value.and_then(toml::Value::as_array).into_iter().flatten();
    items
        .filter_map(|item| item.as_str().map(str::to_owned))
        .collect()
}

/// Builds the module and returns its wheel.
pub fn build_wheel(workspace: &Workspace, python: &Path) -> Result<PathBuf, String> {
    let folder = workspace.target.join("wheels");
    let failure = |error: std::io::Error| format!("{}: {error}", folder.display());
    if folder.exists() {
        std::fs::remove_dir_all(&folder).map_err(failure)?;
    }
    let mut maturin = workspace.command(python);
    maturin
        .current_dir(workspace.root.join("python"))
        .args([
            "-m",
            "maturin",
            "build",
            "--release",
            "--locked",
            "--interpreter",
        ])
        .arg(python)
        .arg("--out")
        .arg(&folder);
    shell::run(&mut maturin)?;
    file_in(&folder, "whl")
}

/// The file with an extension in a folder.
pub fn file_in(folder: &Path, extension: &str) -> Result<PathBuf, String> {
    let entries =
        std::fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.extension().is_some_and(|found| found == extension))
        .ok_or_else(|| format!("{}: no .{extension} was built", folder.display()))
}
