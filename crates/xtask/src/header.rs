//! `cargo xtask header`: the C header, the list of its functions, the sources of the C interface that follow from the tables of the
//! library, and the JSON Schema of the method document.

use crate::shell::Workspace;
use densepath::fluid::error::ERRORS;
use densepath::method::schema;
use densepath::{NoticeCode, PROPERTIES, Phase, Quantity, Severity};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

const FOLDER: &str = "bindings/c";

/// Head of the page on the method document.
const DOCUMENT_PAGE: &str = "# The method document

A method is a TOML document: what flows, the parts in the order of the flow, the solutes, the room. Values carry their units, and a
pressure is absolute unless it is marked (g). An unknown key, a missing unit or a part where none can stand is refused with its line;
`densepath.check_method` tells all problems at once, and `densepath.method_schema` gives the rules as JSON Schema for editors. Written
from the tables that the reader itself follows.

";

/// The command `header`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    match arguments {
        [] => write(workspace),
        [option] if option == "--check" => check(workspace),
        _ => Err("`header` takes `--check` or nothing".to_owned()),
    }
}

/// Writes every file that differs from what the library gives.
fn write(workspace: &Workspace) -> Result<(), String> {
    let folder = workspace.root.join(FOLDER);
    for file in sources(&folder)? {
        file.write(&folder)?;
    }
    for file in interface(&folder)? {
        file.write(&folder)?;
    }
    for file in documents() {
        file.write(&workspace.root)?;
    }
    Ok(())
}

/// The rules of the method document: for programs, in the Python package that carries them, and for people.
fn documents() -> [File; 2] {
    [
        File {
            path: "python/src/densepath/method.schema.json",
            text: format!("{:#}\n", schema::json_schema()),
        },
        File {
            path: "python/docs/reference/method_document.md",
            text: format!(
                "{DOCUMENT_PAGE}{}",
                schema::description().replace("### ", "## ")
            ),
        },
    ]
}

/// Fails if a file under version control is not what the library gives.
pub fn check(workspace: &Workspace) -> Result<(), String> {
    let folder = workspace.root.join(FOLDER);
    let files = sources(&folder)?.into_iter().chain(interface(&folder)?);
    let mut stale: Vec<&str> = files
        .filter(|file| file.differs(&folder))
        .map(|file| file.path)
        .collect();
    let documents = documents().into_iter();
    stale.extend(
        documents
            .filter(|file| file.differs(&workspace.root))
            .map(|file| file.path),
    );
    if stale.is_empty() {
        return Ok(());
    }
    Err(format!(
        "{} no longer follow from the sources; write them with: cargo xtask header",
        stale.join(", ")
    ))
}

/// A file with the text that it should have.
struct File {
    path: &'static str,
    text: String,
}

impl File {
    fn differs(&self, folder: &Path) -> bool {
        std::fs::read_to_string(folder.join(self.path))
            .ok()
            .as_ref()
            != Some(&self.text)
    }

    fn write(&self, folder: &Path) -> Result<(), String> {
        if !self.differs(folder) {
            return Ok(());
        }
        let path = folder.join(self.path);
        println!("writing {}", path.display());
        std::fs::write(&path, &self.text).map_err(|error| format!("{}: {error}", path.display()))
    }
}

/// The sources of the interface that follow from the tables of the library.
fn sources(folder: &Path) -> Result<[File; 2], String> {
    let path = "src/tables.rs";
    // Numbers once given are kept, so that old programs go on meaning the same.
    let given = std::fs::read_to_string(folder.join(path)).unwrap_or_default();
    let tables = formatted(&tables(&given)?)?;
    let properties = formatted(&properties())?;
    Ok([
        File { path, text: tables },
        File {
            path: "src/properties.rs",
            text: properties,
        },
    ])
}

/// The header, and the list of the functions that it declares.
fn interface(folder: &Path) -> Result<[File; 2], String> {
    let config = cbindgen::Config::from_file(folder.join("cbindgen.toml"))?;
    let bindings = cbindgen::Builder::new()
        .with_crate(folder)
        .with_config(config)
        .generate()
        .map_err(|error| format!("{FOLDER}: {error}"))?;
    let mut text = Vec::new();
    bindings.write(&mut text);
    let header = String::from_utf8(text).map_err(|error| error.to_string())?;
    let symbols = functions(&header).join("\n") + "\n";
    Ok([
        File {
            path: "include/densepath.h",
            text: header,
        },
        File {
            path: "symbols.txt",
            text: symbols,
        },
    ])
}

/// Names of the functions that a header declares, sorted.
fn functions(header: &str) -> Vec<String> {
    let declarations = header
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_alphabetic()));
    let mut names: Vec<String> = declarations
        .filter_map(|line| line.split_once('('))
        .filter_map(|(before, _)| before.rsplit([' ', '*']).next())
        .filter(|name| name.starts_with("dp_"))
        .map(str::to_owned)
        .collect();
    names.sort();
    names
}

/// Every quantity, phase and error with its number and its words, as Rust.
fn tables(given: &str) -> Result<String, String> {
    let mut text = "//! Numbers and words of the tables of the library, for C.\n\
         //!\n\
         //! Written by `cargo xtask header`; not to be edited by hand. Numbers once given are kept.\n\n\
         use densepath_core::{NoticeCode, Phase, Quantity, Severity};\n\n\
         use crate::lookup::{ErrorRow, NoticeRow, PhaseRow, QuantityRow, SeverityRow};\n\n"
        .to_owned();
    quantities(&mut text, given)?;
    phases(&mut text, given)?;
    notices(&mut text, given)?;
    severities(&mut text, given)?;
    errors(&mut text);
    Ok(text)
}

fn quantities(text: &mut String, given: &str) -> Result<(), String> {
    let variants = Quantity::ALL.iter().map(|quantity| format!("{quantity:?}"));
    let numbers = numbered("DP_QUANTITY", variants, given)?;
    let mut rows: Vec<_> = Quantity::ALL.iter().zip(&numbers).collect();
    rows.sort_by_key(|(_, (_, number))| *number);
    let mut constants = String::from("/// No quantity.\nDP_QUANTITY_NONE = 0,\n");
    let mut table = String::new();
    for (quantity, (constant, number)) in rows {
        let (name, symbol, unit) = (quantity.name(), quantity.symbol(), quantity.unit());
        let words = titled(name);
        let measured = measured(unit);
        let _ = writeln!(
            constants,
            "/// {words} {symbol}, {measured}\n{constant} = {number},"
        );
        let _ = writeln!(
            table,
            "QuantityRow {{ number: {number}, quantity: Quantity::{quantity:?}, name: c{name:?}, symbol: c{symbol:?}, unit: c{unit:?} }},"
        );
    }
    enumeration(
        text,
        "Quantities, each with its symbol and its SI unit.",
        "dp_quantity",
        &constants,
    );
    rows_of(text, "QUANTITIES", "QuantityRow", &table);
    Ok(())
}

fn phases(text: &mut String, given: &str) -> Result<(), String> {
    let rows = Phase::ALL.iter().map(|phase| Row {
        variant: format!("{phase:?}"),
        name: phase.name(),
        comment: titled(phase.name()),
    });
    Kind {
        purpose: "Phases that a state consists of.",
        enumeration: "dp_phase",
        constants: "DP_PHASE",
        table: "PHASES",
        row: "PhaseRow",
        field: "phase",
        value: "Phase",
    }
    .tell(text, &rows.collect::<Vec<_>>(), given)
}

fn notices(text: &mut String, given: &str) -> Result<(), String> {
    let rows = NoticeCode::ALL.iter().map(|code| Row {
        variant: format!("{code:?}"),
        name: code.name(),
        comment: format!("{}: a {}", titled(code.name()), code.severity().name()),
    });
    Kind {
        purpose: "What a notice is about.",
        enumeration: "dp_notice_code",
        constants: "DP_NOTICE",
        table: "NOTICES",
        row: "NoticeRow",
        field: "code",
        value: "NoticeCode",
    }
    .tell(text, &rows.collect::<Vec<_>>(), given)
}

fn severities(text: &mut String, given: &str) -> Result<(), String> {
    let rows = [Severity::Caution, Severity::Warning, Severity::Remark].map(|severity| Row {
        variant: format!("{severity:?}"),
        name: severity.name(),
        comment: titled(severity.name()),
    });
    Kind {
        purpose: "How much a notice matters; the smallest number the most.",
        enumeration: "dp_severity",
        constants: "DP_SEVERITY",
        table: "SEVERITIES",
        row: "SeverityRow",
        field: "severity",
        value: "Severity",
    }
    .tell(text, &rows, given)
}

/// One row of a table that has a number, a name and nothing else.
struct Row {
    variant: String,
    name: &'static str,
    comment: String,
}

/// How such a table is called in C and in Rust.
struct Kind {
    purpose: &'static str,
    enumeration: &'static str,
    constants: &'static str,
    table: &'static str,
    row: &'static str,
    field: &'static str,
    value: &'static str,
}

impl Kind {
    fn tell(&self, text: &mut String, rows: &[Row], given: &str) -> Result<(), String> {
        let variants = rows.iter().map(|row| row.variant.clone());
        let numbers = numbered(self.constants, variants, given)?;
        let mut constants = String::new();
        let mut table = String::new();
        for (row, (constant, number)) in rows.iter().zip(numbers) {
            let _ = writeln!(constants, "/// {}\n{constant} = {number},", row.comment);
            let _ = writeln!(
                table,
                "{} {{ number: {number}, {}: {}::{}, name: c{:?} }},",
                self.row, self.field, self.value, row.variant, row.name
            );
        }
        enumeration(text, self.purpose, self.enumeration, &constants);
        rows_of(text, self.table, self.row, &table);
        Ok(())
    }
}

fn errors(text: &mut String) {
    let mut constants = String::from("/// Success.\nDP_OK = 0,\n");
    let mut table = String::new();
    for entry in ERRORS {
        let (constant, number) = (constant("DP_ERROR", entry.variant), entry.code);
        let meaning = entry.meaning.trim();
        let _ = writeln!(constants, "/// {meaning}\n{constant} = {number},");
        let _ = writeln!(
            table,
            "ErrorRow {{ number: {number}, name: c{constant:?}, meaning: c{meaning:?} }},"
        );
    }
    enumeration(text, "Values of a dp_status.", "dp_error", &constants);
    rows_of(text, "ERRORS", "ErrorRow", &table);
}

fn enumeration(text: &mut String, purpose: &str, name: &str, constants: &str) {
    let _ = writeln!(
        text,
        "/// {purpose}\n#[repr(C)]\n#[derive(Clone, Copy)]\n#[expect(dead_code, reason = \"most constants are for C only\")]\npub enum {name} {{\n{constants}}}\n"
    );
}

fn rows_of(text: &mut String, name: &str, row: &str, rows: &str) {
    let _ = writeln!(
        text,
        "/// One row for each constant.\npub(crate) const {name}: &[{row}] = &[\n{rows}];\n"
    );
}

/// The constant of each variant with its number: the one given before, or the next free one.
fn numbered(
    prefix: &str,
    variants: impl Iterator<Item = String>,
    given: &str,
) -> Result<Vec<(String, i32)>, String> {
    let mut given = given_numbers(prefix, given);
    let mut next = given.values().copied().max().unwrap_or(0) + 1;
    let mut numbers = Vec::new();
    for variant in variants {
        let constant = constant(prefix, &variant);
        let number = given.remove(&constant).unwrap_or_else(|| {
            next += 1;
            next - 1
        });
        numbers.push((constant, number));
    }
    match given.keys().find(|name| !name.ends_with("_NONE")) {
        None => Ok(numbers),
        Some(lost) => Err(format!(
            "{lost} is in the C interface but no longer in the tables of the library: old programs would break"
        )),
    }
}

/// Constants and numbers of the lines `PREFIX_NAME = number,`.
fn given_numbers(prefix: &str, text: &str) -> BTreeMap<String, i32> {
    let entry = |line: &str| {
        let (name, number) = line.trim().trim_end_matches(',').split_once(" = ")?;
        let number = number.parse().ok()?;
        name.starts_with(prefix).then(|| (name.to_owned(), number))
    };
    text.lines().filter_map(entry).collect()
}

/// `PREFIX_OF_VARIANT` of `OfVariant`.
fn constant(prefix: &str, variant: &str) -> String {
    let mut name = prefix.to_owned();
    for letter in variant.chars() {
        if letter.is_uppercase() {
            name.push('_');
        }
        name.push(letter.to_ascii_uppercase());
    }
    name
}

/// The words of a snake-case name, the first one and proper names with a capital.
fn titled(name: &str) -> String {
    const PROPER: &[&str] = &["joule", "thomson", "gibbs", "helmholtz", "reynolds", "mach"];
    let words = name.split('_').enumerate().map(|(place, word)| {
        let (first, rest) = word.split_at(word.len().min(1));
        if place == 0 || PROPER.contains(&word) {
            first.to_uppercase() + rest
        } else {
            word.to_owned()
        }
    });
    let words = words.collect::<Vec<_>>().join(" ");
    words.replace("Joule Thomson", "Joule-Thomson")
}

/// The unit in words.
fn measured(unit: &str) -> String {
    if unit == "1" {
        "dimensionless".to_owned()
    } else {
        format!("in {unit}")
    }
}

/// The functions `dp_<property>` and `dp_<property>_array`, as Rust.
fn properties() -> String {
    let mut text = "//! One function of each property, for one state and for arrays.\n\
         //!\n\
         //! Written by `cargo xtask header` from the list of properties; not to be edited by hand.\n\n\
         use densepath_core::Quantity;\n\n\
         use crate::dp_status;\n\
         use crate::fluid::{property, property_array};\n\
         use crate::handle::dp_fluid;\n"
        .to_owned();
    for quantity in PROPERTIES {
        property(&mut text, *quantity);
    }
    text
}

fn property(text: &mut String, quantity: Quantity) {
    let (name, symbol, unit) = (quantity.name(), quantity.symbol(), quantity.unit());
    let words = titled(name);
    let unit = measured(unit);
    let _ = write!(
        text,
        "
/// {words} {symbol}, {unit}, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern \"C\" fn dp_{name}(fluid: *const dp_fluid, temperature: f64, pressure: f64, out: *mut f64) -> dp_status {{
    // SAFETY: the caller keeps the rules of the header.
    unsafe {{ property(Quantity::{quantity:?}, fluid, temperature, pressure, out) }}
}}

/// {words} {symbol}, {unit}, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern \"C\" fn dp_{name}_array(fluid: *const dp_fluid, temperature: *const f64, pressure: *const f64, n: usize, out: *mut f64, status: *mut i32) -> dp_status {{
    // SAFETY: the caller keeps the rules of the header.
    unsafe {{ property_array(Quantity::{quantity:?}, fluid, temperature, pressure, n, out, status) }}
}}
"
    );
}

/// The text as `rustfmt` would have it.
fn formatted(text: &str) -> Result<String, String> {
    let failure = |error: std::io::Error| format!("`rustfmt` cannot be run: {error}");
    let mut child = Command::new("rustfmt")
        .args(["--edition", "2024"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(failure)?;
    if let Some(mut input) = child.stdin.take() {
        input.write_all(text.as_bytes()).map_err(failure)?;
    }
    let output = child.wait_with_output().map_err(failure)?;
    if !output.status.success() {
        return Err("`rustfmt` refuses the sources of the C interface".to_owned());
    }
    String::from_utf8(output.stdout).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_once_given_are_kept() {
        let given = "DP_X_NONE = 0,\n    DP_X_OLD = 1,\n    DP_X_OTHER_ONE = 2,\n";
        let variants =
            |names: &[&str]| numbered("DP_X", names.iter().map(|n| (*n).to_owned()), given);
        let expected = [("DP_X_NEW", 3), ("DP_X_OTHER_ONE", 2), ("DP_X_OLD", 1)];
        let expected = expected.map(|(name, number)| (name.to_owned(), number));
        assert_eq!(variants(&["New", "OtherOne", "Old"]), Ok(expected.to_vec()));
        assert!(variants(&["New", "Old"]).is_err());
    }

    #[test]
    fn functions_are_found_in_a_header() {
        let header = "/* dp_not(this) */\nuint32_t dp_b(void);\nconst char *dp_a(void);\n    dp_status dp_inside(int x);\n";
        assert_eq!(functions(header), ["dp_a", "dp_b"]);
    }
}
