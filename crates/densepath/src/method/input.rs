//! Inputs of a method by name: the values that its document sets or may set, and the method with other ones.

use densepath_fluid::Quantity;
use densepath_fluid::error::{Error, Result};
use densepath_fluid::num::text::nearest;

use super::reader::{Field, Holds};
use super::{Method, measure, read_whole, schema};

/// Name under which the keys before the first heading are found.
const ROOT: &str = "document";
/// Name under which the keys of the room are found.
const ROOM: &str = "room";
/// Keys of the lists of parts and solutes.
const PART: &str = "part";
const SOLUTE: &str = "solute";

/// A value of a quantity that a method document sets or may set.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let pressure = method.input("regulator", "pressure")?;
/// assert_eq!((pressure.quantity.unit(), pressure.value), ("Pa", Some(150e5)));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Name of the part or of the solute, "room", or "document" for the keys before the first heading.
    pub of: String,
    /// The key.
    pub key: String,
    /// Its quantity.
    pub quantity: Quantity,
    /// Its value in SI, where the document states it.
    pub value: Option<f64>,
}

impl Input {
    /// The value in SI that the document states. Error 603 if it states none.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// assert_eq!(method.input("regulator", "pressure")?.stated()?, 150e5);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn stated(&self) -> Result<f64> {
        self.value.ok_or_else(|| Error::MissingKey {
            line: None,
            key: format!("{}.{}", self.of, self.key),
            expected: "the document states no value for it".to_owned(),
        })
    }
}

/// A table of a document with the name and the keys it has.
struct Named<'a> {
    name: String,
    fields: &'static [Field],
    table: &'a toml::Table,
}

impl Method {
    /// Every value that the document sets or may set, in its order.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let input = method.input("regulator", "pressure")?;
    /// assert_eq!(input.value, Some(150e5));
    /// let other = method.with(&[(&input, 120e5)])?;
    /// assert_eq!(other.input("regulator", "pressure")?.value, Some(120e5));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn inputs(&self) -> Result<Vec<Input>> {
        let document = self.parsed()?;
        let inputs = tables(&document).into_iter().flat_map(|found| {
            let fields = found.fields.iter().filter_map(|field| {
                let Holds::Measure(quantity) = field.holds else {
                    return None;
                };
                Some((field.key, quantity))
            });
            fields
                .map(|(key, quantity)| Input {
                    value: self.value_in(found.table, key, quantity),
                    of: found.name.clone(),
                    key: key.to_owned(),
                    quantity,
                })
                .collect::<Vec<_>>()
        });
        Ok(inputs.collect())
    }

    /// One value by the name of its part or solute, "room" or "document", and its key. Error 602 where there is none.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// assert_eq!(method.input("column", "length")?.value, Some(0.25));
    /// assert_eq!(method.input("column", "lenght").unwrap_err().code(), 602);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn input(&self, of: &str, key: &str) -> Result<Input> {
        let inputs = self.inputs()?;
        if let Some(found) = inputs
            .iter()
            .find(|input| input.of == of && input.key == key)
        {
            return Ok(found.clone());
        }
        let of_same: Vec<_> = inputs.iter().filter(|input| input.of == of).collect();
        Err(if of_same.is_empty() {
            let mut names: Vec<_> = inputs.iter().map(|input| input.of.as_str()).collect();
            names.dedup();
            unknown(of.to_owned(), of, &names)
        } else {
            let keys: Vec<_> = of_same.iter().map(|input| input.key.as_str()).collect();
            unknown(format!("{of}.{key}"), key, &keys)
        })
    }

    /// The method with other values in SI, under the same watch; pressures are absolute.
    ///
    /// Errors: those of [`read_method`](super::read_method) for a value that cannot be; 406 if the watch has stopped the work.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let flow = method.input("pump", "volume_flow_rate")?;
    /// let faster = method.with(&[(&flow, 4e-6 / 60.0)])?;
    /// assert!(faster.solve()?.mass_flow_rate > method.solve()?.mass_flow_rate);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with(&self, changes: &[(&Input, f64)]) -> Result<Method> {
        // Many that are no longer wanted need not be read.
        self.path.watch.check()?;
        let mut document = self.parsed()?;
        for (input, value) in changes {
            set(&mut document, &input.of, &input.key, *value, input.quantity);
        }
        self.rewritten(&document)
    }

    /// The method of another document, under the same watch.
    pub(super) fn rewritten(&self, document: &toml::Table) -> Result<Method> {
        let mut changed = read_whole(&document.to_string())?;
        changed.path.watch = self.path.watch.clone();
        Ok(changed)
    }

    /// The document as a table.
    pub(super) fn parsed(&self) -> Result<toml::Table> {
        self.document.parse().map_err(|_| Error::Internal {
            place: "method::input, a document that was read before",
        })
    }

    /// The value in SI that a table states.
    fn value_in(&self, table: &toml::Table, key: &str, quantity: Quantity) -> Option<f64> {
        let ambient = Some(self.path.room.pressure);
        match table.get(key)? {
            toml::Value::String(text) => measure::read(text, quantity, ambient).ok(),
            toml::Value::Float(number) => Some(*number),
            toml::Value::Integer(number) => Some(*number as f64),
            _ => None,
        }
    }
}

/// Error 602 with the name nearest to the one given.
fn unknown(key: String, word: &str, known: &[&str]) -> Error {
    Error::UnknownKey {
        line: None,
        key,
        nearest: nearest(word, known.iter().copied()).map(str::to_owned),
        known: known.join(", "),
    }
}

/// The tables of a document that may hold values of quantities.
fn tables(document: &toml::Table) -> Vec<Named<'_>> {
    let one = |name: &str, fields, table| Named {
        name: name.to_owned(),
        fields,
        table,
    };
    let room = document.get(ROOM).and_then(toml::Value::as_table);
    let solutes = list(document, SOLUTE)
        .into_iter()
        .map(|table| one(name_of(table), schema::SOLUTE.fields, table));
    let parts = list(document, PART).into_iter().map(|table| {
        one(
            name_of(table),
            schema::parts::fields_of(kind_of(table)),
            table,
        )
    });
    [one(ROOT, schema::ROOT.fields, document)]
        .into_iter()
        .chain(room.map(|table| one(ROOM, schema::ROOM.fields, table)))
        .chain(solutes)
        .chain(parts)
        .collect()
}

/// The tables under a key: one alone or a list.
fn list<'a>(document: &'a toml::Table, key: &str) -> Vec<&'a toml::Table> {
    match document.get(key) {
        Some(toml::Value::Table(table)) => vec![table],
        Some(toml::Value::Array(items)) => items.iter().filter_map(toml::Value::as_table).collect(),
        _ => Vec::new(),
    }
}

fn name_of(table: &toml::Table) -> &str {
    word(table, "name")
}

fn kind_of(table: &toml::Table) -> &str {
    word(table, "kind")
}

fn word<'a>(table: &'a toml::Table, key: &str) -> &'a str {
    let value = table.get(key).and_then(toml::Value::as_str);
    value.unwrap_or_default()
}

/// Sets a key of the table of that name, if there is one.
pub(super) fn set(document: &mut toml::Table, of: &str, key: &str, value: f64, quantity: Quantity) {
    let table = match of {
        ROOT => Some(document),
        ROOM => document.get_mut(ROOM).and_then(toml::Value::as_table_mut),
        name => named(document, name),
    };
    if let Some(table) = table {
        table.insert(key.to_owned(), measure::written(value, quantity));
    }
}

/// The part or solute of that name.
fn named<'a>(document: &'a mut toml::Table, name: &str) -> Option<&'a mut toml::Table> {
    let lists = document
        .iter_mut()
        .filter(|(key, _)| [PART, SOLUTE].contains(&key.as_str()));
    let tables = lists.flat_map(|(_, value)| match value {
        toml::Value::Array(items) => items.iter_mut().collect(),
        one => vec![one],
    });
    tables
        .filter_map(toml::Value::as_table_mut)
        .find(|table| name_of(table) == name)
}

#[cfg(test)]
mod tests {
    use crate::method::read_method;

    const DOCUMENT: &str = include_str!("../../../../tests/methods/packed_modifier.toml");

    #[test]
    fn every_stated_value_is_found_and_written_back() {
        let method = read_method(DOCUMENT).unwrap();
        let inputs = method.inputs().unwrap();
        let stated: Vec<_> = inputs
            .iter()
            .filter(|input| input.value.is_some())
            .collect();
        assert!(stated.len() > 40, "{}", stated.len());
        let same: Vec<_> = stated
            .iter()
            .filter_map(|input| Some((*input, input.value?)))
            .collect();
        let again = method.with(&same).unwrap();
        assert_eq!(again.inputs().unwrap(), inputs);
        assert_eq!(
            again.solve().unwrap().delivery_pressure,
            method.solve().unwrap().delivery_pressure
        );
    }

    #[test]
    fn a_solute_alone_and_the_room_are_named_too() {
        let method = read_method(DOCUMENT).unwrap();
        for (of, key, value) in [
            ("invented alkaloid", "retention_factor", 2.5),
            ("room", "temperature", 295.15),
            ("modifier pump", "volume_flow_rate", 0.3e-6 / 60.0),
        ] {
            let input = method.input(of, key).unwrap();
            assert!((input.value.unwrap() / value - 1.0).abs() < 1e-15);
            let other = method.with(&[(&input, 1.01 * value)]).unwrap();
            let changed = other.input(of, key).unwrap().value.unwrap();
            assert!((changed / value - 1.01).abs() < 1e-14);
        }
        let implicit = method.input("document", "ambient_pressure").unwrap();
        assert_eq!(implicit.value, None);
        let high = method.with(&[(&implicit, 9e4)]).unwrap();
        assert_eq!(high.path.room.pressure, 9e4);
    }

    #[test]
    fn an_unknown_input_is_refused_with_the_nearest_name() {
        let method = read_method(DOCUMENT).unwrap();
        let hint = |of, key| {
            let error = method.input(of, key).unwrap_err();
            assert_eq!(error.code(), 602);
            error.hint().unwrap()
        };
        assert_eq!(hint("regulater", "pressure"), "did you mean `regulator`?");
        assert_eq!(hint("regulator", "presure"), "did you mean `pressure`?");
    }

    #[test]
    fn a_value_that_cannot_be_is_refused() {
        let method = read_method(DOCUMENT).unwrap();
        let input = method.input("column", "length").unwrap();
        assert!(method.with(&[(&input, -0.1)]).is_err());
        assert!(method.with(&[(&input, f64::NAN)]).is_err());
    }
}
