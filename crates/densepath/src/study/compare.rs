//! What differs between two solutions.

use super::output::{Output, outputs};
use crate::fluid::Quantity;
use crate::path::Solution;

/// A result that two solutions tell differently.
///
/// ```
/// use densepath::study::compare;
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let pressure = method.input("regulator", "pressure")?;
/// let differences = compare(&method.solve()?, &method.with(&[(&pressure, 160e5)])?.solve()?);
/// // The largest first.
/// assert!(differences.windows(2).all(|pair| pair[0].relative() >= pair[1].relative()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Whose it is and what it is.
    pub output: Output,
    /// Its quantity, which gives the unit.
    pub quantity: Quantity,
    /// Its value in the first, if it tells one, in SI.
    pub first: Option<f64>,
    /// Its value in the second, if it tells one, in SI.
    pub second: Option<f64>,
}

impl Difference {
    /// Difference relative to the larger of both values, 0 to 2; infinite where only one of them tells the result, or where one of
    /// them is infinite.
    ///
    /// ```
    /// use densepath::{Quantity, study::{Difference, Output}};
    /// let output = Output::new("column", "density");
    /// let difference = Difference { output, quantity: Quantity::Density, first: Some(800.0), second: Some(600.0) };
    /// assert_eq!(difference.relative(), 0.25);
    /// ```
    pub fn relative(&self) -> f64 {
        let (Some(first), Some(second)) = (self.first, self.second) else {
            return f64::INFINITY;
        };
        let difference = (second - first).abs();
        if difference.is_finite() {
            difference / first.abs().max(second.abs())
        } else {
            f64::INFINITY
        }
    }
}

/// All results that two solutions tell differently, those that only one of them tells first, then the most different.
///
/// Results are the same where they have the same name: parts are matched by their names.
///
/// ```
/// use densepath::study::compare;
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// assert!(compare(&solution, &solution).is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn compare(first: &Solution, second: &Solution) -> Vec<Difference> {
    let mut others = outputs(second);
    let mut differences: Vec<Difference> = outputs(first)
        .into_iter()
        .map(|told| {
            let place = others.iter().position(|other| other.output == told.output);
            Difference {
                second: place.map(|place| others.swap_remove(place).value),
                output: told.output,
                quantity: told.quantity,
                first: Some(told.value),
            }
        })
        .collect();
    differences.extend(others.into_iter().map(|told| Difference {
        output: told.output,
        quantity: told.quantity,
        first: None,
        second: Some(told.value),
    }));
    differences.retain(|difference| difference.first != difference.second);
    differences.sort_by(|one, other| other.relative().total_cmp(&one.relative()));
    differences
}
