//! Properties over a region of temperature and pressure as a table with a known largest error, for loops that control an instrument.
//!
//! A table is made once, where there is time, kept as bytes, and asked where there is none: at a fixed cost, without iterations, locks
//! or memory asked for, and with the same bits on every processor.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

mod bytes;
mod grow;

use crate::error::{Error, Result};
use crate::num::chebyshev::{Basis, CHECKS};
use crate::num::lanes::{Coefficients, Kind, Plain};
use crate::property::BatchError;
use crate::quantity::Quantity;
use crate::state::Fluid;

/// Halvings of the region, at most.
const DEPTH: u32 = 14;
/// Rectangles with a polynomial, at most: 25 MB for each property.
const LEAVES: usize = 1 << 16;
/// Properties of one table, at most.
const COLUMNS: usize = 32;
/// Relative errors that can be asked for. Below the first, rounding and the tolerance of the solvers would tell.
const TOLERANCES: [f64; 2] = [1e-10, 0.1];

/// A property of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Column {
    quantity: Quantity,
    largest_error: f64,
}

/// What a rectangle holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Node {
    /// It is divided into four, the first of which has this index.
    Parts(u32),
    /// The polynomials with this index.
    Leaf(u32),
}

/// Properties of a fluid between two temperatures and two pressures.
///
/// The region is divided into four, and again, until in every part a polynomial of degree seven agrees with the model of each
/// property. *Uncertainty*: that of the model, and relative to its values at most [`PropertyTable::largest_error`]; of energies,
/// entropy, the Joule-Thomson and the expansion coefficient, which can be zero, relative to the span of their values in the region
/// where that is larger.
///
/// ```
/// use densepath_fluid::{Fluid, PropertyTable, Quantity};
/// let co2 = Fluid::new("carbon dioxide")?;
/// let quantities = [Quantity::Density, Quantity::DynamicViscosity];
/// let table = PropertyTable::new(&co2, &quantities, [310.0, 330.0], [10e6, 30e6], 1e-6)?;
/// let density = table.value(0, 313.15, 15e6)?;
/// assert!((density / co2.density(313.15, 15e6)? - 1.0).abs() < table.largest_error(0)?);
/// assert_eq!(PropertyTable::from_bytes(&table.to_bytes())?, table);
/// assert_eq!(table.value(0, 305.0, 15e6).unwrap_err().code(), 105);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PropertyTable {
    fluid: String,
    model: String,
    temperature: [f64; 2],
    pressure: [f64; 2],
    columns: Box<[Column]>,
    /// The whole region first, the four parts of a rectangle one after the other and after it.
    nodes: Box<[Node]>,
    /// For each rectangle that is not divided one polynomial of each property.
    polynomials: Box<[Coefficients]>,
}

impl PropertyTable {
    /// The table of some properties of a fluid between two temperatures in K and two pressures in Pa.
    ///
    /// `tolerance` is the largest relative error, from 1e-10 to 0.1. At 25 places of every rectangle the polynomial is at most half of
    /// it off. It takes from milliseconds to a minute.
    ///
    /// Errors: 101 for limits that are not positive or in rising order; 104 for no property, more than 32, one named twice, one that
    /// [`PROPERTIES`](crate::property::PROPERTIES) does not have, and a tolerance out of range; those of the property where a state has none, such as 102 outside the
    /// range of the model; 301 where a state has several phases; 407 where a border of the phases, a critical point or the size of a
    /// table stands in the way.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert!((table.value(0, 313.15, 15e6)? / 780.233 - 1.0).abs() < 2e-5);
    /// // A tolerance that no table can hold is refused.
    /// let refused = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-15);
    /// assert_eq!(refused.unwrap_err().code(), 104);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(
        fluid: &Fluid,
        quantities: &[Quantity],
        temperature: [f64; 2],
        pressure: [f64; 2],
        tolerance: f64,
    ) -> Result<Self> {
        grow::table(fluid, quantities, temperature, pressure, tolerance)
    }

    /// The property with an index, from 0, in its SI unit at a temperature in K and a pressure in Pa.
    ///
    /// The worst case is 14 steps down a tree and one polynomial of 48 coefficients. Error 105, which costs no more, outside
    /// of the region, 104 for an index beyond the last.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert!((table.value(0, 313.15, 15e6)? / 780.233 - 1.0).abs() < 2e-5);
    /// assert_eq!(table.value(1, 313.15, 15e6).unwrap_err().code(), 104);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn value(&self, index: usize, temperature: f64, pressure: f64) -> Result<f64> {
        if index >= self.columns.len() {
            return Err(no_column(index));
        }
        let mut u = share(Quantity::Temperature, temperature, self.temperature)?;
        let mut v = share(Quantity::Pressure, pressure, self.pressure)?;
        let mut node = 0;
        for _ in 0..=DEPTH {
            match self.nodes.get(node) {
                Some(Node::Parts(first)) => {
                    let part = [half(&mut u), half(&mut v)];
                    node = *first as usize + part[0] + 2 * part[1];
                }
                Some(Node::Leaf(leaf)) => {
                    let place = *leaf as usize * self.columns.len() + index;
                    let found = self.polynomials.get(place).ok_or(BROKEN)?;
                    return Ok(Plain.polynomial(found, 2.0 * u - 1.0, 2.0 * v - 1.0));
                }
                None => break,
            }
        }
        Err(BROKEN)
    }

    /// The property with an index at each pair of temperature (K) and pressure (Pa), written to `out`.
    ///
    /// An element that fails becomes NaN; the first error is returned with its index after all others are done. Error 104 if the slices
    /// differ in length.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// let mut density = [0.0; 2];
    /// let failed = table.value_into(0, &[313.15, 300.0], &[15e6, 15e6], &mut density).unwrap_err();
    /// assert_eq!((failed.index, failed.error.code()), (1, 105));
    /// assert!((density[0] / 780.233 - 1.0).abs() < 2e-5 && density[1].is_nan());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn value_into(
        &self,
        index: usize,
        temperature: &[f64],
        pressure: &[f64],
        out: &mut [f64],
    ) -> core::result::Result<(), BatchError> {
        let points = temperature.len();
        if let Some(other) = [pressure.len(), out.len()]
            .into_iter()
            .find(|n| *n != points)
        {
            return Err(BatchError::shape(points, other));
        }
        let mut failed = Ok(());
        let states = temperature.iter().zip(pressure).enumerate();
        for ((place, (t, p)), value) in states.zip(out) {
            *value = self.value(index, *t, *p).unwrap_or_else(|error| {
                if failed.is_ok() {
                    failed = Err(BatchError {
                        index: place,
                        error,
                    });
                }
                f64::NAN
            });
        }
        failed
    }

    /// Name of the fluid.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert_eq!(table.fluid(), "carbon dioxide");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn fluid(&self) -> &str {
        &self.fluid
    }

    /// Name of its equation of state.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert!(table.model().contains("Span and Wagner 1996"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn model(&self) -> &str {
        &self.model
    }

    /// The properties in the order of their indices.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert!(table.quantities().eq([Quantity::Density]));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn quantities(&self) -> impl ExactSizeIterator<Item = Quantity> + '_ {
        self.columns.iter().map(|column| column.quantity)
    }

    /// The index of a property; error 202 if the table does not have it.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert_eq!(table.index_of(Quantity::Density)?, 0);
    /// assert_eq!(table.index_of(Quantity::DynamicViscosity).unwrap_err().code(), 202);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn index_of(&self, property: Quantity) -> Result<usize> {
        let found = self.quantities().position(|quantity| quantity == property);
        found.ok_or_else(|| Error::MissingModel {
            property,
            fluid: self.fluid.clone(),
            need: "the table was made without it",
        })
    }

    /// Largest relative error of the property with an index: twice the largest found at 25 places of every rectangle. Error 104 for
    /// an index beyond the last.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert!(table.largest_error(0)? <= 1e-5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn largest_error(&self, index: usize) -> Result<f64> {
        let column = self.columns.get(index).ok_or_else(|| no_column(index))?;
        Ok(column.largest_error)
    }

    /// Lowest and highest temperature in K.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert_eq!(table.temperature(), [310.0, 320.0]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature(&self) -> [f64; 2] {
        self.temperature
    }

    /// Lowest and highest pressure in Pa.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], 1e-5)?;
    /// assert_eq!(table.pressure(), [12e6, 16e6]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure(&self) -> [f64; 2] {
        self.pressure
    }

    /// Number of rectangles with a polynomial.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, PropertyTable, Quantity};
    /// # let co2 = Fluid::new("CO2")?;
    /// let table = |tolerance| PropertyTable::new(&co2, &[Quantity::Density], [310.0, 320.0], [12e6, 16e6], tolerance);
    /// assert!(table(1e-9)?.rectangle_count() > table(1e-5)?.rectangle_count());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn rectangle_count(&self) -> usize {
        self.polynomials.len() / self.columns.len()
    }
}

fn no_column(index: usize) -> Error {
    Error::Argument {
        argument: "index".to_owned(),
        expected: "the index of a property of the table",
        got: index.to_string(),
    }
}

/// What no table that was made or read can come to.
const BROKEN: Error = Error::Internal { place: "a table" };

/// Where a value lies between two, from 0 to 1.
fn share(quantity: Quantity, value: f64, [min, max]: [f64; 2]) -> Result<f64> {
    if value >= min && value <= max {
        return Ok((value - min) / (max - min));
    }
    Err(Error::OutsideTable {
        quantity,
        value,
        min,
        max,
    })
}

/// Which half a share lies in; it becomes the share in that half. Doubling and taking one away is exact.
fn half(share: &mut f64) -> usize {
    let doubled = 2.0 * *share;
    let upper = doubled >= 1.0;
    *share = doubled - f64::from(u8::from(upper));
    usize::from(upper)
}

#[cfg(test)]
mod tests;
