//! A table as bytes: everything in little-endian order, closed by a checksum, and believed in nothing when it is read.
//!
//! | what | bytes |
//! |---|---|
//! | mark `densetbl`, version | 8, u32 |
//! | name of the fluid, name of its model | each u32 length, then UTF-8 |
//! | limits of temperature and pressure | 4 f64 |
//! | number of properties; of each its name and its largest relative error | u32; u32 length, UTF-8, f64 |
//! | number of rectangles; of each a number, whose highest bit marks one that is not divided | u32; u32 |
//! | number of rectangles that are not divided; of each the 48 coefficients of every property | u32; f64 |
//! | checksum of all bytes before: 64 bit of Fowler, Noll and Vo (FNV-1a) | u64 |

use super::{COLUMNS, Column, DEPTH, LEAVES, Node, PropertyTable};
use crate::error::{Error, Result};
use crate::num::lanes::Coefficients;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::property::PROPERTIES;

const MARK: &[u8; 8] = b"densetbl";
/// Raised when the layout changes; a table of another version is refused.
const VERSION: u32 = 1;
/// Marks a rectangle that is not divided.
const LEAF: u32 = 1 << 31;
/// Bytes of a name, at most: longer than that of any mixture.
const NAME: usize = 65_536;

/// FNV-1a with 64 bit (Fowler, Noll and Vo; constants of IETF RFC 9923). It finds what was damaged, not who meant it.
pub(super) fn checksum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, byte| {
        (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

impl PropertyTable {
    /// The table as bytes, for [`PropertyTable::from_bytes`].
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::{PropertyTable, Quantity};
    /// let table = PropertyTable::new(&fluid, &[Quantity::Density], [310.0, 330.0], [10e6, 30e6], 1e-6)?;
    /// assert!(table.to_bytes().starts_with(b"densetbl"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = MARK.to_vec();
        put_count(&mut bytes, VERSION as usize);
        put_text(&mut bytes, &self.fluid);
        put_text(&mut bytes, &self.model);
        put_numbers(
            &mut bytes,
            self.temperature.into_iter().chain(self.pressure),
        );
        put_count(&mut bytes, self.columns.len());
        for column in &self.columns {
            put_text(&mut bytes, column.quantity.name());
            put_numbers(&mut bytes, [column.largest_error]);
        }
        put_count(&mut bytes, self.nodes.len());
        for node in &self.nodes {
            let number = match node {
                Node::Parts(first) => *first,
                Node::Leaf(leaf) => *leaf | LEAF,
            };
            bytes.extend(number.to_le_bytes());
        }
        put_count(&mut bytes, self.rectangle_count());
        let numbers = self.polynomials.iter().flat_map(Coefficients::numbers);
        put_numbers(&mut bytes, numbers);
        let sum = checksum(&bytes);
        bytes.extend(sum.to_le_bytes());
        bytes
    }

    /// The table that [`PropertyTable::to_bytes`] wrote.
    ///
    /// Every number is checked, so that no bytes, whoever made them, lead to anything but a table that answers at a fixed cost or to
    /// error 611. Whether the numbers are those of the fluid named is for him to know who made them.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::{PropertyTable, Quantity};
    /// let table = PropertyTable::new(&fluid, &[Quantity::Density], [310.0, 330.0], [10e6, 30e6], 1e-6)?;
    /// let mut bytes = table.to_bytes();
    /// assert_eq!(PropertyTable::from_bytes(&bytes)?, table);
    /// // One bit turned is no table any more.
    /// bytes[100] ^= 1;
    /// assert_eq!(PropertyTable::from_bytes(&bytes).unwrap_err().code(), 611);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_bytes(bytes: &[u8]) -> Result<Self> {
        let mut reader = Reader { bytes, offset: 0 };
        if reader.take(MARK.len(), "the mark of a table")? != MARK {
            return Err(unreadable(0, "the mark of a table is missing"));
        }
        if reader.word("its version")? != VERSION {
            return Err(unreadable(MARK.len(), "another version of the format"));
        }
        let (fluid, model) = (reader.text()?, reader.text()?);
        let temperature = reader.limits()?;
        let pressure = reader.limits()?;
        let columns = reader.columns()?;
        let nodes = reader.nodes()?;
        let polynomials = reader.polynomials(columns.len(), &nodes)?;
        let end = reader.offset;
        let sum = reader.take(8, "the checksum")?;
        if sum != checksum(bytes.get(..end).unwrap_or_default()).to_le_bytes() {
            return Err(unreadable(
                end,
                "the checksum differs: bytes were changed or lost",
            ));
        }
        if reader.offset != bytes.len() {
            return Err(unreadable(reader.offset, "there are bytes after its end"));
        }
        Ok(Self {
            fluid,
            model,
            temperature,
            pressure,
            columns,
            nodes,
            polynomials,
        })
    }
}

/// A count, of which the limits of a table leave none above `u32`.
fn put_count(bytes: &mut Vec<u8>, count: usize) {
    bytes.extend(u32::try_from(count).unwrap_or(u32::MAX).to_le_bytes());
}

fn put_text(bytes: &mut Vec<u8>, text: &str) {
    put_count(bytes, text.len());
    bytes.extend(text.bytes());
}

fn put_numbers(bytes: &mut Vec<u8>, numbers: impl IntoIterator<Item = f64>) {
    bytes.extend(numbers.into_iter().flat_map(f64::to_le_bytes));
}

fn unreadable(offset: usize, expected: &'static str) -> Error {
    Error::UnreadableTable { offset, expected }
}

/// Reads from the front, and never past the end.
struct Reader<'a> {
    bytes: &'a [u8],
    offset: usize,
}

impl<'a> Reader<'a> {
    fn take(&mut self, count: usize, expected: &'static str) -> Result<&'a [u8]> {
        let end = self.offset.checked_add(count);
        let found = end.and_then(|end| self.bytes.get(self.offset..end));
        let found = found.ok_or_else(|| unreadable(self.offset, expected))?;
        self.offset += count;
        Ok(found)
    }

    fn word(&mut self, expected: &'static str) -> Result<u32> {
        let bytes = self.take(4, expected)?;
        Ok(bytes
            .iter()
            .rev()
            .fold(0, |word, byte| word << 8 | u32::from(*byte)))
    }

    /// A count from 1 to a limit.
    fn count(&mut self, limit: usize, expected: &'static str) -> Result<usize> {
        let start = self.offset;
        let count = self.word(expected)? as usize;
        if (1..=limit).contains(&count) {
            Ok(count)
        } else {
            Err(unreadable(start, expected))
        }
    }

    fn number(&mut self, expected: &'static str) -> Result<f64> {
        let start = self.offset;
        let bytes = self.take(8, expected)?;
        let bits = bytes
            .iter()
            .rev()
            .fold(0, |bits, byte| bits << 8 | u64::from(*byte));
        let number = f64::from_bits(bits);
        if number.is_finite() {
            Ok(number)
        } else {
            Err(unreadable(start, expected))
        }
    }

    fn text(&mut self) -> Result<String> {
        let start = self.offset;
        let count = self.count(NAME, "the length of a name, at most 65536")?;
        let bytes = self.take(count, "a name")?;
        let text = core::str::from_utf8(bytes);
        Ok(text
            .map_err(|_| unreadable(start, "a name in UTF-8"))?
            .to_owned())
    }

    fn limits(&mut self) -> Result<[f64; 2]> {
        let start = self.offset;
        let expected = "two positive limits in rising order";
        let [min, max] = [self.number(expected)?, self.number(expected)?];
        if min > 0.0 && min < max {
            Ok([min, max])
        } else {
            Err(unreadable(start, expected))
        }
    }

    fn columns(&mut self) -> Result<Box<[Column]>> {
        let count = self.count(COLUMNS, "the number of properties, 1 to 32")?;
        let mut columns: Vec<Column> = Vec::with_capacity(count);
        for _ in 0..count {
            let start = self.offset;
            let name = self.text()?;
            let known = PROPERTIES.iter().find(|quantity| quantity.name() == name);
            let quantity = *known.ok_or_else(|| unreadable(start, "the name of a property"))?;
            if columns.iter().any(|column| column.quantity == quantity) {
                return Err(unreadable(start, "a property that was not there before"));
            }
            let start = self.offset;
            let largest_error = self.number("a relative error")?;
            if largest_error < 0.0 {
                return Err(unreadable(start, "a relative error"));
            }
            columns.push(Column {
                quantity,
                largest_error,
            });
        }
        Ok(columns.into())
    }

    /// The rectangles: each is reached by one way that is at most [`DEPTH`] long, and those that are not divided are numbered in order.
    fn nodes(&mut self) -> Result<Box<[Node]>> {
        // A divided rectangle adds three to those that are not.
        let count = self.count(
            LEAVES + LEAVES / 3 + 1,
            "the number of rectangles, within the size of a table",
        )?;
        let start = self.offset;
        let bytes = self.take(4 * count, "the rectangles")?;
        let mut inner = Reader { bytes, offset: 0 };
        let mut nodes = Vec::with_capacity(count);
        // Level after level, each rectangle's parts follow those of the one before.
        let (mut level_end, mut depth, mut made, mut leaves) = (1, 0, 1, 0);
        for index in 0..count {
            let bad = |expected| unreadable(start + 4 * index, expected);
            if index == level_end {
                (level_end, depth) = (made, depth + 1);
            }
            if index >= made {
                return Err(bad("a rectangle that is part of one before"));
            }
            let word = inner.word("a rectangle")?;
            let node = if word & LEAF == 0 {
                if word as usize != made || depth == DEPTH {
                    return Err(bad("the next four parts, at most 14 levels down"));
                }
                made += 4;
                Node::Parts(word)
            } else {
                if (word & !LEAF) as usize != leaves {
                    return Err(bad("the next polynomial"));
                }
                leaves += 1;
                Node::Leaf(word & !LEAF)
            };
            nodes.push(node);
        }
        if made == count {
            Ok(nodes.into())
        } else {
            Err(unreadable(start, "every part of the rectangles"))
        }
    }

    fn polynomials(&mut self, columns: usize, nodes: &[Node]) -> Result<Box<[Coefficients]>> {
        let expected = "a polynomial for every rectangle that is not divided";
        let start = self.offset;
        let count = self.count(LEAVES, expected)?;
        let leaves = nodes.iter().filter(|node| matches!(node, Node::Leaf(_)));
        if count != leaves.count() {
            return Err(unreadable(start, expected));
        }
        let count = count * columns;
        let left = self.bytes.len().saturating_sub(self.offset) / 8;
        let mut polynomials = Vec::with_capacity(count.min(left / Coefficients::COUNT));
        for _ in 0..count {
            let mut numbers = [0.0; Coefficients::COUNT];
            for number in &mut numbers {
                *number = self.number("the coefficients, all of them finite")?;
            }
            polynomials.push(Coefficients::from_numbers(numbers.into_iter()));
        }
        Ok(polynomials.into())
    }
}
