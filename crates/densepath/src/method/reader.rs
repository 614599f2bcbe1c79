//! Strict reading of the tables of a document: declared keys only, values of the declared kind, every refusal with the
//! line and the path of its key.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;

use densepath_fluid::error::{Error, Result};
use densepath_fluid::num::text::nearest;
use densepath_fluid::quantity::Quantity;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::measure;

/// Longest document that is read, in bytes: far more than any instrument needs, little enough to be refused at once.
pub(super) const LONGEST: usize = 1 << 20;
/// Most entries of a list: parts, solutes, programs, points of a program.
const MOST_ENTRIES: usize = 1000;

/// What a key holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Holds {
    /// A value of a quantity: text with a unit, or a bare number if the quantity is dimensionless.
    Measure(Quantity),
    /// One word of a list.
    Word(&'static [&'static str]),
    /// Any text.
    Text,
    /// `true` or `false`.
    Boolean,
    /// A whole number that is not negative.
    Whole,
    /// A substance by its name, or a mixture as a table of names with amount fractions.
    Fluid,
    /// A table of its own.
    Table,
    /// A list of tables.
    Tables,
    /// A list of values with units.
    Measures,
    /// A list of words of a list.
    Words(&'static [&'static str]),
}

/// One key of a table: the declaration that reading, refusals and documentation share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// The key.
    pub key: &'static str,
    /// What it holds.
    pub holds: Holds,
    /// Whether it must be there.
    pub required: bool,
    /// What it means, in words.
    pub meaning: &'static str,
}

impl Field {
    /// A key that must be there.
    pub const fn required(key: &'static str, holds: Holds, meaning: &'static str) -> Self {
        Self {
            key,
            holds,
            required: true,
            meaning,
        }
    }

    /// A key that may be there.
    pub const fn optional(key: &'static str, holds: Holds, meaning: &'static str) -> Self {
        Self {
            key,
            holds,
            required: false,
            meaning,
        }
    }

    /// How the value is written: kind, example, units or words.
    pub fn expected(&self) -> String {
        match self.holds {
            Holds::Measure(quantity) => measure::description(quantity),
            Holds::Word(words) => format!("one of \"{}\"", words.join("\", \"")),
            Holds::Text => "text in quotes".to_owned(),
            Holds::Boolean => "true or false".to_owned(),
            Holds::Whole => "a whole number".to_owned(),
            Holds::Fluid => {
                "the name of a substance in quotes, or a mixture by amount fractions as \
                 { \"carbon dioxide\" = 0.95, methanol = 0.05 }"
                    .to_owned()
            }
            Holds::Table => format!("a table: its keys under the heading [{}]", self.key),
            Holds::Tables => format!("tables, each under a heading [[{}]]", self.key),
            Holds::Measures => "a list of values, as [\"0 min\", \"5 min\"]".to_owned(),
            Holds::Words(words) => format!("a list of \"{}\"", words.join("\", \"")),
        }
    }
}

/// A document that is well-formed TOML.
#[derive(Debug)]
pub struct Document<'a> {
    source: &'a str,
    root: Spanned<DeTable<'a>>,
}

/// Error 606 for a document of more bytes than are read.
pub(super) fn check_length(bytes: usize) -> Result<()> {
    if bytes <= LONGEST {
        return Ok(());
    }
    Err(Error::Layout {
        line: None,
        key: "document".to_owned(),
        rule: format!("is longer than {LONGEST} bytes, which no instrument needs"),
    })
}

impl<'a> Document<'a> {
    /// The document of a text; error 601 with line and column if it is not TOML, 606 if it is longer than a megabyte.
    pub fn parse(source: &'a str) -> Result<Self> {
        check_length(source.len())?;
        let root = DeTable::parse(source).map_err(|error| {
            let start = error.span().map_or(0, |span| span.start);
            Error::Syntax {
                line: line_of(source, start),
                column: column_of(source, start),
                message: error.message().to_owned(),
            }
        })?;
        Ok(Self { source, root })
    }

    /// Its outermost table.
    pub fn root(&self) -> Section<'_> {
        Section {
            source: self.source,
            path: String::new(),
            line: None,
            start: 0,
            table: self.root.get_ref(),
        }
    }
}

/// Column of a place in the text, from 1.
pub fn column_of(source: &str, offset: usize) -> usize {
    let before = source.get(..offset).unwrap_or_default();
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    before.get(line_start..).unwrap_or_default().chars().count() + 1
}

/// Line of a place in the text, from 1.
pub fn line_of(source: &str, offset: usize) -> usize {
    source
        .bytes()
        .take(offset)
        .filter(|&byte| byte == b'\n')
        .count()
        + 1
}

/// A table whose keys are not yet checked.
#[derive(Debug)]
pub struct Section<'a> {
    source: &'a str,
    path: String,
    line: Option<usize>,
    /// Where it begins in the source.
    start: usize,
    table: &'a DeTable<'a>,
}

impl<'a> Section<'a> {
    /// The word under a key, before it is known which keys may stand beside it.
    pub fn word(&self, field: &Field) -> Result<&'static str> {
        let value = self
            .table
            .get(field.key)
            .ok_or_else(|| self.missing(field))?;
        self.word_of(field, value)
    }

    /// The table with the keys declared; error 602 if there is another one. `ambient_pressure` in Pa is what gauge
    /// pressures count from.
    pub fn open(
        self,
        groups: &[&'static [Field]],
        ambient_pressure: Option<f64>,
    ) -> Result<Reader<'a>> {
        let reader = self.reader(groups, ambient_pressure);
        match reader.strangers().into_iter().next() {
            Some((_, error)) => Err(error),
            None => Ok(reader),
        }
    }

    /// Every key that is not declared, is missing or does not hold what it must, with the place of each in the text.
    pub fn problems(
        self,
        groups: &[&'static [Field]],
        ambient_pressure: Option<f64>,
    ) -> Vec<(usize, Error)> {
        let reader = self.reader(groups, ambient_pressure);
        let mut problems = reader.strangers();
        problems.extend(reader.fields.iter().filter_map(|field| {
            let error = reader.check(field).err()?;
            Some((reader.section.place_of(field.key), error))
        }));
        problems
    }

    /// The table as it is, with the keys declared and perhaps others.
    pub fn lenient(self, groups: &[&'static [Field]]) -> Reader<'a> {
        self.reader(groups, None)
    }

    /// Where the value of a key begins in the source, or the table if the key is not there.
    pub fn place_of(&self, key: &str) -> usize {
        let value = self.table.get(key);
        value.map_or(self.start, |value| value.span().start)
    }

    fn reader(self, groups: &[&'static [Field]], ambient_pressure: Option<f64>) -> Reader<'a> {
        Reader {
            section: self,
            fields: groups.iter().copied().flatten().collect(),
            ambient_pressure,
            read: RefCell::default(),
        }
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    fn missing(&self, field: &Field) -> Error {
        Error::MissingKey {
            line: self.line,
            key: self.path_of(field.key),
            expected: format!("{}, {}", field.meaning, field.expected()),
        }
    }

    /// Error 604 for a value that is not what its key holds.
    fn bad(&self, key: &str, span: Range<usize>, expected: String) -> Error {
        let line = line_of(self.source, span.start);
        let written = self.source.get(span).unwrap_or_default();
        let first = written.lines().next().unwrap_or_default();
        let mut text: String = first.chars().take(60).collect();
        if text.len() < written.len() {
            text.push_str("...");
        }
        Error::BadValue {
            line: Some(line),
            key: self.path_of(key),
            text,
            expected,
        }
    }

    fn word_of(&self, field: &Field, value: &Spanned<DeValue<'_>>) -> Result<&'static str> {
        let Holds::Word(words) = field.holds else {
            return Err(Error::Internal {
                place: "method::reader, a word from a key that holds none",
            });
        };
        let written = match value.get_ref() {
            DeValue::String(text) => text.as_ref(),
            _ => "",
        };
        words
            .iter()
            .copied()
            .find(|word| *word == written)
            .ok_or_else(|| {
                let hint = nearest(written, words.iter().copied())
                    .map_or(String::new(), |word| format!("; did you mean \"{word}\"?"));
                self.bad(
                    field.key,
                    value.span(),
                    format!("expected: {}{hint}", field.expected()),
                )
            })
    }
}

/// A table with declared keys only.
#[derive(Debug)]
pub struct Reader<'a> {
    section: Section<'a>,
    fields: Vec<&'static Field>,
    ambient_pressure: Option<f64>,
    read: RefCell<BTreeSet<&'static str>>,
}

impl<'a> Reader<'a> {
    /// Path of the table or of one of its keys, and its line.
    pub fn place(&self, key: Option<&str>) -> (String, Option<usize>) {
        match key {
            None => (self.section.path.clone(), self.section.line),
            Some(key) => {
                let line = self
                    .section
                    .table
                    .get_key_value(key)
                    .map(|(key, _)| line_of(self.section.source, key.span().start));
                (self.section.path_of(key), line.or(self.section.line))
            }
        }
    }

    /// Error 603 for a key that is needed because of what else is given.
    pub fn missing(&self, key: &str) -> Error {
        match self.field(key) {
            Ok(field) => self.section.missing(field),
            Err(error) => error,
        }
    }

    /// Error 604 for a value that can be read and is refused all the same: what is expected.
    pub fn refuse(&self, key: &str, expected: impl Into<String>) -> Error {
        match self.section.table.get(key) {
            Some(value) => self.section.bad(key, value.span(), expected.into()),
            None => self.missing(key),
        }
    }

    /// Error 606 about the table or one of its keys: what is wrong and what to do.
    pub fn rule(&self, key: Option<&str>, rule: impl Into<String>) -> Error {
        let (key, line) = self.place(key);
        Error::Layout {
            line,
            key,
            rule: rule.into(),
        }
    }

    /// The value of a quantity in SI.
    pub fn number(&self, key: &str) -> Result<f64> {
        self.optional_number(key)?.ok_or_else(|| self.missing(key))
    }

    /// The value of a quantity in SI, if it is there.
    pub fn optional_number(&self, key: &str) -> Result<Option<f64>> {
        let Some((field, value)) = self.value(key)? else {
            return Ok(None);
        };
        let Holds::Measure(quantity) = field.holds else {
            return Err(Error::Internal {
                place: "method::reader, a number from a key that holds none",
            });
        };
        self.number_of(quantity, value.get_ref())
            .map(Some)
            .map_err(|reason| self.section.bad(field.key, value.span(), reason))
    }

    fn number_of(
        &self,
        quantity: Quantity,
        value: &DeValue<'_>,
    ) -> std::result::Result<f64, String> {
        let number = match value {
            DeValue::String(text) => return measure::read(text, quantity, self.ambient_pressure),
            DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
                .map(|number| number as f64)
                .map_err(|_| measure::expected(quantity, "the number is too large"))?,
            DeValue::Float(number) => number
                .as_str()
                .parse()
                .map_err(|_| measure::expected(quantity, "this is no number"))?,
            _ => return Err(measure::expected(quantity, "this is no value with a unit")),
        };
        if quantity.unit() != "1" {
            return Err(measure::expected(
                quantity,
                "the unit is missing, and text with a unit stands in quotes",
            ));
        }
        if number.is_finite() {
            Ok(number)
        } else {
            Err(measure::expected(quantity, "the number is not finite"))
        }
    }

    /// A word of the list declared.
    pub fn word(&self, key: &str) -> Result<&'static str> {
        self.optional_word(key)?.ok_or_else(|| self.missing(key))
    }

    /// A word of the list declared, if it is there.
    pub fn optional_word(&self, key: &str) -> Result<Option<&'static str>> {
        self.value(key)?
            .map(|(field, value)| self.section.word_of(field, value))
            .transpose()
    }

    /// A text.
    pub fn text(&self, key: &str) -> Result<&'a str> {
        self.optional_text(key)?.ok_or_else(|| self.missing(key))
    }

    /// A text, if it is there.
    pub fn optional_text(&self, key: &str) -> Result<Option<&'a str>> {
        self.value(key)?
            .map(|(field, value)| match value.get_ref() {
                DeValue::String(text) => Ok(text.as_ref()),
                _ => Err(self.unfit(field, value)),
            })
            .transpose()
    }

    /// A fluid: its substances with their amount fractions, in the order of the document.
    pub fn fluid(&self, key: &str) -> Result<Vec<(&'a str, f64)>> {
        self.optional_fluid(key)?.ok_or_else(|| self.missing(key))
    }

    /// As [`Reader::fluid`], if it is there.
    pub fn optional_fluid(&self, key: &str) -> Result<Option<Vec<(&'a str, f64)>>> {
        self.value(key)?
            .map(|(field, value)| self.substances(field, value))
            .transpose()
    }

    fn substances(
        &self,
        field: &'static Field,
        value: &'a Spanned<DeValue<'a>>,
    ) -> Result<Vec<(&'a str, f64)>> {
        match value.get_ref() {
            DeValue::String(name) => Ok(vec![(name.as_ref(), 1.0)]),
            DeValue::Table(table) => {
                let mut shares: Vec<_> = table.iter().collect();
                shares.sort_by_key(|(name, _)| name.span().start);
                let share = |(name, share): (&'a Spanned<_>, &'a Spanned<DeValue<'a>>)| {
                    let name: &'a std::borrow::Cow<'a, str> = name.get_ref();
                    let fraction = self
                        .number_of(Quantity::AmountFraction, share.get_ref())
                        .map_err(|reason| {
                            let key = format!("{}.{name}", field.key);
                            self.section.bad(&key, share.span(), reason)
                        })?;
                    Ok((name.as_ref(), fraction))
                };
                shares.into_iter().map(share).collect()
            }
            _ => Err(self.unfit(field, value)),
        }
    }

    /// `true` or `false`, if it is there.
    pub fn optional_boolean(&self, key: &str) -> Result<Option<bool>> {
        self.value(key)?
            .map(|(field, value)| match value.get_ref() {
                DeValue::Boolean(boolean) => Ok(*boolean),
                _ => Err(self.unfit(field, value)),
            })
            .transpose()
    }

    /// A whole number that is not negative.
    pub fn whole(&self, key: &str) -> Result<u64> {
        self.optional_whole(key)?.ok_or_else(|| self.missing(key))
    }

    /// A whole number that is not negative, if it is there.
    pub fn optional_whole(&self, key: &str) -> Result<Option<u64>> {
        let Some((field, value)) = self.value(key)? else {
            return Ok(None);
        };
        let number = match value.get_ref() {
            DeValue::Integer(number) => u64::from_str_radix(number.as_str(), number.radix()).ok(),
            _ => None,
        };
        number.map(Some).ok_or_else(|| self.unfit(field, value))
    }

    /// A table, if it is there.
    pub fn optional_table(&self, key: &str) -> Result<Option<Section<'a>>> {
        self.value(key)?
            .map(|(field, value)| {
                self.section_of(self.section.path_of(field.key), value)
                    .ok_or_else(|| self.unfit(field, value))
            })
            .transpose()
    }

    /// One table or a list of them; none if the key is not there.
    pub fn one_or_more_tables(&self, key: &str) -> Result<Vec<Section<'a>>> {
        match self.value(key)? {
            None => Ok(Vec::new()),
            Some((_, value)) if matches!(value.get_ref(), DeValue::Array(_)) => self.tables(key),
            Some(_) => Ok(self.optional_table(key)?.into_iter().collect()),
        }
    }

    /// A list of values of a quantity in SI.
    pub fn measures(&self, key: &str, quantity: Quantity) -> Result<Vec<f64>> {
        let (field, value) = self.value(key)?.ok_or_else(|| self.missing(key))?;
        let DeValue::Array(items) = value.get_ref() else {
            return Err(self.unfit(field, value));
        };
        self.bounded(key, items.len())?;
        let read = |item: &Spanned<DeValue<'_>>| {
            self.number_of(quantity, item.get_ref())
                .map_err(|reason| self.section.bad(field.key, item.span(), reason))
        };
        items.iter().map(read).collect()
    }

    /// A list of values of one quantity, if it is there.
    pub fn optional_measures(&self, key: &str, quantity: Quantity) -> Result<Option<Vec<f64>>> {
        self.value(key)?
            .map(|_| self.measures(key, quantity))
            .transpose()
    }

    /// A list of words, if it is there.
    pub fn optional_words(&self, key: &str) -> Result<Option<Vec<&'static str>>> {
        let Some((field, value)) = self.value(key)? else {
            return Ok(None);
        };
        let (Holds::Words(words), DeValue::Array(items)) = (field.holds, value.get_ref()) else {
            return Err(self.unfit(field, value));
        };
        self.bounded(key, items.len())?;
        let read = |item: &Spanned<DeValue<'_>>| {
            let known = match item.get_ref() {
                DeValue::String(text) => words.iter().copied().find(|word| *word == text.as_ref()),
                _ => None,
            };
            known.ok_or_else(|| {
                let expected = format!("expected: {}", field.expected());
                self.section.bad(field.key, item.span(), expected)
            })
        };
        items.iter().map(read).collect::<Result<_>>().map(Some)
    }

    /// A list of tables.
    pub fn tables(&self, key: &str) -> Result<Vec<Section<'a>>> {
        let (field, value) = self.value(key)?.ok_or_else(|| self.missing(key))?;
        let DeValue::Array(items) = value.get_ref() else {
            return Err(self.unfit(field, value));
        };
        self.bounded(key, items.len())?;
        items
            .iter()
            .enumerate()
            .map(|(index, item)| {
                let path = self.section.path_of(&format!("{}[{index}]", field.key));
                self.section_of(path, item)
                    .ok_or_else(|| self.unfit(field, item))
            })
            .collect()
    }

    /// Keys that are not declared, in the order of the text, with their places in it.
    fn strangers(&self) -> Vec<(usize, Error)> {
        let known: Vec<_> = self.fields.iter().map(|field| field.key).collect();
        let mut strangers: Vec<_> = self
            .section
            .table
            .keys()
            .filter(|key| !known.contains(&key.get_ref().as_ref()))
            .map(|key| {
                let error = Error::UnknownKey {
                    line: Some(line_of(self.section.source, key.span().start)),
                    key: self.section.path_of(key.get_ref()),
                    nearest: nearest(key.get_ref(), known.iter().copied()).map(str::to_owned),
                    known: known.join(", "),
                };
                (key.span().start, error)
            })
            .collect();
        strangers.sort_by_key(|(start, _)| *start);
        strangers
    }

    /// Whether a key is there if it must be, and holds what it must.
    fn check(&self, field: &'static Field) -> Result<()> {
        if self.value(field.key)?.is_none() {
            return Ok(());
        }
        match field.holds {
            Holds::Measure(_) => self.optional_number(field.key).map(drop),
            Holds::Word(_) => self.optional_word(field.key).map(drop),
            Holds::Text => self.optional_text(field.key).map(drop),
            Holds::Boolean => self.optional_boolean(field.key).map(drop),
            Holds::Whole => self.whole(field.key).map(drop),
            Holds::Fluid => self.fluid(field.key).map(drop),
            Holds::Table => self.optional_table(field.key).map(drop),
            Holds::Tables => self.one_or_more_tables(field.key).map(drop),
            Holds::Words(_) => self.optional_words(field.key).map(drop),
            // Their quantity is that of another key.
            Holds::Measures => Ok(()),
        }
    }

    /// Ends the reading; error 606 if a key is there that the others leave without meaning.
    pub fn finish(self) -> Result<()> {
        let read = self.read.borrow();
        let idle = self
            .section
            .table
            .keys()
            .filter(|key| !read.contains(key.get_ref().as_ref()))
            .min_by_key(|key| key.span().start);
        match idle {
            Some(key) => Err(self.rule(
                Some(key.get_ref()),
                "has no meaning beside the other keys given here: take it away, or change them",
            )),
            None => Ok(()),
        }
    }

    fn field(&self, key: &str) -> Result<&'static Field> {
        self.fields
            .iter()
            .copied()
            .find(|field| field.key == key)
            .ok_or(Error::Internal {
                place: "method::reader, a key that is not declared",
            })
    }

    /// The declaration and the value of a key, if it is there; error 603 if it must be.
    fn value(&self, key: &str) -> Result<Option<(&'static Field, &'a Spanned<DeValue<'a>>)>> {
        let field = self.field(key)?;
        self.read.borrow_mut().insert(field.key);
        match self.section.table.get(key) {
            Some(value) => Ok(Some((field, value))),
            None if field.required => Err(self.section.missing(field)),
            None => Ok(None),
        }
    }

    /// Error 606 for a list with more entries than any instrument needs.
    fn bounded(&self, key: &str, entries: usize) -> Result<()> {
        if entries <= MOST_ENTRIES {
            return Ok(());
        }
        Err(self.rule(
            Some(key),
            format!("has {entries} entries: no more than {MOST_ENTRIES} are read"),
        ))
    }

    fn unfit(&self, field: &Field, value: &Spanned<DeValue<'_>>) -> Error {
        self.section.bad(
            field.key,
            value.span(),
            format!("expected: {}", field.expected()),
        )
    }

    fn section_of(&self, path: String, value: &'a Spanned<DeValue<'a>>) -> Option<Section<'a>> {
        match value.get_ref() {
            DeValue::Table(table) => Some(Section {
                source: self.section.source,
                path,
                line: Some(line_of(self.section.source, value.span().start)),
                start: value.span().start,
                table,
            }),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ROOT: &[Field] = &[
        Field::required("title", Holds::Text, "what the document is about"),
        Field::optional(
            "ambient_pressure",
            Holds::Measure(Quantity::Pressure),
            "pressure of the room",
        ),
        Field::optional("quiet", Holds::Boolean, "whether it is quiet"),
        Field::optional("count", Holds::Whole, "how many there are"),
        Field::optional("room", Holds::Table, "the room"),
        Field::required("part", Holds::Tables, "the parts"),
    ];
    const KIND: Field = Field::required("kind", Holds::Word(&["tube", "vent"]), "what it is");
    const KINDS: &[Field] = &[KIND];
    const TUBE: &[Field] = &[
        Field::required(
            "diameter",
            Holds::Measure(Quantity::Diameter),
            "inner diameter",
        ),
        Field::optional(
            "outlet_pressure",
            Holds::Measure(Quantity::Pressure),
            "pressure behind it",
        ),
        Field::optional(
            "porosity",
            Holds::Measure(Quantity::TotalPorosity),
            "porosity",
        ),
    ];

    const GOOD: &str = "title = \"one tube\"\nquiet = true\n\n[[part]]\nkind = \"tube\"\ndiameter = \"0.25 mm\"\n\
                        outlet_pressure = \"1 bar(g)\"\nporosity = 0.4\n";

    fn read(source: &str) -> Result<Vec<f64>> {
        let document = Document::parse(source)?;
        let root = document.root().open(&[ROOT], None)?;
        let ambient = root
            .optional_number("ambient_pressure")?
            .unwrap_or(101_325.0);
        root.text("title")?;
        root.optional_boolean("quiet")?;
        if root
            .optional_whole("count")?
            .is_some_and(|count| count != 1)
        {
            return Err(root.refuse("count", "expected: 1"));
        }
        if let Some(room) = root.optional_table("room")? {
            room.open(&[], None)?.finish()?;
        }
        let mut values = Vec::new();
        for part in root.tables("part")? {
            part.word(&KIND)?;
            let tube = part.open(&[KINDS, TUBE], Some(ambient))?;
            tube.word("kind")?;
            values.push(tube.number("diameter")?);
            values.extend(tube.optional_number("outlet_pressure")?);
            values.extend(tube.optional_number("porosity")?);
            tube.finish()?;
        }
        root.finish()?;
        Ok(values)
    }

    fn refusal(source: &str) -> Error {
        read(source).unwrap_err()
    }

    #[test]
    fn reads_what_is_declared() {
        assert_eq!(read(GOOD), Ok(vec![0.25e-3, 201_325.0, 0.4]));
        let inline = "title = \"x\"\npart = [{ kind = \"tube\", diameter = \"1 mm\" }]";
        assert_eq!(read(inline), Ok(vec![1e-3]));
    }

    #[test]
    fn text_that_is_not_toml_is_refused_with_line_and_column() {
        let Error::Syntax { line, column, .. } = refusal("title = \"x\"\npart = = 3\n") else {
            panic!("not a syntax error");
        };
        assert_eq!((line, column), (2, 8));
    }

    #[test]
    fn an_unknown_key_is_refused_with_the_nearest() {
        let error = refusal(&GOOD.replace("diameter", "diametre"));
        assert_eq!(
            error,
            Error::UnknownKey {
                line: Some(6),
                key: "part[0].diametre".to_owned(),
                nearest: Some("diameter".to_owned()),
                known: "kind, diameter, outlet_pressure, porosity".to_owned(),
            }
        );
        assert_eq!(
            error.to_string(),
            "line 6, unknown key `part[0].diametre`; known here: kind, diameter, outlet_pressure, porosity; \
             hint: did you mean `diameter`?"
        );
        let unlike = refusal(&format!("colour = 3\n{GOOD}"));
        assert!(matches!(
            unlike,
            Error::UnknownKey {
                nearest: None,
                line: Some(1),
                ..
            }
        ));
    }

    #[test]
    fn a_missing_key_is_refused_with_what_it_must_hold() {
        assert_eq!(
            refusal(&GOOD.replace("diameter = \"0.25 mm\"\n", "")).to_string(),
            "line 4, missing key `part[0].diameter`: inner diameter, diameter such as \"0.25 mm\" \
             (units: m, cm, mm, um, nm, in)"
        );
        assert_eq!(refusal("title = \"x\"").code(), 603);
        assert_eq!(refusal("title = \"x\"\n[[part]]\n").code(), 603);
    }

    #[test]
    fn a_bad_value_is_refused_as_written() {
        for (from, to, line, text) in [
            ("\"0.25 mm\"", "0.25", 6, "0.25"),
            ("\"0.25 mm\"", "\"0.25\"", 6, "\"0.25\""),
            ("\"0.25 mm\"", "true", 6, "true"),
            ("0.4", "nan", 8, "nan"),
            ("0.4", "\"40 mm\"", 8, "\"40 mm\""),
            ("\"tube\"", "\"tub\"", 5, "\"tub\""),
            ("\"tube\"", "3", 5, "3"),
            ("true", "\"yes\"", 2, "\"yes\""),
            ("\"one tube\"", "1", 1, "1"),
        ] {
            let error = refusal(&GOOD.replace(from, to));
            let Error::BadValue {
                line: at,
                text: written,
                ..
            } = &error
            else {
                panic!("{error}");
            };
            assert_eq!((at, written.as_str()), (&Some(line), text), "{error}");
        }
        assert!(
            refusal(&GOOD.replace("\"tube\"", "\"tub\""))
                .to_string()
                .ends_with("did you mean \"tube\"?")
        );
        let ambient = refusal(&format!("ambient_pressure = \"0 bar(g)\"\n{GOOD}"));
        assert_eq!(ambient.code(), 604);
        assert_eq!(refusal("title = \"x\"\npart = 3").code(), 604);
        assert_eq!(refusal("title = \"x\"\npart = [3]").code(), 604);
        assert_eq!(refusal(&format!("room = 3\n{GOOD}")).code(), 604);
        assert!(read(&format!("count = 1\n{GOOD}")).is_ok());
        for count in ["2", "-1", "1.0", "\"1\""] {
            assert_eq!(refusal(&format!("count = {count}\n{GOOD}")).code(), 604);
        }
    }

    #[test]
    fn what_no_instrument_needs_is_refused_at_once() {
        let long = format!("{GOOD}\n# {}", "x".repeat(LONGEST));
        assert_eq!(refusal(&long).code(), 606);
        let many = format!(
            "{GOOD}\n{}",
            "[[part]]\nkind = \"vent\"\n".repeat(MOST_ENTRIES)
        );
        let error = refusal(&many);
        assert_eq!(error.code(), 606);
        assert!(
            error.to_string().contains("no more than 1000 are read"),
            "{error}"
        );
        // Nested deeper than the TOML reader follows.
        let deep = format!("title = {}{}", "[".repeat(100_000), "]".repeat(100_000));
        assert_eq!(refusal(&deep).code(), 601);
    }

    #[test]
    fn a_key_that_nothing_reads_is_refused() {
        let document = Document::parse(GOOD).unwrap();
        let root = document.root().open(&[ROOT], None).unwrap();
        root.text("title").unwrap();
        let Err(Error::Layout { line, key, .. }) = root.finish() else {
            panic!("accepted");
        };
        assert_eq!((line, key.as_str()), (Some(2), "quiet"));
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            prop_assert!(read(&text).is_err());
        }

        #[test]
        fn a_damaged_document_is_read_or_refused(at in 0..GOOD.len(), with in "\\PC{0,4}", cut in 0usize..6) {
            let end = (at + cut).min(GOOD.len());
            let damaged = format!("{}{with}{}", &GOOD[..at], &GOOD[end..]);
            if let Ok(values) = read(&damaged) {
                prop_assert!(values.iter().all(|value| value.is_finite()));
            }
        }
    }
}
