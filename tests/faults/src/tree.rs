//! The copy of the tree that the faults are written into: all at once, each behind a switch, so that one build serves all of them.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::draw::Drawn;
use crate::places::{Place, uses};

/// What a crate asks to know which fault is on. The environment names it, so that a program of a test hands it on.
const SWITCH: &str = "//! Which deliberate fault is on.

use std::sync::OnceLock;

static ON: OnceLock<u32> = OnceLock::new();

/// Whether a fault is on.
#[inline(always)]
pub fn is_on(number: u32) -> bool {
    *ON.get_or_init(|| std::env::var(\"DENSEPATH_FAULT\").ok().and_then(|word| word.parse().ok()).unwrap_or(0)) == number
}

/// A data file, with the fault that is on.
pub fn text(right: &str) -> &'static str {
    let of = |(number, from, to): &(u32, &str, &str)| is_on(*number).then(|| right.replacen(from, to, 1));
    let wrong = FAULTS.iter().find_map(of).unwrap_or_else(|| right.to_owned());
    Box::leak(wrong.into_boxed_str())
}
";
/// Where the copies of data files are read.
const READERS: [(&str, &str, &str); 5] = [
    (
        "crates/densepath-fluid/src/fluids/mod.rs",
        "from_str(text)",
        "from_str(crate::fault::text(text))",
    ),
    (
        "crates/densepath/src/hardware/detector_choice.rs",
        "include_str!(\"../../data/detectors.json\")",
        "densepath_fluid::fault::text(include_str!(\"../../data/detectors.json\"))",
    ),
    (
        "crates/densepath/src/hardware/detector_choice.rs",
        "include_str!(\"../../data/uv_cut_off.json\")",
        "densepath_fluid::fault::text(include_str!(\"../../data/uv_cut_off.json\"))",
    ),
    (
        "crates/densepath/src/hardware/safety/flammable.rs",
        "include_str!(\"../../../data/flammable.json\")",
        "densepath_fluid::fault::text(include_str!(\"../../../data/flammable.json\"))",
    ),
    (
        "crates/densepath/src/hardware/gas_detector.rs",
        "include_str!(\"../../data/gas_detectors.json\")",
        "densepath_fluid::fault::text(include_str!(\"../../data/gas_detectors.json\"))",
    ),
];

/// Copies the tree and writes the faults into it.
pub fn write(root: &Path, tree: &Path, drawn: &[Drawn]) -> Result<(), String> {
    copy(root, tree)?;
    for (file, from, _) in READERS {
        let text = read(&root.join(file))?;
        if !text.contains(from) {
            return Err(format!("{file} does not read its data by {from}"));
        }
    }
    let mut files: Vec<&str> = drawn.iter().map(|one| one.file.as_str()).collect();
    files.extend(READERS.map(|(file, _, _)| file));
    files.sort_unstable();
    files.dedup();
    let mut texts = String::new();
    for file in files {
        let text = read(&root.join(file))?;
        let here: Vec<&Drawn> = drawn.iter().filter(|one| one.file == file).collect();
        if Path::new(file).extension().is_some_and(|end| end == "json") {
            for one in here {
                let (from, to) = in_data(&text, &one.place);
                let _ = writeln!(texts, "    ({}, {from:?}, {to:?}),", one.number);
            }
            continue;
        }
        let mut switched = in_source(file, &text, &here);
        for (_, from, to) in READERS.iter().filter(|(reader, _, _)| *reader == file) {
            switched = switched.replace(from, to);
        }
        put(&tree.join(file), &switched)?;
    }
    let module = format!("{SWITCH}\nstatic FAULTS: &[(u32, &str, &str)] = &[\n{texts}];\n");
    put(&tree.join("crates/densepath-fluid/src/fault.rs"), &module)?;
    let library = "crates/densepath-fluid/src/lib.rs";
    let text = read(&root.join(library))?;
    put(
        &tree.join(library),
        &text.replacen("pub mod consts;", "pub mod consts;\npub mod fault;", 1),
    )
}

/// A source file with its faults behind switches.
fn in_source(file: &str, text: &str, drawn: &[&Drawn]) -> String {
    let switch = if file.starts_with("crates/densepath-fluid/") {
        "crate::fault::is_on"
    } else {
        "densepath_fluid::fault::is_on"
    };
    let mut pieces = Vec::new();
    for one in drawn {
        let place = &one.place;
        let wrong = &place.wrong;
        let with = |right: &str| {
            format!(
                "(if {switch}({}) {{ {wrong} }} else {{ {right} }})",
                one.number
            )
        };
        if place.kind == "constant" {
            let name = text.get(place.range.clone()).unwrap_or_default();
            pieces.extend(
                uses(text, name)
                    .into_iter()
                    .map(|range| (range, with(name))),
            );
        } else {
            pieces.push((place.range.clone(), with(&place.right)));
        }
    }
    pieces.sort_by_key(|(range, _)| range.start);
    let mut made = text.to_owned();
    for (range, piece) in pieces.into_iter().rev() {
        // A switch has no line of its own, so that the compiler's complaints name the lines of the file.
        let lines = text
            .get(range.clone())
            .unwrap_or_default()
            .matches('\n')
            .count();
        let piece = piece.replace('\n', " ") + &"\n".repeat(lines);
        made.replace_range(range, &piece);
    }
    made
}

/// The shortest text about a number that the file has once, and what becomes of it.
fn in_data(text: &str, place: &Place) -> (String, String) {
    let mut start = place.range.start;
    loop {
        let piece = text.get(start..place.range.end).unwrap_or_default();
        let is_once = text.matches(piece).count() == 1;
        if start == 0 || is_once && place.range.start - start > 200 {
            let before = text.get(start..place.range.start).unwrap_or_default();
            return (piece.to_owned(), format!("{before}{}", place.wrong));
        }
        start -= 1;
        while !text.is_char_boundary(start) {
            start -= 1;
        }
    }
}

/// Copies the files of a tree that are kept in the repository, those alone that differ, so that no more is compiled than must be.
fn copy(root: &Path, tree: &Path) -> Result<(), String> {
    let listed = std::process::Command::new("git")
        .args(["ls-files", "-z"])
        .current_dir(root)
        .output()
        .map_err(|error| format!("git: {error}"))?;
    for name in String::from_utf8_lossy(&listed.stdout)
        .split('\0')
        .filter(|name| !name.is_empty())
    {
        let (from, to) = (root.join(name), tree.join(name));
        let Ok(bytes) = fs::read(&from) else { continue };
        if fs::read(&to).is_ok_and(|known| known == bytes) {
            continue;
        }
        make_folder(&to)?;
        fs::write(&to, bytes).map_err(|error| format!("{}: {error}", to.display()))?;
    }
    Ok(())
}

fn make_folder(file: &Path) -> Result<(), String> {
    let folder = file.parent().map(PathBuf::from).unwrap_or_default();
    fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))
}

/// Writes a file if it differs.
fn put(path: &Path, text: &str) -> Result<(), String> {
    if fs::read_to_string(path).is_ok_and(|known| known == text) {
        return Ok(());
    }
    fs::write(path, text).map_err(|error| format!("{}: {error}", path.display()))
}

/// The text of a file.
pub fn read(path: &Path) -> Result<String, String> {
    fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}
