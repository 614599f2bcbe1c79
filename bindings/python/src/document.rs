//! Method documents from Python: a file, a text, or a mapping of the same shape.

use std::path::PathBuf;

use densepath::{Error, Method, read_method};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyFloat, PyInt, PyMapping, PySequence, PyString};
use toml::{Table, Value};

use crate::error::{Outcome, argument};

/// A document with the method it states.
pub struct Document {
    /// Text of the document, in TOML.
    pub text: String,
    /// The method.
    pub method: Method,
}

/// The document that a path, a text of more than one line, or a mapping stands for.
pub fn read(source: &Bound<'_, PyAny>) -> Outcome<Document> {
    if let Ok(mapping) = source.cast::<PyMapping>() {
        let text = text_of(&table_of(mapping)?)?;
        let method = read_method(&text).map_err(without_line)?;
        return Ok(Document { text, method });
    }
    let text = match source.extract::<String>() {
        Ok(text) if text.contains('\n') => text,
        _ => file(source)?,
    };
    let method = read_method(&text)?;
    Ok(Document { text, method })
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

/// The same error without the line of a text that nobody has written.
fn without_line(error: Error) -> Error {
    match error {
        Error::UnknownKey {
            key,
            nearest,
            known,
            ..
        } => Error::UnknownKey {
            line: None,
            key,
            nearest,
            known,
        },
        Error::MissingKey { key, expected, .. } => Error::MissingKey {
            line: None,
            key,
            expected,
        },
        Error::BadValue {
            key,
            text,
            expected,
            ..
        } => Error::BadValue {
            line: None,
            key,
            text,
            expected,
        },
        Error::CountingMissing { key, .. } => Error::CountingMissing { line: None, key },
        Error::Layout { key, rule, .. } => Error::Layout {
            line: None,
            key,
            rule,
        },
        other => other,
    }
}
