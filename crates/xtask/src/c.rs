//! `cargo xtask c`: the C library, its header, what it exports, and its test and example programs.

use crate::header;
use crate::shell::{self, Workspace};
use crate::test::Tally;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Folders whose programs are compiled and run.
const PROGRAMS: &[&str] = &["tests/c", "bindings/c/examples"];
const WARNINGS: &[&str] = &["-Wall", "-Wextra", "-Wpedantic", "-Werror", "-g"];

/// How a program meets the library.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Linkage {
    Shared,
    Static,
    /// With the shared library, and the checks of the compiler for memory and undefined behaviour.
    Checked,
}

impl Linkage {
    const ALL: [Linkage; 3] = [Linkage::Shared, Linkage::Static, Linkage::Checked];

    const fn word(self) -> &'static str {
        match self {
            Linkage::Shared => "shared",
            Linkage::Static => "static",
            Linkage::Checked => "checked",
        }
    }
}

/// The command `c`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`c` takes no argument".to_owned());
    }
    let tally = test(workspace)?;
    println!("{} passed, {} failed", tally.passed, tally.failed);
    if tally.failed == 0 {
        Ok(())
    } else {
        Err("C programs failed".to_owned())
    }
}

/// Builds the library and runs every check and program of the C interface.
pub fn test(workspace: &Workspace) -> Result<Tally, String> {
    let mut tally = Tally::default();
    tally.count("header", header::run(workspace, &["--check".to_owned()]));
    let libraries = build(workspace)?;
    tally.count("exports", check_exports(workspace, &libraries));
    for source in sources(workspace)? {
        for linkage in Linkage::ALL {
            let name = format!("{} ({})", source.display(), linkage.word());
            tally.count(&name, try_program(workspace, &libraries, &source, linkage));
        }
    }
    Ok(tally)
}

/// Builds the shared and the static library and returns their folder.
pub fn build(workspace: &Workspace) -> Result<PathBuf, String> {
    shell::run(&mut workspace.cargo(&["build", "--release", "--package", "densepath-c"]))?;
    Ok(workspace.target.join("release"))
}

/// The C and C++ programs, as paths from the root of the workspace.
fn sources(workspace: &Workspace) -> Result<Vec<PathBuf>, String> {
    let mut found = Vec::new();
    for folder in PROGRAMS {
        let entries = std::fs::read_dir(workspace.root.join(folder))
            .map_err(|error| format!("{folder}: {error}"))?;
        for entry in entries {
            let entry = entry.map_err(|error| format!("{folder}: {error}"))?;
            let path = Path::new(folder).join(entry.file_name());
            if compiler(&path).is_some() {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Compiler and language standard of a source.
fn compiler(source: &Path) -> Option<[&'static str; 2]> {
    match source.extension()?.to_str()? {
        "c" => Some(["gcc", "-std=c99"]),
        "cpp" => Some(["g++", "-std=c++17"]),
        _ => None,
    }
}

/// Compiles a program for the library and runs it.
fn try_program(
    workspace: &Workspace,
    libraries: &Path,
    source: &Path,
    linkage: Linkage,
) -> Result<(), String> {
    let program = compile(workspace, libraries, source, linkage)?;
    shell::run(workspace.command(program).env("LD_LIBRARY_PATH", libraries))
}

fn compile(
    workspace: &Workspace,
    libraries: &Path,
    source: &Path,
    linkage: Linkage,
) -> Result<PathBuf, String> {
    let [compiler, standard] = compiler(source).ok_or("neither C nor C++")?;
    let folder = workspace.target.join("c").join(linkage.word());
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let program = folder.join(source.file_stem().ok_or("a source without a name")?);
    let mut command = workspace.command(compiler);
    command
        .arg(standard)
        .args(WARNINGS)
        .args(["-I", "bindings/c/include"])
        .arg(source)
        .arg("-o")
        .arg(&program);
    link(&mut command, libraries, linkage);
    shell::run(&mut command).map_err(|error| {
        if shell::read(workspace.command(compiler).arg("--version")).is_err() {
            format!("{error}\n`{compiler}` is missing; on Debian: sudo apt-get install {compiler}")
        } else {
            error
        }
    })?;
    Ok(program)
}

fn link(command: &mut Command, libraries: &Path, linkage: Linkage) {
    match linkage {
        Linkage::Static => {
            command
                .arg(libraries.join("libdensepath.a"))
                .args(["-lpthread", "-ldl"]);
        }
        Linkage::Shared | Linkage::Checked => {
            command.arg("-L").arg(libraries).arg("-ldensepath");
        }
    }
    if linkage == Linkage::Checked {
        command.args(["-fsanitize=address,undefined", "-fno-sanitize-recover=all"]);
    }
    command.arg("-lm");
}

/// Fails unless the shared library exports just the functions that the header declares.
fn check_exports(workspace: &Workspace, libraries: &Path) -> Result<(), String> {
    let header = header::path(workspace);
    let text = std::fs::read_to_string(&header)
        .map_err(|error| format!("{}: {error}", header.display()))?;
    let declared = declared(&text);
    let library = libraries.join("libdensepath.so");
    let mut nm = workspace.command("nm");
    let symbols = shell::read(nm.args(["-D", "--defined-only"]).arg(library))?;
    let exported: BTreeSet<&str> = symbols
        .lines()
        .filter_map(|line| line.split_whitespace().nth(2))
        .collect();
    let list = |names: Vec<&&str>| {
        let names: Vec<_> = names.into_iter().copied().collect();
        names.join(", ")
    };
    if exported == declared {
        println!("the {} functions declared are exported", exported.len());
        return Ok(());
    }
    Err(format!(
        "declared but not exported: [{}]; exported but not declared: [{}]",
        list(declared.difference(&exported).collect()),
        list(exported.difference(&declared).collect())
    ))
}

/// Names of the functions that a header declares: each word beginning with `dp_` before a parenthesis, comments apart.
fn declared(header: &str) -> BTreeSet<&str> {
    let mut names = BTreeSet::new();
    let mut rest = header;
    while let Some((code, comment)) = rest.split_once("/*") {
        names.extend(called(code));
        rest = comment.split_once("*/").map_or("", |(_, rest)| rest);
    }
    names.extend(called(rest));
    names
}

fn called(code: &str) -> impl Iterator<Item = &str> {
    code.split('(').filter_map(|before| {
        let word = before.trim_end();
        let start = word
            .rfind(|c: char| !c.is_ascii_alphanumeric() && c != '_')
            .map_or(0, |at| at + 1);
        word.get(start..).filter(|name| name.starts_with("dp_"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn declared_functions_are_found() {
        let header = "/* dp_not(1) */ typedef struct dp_fluid dp_fluid;\n\
                      dp_status dp_fluid_new(const char *name,\n  dp_fluid **out);\n\
                      /** Calls `dp_nothing()`. */ void dp_fluid_free(dp_fluid *fluid);";
        let found: Vec<_> = declared(header).into_iter().collect();
        assert_eq!(found, ["dp_fluid_free", "dp_fluid_new"]);
    }
}
