//! `cargo xtask api`: what the crates offer, as a list kept in `tests/api`, so that no change of it goes unseen.

use crate::shell::{self, Workspace};
use crate::test::Tally;
use std::path::PathBuf;

/// The crates that others build on.
pub const CRATES: &[&str] = &["densepath-fluid", "densepath"];
const FOLDER: &str = "tests/api";
/// The form of rustdoc's JSON that the reader of it understands: that of Rust 1.95.
const FORMAT: u64 = 57;

/// The command `api`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    match arguments {
        [] => write(workspace),
        [option] if option == "--check" => check(workspace).map(|_| ()),
        _ => Err("`api` takes `--check` or nothing".to_owned()),
    }
}

fn write(workspace: &Workspace) -> Result<(), String> {
    for name in CRATES {
        let list = list(workspace, name)?.ok_or_else(other_compiler)?;
        let path = stored(workspace, name);
        let failure = |error: std::io::Error| format!("{}: {error}", path.display());
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(failure)?;
        }
        println!("writing {}", path.display());
        std::fs::write(&path, list).map_err(failure)?;
    }
    Ok(())
}

/// Compares what is offered with the lists kept.
pub fn check(workspace: &Workspace) -> Result<Tally, String> {
    let mut tally = Tally::default();
    for name in CRATES {
        let Some(found) = list(workspace, name)? else {
            println!("SKIPPED: {}", other_compiler());
            return Ok(tally);
        };
        let path = stored(workspace, name);
        let kept = std::fs::read_to_string(&path)
            .map_err(|error| format!("{}: {error}", path.display()))?;
        tally.count(&path.display().to_string(), difference(&kept, &found));
    }
    Ok(tally)
}

fn other_compiler() -> String {
    format!(
        "the list of what the crates offer; rustdoc of this compiler writes another form of JSON than {FORMAT}, that of Rust 1.95"
    )
}

fn stored(workspace: &Workspace, name: &str) -> PathBuf {
    workspace.root.join(FOLDER).join(format!("{name}.txt"))
}

/// What a crate offers, one line each; nothing where rustdoc writes another form.
fn list(workspace: &Workspace, name: &str) -> Result<Option<String>, String> {
    let mut rustdoc = workspace.cargo(&["rustdoc", "--quiet", "--lib", "-p", name, "--"]);
    // The JSON of rustdoc is not stable yet; its version is checked below.
    rustdoc
        .args(["-Z", "unstable-options", "--output-format", "json"])
        .env("RUSTC_BOOTSTRAP", "1");
    shell::run(&mut rustdoc)?;
    let file = format!("{}.json", name.replace('-', "_"));
    let path = workspace.target.join("doc").join(file);
    let text =
        std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    if !text.contains(&format!("\"format_version\":{FORMAT}")) {
        return Ok(None);
    }
    let api = public_api::Builder::from_rustdoc_json(&path)
        .omit_blanket_impls(true)
        .omit_auto_trait_impls(true)
        .omit_auto_derived_impls(true)
        .build()
        .map_err(|error| format!("{}: {error}", path.display()))?;
    Ok(Some(format!("{api}")))
}

/// What differs, line by line.
fn difference(kept: &str, found: &str) -> Result<(), String> {
    let only = |one: &str, other: &str, mark: &str| -> Vec<String> {
        let known: std::collections::BTreeSet<&str> = other.lines().collect();
        let new = one.lines().filter(|line| !known.contains(line));
        new.map(|line| format!("{mark} {line}")).collect()
    };
    let mut lines = only(kept, found, "-");
    lines.extend(only(found, kept, "+"));
    if lines.is_empty() {
        return Ok(());
    }
    Err(format!(
        "what the crate offers has changed; if that is meant, run `cargo xtask api` and note it in the changelog\n{}",
        lines.join("\n")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_and_goes_is_told() {
        let told = difference("a\nb\n", "b\nc\n").unwrap_err();
        assert!(told.ends_with("- a\n+ c"), "{told}");
        assert_eq!(difference("a\n", "a\n"), Ok(()));
    }
}
