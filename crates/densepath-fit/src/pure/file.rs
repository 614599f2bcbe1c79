//! The data files of the substances: a block is replaced where it stands, the rest stays digit for digit.

use std::fs;
use std::path::{Path, PathBuf};

use serde::Deserialize;

/// What becomes of a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// It is written to the data file.
    Write,
    /// It is compared with the data file.
    Check,
}

impl Target {
    /// What becomes of the results, and the names, of the arguments of a command: `--check` compares, names choose substances.
    pub fn and_names(arguments: &[String]) -> Result<(Self, Vec<&String>), String> {
        let (options, names): (Vec<&String>, Vec<&String>) = arguments
            .iter()
            .partition(|argument| argument.starts_with("--"));
        let target = match options.as_slice() {
            [] => Target::Write,
            [only] if *only == "--check" => Target::Check,
            [other, ..] => return Err(format!("unknown option `{other}`: --check")),
        };
        Ok((target, names))
    }
}

/// What a data file begins with.
#[derive(Debug, Clone, Deserialize)]
pub struct Names {
    pub name: String,
    aliases: Vec<String>,
    formula: String,
    cas_number: String,
}

/// The data file of a substance.
pub fn path(name: &str) -> PathBuf {
    let folder = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../densepath-fluid/data/fluids"
    );
    PathBuf::from(folder).join(format!("{}.json", name.replace(' ', "_")))
}

/// Writes a text, or compares it with what is stored.
pub fn put(path: &Path, text: &str, target: Target) -> Result<(), String> {
    let shown = path.display();
    match target {
        Target::Write => fs::write(path, text).map_err(|error| format!("{shown}: {error}")),
        Target::Check if fs::read_to_string(path).is_ok_and(|stored| stored == text) => Ok(()),
        Target::Check => Err(format!("{shown} differs from the fit")),
    }
}

/// Begins the data file of a substance, where there is none, with its names.
pub fn start(names: &Names) -> Result<(), String> {
    let name = &names.name;
    let path = path(name);
    if path.exists() {
        return Ok(());
    }
    let quoted = |text: &String| format!("\"{text}\"");
    let aliases: Vec<String> = names.aliases.iter().map(quoted).collect();
    let text = format!(
        "{{\n  \"name\": \"{name}\",\n  \"aliases\": [{}],\n  \"formula\": \"{}\",\n  \"cas_number\": \"{}\"\n}}\n",
        aliases.join(", "),
        names.formula,
        names.cas_number
    );
    fs::write(&path, text).map_err(|error| format!("{}: {error}", path.display()))
}

/// Puts a block of the outermost level into the data file of a substance, or compares it with the one there.
///
/// `block` is its JSON text with lines indented as in the file. A new block follows the registry number.
pub fn put_block(name: &str, key: &str, block: &str, target: Target) -> Result<(), String> {
    let path = path(name);
    let shown = path.display();
    let text = fs::read_to_string(&path).map_err(|error| format!("{shown}: {error}"))?;
    let opening = format!("\n  \"{key}\": {{");
    let (start, end) = if let Some(start) = text.find(&opening) {
        let length = text[start + 1..]
            .find("\n  }")
            .ok_or_else(|| format!("{shown}: `{key}` does not end"))?;
        (start, start + 1 + length + "\n  }".len())
    } else {
        let line = text.find("\n  \"cas_number\"");
        let end = line.and_then(|line| Some(line + 1 + text[line + 1..].find('\n')?));
        let end = end.ok_or_else(|| format!("{shown}: no registry number"))?;
        (end, end)
    };
    let stored = &text[start..end];
    let line = format!("\n  \"{key}\": {block}");
    match target {
        Target::Check if stored == line => Ok(()),
        Target::Check => Err(format!("{shown}: `{key}` differs from the fit:\n{line}")),
        Target::Write => {
            let new = match (stored.is_empty(), text[..start].ends_with(',')) {
                (false, _) => format!("{}{line}{}", &text[..start], &text[end..]),
                (true, true) => format!("{}{line},{}", &text[..start], &text[end..]),
                (true, false) => format!("{},{line}{}", &text[..start], &text[end..]),
            };
            fs::write(&path, new).map_err(|error| format!("{shown}: {error}"))
        }
    }
}

/// Replaces a block within one of the outermost level of the data file of a substance, or compares it with the one there.
pub fn put_inner_block(
    name: &str,
    outer: &str,
    key: &str,
    block: &str,
    target: Target,
) -> Result<(), String> {
    let path = path(name);
    let shown = path.display();
    let text = fs::read_to_string(&path).map_err(|error| format!("{shown}: {error}"))?;
    let missing = || format!("{shown}: no `{key}` in `{outer}`");
    let start = text
        .find(&format!("\n  \"{outer}\": {{"))
        .ok_or_else(missing)?;
    let length = text[start + 1..].find("\n  }").ok_or_else(missing)?;
    let whole = &text[start..start + 1 + length];
    let inner = whole
        .find(&format!("\n    \"{key}\": {{"))
        .ok_or_else(missing)?;
    let end = whole[inner..].find("\n    }").ok_or_else(missing)? + inner + "\n    }".len();
    let line = format!("\n    \"{key}\": {block}");
    match target {
        Target::Check if whole[inner..end] == line => Ok(()),
        Target::Check => Err(format!(
            "{shown}: `{key}` of `{outer}` differs from the fit:{line}"
        )),
        Target::Write => {
            let new = format!("{}{line}{}", &text[..start + inner], &text[start + end..]);
            fs::write(&path, new).map_err(|error| format!("{shown}: {error}"))
        }
    }
}
