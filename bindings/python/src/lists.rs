//! The tables of quantities, errors, notices and units.

use densepath::fluid::error::ERRORS;
use densepath::{NoticeCode, Quantity, units};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Outcome, argument};

/// Every quantity of the library.
///
/// Returns
/// -------
/// list of tuple
///     Name in words, symbol and SI unit.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.list_quantities()[2]
/// ('density', 'rho', 'kg/m3')
#[pyfunction]
pub fn list_quantities() -> Vec<(&'static str, &'static str, &'static str)> {
    Quantity::ALL
        .iter()
        .map(|quantity| (quantity.name(), quantity.symbol(), quantity.unit()))
        .collect()
}

/// Every error of the library.
///
/// Returns
/// -------
/// list of tuple
///     Code, name of the exception class and meaning.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.list_errors()[1]
/// (102, 'RangeError', 'A value outside the range of the model asked.')
#[pyfunction]
pub fn list_errors() -> Vec<(i32, &'static str, &'static str)> {
    ERRORS
        .iter()
        .map(|entry| (entry.code, entry.class, entry.meaning.trim()))
        .collect()
}

/// Every notice that a result can carry.
///
/// Returns
/// -------
/// list of tuple
///     Code and severity.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> ("overpressure", "caution") in dp.list_notices()
/// True
#[pyfunction]
pub fn list_notices() -> Vec<(&'static str, &'static str)> {
    NoticeCode::ALL
        .iter()
        .map(|code| (code.name(), code.severity().name()))
        .collect()
}

/// A value in the unit that laboratories use.
///
/// Parameters
/// ----------
/// quantity : str
///     Name of the quantity.
/// value : float
///     Its value in the SI unit.
///
/// Returns
/// -------
/// tuple of float and str
///     The value and its unit; the unit is empty for a number without one.
///
/// Raises
/// ------
/// ArgumentError
///     If no quantity has this name.
///
/// Examples
/// --------
/// >>> from densepath._core import laboratory
/// >>> laboratory("pressure", 15e6)
/// (150.0, 'bar')
#[pyfunction]
pub fn laboratory(quantity: &str, value: f64) -> Outcome<(f64, &'static str)> {
    let known: Quantity = quantity
        .parse()
        .map_err(|()| argument("quantity", "the name of a quantity", quantity))?;
    Ok(densepath::report::laboratory(known, value))
}

/// The factors from the units of the laboratory to SI, by name.
pub fn units(py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
    let dict = PyDict::new(py);
    for (name, factor) in [
        ("BAR", units::BAR),
        ("MEGAPASCAL", units::MEGAPASCAL),
        ("PSI", units::PSI),
        ("MINUTE", units::MINUTE),
        ("HOUR", units::HOUR),
        ("MILLILITRE", units::MILLILITRE),
        ("MICROLITRE", units::MICROLITRE),
        ("NANOLITRE", units::NANOLITRE),
        ("MILLILITRE_PER_MINUTE", units::MILLILITRE_PER_MINUTE),
        ("MILLIMETRE", units::MILLIMETRE),
        ("MICROMETRE", units::MICROMETRE),
        ("GRAM", units::GRAM),
        ("GRAM_PER_MINUTE", units::GRAM_PER_MINUTE),
        ("MILLIGRAM_PER_MINUTE", units::MILLIGRAM_PER_MINUTE),
        ("GRAM_PER_MILLILITRE", units::GRAM_PER_MILLILITRE),
        ("ICE_POINT", units::from_celsius(0.0)),
    ] {
        dict.set_item(name, factor)?;
    }
    Ok(dict)
}
