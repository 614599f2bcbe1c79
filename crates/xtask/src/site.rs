//! `cargo xtask site`: the documentation as static files, that of the Rust crates among them.

use crate::python;
use crate::shell::{self, Workspace};
use std::path::Path;

const SOURCES: &str = "python/docs";

/// The command `site`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`site` takes no argument".to_owned());
    }
    python::install(workspace)?;
    let site = workspace.target.join("site");
    let mut sphinx = workspace.command(python::tool(workspace, "sphinx-build")?);
    sphinx.args(["-q", "-W", "-b", "html", "-d"]);
    shell::run(
        sphinx
            .arg(workspace.target.join("site-cache"))
            .arg(SOURCES)
            .arg(&site),
    )?;
    shell::run(&mut workspace.cargo(&[
        "doc",
        "--no-deps",
        "-p",
        "densepath",
        "-p",
        "densepath-fluid",
    ]))?;
    copy_folder(&workspace.target.join("doc"), &site.join("rust"))?;
    println!("open {}", site.join("index.html").display());
    Ok(())
}

/// Copies a folder with all below it.
fn copy_folder(from: &Path, to: &Path) -> Result<(), String> {
    let mut folders = vec![(from.to_path_buf(), to.to_path_buf())];
    while let Some((from, to)) = folders.pop() {
        let failure = |error: std::io::Error| format!("{}: {error}", from.display());
        std::fs::create_dir_all(&to).map_err(failure)?;
        for entry in std::fs::read_dir(&from).map_err(failure)? {
            let entry = entry.map_err(failure)?;
            let end = to.join(entry.file_name());
            if entry.file_type().map_err(failure)?.is_dir() {
                folders.push((entry.path(), end));
            } else {
                std::fs::copy(entry.path(), end).map_err(failure)?;
            }
        }
    }
    Ok(())
}
