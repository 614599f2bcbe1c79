//! `cargo xtask api`: what the crates offer, as a list kept in `tests/api`, so that no change of it goes unseen; and whether every
//! item of it has an example.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::shell::{self, Workspace};
use crate::test::Tally;

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
        std::fs::write(&path, list.items).map_err(failure)?;
        exemplified(&list.bare)?;
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
        tally.count(&path.display().to_string(), difference(&kept, &found.items));
        tally.count(&format!("examples of {name}"), exemplified(&found.bare));
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

/// What a crate offers.
struct Offered {
    /// Every item, one line each.
    items: String,
    /// The items without an example.
    bare: Vec<String>,
}

/// What a crate offers; nothing where rustdoc writes another form.
fn list(workspace: &Workspace, name: &str) -> Result<Option<Offered>, String> {
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
    Ok(Some(Offered {
        items: format!("{api}"),
        bare: without_example(&path, &text)?,
    }))
}

/// The functions, types, traits and macros without an example, as rustdoc's JSON knows them. What implements a trait is explained by the
/// trait; fields, variants, constants and modules need none.
fn without_example(path: &Path, text: &str) -> Result<Vec<String>, String> {
    let json: Value =
        serde_json::from_str(text).map_err(|error| format!("{}: {error}", path.display()))?;
    let index = json["index"].as_object();
    let items = || index.into_iter().flat_map(serde_json::Map::values);
    let implementations = items().filter(|item| !item["inner"]["impl"]["trait"].is_null());
    let explained: HashSet<u64> = implementations
        .filter_map(|item| item["inner"]["impl"]["items"].as_array())
        .flatten()
        .filter_map(Value::as_u64)
        .collect();
    let kinds = ["function", "struct", "enum", "trait", "macro"];
    let bare = |item: &&Value| {
        kinds.iter().any(|kind| !item["inner"][kind].is_null())
            && item["crate_id"] == 0
            && !item["id"]
                .as_u64()
                .is_some_and(|id| explained.contains(&id))
            && !item["docs"]
                .as_str()
                .is_some_and(|docs| docs.contains("```"))
    };
    let place = |item: &Value| {
        let file = item["span"]["filename"].as_str().unwrap_or_default();
        let name = item["name"].as_str().unwrap_or_default();
        format!("{file}:{} {name}", item["span"]["begin"][0])
    };
    let mut found: Vec<String> = items().filter(bare).map(place).collect();
    found.sort();
    Ok(found)
}

fn exemplified(bare: &[String]) -> Result<(), String> {
    if bare.is_empty() {
        return Ok(());
    }
    Err(format!(
        "{} public items have no example; write one, or keep the item in its crate\n{}",
        bare.len(),
        bare.join("\n")
    ))
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
    fn what_has_no_example_is_named() {
        let item = |id: u64, name: &str, docs: &str, kind: &str, inner: Value| {
            serde_json::json!({
                "id": id, "crate_id": 0, "name": name, "docs": docs,
                "span": { "filename": "a.rs", "begin": [id, 1] },
                "inner": { kind: inner },
            })
        };
        let some = || serde_json::json!({});
        let text = serde_json::json!({ "index": {
            "1": item(1, "shown", "```\n```", "function", some()),
            "2": item(2, "bare", "words", "struct", some()),
            "3": item(3, "field", "words", "struct_field", some()),
            "4": item(4, "clone", "", "function", some()),
            "5": item(5, "", "", "impl", serde_json::json!({ "trait": { "path": "Clone" }, "items": [4] })),
        }})
        .to_string();
        let found = without_example(Path::new("a.json"), &text).unwrap();
        assert_eq!(found, ["a.rs:2 bare"]);
        assert!(exemplified(&found).unwrap_err().contains("a.rs:2 bare"));
        assert_eq!(exemplified(&[]), Ok(()));
    }

    #[test]
    fn what_comes_and_goes_is_told() {
        let told = difference("a\nb\n", "b\nc\n").unwrap_err();
        assert!(told.ends_with("- a\n+ c"), "{told}");
        assert_eq!(difference("a\n", "a\n"), Ok(()));
    }
}
