//! `cargo xtask install`: the C library as a tree that compilers, pkg-config and CMake understand, wherever it is laid or moved.

use crate::manual;
use crate::shell::{self, Workspace};
use std::path::{Path, PathBuf};

const HEADERS: &[&str] = &["densepath.h", "densepath.hpp"];
const TEXTS: &[&str] = &["README.md", "LICENSE"];

/// Files made from a template, and where they lie in the tree.
const TEMPLATES: &[(&str, &str)] = &[
    ("densepath.pc", "lib/pkgconfig"),
    ("densepath-config.cmake", "lib/cmake/densepath"),
    ("densepath-config-version.cmake", "lib/cmake/densepath"),
];

/// The command `install`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    let prefix = match arguments {
        [option, folder] if option == "--prefix" => PathBuf::from(folder),
        _ => return Err("`install` takes `--prefix FOLDER`".to_owned()),
    };
    let prefix =
        std::path::absolute(&prefix).map_err(|error| format!("{}: {error}", prefix.display()))?;
    lay(workspace, &prefix)?;
    println!("installed in {}", prefix.display());
    Ok(())
}

/// Builds the shared and the static library and lays them in a folder with all that belongs to them.
pub fn lay(workspace: &Workspace, prefix: &Path) -> Result<(), String> {
    shell::run(&mut workspace.cargo(&["build", "--release", "--package", "densepath-c"]))?;
    let sources = workspace.root.join("bindings/c");
    for name in HEADERS {
        copy(
            &sources.join("include").join(name),
            &prefix.join("include").join(name),
        )?;
    }
    let header = read(&sources.join("include/densepath.h"))?;
    let abi = number_of(&header, "DP_ABI_VERSION").ok_or("the header has no DP_ABI_VERSION")?;
    lay_libraries(&workspace.target.join("release"), &prefix.join("lib"), abi)?;
    for (name, folder) in TEMPLATES {
        let template = read(&sources.join("packaging").join(format!("{name}.in")))?;
        let text = template
            .replace("@VERSION@", env!("CARGO_PKG_VERSION"))
            .replace("@ABI@", abi);
        write(&prefix.join(folder).join(name), &text)?;
    }
    for name in TEXTS {
        let end = prefix.join("share/doc/densepath").join(name);
        copy(&workspace.root.join(name), &end)?;
    }
    let schema = format!("{:#}\n", densepath::method::schema::json_schema());
    write(&prefix.join("share/densepath/method.schema.json"), &schema)?;
    let page = manual::page(&header)?;
    write(&prefix.join("share/man/man3/densepath.3"), &page)
}

/// Programs ask for the shared library by the name that changes with the binary interface; linkers by the plain one.
fn lay_libraries(built: &Path, folder: &Path, abi: &str) -> Result<(), String> {
    copy(
        &built.join("libdensepath.a"),
        &folder.join("libdensepath.a"),
    )?;
    let named = format!("libdensepath.so.{abi}");
    copy(&built.join("libdensepath.so"), &folder.join(&named))?;
    let plain = folder.join("libdensepath.so");
    if plain.symlink_metadata().is_ok() {
        std::fs::remove_file(&plain).map_err(|error| format!("{}: {error}", plain.display()))?;
    }
    std::os::unix::fs::symlink(named, &plain)
        .map_err(|error| format!("{}: {error}", plain.display()))
}

/// The number that a header defines for a name.
fn number_of<'a>(header: &'a str, name: &str) -> Option<&'a str> {
    header.lines().find_map(|line| {
        let mut words = line.split_whitespace();
        let found = words.next() == Some("#define") && words.next() == Some(name);
        found.then(|| words.next()).flatten()
    })
}

fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

/// Copies a file beside its end and renames it, so that a program that runs keeps the library it has loaded.
fn copy(from: &Path, to: &Path) -> Result<(), String> {
    let failure = |error: std::io::Error| format!("{}: {error}", to.display());
    let bytes = std::fs::read(from).map_err(|error| format!("{}: {error}", from.display()))?;
    if let Some(folder) = to.parent() {
        std::fs::create_dir_all(folder).map_err(failure)?;
    }
    let mut draft = to.as_os_str().to_owned();
    draft.push(".new");
    std::fs::write(&draft, bytes).map_err(failure)?;
    std::fs::rename(&draft, to).map_err(failure)
}

fn write(path: &Path, text: &str) -> Result<(), String> {
    let failure = |error: std::io::Error| format!("{}: {error}", path.display());
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(failure)?;
    }
    std::fs::write(path, text).map_err(failure)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_read_from_a_header() {
        assert_eq!(number_of("#define A 1\n#define B 2", "B"), Some("2"));
        assert_eq!(number_of("#define A 1", "B"), None);
    }
}
