//! `cargo xtask package`: the crates that others build on, packed as for a registry and built from what was packed, and with the
//! oldest compiler that they are said to need.

use crate::shell::{self, Workspace};
use crate::test::Tally;

const CRATES: &[&str] = &["densepath-fluid", "densepath", "densepath-c"];

/// The command `package`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`package` takes no argument".to_owned());
    }
    shell::run(&mut command(workspace))?;
    build_with_the_oldest(workspace)
}

/// Builds the crates with the compiler of `rust-version`, if rustup has it.
fn build_with_the_oldest(workspace: &Workspace) -> Result<(), String> {
    let path = workspace.root.join("Cargo.toml");
    let text =
        std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    let version = oldest(&text).ok_or("Cargo.toml has no rust-version")?;
    let toolchain = format!("{version}.0");
    let with = || {
        let mut command = workspace.command("rustup");
        command.args(["run", &toolchain]);
        command
    };
    if shell::read(with().args(["rustc", "--version"])).is_err() {
        println!(
            "SKIPPED: the oldest compiler; rustup toolchain install {toolchain} --profile minimal"
        );
        return Ok(());
    }
    let mut command = with();
    command
        .args(["cargo", "check", "--quiet", "--target-dir"])
        .arg(workspace.target.join("oldest"));
    for name in CRATES {
        command.args(["-p", name]);
    }
    shell::run(&mut command)
}

/// The version that the manifest of the workspace names.
fn oldest(manifest: &str) -> Option<&str> {
    let mut lines = manifest.lines();
    let value = lines.find_map(|line| line.strip_prefix("rust-version = "))?;
    Some(value.trim_matches('"'))
}

/// Packs the crates without building them anew, which takes minutes.
pub fn check(workspace: &Workspace) -> Result<Tally, String> {
    shell::run(command(workspace).arg("--no-verify")).map(|()| Tally::ONE)
}

fn command(workspace: &Workspace) -> std::process::Command {
    let mut command = workspace.cargo(&["package", "--quiet", "--allow-dirty"]);
    for name in CRATES {
        command.args(["-p", name]);
    }
    command
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_compiler_is_read() {
        assert_eq!(oldest("[package]\nrust-version = \"1.88\"\n"), Some("1.88"));
        assert_eq!(oldest("[package]\n"), None);
    }
}
