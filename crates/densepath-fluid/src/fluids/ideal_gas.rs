//! The shape of the record of the ideal gas of a substance without a reference equation.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::Deserialize;

use super::record::Source;

/// Heat capacity of the ideal gas: `c_p0/R = constant + sum n x^2 e^x / (e^x - 1)^2 + sum n (T/K)^t` with `x = theta/T`.
///
/// Enthalpy and entropy of the ideal gas are zero at 298.15 K and 101 325 Pa.
///
/// ```
/// use densepath_fluid::Fluid;
/// // Ethyl acetate has no reference equation: 88.106 g/mol.
/// let record = Fluid::new("ethyl acetate")?.record()?;
/// assert!(record.ideal_gas.as_ref().is_some_and(|gas| (gas.molar_mass - 88.106e-3).abs() < 1e-5));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdealGasRecord {
    /// Where it was published.
    pub source: Source,
    /// Molar mass M in kg/mol.
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
    /// Lowest and highest temperature in K.
    #[serde(rename = "T_range / K")]
    pub temperatures: [f64; 2],
    /// Constant.
    pub constant: f64,
    /// Pairs of n and theta in K.
    #[serde(default, rename = "planck_einstein (n, theta / K)")]
    pub planck_einstein: Vec<[f64; 2]>,
    /// Pairs of n and t, with t neither 0 nor -1.
    #[serde(default)]
    pub power: Vec<[f64; 2]>,
    /// Relative standard uncertainty.
    pub uncertainty: f64,
}
