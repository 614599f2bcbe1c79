//! `cargo xtask header`: the C header, written from the Rust sources of the C interface.

use crate::shell::Workspace;
use std::path::PathBuf;

const CRATE: &str = "bindings/c";
const HEADER: &str = "bindings/c/include/densepath.h";

/// The command `header`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    match arguments {
        [] => write(workspace),
        [option] if option == "--check" => check(workspace),
        _ => Err("`header` takes no argument but `--check`".to_owned()),
    }
}

/// Place of the header.
pub fn path(workspace: &Workspace) -> PathBuf {
    workspace.root.join(HEADER)
}

fn write(workspace: &Workspace) -> Result<(), String> {
    let text = generate(workspace)?;
    let path = path(workspace);
    let failure = |error: std::io::Error| format!("{HEADER}: {error}");
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(failure)?;
    }
    std::fs::write(&path, text).map_err(failure)?;
    println!("{HEADER} written");
    Ok(())
}

/// Fails if the header kept with the sources is not the one that they give.
fn check(workspace: &Workspace) -> Result<(), String> {
    let wanted = generate(workspace)?;
    let found =
        std::fs::read_to_string(path(workspace)).map_err(|error| format!("{HEADER}: {error}"))?;
    if found == wanted {
        println!("{HEADER} agrees with the sources");
        return Ok(());
    }
    let line = found
        .lines()
        .zip(wanted.lines())
        .position(|(found, wanted)| found != wanted)
        .unwrap_or_else(|| found.lines().count().min(wanted.lines().count()));
    Err(format!(
        "{HEADER} differs from the sources at line {}; `cargo xtask header` writes it anew",
        line + 1
    ))
}

fn generate(workspace: &Workspace) -> Result<String, String> {
    let folder = workspace.root.join(CRATE);
    let settings = folder.join("cbindgen.toml");
    let config = cbindgen::Config::from_file(&settings)
        .map_err(|error| format!("{}: {error}", settings.display()))?;
    let bindings = cbindgen::Builder::new()
        .with_crate(&folder)
        .with_config(config)
        .generate()
        .map_err(|error| format!("{CRATE}: {error}"))?;
    let mut text = Vec::new();
    bindings.write(&mut text);
    String::from_utf8(text).map_err(|error| format!("{HEADER}: {error}"))
}
