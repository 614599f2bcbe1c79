//! `cargo xtask c`: the C library, what it exports, and its test and example programs.

use crate::clang;
use crate::install;
use crate::packages;
use crate::reference::Reference;
use crate::shell::{self, Workspace};
use crate::test::Tally;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Folders whose programs are compiled and run.
const PROGRAMS: &[&str] = &["tests/c", EXAMPLES];
/// Examples in C and C++.
pub const EXAMPLES: &str = "bindings/c/examples";
/// Examples in Rust, some of them twins of those in C.
const RUST_EXAMPLES: &str = "crates/densepath/examples";
const SYMBOLS: &str = "bindings/c/symbols.txt";
const WARNINGS: &[&str] = &["-Wall", "-Wextra", "-Wpedantic", "-Werror", "-g"];

/// How a program meets the library.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Linkage {
    Shared,
    Static,
    /// With the shared library, and the checks of the compiler for memory and undefined behaviour.
    Checked,
    /// With the shared library, by clang.
    Clang,
    /// With the shared library, and as quick as the compiler makes it: to be timed.
    Quick,
}

impl Linkage {
    /// Those of the compilers of GNU.
    const GNU: [Linkage; 3] = [Linkage::Shared, Linkage::Static, Linkage::Checked];

    const fn word(self) -> &'static str {
        match self {
            Linkage::Shared => "shared",
            Linkage::Static => "static",
            Linkage::Checked => "checked",
            Linkage::Clang => "clang",
            Linkage::Quick => "quick",
        }
    }
}

/// The command `c`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`c` takes no argument".to_owned());
    }
    verdict(test(workspace)?)
}

fn verdict(tally: Tally) -> Result<(), String> {
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
    let prefix = build(workspace)?;
    let reference = Reference::write(&prefix.join("programs"), &workspace.root)?;
    tally.count("exports", check_exports(workspace, &prefix));
    let has_valgrind = shell::read(workspace.command("valgrind").arg("--version")).is_ok();
    for source in sources(workspace)? {
        for linkage in Linkage::GNU {
            let name = format!("{} ({})", source.display(), linkage.word());
            let arguments = arguments_of(&reference, &source);
            let outcome = try_program(workspace, &prefix, &source, &arguments, linkage);
            tally.count(&name, outcome);
        }
        if has_valgrind {
            let name = format!("{} (valgrind)", source.display());
            let arguments = arguments_of(&reference, &source);
            let outcome = watch_program(workspace, &prefix, &source, &arguments);
            tally.count(&name, outcome);
        }
    }
    for name in twins(workspace)? {
        let outcome = compare_with_rust(workspace, &prefix, &name);
        tally.count(&format!("{name} beside its twin in Rust"), outcome);
    }
    packages::test(workspace, &reference, &mut tally)?;
    if !has_valgrind {
        println!("SKIPPED: the runs under valgrind; on Debian: sudo apt-get install valgrind");
    }
    Ok(tally)
}

/// The command `clang`: every program, compiled by clang with warnings as errors, and run.
pub fn run_with_clang(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`clang` takes no argument".to_owned());
    }
    clang::install(workspace)?;
    let mut tally = Tally::default();
    let prefix = build(workspace)?;
    let reference = Reference::write(&prefix.join("programs"), &workspace.root)?;
    for source in sources(workspace)? {
        let name = format!("{} (clang)", source.display());
        let arguments = arguments_of(&reference, &source);
        let outcome = try_program(workspace, &prefix, &source, &arguments, Linkage::Clang);
        tally.count(&name, outcome);
    }
    verdict(tally)
}

/// Builds the library, lays it in `target/c` as it is installed, and returns that folder.
pub fn build(workspace: &Workspace) -> Result<PathBuf, String> {
    let prefix = workspace.target.join("c");
    install::lay(workspace, &prefix)?;
    Ok(prefix)
}

/// The C and C++ programs, as paths from the root of the workspace.
fn sources(workspace: &Workspace) -> Result<Vec<PathBuf>, String> {
    let mut found = Vec::new();
    for folder in PROGRAMS {
        found.extend(sources_in(workspace, folder)?);
    }
    Ok(found)
}

/// The C and C++ programs of a folder, by name.
pub fn sources_in(workspace: &Workspace, folder: &str) -> Result<Vec<PathBuf>, String> {
    let failure = |error: std::io::Error| format!("{folder}: {error}");
    let mut found = Vec::new();
    for entry in std::fs::read_dir(workspace.root.join(folder)).map_err(failure)? {
        let path = Path::new(folder).join(entry.map_err(failure)?.file_name());
        if compiler(&path).is_some() {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

/// Compiler and language standard of a source.
pub fn compiler(source: &Path) -> Option<[&'static str; 2]> {
    match source.extension()?.to_str()? {
        "c" => Some(["gcc", "-std=c99"]),
        "cpp" => Some(["g++", "-std=c++17"]),
        _ => None,
    }
}

/// What a program is given on its command line.
fn arguments_of(reference: &Reference, source: &Path) -> Vec<PathBuf> {
    let stem = source.file_stem().and_then(|stem| stem.to_str());
    match stem.map(|stem| stem.trim_end_matches("_static")) {
        Some("values") => vec![reference.values()],
        Some("solve") => reference.methods(),
        Some("stations" | "wrapper" | "same_bits") => vec![reference.document("packed")],
        _ => Vec::new(),
    }
}

/// Builds the library and a program with the static one, which then runs from anywhere; returns the program.
pub fn example(workspace: &Workspace, source: &Path) -> Result<PathBuf, String> {
    let prefix = build(workspace)?;
    compile(workspace, &prefix, source, Linkage::Static)
}

/// Runs a program that finds its library by itself, with the arguments that belong to its name.
pub fn run_program(
    workspace: &Workspace,
    program: &Path,
    reference: &Reference,
) -> Result<(), String> {
    shell::run(
        workspace
            .command(program)
            .args(arguments_of(reference, program)),
    )
}

/// Compiles a program for the library and runs it.
fn try_program(
    workspace: &Workspace,
    prefix: &Path,
    source: &Path,
    arguments: &[PathBuf],
    linkage: Linkage,
) -> Result<(), String> {
    let program = compile(workspace, prefix, source, linkage)?;
    shell::run(
        workspace
            .command(program)
            .args(arguments)
            .env("LD_LIBRARY_PATH", prefix.join("lib")),
    )
}

/// Names of the examples that exist in C and in Rust.
fn twins(workspace: &Workspace) -> Result<Vec<String>, String> {
    let sources = sources_in(workspace, EXAMPLES)?;
    let names = sources
        .iter()
        .filter_map(|source| source.file_stem()?.to_str());
    let has_twin = |name: &&str| {
        let twin = workspace.root.join(RUST_EXAMPLES).join(name);
        twin.with_extension("rs").exists()
    };
    let names: Vec<String> = names.filter(has_twin).map(str::to_owned).collect();
    if names.is_empty() {
        return Err(format!(
            "no example of {EXAMPLES} has a twin in {RUST_EXAMPLES}"
        ));
    }
    Ok(names)
}

/// Runs an example, already compiled for the shared library, and its twin in Rust: both must print the same.
fn compare_with_rust(workspace: &Workspace, prefix: &Path, name: &str) -> Result<(), String> {
    let program = prefix
        .join("programs")
        .join(Linkage::Shared.word())
        .join(name);
    let libraries = prefix.join("lib");
    let in_c = shell::read(workspace.command(program).env("LD_LIBRARY_PATH", libraries))?;
    let arguments = [
        "run",
        "--quiet",
        "--package",
        "densepath",
        "--example",
        name,
    ];
    let in_rust = shell::read(&mut workspace.cargo(&arguments))?;
    if in_c == in_rust && !in_c.is_empty() {
        return Ok(());
    }
    Err(format!("in C it prints\n{in_c}\nand in Rust\n{in_rust}"))
}

/// Runs a program, already compiled for the shared library, under the eyes of valgrind.
fn watch_program(
    workspace: &Workspace,
    prefix: &Path,
    source: &Path,
    arguments: &[PathBuf],
) -> Result<(), String> {
    let stem = source.file_stem().ok_or("a source without a name")?;
    let folder = prefix.join("programs").join(Linkage::Shared.word());
    shell::run(
        workspace
            .command("valgrind")
            .args(["--quiet", "--leak-check=full", "--error-exitcode=99"])
            // What belongs to threads that wait for work until the end is "possibly lost"; only what surely is counts.
            .args([
                "--show-leak-kinds=definite",
                "--errors-for-leak-kinds=definite",
            ])
            .arg(folder.join(stem))
            .args(arguments)
            .env("LD_LIBRARY_PATH", prefix.join("lib")),
    )
}

/// Compiles a program; returns it.
pub fn compile(
    workspace: &Workspace,
    prefix: &Path,
    source: &Path,
    linkage: Linkage,
) -> Result<PathBuf, String> {
    let [gnu, standard] = compiler(source).ok_or("neither C nor C++")?;
    let folder = prefix.join("programs").join(linkage.word());
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let program = folder.join(source.file_stem().ok_or("a source without a name")?);
    let mut command = if linkage == Linkage::Clang {
        clang::compiler(workspace, source)
    } else {
        workspace.command(gnu)
    };
    command
        .arg(standard)
        .args(WARNINGS)
        .arg("-I")
        .arg(prefix.join("include"))
        .arg("-I")
        .arg(prefix.join("programs"))
        .arg(source)
        .arg("-o")
        .arg(&program);
    link(&mut command, &prefix.join("lib"), linkage);
    shell::run(&mut command).map_err(|error| {
        if shell::read(workspace.command(gnu).arg("--version")).is_err() {
            format!("{error}\n`{gnu}` is missing; on Debian: sudo apt-get install {gnu}")
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
        Linkage::Shared | Linkage::Checked | Linkage::Clang | Linkage::Quick => {
            command.arg("-L").arg(libraries).arg("-ldensepath");
        }
    }
    match linkage {
        Linkage::Checked => {
            command.args(["-fsanitize=address,undefined", "-fno-sanitize-recover=all"]);
        }
        Linkage::Quick => {
            command.arg("-O2");
        }
        _ => {}
    }
    command.args(["-lm", "-lpthread"]);
}

/// Fails unless the shared library exports just the functions of the list that is kept with the header.
fn check_exports(workspace: &Workspace, prefix: &Path) -> Result<(), String> {
    let list = read(&workspace.root.join(SYMBOLS))?;
    let declared: BTreeSet<&str> = list.lines().collect();
    let library = prefix.join("lib/libdensepath.so");
    let mut nm = workspace.command("nm");
    let symbols = shell::read(nm.args(["-D", "--defined-only"]).arg(library))?;
    let exported: BTreeSet<&str> = symbols
        .lines()
        .filter_map(|line| line.split_whitespace().nth(2))
        .collect();
    if exported == declared {
        println!("the {} functions declared are exported", exported.len());
        return Ok(());
    }
    Err(format!(
        "declared but not exported: {:?}; exported but not declared: {:?}",
        declared.difference(&exported).collect::<Vec<_>>(),
        exported.difference(&declared).collect::<Vec<_>>()
    ))
}

fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}
