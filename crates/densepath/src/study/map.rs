//! A plane of two inputs: where the method works and what comes out there.

use fluid::{Error, Quantity, Result};
use rayon::prelude::*;

use super::output::{Output, Told};
use crate::fluid;
use crate::method::{Input, Method};
use crate::path::unless_stopped;

/// One side of a map.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// use densepath::study::Axis;
/// let axis = Axis { input: method.input("regulator", "pressure")?, values: vec![140e5, 160e5] };
/// assert!((axis.input.stated()? / 1e5 - 150.0).abs() < 20.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What is changed.
    pub input: Input,
    /// Its values in SI.
    pub values: Vec<f64>,
}

/// Outputs over a plane of two inputs.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// use densepath::study::{Axis, Output, map};
/// let across = Axis { input: method.input("regulator", "pressure")?, values: vec![140e5, 160e5] };
/// let down = Axis { input: method.input("column", "length")?, values: vec![0.15, 0.25] };
/// let found = map(&method, across, down, vec![Output::new("column", "pressure_drop")])?;
/// // One value for each point; the longer column takes more.
/// assert_eq!(found.values[0].len(), 4);
/// assert!(found.values[0][0] < found.values[0][2]);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// The input that changes along a row.
    pub across: Axis,
    /// The input that changes from row to row.
    pub down: Axis,
    /// The outputs asked.
    pub outputs: Vec<Output>,
    /// Their quantities; empty if every point is refused.
    pub quantities: Vec<Quantity>,
    /// Value of each output in SI, one after the other for each point, rows of `down`, NaN where the point is refused.
    pub values: Vec<Vec<f64>>,
    /// The points that were refused, by their places along `across` and `down`, and why.
    pub refusals: Vec<(usize, usize, Error)>,
}

/// Outputs of a method over a plane of two inputs, on all cores. A point that the method refuses is told with its reason.
///
/// Error 602 for an output that a solved point does not tell, 406 if the watch of the method stops it.
///
/// ```
/// use densepath::study::{Axis, Output, map};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let across = Axis { input: method.input("regulator", "pressure")?, values: vec![140e5, 160e5] };
/// let down = Axis { input: method.input("column", "length")?, values: vec![0.25] };
/// let found = map(&method, across, down, vec![Output::new("column", "mean_density")])?;
/// // More pressure, more density; no place was refused.
/// assert!(found.refusals.is_empty() && found.values[0][0] < found.values[0][1]);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn map(method: &Method, across: Axis, down: Axis, outputs: Vec<Output>) -> Result<Map> {
    let count = down.values.len().checked_mul(across.values.len());
    super::check_solutions("values", count)?;
    let places: Vec<(usize, usize)> = (0..down.values.len())
        .flat_map(|row| (0..across.values.len()).map(move |column| (column, row)))
        .collect();
    let points: Vec<Result<Vec<Told>>> = places
        .par_iter()
        .map(|&(column, row)| {
            let x = across.values.get(column).copied().unwrap_or(f64::NAN);
            let y = down.values.get(row).copied().unwrap_or(f64::NAN);
            let changed = method.with(&[(&across.input, x), (&down.input, y)])?;
            let solution = changed.solve()?;
            outputs
                .iter()
                .map(|output| output.value(&solution))
                .collect()
        })
        .collect();
    let mut values = vec![Vec::with_capacity(points.len()); outputs.len()];
    let (mut quantities, mut refusals) = (Vec::new(), Vec::new());
    for (point, &(column, row)) in unless_stopped(points)?.into_iter().zip(&places) {
        let told: Vec<f64> = match point {
            Ok(told) => {
                quantities = told.iter().map(|one| one.quantity).collect();
                told.into_iter().map(|one| one.value).collect()
            }
            Err(error @ Error::UnknownKey { .. }) => return Err(error),
            Err(error) => {
                refusals.push((column, row, error));
                vec![f64::NAN; outputs.len()]
            }
        };
        for (list, value) in values.iter_mut().zip(told) {
            list.push(value);
        }
    }
    Ok(Map {
        across,
        down,
        outputs,
        quantities,
        values,
        refusals,
    })
}
