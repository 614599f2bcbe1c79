//! The installed tree as a project of somebody else meets it: moved after its installation, found by pkg-config and by CMake.

use crate::c::{self, EXAMPLES};
use crate::install;
use crate::python;
use crate::reference::Reference;
use crate::shell::{self, Workspace};
use crate::test::Tally;
use std::path::{Path, PathBuf};

/// Builds and runs the examples from a tree that was moved, by both ways.
pub fn test(workspace: &Workspace, reference: &Reference, tally: &mut Tally) -> Result<(), String> {
    let tree = moved_tree(workspace)?;
    let sources = c::sources_in(workspace, EXAMPLES)?;
    if shell::read(workspace.command("pkg-config").arg("--version")).is_ok() {
        for source in &sources {
            let outcome = by_pkg_config(workspace, &tree, source)
                .and_then(|program| c::run_program(workspace, &program, reference));
            tally.count(&format!("{} (pkg-config)", source.display()), outcome);
        }
    } else {
        println!(
            "SKIPPED: programs found by pkg-config; on Debian: sudo apt-get install pkg-config"
        );
    }
    let built = by_cmake(workspace, &tree)?;
    for source in &sources {
        let stem = source.file_stem().ok_or("a source without a name")?;
        let stem = stem.to_string_lossy();
        for name in [stem.to_string(), format!("{stem}_static")] {
            let outcome = c::run_program(workspace, &built.join(&name), reference);
            tally.count(&format!("{name} (CMake)"), outcome);
        }
    }
    Ok(())
}

/// A tree laid in one place and moved to another: nothing in it may remember the first.
fn moved_tree(workspace: &Workspace) -> Result<PathBuf, String> {
    let first = workspace.target.join("c-installed");
    let moved = workspace.target.join("c-moved");
    for folder in [&first, &moved] {
        if folder.exists() {
            std::fs::remove_dir_all(folder)
                .map_err(|error| format!("{}: {error}", folder.display()))?;
        }
    }
    install::lay(workspace, &first)?;
    std::fs::rename(&first, &moved).map_err(|error| format!("{}: {error}", moved.display()))?;
    Ok(moved)
}

/// Compiles a program with the words of pkg-config alone.
fn by_pkg_config(workspace: &Workspace, tree: &Path, source: &Path) -> Result<PathBuf, String> {
    let libraries = tree.join("lib");
    let mut ask = workspace.command("pkg-config");
    ask.args(["--cflags", "--libs", "densepath"])
        .env("PKG_CONFIG_PATH", libraries.join("pkgconfig"));
    let words = shell::read(&mut ask)?;
    let [compiler, standard] = c::compiler(source).ok_or("neither C nor C++")?;
    let program = tree.join(source.file_stem().ok_or("a source without a name")?);
    let mut command = workspace.command(compiler);
    command
        .arg(standard)
        .arg(source)
        .args(words.split_whitespace())
        .arg(format!("-Wl,-rpath,{}", libraries.display()))
        .arg("-o")
        .arg(&program);
    shell::run(&mut command)?;
    Ok(program)
}

/// Builds the project of the examples with CMake; returns the folder of its programs.
fn by_cmake(workspace: &Workspace, tree: &Path) -> Result<PathBuf, String> {
    let cmake = python::tool(workspace, "cmake")?;
    let ninja = python::tool(workspace, "ninja")?;
    let built = tree.join("build");
    let mut configure = workspace.command(&cmake);
    configure
        .args(["-G", "Ninja", "-S", EXAMPLES, "-B"])
        .arg(&built)
        .arg(format!("-DCMAKE_MAKE_PROGRAM={}", ninja.display()))
        .arg(format!("-DCMAKE_PREFIX_PATH={}", tree.display()));
    shell::run(&mut configure)?;
    shell::run(workspace.command(&cmake).arg("--build").arg(&built))?;
    Ok(built)
}
