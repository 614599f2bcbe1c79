//! Everything that is wrong with a document, at once.

use densepath_fluid::consts::STANDARD_ATMOSPHERE;
use densepath_fluid::error::{Error, Result};

use super::reader::{Document, Section, column_of, line_of};
use super::{read_method, schema};

/// Something that is wrong with a document.
///
/// ```
/// use densepath::method::problems;
/// let text = std::fs::read_to_string("../../tests/methods/packed.toml").map_err(|_| densepath::Error::Internal { place: "the example" })?;
/// let found = problems(&text.replace("title =", "titel ="));
/// // The wrong key is told with its line.
/// assert!(found.iter().any(|problem| problem.line == Some(3)));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Line from 1, where it is known.
    pub line: Option<usize>,
    /// Column from 1, where it is known.
    pub column: Option<usize>,
    /// What is wrong.
    pub error: Error,
}

/// Everything that is wrong with the text of a document, in its order; empty for a document that can be read.
///
/// Keys and values are judged all together: unknown keys, missing ones, values that cannot be read. What only shows once all of them
/// can be read (a pump without counting convention, parts in an order that makes no instrument) is told one at a time, as
/// [`read_method`] does.
///
/// ```
/// let problems = densepath::method::problems("document = 1\ntitel = \"x\"\nfluid = 3\npart = []\n");
/// let codes: Vec<_> = problems.iter().map(|problem| problem.error.code()).collect();
/// assert_eq!(codes, [603, 602, 604]);
/// assert_eq!((problems[2].line, problems[2].column), (Some(3), Some(9)));
/// ```
pub fn problems(text: &str) -> Vec<Problem> {
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => return vec![alone(error)],
    };
    let mut found = of_tables(&document);
    if found.is_empty() {
        return read_method(text).err().map(alone).into_iter().collect();
    }
    found.sort_by_key(|(start, _)| *start);
    let placed = found.into_iter().map(|(start, error)| Problem {
        line: Some(line_of(text, start)),
        column: Some(column_of(text, start)),
        error,
    });
    placed.collect()
}

/// A problem that ends the search.
fn alone(error: Error) -> Problem {
    let (line, column) = match error {
        Error::Syntax { line, column, .. } => (Some(line), Some(column)),
        Error::UnknownKey { line, .. }
        | Error::MissingKey { line, .. }
        | Error::BadValue { line, .. }
        | Error::CountingMissing { line, .. }
        | Error::Layout { line, .. } => (line, None),
        _ => (None, None),
    };
    Problem {
        line,
        column,
        error,
    }
}

/// The problems of every table that can be reached.
fn of_tables(document: &Document<'_>) -> Vec<(usize, Error)> {
    let root = || document.root();
    // Gauge pressures need some pressure to count from, whatever it is: only whether they can be read matters here.
    let ambient = Some(STANDARD_ATMOSPHERE);
    let mut found = root().problems(&[schema::ROOT.fields], None);
    for (key, table) in [("solute", &schema::SOLUTE), ("program", &schema::PROGRAM)] {
        for section in sections(root(), key) {
            found.extend(section.problems(&[table.fields], ambient));
        }
    }
    for section in sections(root(), "room") {
        found.extend(section.problems(&[schema::ROOM.fields], ambient));
    }
    for section in sections(root(), "part") {
        match section.word(&schema::KIND) {
            Ok(kind) => {
                let own = schema::parts::fields_of(kind);
                found.extend(section.problems(&[schema::COMMON, own], ambient));
            }
            Err(error) => found.push((section.place_of(schema::KIND.key), error)),
        }
    }
    found
}

/// The tables under a key, if that is what it holds.
fn sections<'a>(root: Section<'a>, key: &str) -> Vec<Section<'a>> {
    let read = |root: Section<'a>| -> Result<Vec<Section<'a>>> {
        root.lenient(&[schema::ROOT.fields]).one_or_more_tables(key)
    };
    read(root).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    const DOCUMENT: &str = include_str!("../../../../tests/methods/packed_modifier.toml");

    fn problems_of(changes: &[(&str, &str)]) -> Vec<Problem> {
        let mut text = DOCUMENT.to_owned();
        for (from, to) in changes {
            assert!(text.contains(from), "{from}");
            text = text.replacen(from, to, 1);
        }
        problems(&text)
    }

    #[test]
    fn a_good_document_has_none() {
        assert_eq!(problems(DOCUMENT), []);
    }

    #[test]
    fn all_are_told_at_once_in_the_order_of_the_text() {
        let found = problems_of(&[
            ("volume = \"60 m3\"", "volume = \"60 m2\""),
            ("retention_factor = 2.5", "retention_factor = \"2.5 bar\""),
            (
                "head_temperature = \"5 degC\"",
                "head_temperatur = \"5 degC\"",
            ),
            ("kind = \"mixer\"", "kind = \"mixr\""),
            ("pressure = \"150 bar\"", "pressure = 150"),
        ]);
        let told: Vec<_> = found
            .iter()
            .map(|problem| (problem.error.code(), problem.line, problem.column))
            .collect();
        let line = |needle: &str| {
            DOCUMENT
                .lines()
                .position(|line| line.contains(needle))
                .map(|at| at + 1)
        };
        assert_eq!(
            told,
            [
                (604, line("volume = \"60 m3\""), Some(10)),
                (604, line("retention_factor = 2.5"), Some(20)),
                // The key that is missing, at the head of its table, and the one that stands in its place.
                (
                    603,
                    line("kind = \"reciprocating_pump\"").map(|at| at - 1),
                    Some(1)
                ),
                (602, line("head_temperature = \"5 degC\""), Some(1)),
                (604, line("kind = \"mixer\""), Some(8)),
                (604, line("pressure = \"150 bar\""), Some(12)),
            ]
        );
    }

    #[test]
    fn what_shows_only_afterwards_is_told_alone() {
        let found = problems_of(&[("counted_at = \"delivery\"\n", "")]);
        let [problem] = &found[..] else {
            panic!("{found:?}");
        };
        assert_eq!(problem.error.code(), 605);
        let syntax = problems("title = ");
        assert_eq!(syntax[0].error.code(), 601);
        assert_eq!(syntax[0].line, Some(1));
    }

    #[test]
    fn a_document_without_problems_is_one_that_can_be_read() {
        for (from, to) in [
            ("[[part]]", "[part]"),
            ("title = ", "titles = "),
            ("fluid = \"carbon dioxide\"", "fluid = \"carbon monoxide\""),
            ("kind = \"vent\"", "kind = \"cylinder\""),
            ("diameter = \"2 mm\"", "diameter = \"-2 mm\""),
            ("mass = \"28 kg\"", "mass = \"28 kg(g)\""),
        ] {
            let text = DOCUMENT.replacen(from, to, 1);
            assert_eq!(
                problems(&text).is_empty(),
                read_method(&text).is_ok(),
                "{to}"
            );
            assert!(!problems(&text).is_empty(), "{to}");
        }
    }
}
