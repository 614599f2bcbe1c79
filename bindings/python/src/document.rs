//! Method documents from Python: a file, a text, or a mapping of the same shape.

use std::path::PathBuf;

use densepath::method::{problems, without_line};
use densepath::{Error, Method, read_method};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyFloat, PyInt, PyMapping, PySequence, PyString};
use toml::{Table, Value};

use crate::error::{Outcome, argument};
use crate::table::{Column, PyTable};

/// A document with the method it states.
pub struct Document {
    /// Text of the document, in TOML.
    pub text: String,
    /// The method.
    pub method: Method,
}

/// The document that a path, a text of more than one line, or a mapping stands for.
pub fn read(source: &Bound<'_, PyAny>) -> Outcome<Document> {
    let text = text_from(source)?;
    let method = read_method(&text);
    let method = if source.cast::<PyMapping>().is_ok() {
        // The text of a mapping was written by nobody, and its lines tell nothing.
        method.map_err(without_line)?
    } else {
        method?
    };
    Ok(Document { text, method })
}

/// Everything that is wrong with a method document, at once.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`.
///
/// Returns
/// -------
/// Table
///     One row a problem, in the order of the text: `line` and `column` from 1 (NaN where they are not known), `code`, and `problem` in
///     words. Empty for a document that can be read.
///
/// Raises
/// ------
/// DocumentError
///     If the file cannot be read.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> len(dp.check_method("tests/methods/packed.toml"))
/// 0
/// >>> for row in dp.check_method("document = 1\ntitel = 3\n"):
/// ...     print(row["line"], row["column"], row["problem"].split(":")[0].split(";")[0])
/// 1.0 1.0 missing key `title`
/// 1.0 1.0 missing key `fluid`
/// 1.0 1.0 missing key `part`
/// 2.0 1.0 line 2, unknown key `titel`
#[pyfunction]
pub fn check_method(source: &Bound<'_, PyAny>) -> Outcome<PyTable> {
    let found = problems(&text_from(source)?);
    let place = |place: Option<usize>| place.map_or(f64::NAN, |place| place as f64);
    let columns = vec![
        Column::named("line", "1", found.iter().map(|problem| place(problem.line))),
        Column::named(
            "column",
            "1",
            found.iter().map(|problem| place(problem.column)),
        ),
        Column::named(
            "code",
            "1",
            found.iter().map(|problem| f64::from(problem.error.code())),
        ),
        Column::words(
            "problem",
            found.iter().map(|problem| problem.error.to_string()),
        ),
    ];
    Ok(PyTable::of("problems", columns))
}

/// The rules of the method document as JSON Schema (draft 2020-12): every table, key, unit and word.
///
/// Returns
/// -------
/// dict
///     The schema; the same lies beside the package as `method.schema.json`, for editors.
///
/// Notes
/// -----
/// A document that the schema accepts can still be refused: that a key needs another one, the order of the parts and the limits of
/// values are judged by `solve` and `check_method` alone.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.method_schema()["$schema"]
/// 'https://json-schema.org/draft/2020-12/schema'
#[pyfunction]
pub fn method_schema(py: Python<'_>) -> PyResult<Bound<'_, PyAny>> {
    let text = densepath::method::schema::json_schema().to_string();
    py.import("json")?.call_method1("loads", (text,))
}

/// The text that a path, a text of more than one line, or a mapping stands for.
pub fn text_from(source: &Bound<'_, PyAny>) -> Outcome<String> {
    if let Ok(mapping) = source.cast::<PyMapping>() {
        return text_of(&table_of(mapping)?);
    }
    match source.extract::<String>() {
        Ok(text) if text.contains('\n') => Ok(text),
        _ => file(source),
    }
}

fn file(source: &Bound<'_, PyAny>) -> Outcome<String> {
    let expected = "a path, the text of a method document, or a mapping";
    let Ok(path) = source.extract::<PathBuf>() else {
        return Err(argument("source", expected, kind(source)?));
    };
    std::fs::read_to_string(&path).map_err(|error| {
        let (path, message) = (path.display().to_string(), error.to_string());
        Error::File { path, message }.into()
    })
}

fn kind(object: &Bound<'_, PyAny>) -> PyResult<String> {
    Ok(object.get_type().name()?.to_string())
}

fn text_of(table: &Table) -> Outcome<String> {
    toml::to_string(table)
        .map_err(|error| argument("source", "a mapping that TOML can hold", error.to_string()))
}

fn table_of(mapping: &Bound<'_, PyMapping>) -> Outcome<Table> {
    let mut table = Table::new();
    for item in mapping.items()? {
        let (key, value): (Bound<'_, PyAny>, Bound<'_, PyAny>) = item.extract()?;
        let Ok(key) = key.extract::<String>() else {
            return Err(argument(
                "source",
                "a mapping with words as keys",
                kind(&key)?,
            ));
        };
        table.insert(key, value_of(&value)?);
    }
    Ok(table)
}

fn value_of(object: &Bound<'_, PyAny>) -> Outcome<Value> {
    if let Ok(text) = object.cast::<PyString>() {
        return Ok(Value::String(text.to_cow()?.into_owned()));
    }
    if let Ok(boolean) = object.cast::<PyBool>() {
        return Ok(Value::Boolean(boolean.is_true()));
    }
    if object.is_instance_of::<PyInt>() {
        return Ok(Value::Integer(object.extract()?));
    }
    if object.is_instance_of::<PyFloat>() {
        return Ok(Value::Float(object.extract()?));
    }
    if let Ok(mapping) = object.cast::<PyMapping>() {
        return Ok(Value::Table(table_of(mapping)?));
    }
    if let Ok(sequence) = object.cast::<PySequence>() {
        let items = sequence.try_iter()?;
        let values = items.map(|item| value_of(&item?)).collect::<Outcome<_>>()?;
        return Ok(Value::Array(values));
    }
    let expected = "a mapping of words, numbers, truths, lists and mappings";
    Err(argument("source", expected, kind(object)?))
}
