//! The method document: TOML whose values carry units, read strictly into a path.
//!
//! An unknown key, a missing unit, a gauge pressure where none can be, a set volume flow without the state it is counted at,
//! a part where none can stand: each is refused with its line, its key and what to write instead. [`schema::description`]
//! lists every key.

mod input;
mod layout;
mod many;
pub mod measure;
mod pieces;
mod problems;
mod program;
mod reader;
mod restrictors;
pub mod schema;
mod solutes;

use std::io::Read;

use densepath_fluid::consts::STANDARD_ATMOSPHERE;
use densepath_fluid::error::{Error, Result, positive};
use densepath_fluid::units::from_celsius;
use densepath_fluid::{Fluid, ModelChoice, Quantity};

use crate::hardware::safety;
use crate::path::{Path, Solution};
pub use input::Input;
use layout::{Frame, Placed};
pub use many::{Solved, solve_documents, solve_many};
pub use problems::{Problem, problems};
pub use program::{Program, Shape};
use reader::{Document, LONGEST, Reader, Section, check_length};

/// Temperature of a room in degC where none is stated.
const ROOM_TEMPERATURE_DEGC: f64 = 20.0;

/// A method as its document states it.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// assert_eq!(method.title, "Purity check on a 4.6 mm packed column");
/// assert_eq!(method.path.fluid.name(), "carbon dioxide");
/// assert!(method.programs.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Method {
    /// What the method is called.
    pub title: String,
    /// Where it comes from, if the document says so.
    pub scenario: Option<String>,
    /// The instrument with its mobile phase, as the document sets it without its programs.
    pub path: Path,
    /// Keys of parts that change in time.
    pub programs: Vec<Program>,
    /// The text that was read.
    document: String,
}

impl Method {
    /// All that follows from the method in steady flow; see [`Path::solve`].
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let solution = method.solve()?;
    /// // The regulator holds its 150 bar before it, the pump more.
    /// assert!(solution.delivery_pressure > 150e5);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn solve(&self) -> Result<Solution> {
        self.path.solve()
    }

    /// The text that was read.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let again = densepath::read_method(method.document())?;
    /// assert_eq!(again.title, method.title);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn document(&self) -> &str {
        &self.document
    }
}

/// The method of a document's text.
///
/// Error 601 for text that is not TOML, 602 for a key that is not in the schema, 603 for one that is missing, 604 for a value
/// that cannot be read, 605 for a volume flow without counting convention, 606 for parts that make no instrument; those of a
/// part, with its name, for values that it cannot have.
///
/// ```
/// # let text = std::fs::read_to_string("../../tests/methods/packed.toml").unwrap_or_default();
/// // text: the document as a string
/// let method = densepath::read_method(&text)?;
/// assert!(method.input("pump", "volume_flow_rate")?.value.is_some_and(|flow| (flow * 60e6 - 3.0).abs() < 1e-12));
/// // A pressure without its unit is refused, with line and key.
/// let slip = text.replace("pressure = \"150 bar\"", "pressure = 150");
/// assert_eq!(densepath::read_method(&slip).unwrap_err().code(), 604);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn read_method(text: &str) -> Result<Method> {
    let method = read_whole(text)?;
    if !method.programs.is_empty() {
        // What a program sets must be as possible for its part as what the document sets.
        for time in method.programs.iter().flat_map(|program| &program.times) {
            method.setting(*time)?;
        }
    }
    Ok(method)
}

fn read_whole(text: &str) -> Result<Method> {
    let document = Document::parse(text)?;
    let root = document.root().open(&[schema::ROOT.fields], None)?;
    if root.whole("document")? != schema::VERSION {
        let expected = format!(
            "this library reads documents of version {}",
            schema::VERSION
        );
        return Err(root.refuse("document", expected));
    }
    let title = root.text("title")?.to_owned();
    let scenario = root.optional_text("scenario")?.map(str::to_owned);
    let pressure = match root.optional_number("ambient_pressure")? {
        Some(pressure) => sound(
            &root,
            "ambient_pressure",
            positive(Quantity::Pressure, pressure),
        )?,
        None => STANDARD_ATMOSPHERE,
    };
    let ambient = Some(pressure);
    let (temperature, air) = room(root.optional_table("room")?, ambient)?;
    let model = match root.optional_word("model")? {
        Some(word) => word.parse()?,
        None => ModelChoice::Best,
    };
    let fluid = pieces::fluid(&root, model)?;
    let fluid = corrected(&root, fluid)?;
    let frame = Frame {
        title: title.clone(),
        fluid,
        solutes: solutes::read(root.one_or_more_tables("solute")?, ambient)?,
        room_temperature: temperature,
        room_pressure: pressure,
        air,
    };
    let parts = root
        .tables("part")?
        .into_iter()
        .enumerate()
        .map(|(index, section)| placed(index, section, ambient, model))
        .collect::<Result<Vec<_>>>()?;
    let kinds: Vec<_> = parts
        .iter()
        .map(|part| (part.name.clone(), part.kind))
        .collect();
    let sections = root.one_or_more_tables("program")?;
    let programs = program::programs(sections, ambient, &kinds, &frame.fluid)?;
    root.finish()?;
    Ok(Method {
        title,
        scenario,
        path: layout::path(frame, parts)?,
        programs,
        document: text.to_owned(),
    })
}

/// The fluid with what the document corrects its models by.
fn corrected(root: &Reader<'_>, fluid: Fluid) -> Result<Fluid> {
    let fluid = match root.optional_number("viscosity_factor")? {
        Some(factor) => {
            let corrected = fluid.with_viscosity_factor(factor);
            sound(root, "viscosity_factor", corrected)?
        }
        None => fluid,
    };
    let Some(factor) = root.optional_number("density_factor")? else {
        return Ok(fluid);
    };
    let temperature = root.number("density_temperature")?;
    let pressure = root.number("density_pressure")?;
    let corrected = fluid.with_density_factor(factor, temperature, pressure);
    sound(root, "density_factor", corrected)
}

/// The method of a document in a file. Error 610 if the file cannot be read.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// assert_eq!(method.path.parts.last().map(|part| part.name.as_str()), Some("vent"));
/// assert_eq!(densepath::read_method_file("no such file").unwrap_err().code(), 610);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn read_method_file(path: impl AsRef<std::path::Path>) -> Result<Method> {
    let path = path.as_ref();
    let failure = |message: String| Error::File {
        path: path.display().to_string(),
        message,
    };
    let file = std::fs::File::open(path).map_err(|error| failure(error.to_string()))?;
    // No more is read than is needed to see that a file is too long: some have no end.
    let mut bytes = Vec::new();
    file.take(LONGEST as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| failure(error.to_string()))?;
    check_length(bytes.len())?;
    let text = String::from_utf8(bytes).map_err(|error| failure(error.to_string()))?;
    read_method(&text)
}

/// The method of a document written as JSON: the same keys and values, for programs that hold a method as a mapping.
///
/// Errors as [`read_method`], without lines.
///
/// ```
/// let error = densepath::method::read_method_json(r#"{"document": 1, "titel": "x"}"#).unwrap_err();
/// assert_eq!(error.code(), 602);
/// ```
pub fn read_method_json(text: &str) -> Result<Method> {
    check_length(text.len())?;
    let table: toml::Table = serde_json::from_str(text).map_err(|error| Error::Syntax {
        line: error.line(),
        column: error.column(),
        message: error.to_string(),
    })?;
    read_method(&table.to_string()).map_err(without_line)
}

/// The same error without the line of a text that nobody has written, for documents that come as a mapping.
///
/// ```
/// use densepath::{Error, method::without_line, read_method};
/// let error = read_method("document = 1\ntitel = \"x\"\n").unwrap_err();
/// assert!(matches!(error, Error::UnknownKey { line: Some(2), .. }));
/// assert!(matches!(without_line(error), Error::UnknownKey { line: None, .. }));
/// ```
pub fn without_line(mut error: Error) -> Error {
    if let Error::UnknownKey { line, .. }
    | Error::MissingKey { line, .. }
    | Error::BadValue { line, .. }
    | Error::CountingMissing { line, .. }
    | Error::Layout { line, .. } = &mut error
    {
        *line = None;
    }
    error
}

fn room(section: Option<Section<'_>>, ambient: Option<f64>) -> Result<(f64, Option<safety::Room>)> {
    let Some(section) = section else {
        return Ok((from_celsius(ROOM_TEMPERATURE_DEGC), None));
    };
    let table = section.open(&[schema::ROOM.fields], ambient)?;
    let temperature = match table.optional_number("temperature")? {
        Some(temperature) => {
            let checked = positive(Quantity::Temperature, temperature);
            sound(&table, "temperature", checked)?
        }
        None => from_celsius(ROOM_TEMPERATURE_DEGC),
    };
    let air = match (
        table.optional_number("volume")?,
        table.optional_number("air_change_rate")?,
    ) {
        (None, None) => None,
        (Some(volume), Some(rate)) => Some(
            safety::Room::new(volume, rate).map_err(|error| table.rule(None, error.to_string()))?,
        ),
        (Some(_), None) => return Err(table.missing("air_change_rate")),
        (None, Some(_)) => return Err(table.missing("volume")),
    };
    table.finish()?;
    Ok((temperature, air))
}

/// A value that passed its check, or error 604 with what the check says.
fn sound<T>(table: &Reader<'_>, key: &str, checked: Result<T>) -> Result<T> {
    checked.map_err(|error| table.refuse(key, error.to_string()))
}

fn placed(
    index: usize,
    section: Section<'_>,
    ambient: Option<f64>,
    model: ModelChoice,
) -> Result<Placed> {
    let kind = section.word(&schema::KIND)?;
    let own = schema::parts::fields_of(kind);
    let table = section.open(&[schema::COMMON, own], ambient)?;
    table.word("kind")?;
    let name = table.text("name")?.to_owned();
    let branch_of = table.optional_text("branch_of")?.map(str::to_owned);
    let piece = pieces::piece(kind, &table, model).map_err(|error| locate(&name, index, error))?;
    let (key, line) = table.place(None);
    table.finish()?;
    Ok(Placed {
        name,
        kind,
        key,
        line,
        branch_of,
        piece,
    })
}

/// An error of a part told with its name; one of the document tells its place itself.
fn locate(name: &str, index: usize, error: Error) -> Error {
    if error.class() == "DocumentError" {
        return error;
    }
    Error::InElement {
        element: name.to_owned(),
        index,
        source: Box::new(error),
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_branches;
#[cfg(test)]
mod tests_of_pumps;
